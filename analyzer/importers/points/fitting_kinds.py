"""Kinds of fittings as cells of a file of points name them."""

from __future__ import annotations

from collections.abc import Iterable

from analyzer.catalog.nearest import nearest_name
from analyzer.job.settings import FittingKind

__all__ = ["fitting_kind", "may_name_kinds", "names_kind"]

_ALIASES = {
    "pb": FittingKind.PULL_BOX,
    "pull": FittingKind.PULL_BOX,
    "jb": FittingKind.JUNCTION_BOX,
    "junction": FittingKind.JUNCTION_BOX,
    "body": FittingKind.CONDUIT_BODY,
    "hh": FittingKind.HANDHOLE,
    "handholes": FittingKind.HANDHOLE,
    "mh": FittingKind.MANHOLE,
    "panelboard": FittingKind.PANEL,
    "equip": FittingKind.EQUIPMENT,
}
_KINDS = {kind.value.replace(" ", ""): kind for kind in FittingKind} | _ALIASES
_OF_TRADE = frozenset(
    {
        *("lb", "ll", "lr", "lbd", "jbox", "vault", "splicebox", "switchboard", "switchgear"),
        *("transformer", "motor", "disconnect"),
    }
)
"""Words of the trade for fittings whose kind a person has to name."""

_LETTERS_OFF = 2  # more letters too few or too many are another word: conduit, conduit body
_SPELLED = tuple(name for name, kind in _KINDS.items() if kind is not FittingKind.END)


def fitting_kind(text: str) -> FittingKind | None:
    """Return the kind of fitting that a text names, whatever its case and marks; None for others.

    Examples
    --------
    >>> fitting_kind("Pull-Box").value, fitting_kind("JB").value, fitting_kind("valve")
    ('pull box', 'junction box', None)
    """
    return _KINDS.get(_plain(text))


def names_kind(text: str) -> bool:
    """Whether a text names a kind of fitting; an end is none, surveyors call anything so."""
    return fitting_kind(text) not in (None, FittingKind.END)


def may_name_kinds(texts: Iterable[str]) -> bool:
    """Whether a text names a kind of fitting, is a slip of one (pul box) or of the trade (LB)."""
    return any(map(_may_name_kind, set(texts)))


def _may_name_kind(text: str) -> bool:
    plain = _plain(text)
    if not any(map(str.isalpha, plain)):
        return False
    return names_kind(text) or plain in _OF_TRADE or _is_slip(plain)


def _is_slip(plain: str) -> bool:
    near = nearest_name(plain, _SPELLED)
    return near is not None and abs(len(near) - len(plain)) <= _LETTERS_OFF


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
