"""Kinds of fittings as cells of a file of points name them."""

from __future__ import annotations

from analyzer.job.settings import FittingKind

__all__ = ["fitting_kind"]

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


def fitting_kind(text: str) -> FittingKind | None:
    """Return the kind of fitting that a text names, whatever its case and marks; None for others.

    Examples
    --------
    >>> fitting_kind("Pull-Box").value, fitting_kind("JB").value, fitting_kind("valve")
    ('pull box', 'junction box', None)
    """
    return _KINDS.get("".join(letter for letter in text.casefold() if letter.isalnum()))
