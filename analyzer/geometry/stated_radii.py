"""Radii stated at vertices where no corner is read: said, never dropped in silence."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from analyzer.findings import Finding, Severity
from analyzer.geometry.bend_chain import Asked, Drawing, place_of
from analyzer.geometry.readings import Bend
from analyzer.units import show_short

__all__ = ["unused_radii"]

_MOST_NAMED = 6
"""Rows of joints that a message names at most. Own choice."""


def unused_radii(
    drawing: Drawing,
    asked: Asked,
    corners: Collection[int],
    bends: Sequence[Bend],
    stations_m: Sequence[float],
) -> list[Finding]:
    """Return what became of stated radii that no corner has.

    A caution where a bend with a radius of its own is read there, else a note; nothing where one
    radius fills the column and every corner has it.

    Parameters
    ----------
    drawing : Drawing
        The path, with the radii stated at its joints.
    asked : Asked
        What was asked for: where messages say the path is.
    corners : collection of int
        Joints that are corners with a radius.
    bends : sequence of Bend
        The bends read.
    stations_m : sequence of float
        Station of every joint. [m]
    """
    unused = [j for j, radius in enumerate(drawing.radii_m) if radius and j not in corners]
    in_bends = [
        j for j in unused if any(b.station_m < stations_m[j] < b.end_station_m for b in bends)
    ]
    is_one = len({radius for radius in drawing.radii_m if radius}) == 1
    is_filled = is_one and bool(corners) and all(drawing.radii_m[j] for j in corners)
    others = [] if is_filled else [j for j in unused if j not in set(in_bends)]
    found = []
    if in_bends:
        text = (
            f"a stated radius is not used ({_named(drawing, in_bends)}): the bend there is read "
            'from the points with its own. Take the radius out, or say read_as = "corners" '
            "in the job if the points are corners"
        )
        place = place_of(asked, stations_m[in_bends[0]])
        found.append(Finding("radius-not-used", Severity.CAUTION, text, place))
    if others:
        text = (
            f"a stated radius is not used ({_named(drawing, others)}): no corner to be bent stands "
            "there"
        )
        place = place_of(asked, stations_m[others[0]])
        found.append(Finding("radius-not-used", Severity.NOTE, text, place))
    return found


def _named(drawing: Drawing, joints: Sequence[int]) -> str:
    """Name joints with their radii, those in a row with one radius together."""
    rows: list[list[int]] = []
    for joint in joints:
        last = rows[-1][-1] if rows else -2
        if joint == last + 1 and drawing.radii_m[joint] == drawing.radii_m[last]:
            rows[-1].append(joint)
        else:
            rows.append([joint])
    shown = [
        f"{show_short(drawing.radii_m[row[0]] or 0.0)} at {drawing.names[row[0]]}"
        + (f" to {drawing.names[row[-1]]}" if len(row) > 1 else "")
        for row in rows[:_MOST_NAMED]
    ]
    left = len(rows) - len(shown)
    return ", ".join(shown) + (f" and {left} more" if left else "")
