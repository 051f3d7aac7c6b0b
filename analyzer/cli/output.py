"""Writing outputs whole or not at all, and the two streams of the terminal."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from analyzer.errors import OutputError

__all__ = ["say", "terminal_width", "write_bytes", "write_text"]


def say(text: str, *, to_error: bool = False) -> None:
    """Print a text as it is; to standard error where standard output carries data."""
    stream = sys.stderr if to_error else sys.stdout
    encoding = stream.encoding or "utf-8"
    safe = text.encode(encoding, errors="replace").decode(encoding)
    stream.write(safe if safe.endswith("\n") else safe + "\n")
    stream.flush()


def terminal_width() -> int:
    """Return the columns to write: those of the terminal, from 40 to 110; 100 without one."""
    if not sys.stdout.isatty():
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
        say(text)
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
    named, path = path, path.resolve()
    if path.exists() and not path.is_file() and not path.is_dir():
        try:
            path.write_bytes(data)
        except OSError as error:
            raise OutputError(f"cannot write {named}: {error.strerror or error}") from error
        return
    temporary = ""
    try:
        with tempfile.NamedTemporaryFile(
            dir=path.parent, prefix=f".{path.name}.", delete=False
        ) as stream:
            temporary = stream.name
            stream.write(data)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(temporary, 0o666 & ~mask)
        os.replace(temporary, path)
    except OSError as error:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
        raise OutputError(f"cannot write {named}: {error.strerror or error}") from error
