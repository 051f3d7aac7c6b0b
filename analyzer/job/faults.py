"""Everything wrong with a job, gathered so that all of it is said at once, each with its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

from analyzer.errors import JobError
from analyzer.job.key_lines import KeyPath, dotted

__all__ = ["Faults"]


@dataclass(slots=True)
class Faults:
    """Faults gathered while a job is read.

    Attributes
    ----------
    source : str
        File name for messages; empty without a file.
    lines : mapping of path to int
        Line of each key of the file.
    options : mapping of path to str
        Option, as typed, that each key was set by.
    found : list of (path, str)
        The faults, each at its key.
    """

    source: str = ""
    lines: Mapping[KeyPath, int] = field(default_factory=dict)
    options: Mapping[KeyPath, str] = field(default_factory=dict)
    found: list[tuple[KeyPath, str]] = field(default_factory=list)

    def add(self, path: KeyPath, message: str) -> None:
        """Note one fault at a key."""
        self.found.append((path, message))

    def __bool__(self) -> bool:
        return bool(self.found)

    def stop(self) -> None:
        """Raise all faults as one error, in order of line, where there are any.

        What has no line comes last: a table that is missing may be there under a wrong name.

        Raises
        ------
        JobError
            One line a fault: file, line and key, or the option, and what is wrong.
        """
        if self.found:
            ordered = sorted(self.found, key=lambda fault: self._line(fault[0]) or inf)
            lines = [f"{self.place(path)}: {message}" for path, message in ordered]
            raise JobError("\n".join(dict.fromkeys(lines)))

    def place(self, path: KeyPath) -> str:
        """Return where a key stands, for people: its option, or file, line and dotted key."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.options:
                return self.options[path[:length]]
        line = self._line(path)
        parts = [self.source, f"line {line}" if line else "", dotted(path)]
        return ", ".join(part for part in parts if part) or "job"

    def places(self) -> dict[KeyPath, str]:
        """Return where every key stands: its option, or file and line."""
        file = f"{self.source}, " if self.source else ""
        return {**{path: f"{file}line {line}" for path, line in self.lines.items()}, **self.options}

    def _line(self, path: KeyPath) -> int | None:
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None
