"""What is said of straights too short for the bends beside them, whose radii were reduced for it.

Of drawn corners that is an error: they cannot be bent so. Arcs drawn in chords fit what they are
drawn on, but each is measured by itself, so on a coarse grid two that touch may overlap: where the
radii they are reduced to pass the drawn points within rounding all the same, the grid explains it.

Source: elementary geometry: a radius between fixed straights moves the middle of its bend by its
own change times sec(a/2) - 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos

from analyzer.findings import Finding, Severity
from analyzer.geometry.bend_chain import Asked, Drawing, place_of
from analyzer.geometry.corners import LEAST_BEND_RAD, ONE_NODE_RAD, Node, Shortage
from analyzer.geometry.readings import Bend, ReadAs
from analyzer.units import show_short

__all__ = ["reduced_bends", "short_findings"]

_DRAWN_SLACK = 0.01
"""Share of the straight needed that arcs as drawn may lack in silence."""

_SLIGHTLY = 0.9
"""Factor on radii from which rounding that explains it is worth no more than a note."""

_GAPS_MISSING = 2.0
"""What is missing of a straight, in gaps, that a gap may make."""


def reduced_bends(
    drawing: Drawing, nodes: Sequence[Node], bends: Sequence[Bend], factors: Sequence[float]
) -> set[int]:
    """Return the places in `bends` of those whose radii were reduced by more than rounding does.

    Parameters
    ----------
    drawing : Drawing
        The path as drawn.
    nodes : sequence of Node
        Corner points, with the radii before.
    bends : sequence of Bend
        Those laid out.
    factors : sequence of float
        Factor on the radius of each node.
    """
    return {
        node.bend
        for node, factor in zip(nodes, factors, strict=True)
        if factor < 1.0 - _DRAWN_SLACK
        and node.bend >= 0
        and not _is_rounding(drawing, node, bends[node.bend], factor)
    }


def short_findings(
    drawing: Drawing,
    asked: Asked,
    nodes: Sequence[Node],
    joints: Sequence[int],
    bends: Sequence[Bend],
    shortages: Sequence[Shortage],
) -> list[Finding]:
    """Return what is said of each line too short for the bends beside it.

    Parameters
    ----------
    drawing : Drawing
        The path as drawn.
    asked : Asked
        Where the route is.
    nodes, joints : sequence
        Corner points, and the drawn joint of each.
    bends : sequence of Bend
        Those laid out.
    shortages : sequence of Shortage
        The lines too short.
    """
    findings = []
    for one in shortages:
        pair = nodes[one.line : one.line + 2]
        beside = sorted({n.bend for n in pair if n.bend >= 0 and n.radius_m > 0.0})
        missing = one.needed_m - one.drawn_m
        only_drawn = all(bends[b].read_as is not ReadAs.CORNERS for b in beside)
        if missing <= (_DRAWN_SLACK if only_drawn else 1e-6) * one.needed_m:
            continue
        around = [bends[b] for b in beside]
        numbers = " and ".join(str(b + 1) for b in beside)
        text = f"bends {numbers} need" if len(beside) > 1 else f"bend {numbers} needs"
        radii = ", ".join(f"{show_short(bends[b].radius_m or 0.0)}" for b in beside)
        text = (
            f"{text} {show_short(one.needed_m)} of straight for the tangents, but only "
            f"{show_short(one.drawn_m)} is drawn: {show_short(missing)} is missing"
        )
        severity, by = Severity.ERROR, f"by the factor {one.factor:.3f} to {radii}"
        if all(_is_rounding(drawing, n, bends[n.bend], one.factor) for n in pair if n.bend >= 0):
            severity = Severity.NOTE if one.factor >= _SLIGHTLY else Severity.CAUTION
            text += (
                f", which coordinates rounded to {show_short(drawing.rounding_m)} explain; the run "
                f"is computed with radii reduced {by}, which pass the drawn points as well. Export "
                "the drawing with more digits, or draw the bends as arcs, to have them as drawn"
            )
        else:
            text += f"; the run is computed with radii reduced {by}"
            text += _bridged_beside(drawing, joints[one.line : one.line + 2], around, missing)
        where = place_of(asked, around[0].station_m)
        findings.append(Finding("corner-too-short", severity, text, where))
    return findings


def _is_rounding(drawing: Drawing, node: Node, bend: Bend, factor: float) -> bool:
    """Whether chords lie on an arc of the radius reduced as well, within rounding."""
    if bend.read_as is not ReadAs.CHORDS or node.arc is not None:
        return False
    half = min(bend.angle_rad, ONE_NODE_RAD) / 2.0
    moved = (1.0 - factor) * node.radius_m * (1.0 / cos(half) - 1.0)
    return moved <= drawing.rounding_m


def _bridged_beside(
    drawing: Drawing, joints: Sequence[int], beside: Sequence[Bend], missing_m: float
) -> str:
    """Return what a message adds where a bridged gap may have made a straight too short."""
    low, high = max(joints[0] - 1, 0), joints[1] + 1
    gap = max(edge.bridged_m for edge in drawing.edges[low:high])
    slight = min(bend.angle_rad for bend in beside) <= LEAST_BEND_RAD
    if gap <= 0.0 or not (slight or missing_m <= _GAPS_MISSING * gap):
        return ""
    return (
        f". A gap of {show_short(gap)} was bridged there, which may have made the bend or the "
        "straight what it is: draw the ends up to each other"
    )
