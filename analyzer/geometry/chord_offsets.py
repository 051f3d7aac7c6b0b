"""Arcs read from chords that pass their points farther off than rounding makes: other bends."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.findings import Finding, Severity
from analyzer.geometry.bend_chain import Asked, BendSpec, Drawing, place_of
from analyzer.geometry.readings import Bend
from analyzer.units import show_short

__all__ = ["off_arc_findings"]

_MOST_GRIDS = 4.0
"""Arcs read rightly pass their points within about three grids, however short their straights."""

_SLIGHT_M, _NEGLIGIBLE_M = 1e-4, 1e-5
"""Up to where points less exact than their digits do bends no harm, and nobody need know."""


def off_arc_findings(
    drawing: Drawing,
    asked: Asked,
    specs: Sequence[BendSpec],
    bends: Sequence[Bend],
    off_m: Sequence[float],
) -> list[Finding]:
    """Return a caution for each arc read from chords that passes their points too far off.

    Where the points of no arc are off by more than slightly, a note tells the most of them.

    Parameters
    ----------
    drawing : Drawing
        Its rounding tells how far off points may lie.
    asked : Asked
        Where the route stands.
    specs, bends : sequence
        The bends, in the same order.
    off_m : sequence of float
        How far vertices lie off the run as laid, by joint; 0 where a corner is cut. [m]
    """
    most = _MOST_GRIDS * drawing.rounding_m
    findings = []
    slight = 0.0
    for spec, bend in zip(specs, bends, strict=True):
        if spec.chord_joints is None:
            continue
        first, last = spec.chord_joints
        off = max(off_m[first : last + 1])
        if off <= most:
            continue
        if off <= _SLIGHT_M:
            slight = max(slight, off)
            continue
        text = (
            f"bend {bend.number} is read from {last - first} chords, but passes their points by up "
            f"to {show_short(off)}, more than rounding makes: it may be several bends or none. "
            "Draw the bend as an arc or export the drawing with more digits; "
            'read_as = "corners" in the job takes every point as drawn'
        )
        where = place_of(asked, bend.station_m)
        findings.append(Finding("chords-off-arc", Severity.CAUTION, text, where))
    if slight > _NEGLIGIBLE_M:
        text = (
            f"the points of arcs drawn in chords lie up to {show_short(slight)} off the arcs, more "
            "than their digits tell: the arcs are read with so much allowance"
        )
        findings.append(Finding("chords-off-arc", Severity.NOTE, text, place_of(asked, None)))
    return findings
