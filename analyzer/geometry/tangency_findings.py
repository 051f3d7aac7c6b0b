"""What is said where drawn arcs miss tangency, by rounding or by more, and what that costs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import degrees, radians

from analyzer.findings import Finding, Severity
from analyzer.geometry.bend_chain import Asked, OffTangent, place_of
from analyzer.geometry.corners import Node
from analyzer.geometry.readings import Bend
from analyzer.units import show_short

__all__ = ["off_tangent_findings", "tangency_findings"]

_SAME_RADIUS, _NEARLY_SAME = 0.999, 0.99
"""Share of its drawn radius from which a bend counts as laid with it, and below which a smaller one
is a caution and no note: own choice."""

_TOLD_RAD = radians(0.005)
"""How far a straight is laid off its drawn way from which that is said. [rad] Own choice: half of
the last digit shown."""


def tangency_findings(
    missed_rad: Sequence[float],
    asked: Asked,
    bends: Sequence[Bend],
    nodes: Sequence[Node],
    reduced: Collection[int],
) -> list[Finding]:
    """Return what is to be said of drawn arcs that miss tangency by rounding where they meet.

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
            f"{count} place{'s' if count > 1 else ''} where drawn arcs and lines meet "
            f"{'miss' if count > 1 else 'misses'} tangency, by at most "
            f"{degrees(max(missed_rad)):.2g}°: the arcs are laid tangent with their drawn radius, "
            "or with what is said of a bend by itself",
            place_of(asked, None),
        )
    ]
    for number, drawn in sorted(_drawn_m(nodes).items()):
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


def off_tangent_findings(
    joints: Sequence[OffTangent],
    numbers: Sequence[int],
    stations_m: Sequence[float],
    asked: Asked,
    bends: Sequence[Bend],
    nodes: Sequence[Node],
) -> list[Finding]:
    """Return what is to be said of joints where a curve is off its straight by more than rounding.

    Parameters
    ----------
    joints : sequence of OffTangent
        The joints.
    numbers : sequence of int
        The number, from 1, that each of the bends they name has now.
    stations_m : sequence of float
        Where each drawn vertex lies along the run. [m]
    asked : Asked
        What was asked for.
    bends : sequence of Bend
        As laid out.
    nodes : sequence of Node
        The corner points they were laid out from.
    """
    drawn_m = _drawn_m(nodes)
    findings = []
    for one in joints:
        curve, lead = bends[numbers[one.curve] - 1], bends[numbers[one.lead] - 1]
        laid = curve.radius_m or 0.0
        drawn = drawn_m.get(curve.number - 1, laid)
        own = show_short(lead.radius_m or 0.0)
        if laid >= _SAME_RADIUS * drawn:
            text = f"the curve keeps its drawn radius of {show_short(drawn)}, and the straight is "
            text += "bent to it with no less" if lead is curve else f"bent to it with {own}"
        else:
            text = "there is no room to bend the straight to the curve with its drawn radius of "
            text += f"{show_short(drawn)}, so bend {curve.number} is laid with {show_short(laid)}"
            text += "" if lead is curve else f", and the straight is bent to it with {own}"
        text += "; draw them tangent"
        if one.swing_rad >= _TOLD_RAD:
            text += f". As laid, the straight lies {degrees(one.swing_rad):.2f}° off the way it is "
            text += "drawn, and the turns at its two ends differ by that from those drawn"
        findings.append(
            Finding(
                "off-tangent",
                Severity.CAUTION,
                "a drawn curve and the straight beside it meet at "
                f"{degrees(one.turn_rad):.2g}°: {text}",
                place_of(asked, stations_m[one.joint]),
            )
        )
    return findings


def _drawn_m(nodes: Sequence[Node]) -> dict[int, float]:
    """Smallest drawn radius of each bend that holds drawn arcs. [m]"""
    drawn_m: dict[int, float] = {}
    for node in nodes:
        if node.arc is not None:
            least = drawn_m.get(node.bend, float("inf"))
            drawn_m[node.bend] = min(least, node.arc.radius_m)
    return drawn_m
