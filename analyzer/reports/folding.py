"""Sentences folded to the width of a terminal, each under its own head."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

__all__ = ["LEAST_WIDTH", "headed_list", "hung"]

LEAST_WIDTH = 40
"""Columns of the narrowest terminal that texts are folded to."""


def hung(head: str, text: str, width: int) -> list[str]:
    """Return the lines of a text after a head, folded under where it begins.

    Parameters
    ----------
    head, text : str
        Such as ``"  better: "`` and the sentence that follows.
    width : int
        Columns to stay within.
    """
    folded = wrap(text, width - len(head)) or [""]
    return [head + folded[0], *(" " * len(head) + line for line in folded[1:])]


def headed_list(heading: str, sentences: Sequence[str], width: int) -> str:
    """Return a heading and sentences below it, each after a dash."""
    return "\n".join([heading, *(line for text in sentences for line in hung("  - ", text, width))])
