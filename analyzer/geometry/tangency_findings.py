"""What is said where drawn arcs miss tangency by rounding, and where that costs radius."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import degrees

from analyzer.findings import Finding, Severity
from analyzer.geometry.bend_chain import Asked, place_of, show_short
from analyzer.geometry.corners import Node
from analyzer.geometry.readings import Bend

__all__ = ["tangency_findings"]

_SAME_RADIUS, _NEARLY_SAME = 0.999, 0.99


def tangency_findings(
    missed_rad: Sequence[float],
    asked: Asked,
    bends: Sequence[Bend],
    nodes: Sequence[Node],
    reduced: Collection[int],
) -> list[Finding]:
    """Return what is to be said of joints of drawn arcs that miss tangency by rounding.

    Parameters
    ----------
    missed_rad : sequence of float
        By how much each misses it. [rad]
    asked : Asked
        What was asked for.
    bends : sequence of Bend
        As laid out.
    nodes : sequence of Node
        The corner points they were laid out from.
    reduced : collection of int
        Places in `bends` of those reduced for want of straight, of which more is said elsewhere.
    """
    if not missed_rad:
        return []
    count = len(missed_rad)
    findings = [
        Finding(
            "tangent-mismatch",
            Severity.NOTE,
            f"{count} joint{'s' if count > 1 else ''} of drawn arcs miss tangency, by at most "
            f"{degrees(max(missed_rad)):.2g}°: the arcs are laid tangent with their drawn radius, "
            "or with what is said of a bend by itself",
            place_of(asked, None),
        )
    ]
    drawn_m: dict[int, float] = {}
    for node in nodes:
        if node.arc is not None:
            least = drawn_m.get(node.bend, float("inf"))
            drawn_m[node.bend] = min(least, node.arc.radius_m)
    for number, drawn in sorted(drawn_m.items()):
        laid = bends[number].radius_m
        if laid is None or number in reduced or laid >= _SAME_RADIUS * drawn:
            continue
        findings.append(
            Finding(
                "tangent-mismatch",
                Severity.NOTE if laid >= _NEARLY_SAME * drawn else Severity.CAUTION,
                f"the arcs of bend {number + 1} meet each other or a short straight at slight "
                f"angles, which only a smaller radius can take up: it is laid with "
                f"{show_short(laid)} where {show_short(drawn)} is drawn; draw them tangent",
                place_of(asked, bends[number].station_m),
            )
        )
    return findings
