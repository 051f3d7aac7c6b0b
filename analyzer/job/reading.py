"""Reading a job file: TOML text to a settled `Job`, every fault with file, line and key."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from analyzer.errors import JobError
from analyzer.job.faults import Faults
from analyzer.job.key_lines import KeyPath, key_lines
from analyzer.job.settings import Job

__all__ = ["parse_job", "parse_tables", "read_job", "read_text"]


def read_job(path: Path) -> Job:
    """Return the settled job of a file.

    Parameters
    ----------
    path : Path
        A TOML file in UTF-8.

    Raises
    ------
    JobError
        If it cannot be read or used; every fault is named with file, line and key.
    """
    return parse_job(read_text(path), path.name)


def parse_job(text: str, source: str = "") -> Job:
    """Return the settled job of a TOML text.

    Parameters
    ----------
    text : str
        The job.
    source : str
        File name for messages.

    Raises
    ------
    JobError
        If it cannot be used; every fault is named with file, line and key.
    """
    from analyzer.job.settling import settle_job

    raw, lines = parse_tables(text, source)
    return settle_job(raw, Faults(source, lines))


def read_text(path: Path) -> str:
    """Return the text of a job file.

    Raises
    ------
    JobError
        If there is no such file, or it is no UTF-8 text.
    """
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise JobError(
            f"{path.name}, line {line}: not UTF-8 text; save the job file as UTF-8"
        ) from error
    except OSError as error:
        reason = error.strerror or type(error).__name__
        raise JobError(f"{path}: the job file cannot be read: {reason}") from error
    except ValueError as error:
        raise JobError(f"{str(path)!r} is no file name: {error}") from error


def parse_tables(text: str, source: str) -> tuple[dict[str, Any], dict[KeyPath, int]]:
    """Return the tables of a TOML text, and the line of each key.

    Raises
    ------
    JobError
        If the text is no TOML, with file and line.
    """
    try:
        return tomllib.loads(text), key_lines(text)
    except (ValueError, RecursionError) as error:
        raise JobError(_syntax_message(str(error), text, source)) from error


def _syntax_message(message: str, text: str, source: str) -> str:
    place = re.search(r"\(at (?:line (\d+), column (\d+)|end of document)\)$", message)
    what = message[: place.start()].strip() if place else message
    line = int(place[1]) if place and place[1] else max(text.rstrip().count("\n") + 1, 1)
    if not place:
        line = 0
    where = ", ".join(part for part in (source, f"line {line}" if line else "") if part)
    written = text.splitlines()[line - 1].strip() if 0 < line <= len(text.splitlines()) else ""
    shown = f": {written[:60]}" if written.isprintable() and written else ""
    hint = ""
    if declared := re.match(r"Cannot (overwrite a value|declare \((.*?),?\) twice)", what):
        table = ".".join(re.findall(r"'(.*?)'", declared[2] or ""))
        what = f"[{table}] stands twice" if table else "the key stands twice"
        hint = "; keep one of the two"
    elif re.search(r"[=:\[{,]\s*[+-]?\.\d", written):
        hint = "; a number has a digit before its point, such as 0.35"
    elif re.search(r"=\s*[+-]?\d+,\d+\s*$", written):
        hint = "; a number has a decimal point, such as 0.35"
    elif re.search(r"=\s*[+-]?\d[\d./ -]*[A-Za-z\"']", written):
        hint = '; a quantity with its unit stands in quotes, such as "9-1/2 in"'
    return f"{where or 'job'}: not valid TOML, {what[:1].lower()}{what[1:]}{shown}{hint}"
