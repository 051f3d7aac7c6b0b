"""Which fonts letters are drawn in: one for all, and others for letters that one lacks.

Names come in any script. A letter the font used does not hold is looked for in the other fonts
installed, by the letters each of them says it holds; what none holds becomes an empty box, and
`letters_lacking` says so.
"""

from __future__ import annotations

import unicodedata
from functools import cache

from matplotlib import font_manager

__all__ = ["families_for", "font_family", "letters_lacking"]

_PREFERRED = (
    "DejaVu Sans",
    "Noto Sans CJK JP",
    "WenQuanYi Zen Hei",
    "Microsoft YaHei",
    "Yu Gothic",
    "Hiragino Sans",
    "Arial Unicode MS",
)
"""Asked first, plain ones; where none holds a letter, any font installed may."""

_EMPTY_BOXES = "Last Resort"
"""Fonts that hold every letter, each as an empty box."""


@cache
def font_family() -> str:
    """Return the font used: Liberation Sans or Arial where found, else DejaVu Sans."""
    wanted = {
        "LiberationSans-Regular.ttf": "Liberation Sans",
        "LiberationSans-Bold.ttf": "Liberation Sans",
        "Arial.ttf": "Arial",
        "arial.ttf": "Arial",
        "Arial_Bold.ttf": "Arial",
        "arialbd.ttf": "Arial",
    }
    found: set[str] = set()
    for path in sorted(font_manager.findSystemFonts()):
        family = wanted.get(path.replace("\\", "/").rsplit("/", 1)[-1])
        if family:
            font_manager.fontManager.addfont(path)
            found.add(family)
    for family in ("Liberation Sans", "Arial"):
        if family in found:
            return family
    return "DejaVu Sans"


def families_for(text: str) -> tuple[str, ...]:
    """Return the font used, and those that help out with letters of a text it lacks."""
    used = font_family()
    if text.isascii():
        return (used,)
    return tuple(dict.fromkeys((used, *(_family_of(letter) or used for letter in text))))


def letters_lacking(text: str) -> str:
    """Return the letters of a text that no font installed holds, each once."""
    lacking = (letter for letter in text if not letter.isascii() and _family_of(letter) is None)
    return "".join(dict.fromkeys(lacking))


@cache
def _family_of(letter: str) -> str | None:
    """Return the first font that holds a letter; what is no mark on paper needs none."""
    if unicodedata.category(letter) in ("Cc", "Cf", "Zs", "Zl", "Zp"):
        return font_family()
    for family, path in _faces():
        if ord(letter) in _letters(path):
            return family
    return None


@cache
def _letters(path: str) -> frozenset[int]:
    try:
        return frozenset(font_manager.get_font(path).get_charmap())
    except (OSError, RuntimeError):  # a font file that cannot be read holds nothing
        return frozenset()


@cache
def _faces() -> tuple[tuple[str, str], ...]:
    """Return every font with the file of its upright: the one used, plain ones, then by name."""
    first = (font_family(), *_PREFERRED)
    order = {family: place for place, family in enumerate(dict.fromkeys(first))}
    faces: dict[str, str] = {}
    plain = ("400", "normal", "regular", "book")
    for font in sorted(
        font_manager.fontManager.ttflist,
        key=lambda font: (font.style != "normal", str(font.weight) not in plain, font.fname),
    ):
        if not font.name.startswith(_EMPTY_BOXES):
            faces.setdefault(font.name, font.fname)
    ranked = sorted(faces, key=lambda family: (order.get(family, len(order)), family))
    return tuple((family, faces[family]) for family in ranked)
