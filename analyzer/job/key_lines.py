"""Line numbers of the keys of a TOML text, which the standard reader does not give.

Assumes a text that `tomllib` has accepted. Covers tables, arrays of tables, dotted and quoted
keys, inline tables and arrays over several lines. Grammar: TOML 1.0.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_left

__all__ = ["KeyPath", "dotted", "key_lines"]

KeyPath = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_PLAIN = re.compile(r"[^,\]}\n#]+")
_STRINGS = (
    re.compile(r'"""(?:\\.|[^\\])*?"{3,5}', re.DOTALL),
    re.compile(r"'''.*?'{3,5}", re.DOTALL),
    re.compile(r'"(?:\\.|[^"\\\n])*"'),
    re.compile(r"'[^'\n]*'"),
)


def key_lines(text: str) -> dict[KeyPath, int]:
    r"""Return the line, counted from 1, of every key and array item of a valid TOML text.

    Parameters
    ----------
    text : str
        A text that `tomllib.loads` accepts.

    Returns
    -------
    dict of path to int
        Paths are keys and, for arrays, indices from 0; a table has the line of its header, or
        of the first key that makes it.

    Examples
    --------
    >>> key_lines('[pull]\nfriction = { low = 0.2 }')[("pull", "friction", "low")]
    2
    """
    return _Scanner(text.replace("\r\n", "\n")).scan()


def dotted(path: KeyPath) -> str:
    """Return a path as people see it; items count from 1: ``conductors[2].size``."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        else:
            name = part if _BARE_KEY.fullmatch(part) else f'"{part}"'
            text += f".{name}" if text else name
    return text


class _Scanner:
    """Walks once through a text; `at` is the place reached."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.ends = [place for place, sign in enumerate(text) if sign == "\n"]
        self.lines: dict[KeyPath, int] = {}
        self.items: dict[KeyPath, int] = {}

    def scan(self) -> dict[KeyPath, int]:
        prefix: KeyPath = ()
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                prefix = self._header()
            else:
                self._pair(prefix)
            self._skip(_BLANK)
        return self.lines

    def _skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def _mark(self, path: KeyPath) -> None:
        self.lines.setdefault(path, bisect_left(self.ends, self.at) + 1)

    def _header(self) -> KeyPath:
        is_item = self.text.startswith("[[", self.at)
        self.at += 2 if is_item else 1
        parts = self._key()
        path: KeyPath = ()
        for number, part in enumerate(parts, start=1):
            path = (*path, part)
            self._mark(path)
            if is_item and number == len(parts):
                self.items[path] = self.items.get(path, 0) + 1
            if path in self.items:
                path = (*path, self.items[path] - 1)
                self._mark(path)
        self._skip(_SPACE)
        self.at += 2 if is_item else 1
        return path

    def _key(self) -> list[str]:
        parts = []
        while True:
            self._skip(_SPACE)
            if self.text[self.at] in "\"'":
                parts.append(str(tomllib.loads(f"key = {self._string()}")["key"]))
            else:
                match = _BARE_KEY.match(self.text, self.at)
                assert match is not None, "the text is valid TOML"
                parts.append(match[0])
                self.at = match.end()
            self._skip(_SPACE)
            if self.text[self.at] != ".":
                return parts
            self.at += 1

    def _pair(self, prefix: KeyPath) -> None:
        start = self.at
        parts = self._key()
        after, self.at = self.at, start
        path = prefix
        for part in parts:
            path = (*path, part)
            self._mark(path)
        self.at = after + 1
        self._skip(_SPACE)
        self._value(path)

    def _value(self, path: KeyPath) -> None:
        sign = self.text[self.at]
        if sign in "\"'":
            self._string()
        elif sign == "[":
            self._array(path)
        elif sign == "{":
            self._inline_table(path)
        else:
            self._skip(_PLAIN)

    def _string(self) -> str:
        for pattern in _STRINGS:
            match = pattern.match(self.text, self.at)
            if match:
                self.at = match.end()
                return match[0]
        raise AssertionError("the text is valid TOML")

    def _array(self, path: KeyPath) -> None:
        self.at += 1
        index = 0
        self._skip(_BLANK)
        while self.text[self.at] != "]":
            self._mark((*path, index))
            self._value((*path, index))
            index += 1
            self._separator()
        self.at += 1

    def _inline_table(self, path: KeyPath) -> None:
        self.at += 1
        self._skip(_BLANK)
        while self.text[self.at] != "}":
            self._pair(path)
            self._separator()
        self.at += 1

    def _separator(self) -> None:
        self._skip(_BLANK)
        if self.text[self.at] == ",":
            self.at += 1
            self._skip(_BLANK)
