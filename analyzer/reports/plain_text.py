"""Texts that people see, without characters that steer a terminal or that no page may hold.

Names and titles come from files, which may hold any. Data files keep them, escaped.
"""

from __future__ import annotations

import re

__all__ = ["plain_text"]

_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")
_BUT_COLORS = re.compile("(?!\x1b\\[[0-9;]*m)[\x00-\x08\x0b-\x1f\x7f-\x9f]")
_INSTEAD = "\N{REPLACEMENT CHARACTER}"


def plain_text(text: str, *, colors: bool = False) -> str:
    r"""Return a text with a mark in place of every control character but tab and new line.

    Parameters
    ----------
    text : str
        Lines of text.
    colors : bool
        Whether the color codes of a terminal stay.

    Examples
    --------
    >>> ascii(plain_text("a\x1b[2Jb"))
    "'a\\ufffd[2Jb'"
    """
    return (_BUT_COLORS if colors else _CONTROLS).sub(_INSTEAD, text)
