"""Writing outputs whole or not at all, and the two streams of the terminal."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TextIO

from analyzer.errors import OutputError
from analyzer.reports.plain_text import plain_text

__all__ = ["is_terminal", "say", "say_job", "terminal_width", "write_bytes", "write_text"]

_NAME_PART = 40  # of a file name in that of its temporary file, which must not grow too long


def say(text: str, *, to_error: bool = False) -> None:
    """Print a text for people; to standard error where standard output carries data.

    Control characters in it, from names in files, are marked instead of obeyed. A reader that
    closes the pipe has read enough: the rest goes nowhere, and the command goes on to its verdict.
    What standard error does not take is lost.

    Raises
    ------
    OutputError
        If standard output takes no text.
    """
    _put(plain_text(text, colors=not to_error and is_terminal()), to_error=to_error)


def say_job(source: str, *, to_error: bool = False) -> None:
    """Print where the job came from, folded between words; paths stay whole.

    Raises
    ------
    OutputError
        If standard output takes no text.
    """
    from textwrap import fill

    text = fill(
        f"Job: {source}.",
        terminal_width(),
        subsequent_indent="  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    say(text, to_error=to_error)


def _put(text: str, *, to_error: bool = False) -> None:
    """Write a text to a stream, as it is."""
    stream: TextIO | None = sys.stderr if to_error else sys.stdout
    if stream is None:
        if not to_error:
            raise OutputError("cannot write to standard output: it is closed")
        return
    encoding = stream.encoding or "utf-8"
    safe = text.encode(encoding, errors="replace").decode(encoding)
    try:
        stream.write(safe if safe.endswith("\n") else safe + "\n")
        stream.flush()
    except OSError as error:
        _send_nowhere(stream)
        if not to_error and not isinstance(error, BrokenPipeError):
            reason = error.strerror or error
            raise OutputError(f"cannot write to standard output: {reason}") from error


def _send_nowhere(stream: TextIO) -> None:
    """Let what a stream still holds go nowhere: the interpreter would fail on it at its end."""
    with suppress(OSError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, stream.fileno())
        finally:
            os.close(nowhere)


def is_terminal() -> bool:
    """Whether standard output is a terminal; it may be closed."""
    return sys.stdout is not None and sys.stdout.isatty()


def terminal_width() -> int:
    """Return the columns to write: those of the terminal, from 40 to 110; 100 without one."""
    if not is_terminal():
        return 100
    from shutil import get_terminal_size

    from analyzer.reports.folding import LEAST_WIDTH

    return min(max(get_terminal_size().columns, LEAST_WIDTH), 110)


def write_text(path: Path, text: str) -> None:
    """Write a text file whole or not at all; ``-`` is standard output.

    What cannot be written in UTF-8, or in the encoding of standard output, becomes a question mark.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    if str(path) == "-":
        _put(text)
        return
    write_bytes(path, text.encode("utf-8", errors="replace"))


def write_bytes(path: Path, data: bytes) -> None:
    """Write a file whole or not at all.

    A link stays a link to the file that is written; a device or pipe is written to, never replaced.

    Raises
    ------
    OutputError
        If it cannot be written.
    """
    try:
        real = path.resolve()
        if real.exists() and not real.is_file() and not real.is_dir():
            real.write_bytes(data)
        else:
            _replace(real, data)
    except OSError as error:
        raise OutputError(f"cannot write {path}: {error.strerror or error}") from error


def _replace(path: Path, data: bytes) -> None:
    """Put a whole file in the place of a file; an interruption leaves nothing beside it."""
    import tempfile

    temporary = ""
    try:
        with tempfile.NamedTemporaryFile(
            dir=path.parent, prefix=f".{path.name[:_NAME_PART]}.", delete=False
        ) as stream:
            temporary = stream.name
            stream.write(data)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(temporary, 0o666 & ~mask)
        os.replace(temporary, path)
    except BaseException:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise
