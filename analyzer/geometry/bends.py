"""A drawn path read as a centerline with its bends.

Each stretch is read by what it is: true arcs exactly, lines as corners, chords or survey points
(`stretches`), splines by their arcs. Everything becomes one chain of corner points (`corners`),
which is laid out as straights and arcs tangent to each other; only corners in fittings stay sharp.

Tolerances: a joint of an arc that turns at most 1e-6 rad is tangent; up to 0.5° it is rounding of
the drawing, and the arc is laid tangent to its lines with its drawn radius, so that no turning is
lost; up to 5° a straight is bent to its arc (`drawn_curves`), which is said; more is a corner.
Arcs that go on tangent to each other and whose radii agree within a thousandth are one circle.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate, pairwise
from math import atan2

import numpy as np

from analyzer.errors import InputError, PlacedError, RouteError
from analyzer.findings import Finding, Severity
from analyzer.geometry.attitudes import attitude_of, axes_at_ends, mean_axis, rotation_between
from analyzer.geometry.bend_chain import (
    TANGENT_RAD,
    Asked,
    BendChain,
    BendSpec,
    Drawing,
    in_brackets,
    place_of,
)
from analyzer.geometry.bend_gathering import gather_bends
from analyzer.geometry.centerline import Centerline, angle_between, nearest_on
from analyzer.geometry.chord_offsets import off_arc_findings
from analyzer.geometry.corners import (
    LARGEST_TURN_RAD,
    Laid,
    Node,
    Shortage,
    fit_radii,
    lay_chain,
)
from analyzer.geometry.crossings import crossing_places, is_all_level
from analyzer.geometry.drawing_cleanup import clean_drawing, moved_segment, refuse_turn_backs
from analyzer.geometry.drawn import DrawnAs, DrawnPath
from analyzer.geometry.far_points import far_point_findings
from analyzer.geometry.numbered_findings import NumberedFinding
from analyzer.geometry.readings import Bend, RadiusFrom, ReadAs, Reading
from analyzer.geometry.segments import Arc, Segment, Vector, cross, dot, norm, unit
from analyzer.geometry.short_straights import reduced_bends, short_findings
from analyzer.geometry.stated_radii import unused_radii
from analyzer.geometry.tangency_findings import off_tangent_findings, tangency_findings
from analyzer.geometry.vectors import minus, plus, to_vector
from analyzer.units import show_station

__all__ = ["read_bends"]

_NO_TURN_RAD = 1e-12
"""Turn up to which a corner point that is no drawn corner is left out. [rad] Own choice."""


def read_bends(
    path: DrawnPath,
    *,
    corner_radius_m: float | None,
    radius_from: RadiusFrom = RadiusFrom.TABLE,
    kept_vertices: frozenset[int] = frozenset(),
    accuracy_m: float | None = None,
    read_as: ReadAs | None = None,
    where: str = "",
) -> Reading:
    """Return a drawn path read as a centerline with its bends.

    Parameters
    ----------
    path : DrawnPath
        What was drawn, in order of travel.
    corner_radius_m : float or None
        Radius of corners that name none of their own. [m]
    radius_from : RadiusFrom
        Where that radius comes from: JOB or TABLE.
    kept_vertices : frozenset of int
        Vertices of the path that stand in fittings: their corners stay sharp.
    accuracy_m : float, optional
        Standard deviation of one coordinate of survey points. [m]
    read_as : ReadAs, optional
        CORNERS, CHORDS or SURVEY to force the reading of drawn lines.
    where : str
        What messages point at; the path's own place by default.

    Raises
    ------
    RouteError
        If a corner has no radius, or the route turns back on itself.
    InputError
        If a radius or accuracy is not positive, or `read_as` is none of the three.
    """
    asked = Asked(corner_radius_m, radius_from, accuracy_m, read_as, where or path.where)
    _check(asked)
    try:
        return _read(path, asked, kept_vertices)
    except _FoldedError as fold:
        raise fold.refusal(asked, _other_readings(path, asked, kept_vertices)) from None


class _FoldedError(Exception):
    """The lines between bends fold back at a place [m]; `unexplained` is why points do not fit."""

    def __init__(self, place_m: Vector, unexplained: str) -> None:
        super().__init__(place_m, unexplained)
        self.place_m, self.unexplained = place_m, unexplained

    def refusal(self, asked: Asked, others: Sequence[ReadAs]) -> PlacedError:
        """Return the error to raise, with the other readings that were tried and do."""
        words = " or ".join(f'"{other.value}"' for other in others)
        if words:
            advice = f"read_as = {words} in the job reads them anew"
        else:
            advice = "no other reading does better: check the points there, and their order"
            if asked.accuracy_m is None:
                advice += "; where they were measured, state [drawing] accuracy"
        why = self.unexplained
        return PlacedError(
            "the route as read turns back on itself",
            self.place_m,
            f"{in_brackets(asked.where)}: the straights there are too short for the arcs "
            f"fitted beside them; {advice}{f'. As survey points: {why}' if why else ''}",
        )


def _other_readings(path: DrawnPath, asked: Asked, kept: frozenset[int]) -> list[ReadAs]:
    """Return the readings that somebody may ask for and that explain the path."""
    found = []
    for other in (ReadAs.CORNERS, ReadAs.SURVEY):
        if other is asked.read_as:
            continue
        try:
            reading = _read(path, replace(asked, read_as=other), kept)
        except (_FoldedError, RouteError, InputError):
            continue
        if all(finding.severity is not Severity.ERROR for finding in reading.findings):
            found.append(other)
    return found


def _read(path: DrawnPath, asked: Asked, kept_vertices: frozenset[int]) -> Reading:
    chain = BendChain()
    drawing = clean_drawing(path, kept_vertices, asked, chain)
    refuse_turn_backs(drawing, asked)
    gather_bends(drawing, asked, chain)
    nodes, joints, specs = _without_flat_corners(chain)
    _refuse_missing_radius(nodes, drawing, asked)
    _refuse_folds(nodes, drawing, chain)
    factors, shortages = fit_radii(nodes)
    laid = lay_chain(nodes, factors)
    return _reading(drawing, asked, chain, nodes, joints, specs, factors, shortages, laid)


def _check(asked: Asked) -> None:
    for value, name in ((asked.corner_radius_m, "bend radius"), (asked.accuracy_m, "accuracy")):
        if value is not None and not 0.0 < value < float("inf"):
            raise InputError(f"the {name} must be more than zero: got {value} m")
    if asked.read_as not in (None, ReadAs.CORNERS, ReadAs.CHORDS, ReadAs.SURVEY):
        raise InputError('read_as must be "corners", "chords" or "survey"')


def _without_flat_corners(chain: BendChain) -> tuple[list[Node], list[int], list[BendSpec]]:
    """Drop corners that turn nothing once the arcs beside them are read; number bends anew.

    A fitted bend may turn nothing either, between fits that do not agree.
    """
    nodes, joints = list(chain.nodes), list(chain.joints)
    of_bend = Counter(node.bend for node in nodes)
    keep: list[int] = []
    for index, node in enumerate(nodes):
        corner = node.bend >= 0 and chain.specs[node.bend].corner
        least = TANGENT_RAD if corner else _NO_TURN_RAD
        if of_bend[node.bend] == 1 and node.bend >= 0 and 0 < index < len(nodes) - 1:
            before = minus(node.place_m, nodes[keep[-1]].place_m)
            after = minus(nodes[index + 1].place_m, node.place_m)
            if atan2(norm(cross(before, after)), dot(before, after)) <= least:
                continue
        keep.append(index)
    numbers: dict[int, int] = {}
    kept = []
    for index in keep:
        node = nodes[index]
        number = numbers.setdefault(node.bend, len(numbers)) if node.bend >= 0 else -1
        kept.append(replace(node, bend=number))
    return kept, [joints[index] for index in keep], [chain.specs[old] for old in numbers]


def _refuse_missing_radius(nodes: list[Node], drawing: Drawing, asked: Asked) -> None:
    missing = [node for node in nodes if node.radius_m != node.radius_m]
    if missing:
        raise PlacedError(
            f"{len(missing)} corner{'s have' if len(missing) > 1 else ' has'} no bend radius, the "
            "first",
            plus(missing[0].place_m, drawing.origin, 1.0),
            f"{in_brackets(asked.where)}: state [raceway] bend_radius, or type and trade_size for "
            "the bender table, or a radius column",
        )


def _refuse_folds(nodes: list[Node], drawing: Drawing, chain: BendChain) -> None:
    """Stop where the lines between bends fold back: the points were read as what they are not."""
    legs = [minus(b.place_m, a.place_m) for a, b in pairwise(nodes)]
    for node, before, after in zip(nodes[1:], legs, legs[1:], strict=False):
        if angle_between(before, after) > LARGEST_TURN_RAD:
            of_points = [one for one, _ in chain.findings if isinstance(one, Finding)]
            why = [one.message for one in of_points if one.code == "survey-not-explained"]
            raise _FoldedError(plus(node.place_m, drawing.origin, 1.0), "".join(why[:1]))


def _reading(
    drawing: Drawing,
    asked: Asked,
    chain: BendChain,
    nodes: list[Node],
    joints: list[int],
    specs: list[BendSpec],
    factors: list[float],
    shortages: tuple[Shortage, ...],
    laid: Laid,
) -> Reading:
    shifted = drawing.origin != (0.0, 0.0, 0.0)
    local = Centerline(laid.segments)
    centerline = (
        Centerline(tuple(moved_segment(segment, drawing.origin, 1.0) for segment in laid.segments))
        if shifted
        else local
    )
    bends = _bends(local, laid, nodes, specs)
    stations, away = _vertex_stations(drawing, chain, local, laid, nodes, joints, specs)
    kept = {id(spec) for spec in specs}
    # a bend that turned nothing in the end has the number of the next
    numbers = list(accumulate((id(spec) in kept for spec in chain.specs), initial=1))
    findings = [
        replace(
            _numbered(finding, numbers, drawing),
            where=place_of(asked, None if joint is None else stations[joint]),
        )
        for finding, joint in chain.findings
    ]
    findings += [
        replace(told, where=place_of(asked, stations[joint]))
        for node, joint in zip(nodes, joints, strict=True)
        if node.bend >= 0 and (told := specs[node.bend].told) is not None
    ]
    findings += off_tangent_findings(chain.off_tangent, numbers, stations, asked, bends, nodes)
    findings += short_findings(drawing, asked, nodes, joints, bends, shortages)
    reduced = reduced_bends(drawing, nodes, bends, factors)
    findings += tangency_findings(chain.missed_rad, asked, bends, nodes, reduced)
    if not reduced:
        # points on the straights beside a corner are passed as its own vertex is, and points on a
        # bend whose radius they do not tell by that of the table
        cut = [
            bend
            for bend, spec in zip(bends, specs, strict=True)
            if spec.corner or spec.radius_determined is False
        ]
        off = [
            0.0 if one <= 0.0 or any(b.station_m <= at <= b.end_station_m for b in cut) else one
            for one, at in zip(away, stations, strict=True)
        ]
        findings += far_point_findings(
            drawing, asked, chain.scatter_m, chain.outside, off, stations
        )
    corners = {
        joint
        for node, joint in zip(nodes, joints, strict=True)
        if node.bend >= 0 and specs[node.bend].corner and not specs[node.bend].in_fitting
    }
    findings += unused_radii(drawing, asked, corners, bends, stations)
    findings += off_arc_findings(drawing, asked, specs, bends, away)
    for at, again in crossing_places(local):
        findings.append(
            Finding(
                "self-crossing",
                Severity.CAUTION,
                f"the run crosses itself: {show_station(at)} and {show_station(again)} along it "
                "lie within half an inch (13 mm) of each other; check the drawing",
                place_of(asked, at),
            )
        )
    if is_all_level(np.array([s.start_m for s in laid.segments] + [laid.segments[-1].end_m])):
        findings.append(
            Finding(
                "all-level",
                Severity.CAUTION,
                "all points lie at one elevation: drops and risers may be missing from the drawing",
                place_of(asked, None),
            )
        )
    return Reading(
        centerline,
        bends,
        _kind(bends, drawing, chain),
        max(away),
        tuple(findings),
        tuple(stations[joint] for joint in drawing.joint_of_vertex),
        drawing.rounding_m,
    )


def _kind(bends: tuple[Bend, ...], drawing: Drawing, chain: BendChain) -> ReadAs:
    kinds = {bend.read_as for bend in bends if not bend.in_fitting}
    if len(kinds) > 1:
        return ReadAs.MIXED
    if kinds:
        return kinds.pop()
    if chain.surveyed:
        return ReadAs.SURVEY
    if any(edge.drawn_as is DrawnAs.SPLINE for edge in drawing.edges):
        return ReadAs.SPLINE
    return ReadAs.CORNERS


def _bends(
    local: Centerline, laid: Laid, nodes: list[Node], specs: list[BendSpec]
) -> tuple[Bend, ...]:
    stations = local.stations_m
    owners = list(laid.node_of_segment)
    bends: list[Bend] = []
    axis_before: Vector | None = None
    index = 1
    while index < len(nodes) - 1:
        number = nodes[index].bend
        stop = index
        while stop < len(nodes) and nodes[stop].bend == number:
            stop += 1
        low, high = bisect_left(owners, index), bisect_left(owners, stop)
        spec = specs[number]
        if spec.in_fitting:
            into, out = laid.segments[low - 1].end_tangent, laid.segments[low].start_tangent
            axis = first_axis = last_axis = unit(cross(into, out))
            along: list[Vector] = []
            angle, radius = angle_between(into, out), None
            start = end = stations[low]
            rise = into[2] + out[2]
        else:
            where = [k for k in range(low, high) if isinstance(laid.segments[k], Arc)]
            arcs = [s for s in laid.segments[low:high] if isinstance(s, Arc)]
            into, out = arcs[0].start_tangent, arcs[-1].end_tangent
            # a lead lies as the drawing misses tangency, not as the bend does
            drawn = [
                segment
                for k, segment in zip(where, arcs, strict=True)
                if not nodes[owners[k]].is_lead
            ]
            first_axis, last_axis = axes_at_ends(drawn or arcs)
            axis, along = mean_axis(arcs), [into, *(arc.end_tangent for arc in arcs)]
            angle, radius = sum(a.angle_rad for a in arcs), min(a.radius_m for a in arcs)
            start, end = stations[where[0]], stations[where[-1] + 1]
            rise = arcs[-1].end_m[2] - arcs[0].start_m[2]
        turned = None if axis_before is None else rotation_between(axis_before, first_axis, into)
        bends.append(
            Bend(
                len(bends) + 1,
                start,
                end,
                angle,
                radius,
                spec.radius_from,
                attitude_of(axis, into, out, angle, rise, along),
                turned,
                spec.in_fitting,
                spec.read_as,
                spec.angle_sd_rad,
                spec.radius_sd_m,
                spec.radius_determined,
            )
        )
        axis_before = last_axis
        index = stop
    return tuple(bends)


def _vertex_stations(
    drawing: Drawing,
    chain: BendChain,
    local: Centerline,
    laid: Laid,
    nodes: list[Node],
    joints: list[int],
    specs: list[BendSpec],
) -> tuple[list[float], list[float]]:
    """Station nearest to each drawn vertex, looked for only near its place in the order.

    Also how far it is away; 0 for a corner that its bend cuts, and for what was left out.
    """
    owners = list(laid.node_of_segment)
    starts = local.stations_m
    corners = {
        joint
        for node, joint in zip(nodes, joints, strict=True)
        if node.bend >= 0 and specs[node.bend].corner
    }
    cut = corners | chain.left_out
    found: list[float] = []
    distances: list[float] = []
    near: Sequence[int]
    for joint, point in enumerate(drawing.points_m):
        low = bisect_left(joints, joint)
        high = bisect_right(joints, joint)
        if joint in corners:
            # a corner lies on its own arc, however near the run comes by once more
            own = range(bisect_left(owners, low), bisect_left(owners, high))
            near = [k for k in own if isinstance(laid.segments[k], Arc)] or own[:1]
            # a bend beside it may take all the straight that it stood on
            near = near or range(max(own.start - 1, 0), min(own.start + 1, len(owners)))
        else:
            # a bend's corner points stand at its first point; arcs joined into one, and straights
            # of rounding between two of them, stand under the first of theirs
            start = bisect_left(joints, joints[max(low - 1, 0)])
            first = max(bisect_right(owners, max(min(start, low - 2), 0)) - 1, 0)
            first = bisect_left(owners, owners[first])
            near = range(first, bisect_right(owners, high + 1))
        station, away = _nearest(laid.segments, starts, near, to_vector(point))
        found.append(station)
        distances.append(0.0 if joint in cut else away)
    return found, distances


def _nearest(
    segments: tuple[Segment, ...], starts: tuple[float, ...], among: Sequence[int], place: Vector
) -> tuple[float, float]:
    """Station nearest to a place on some segments, and how far away it is."""
    best = (starts[among[0]], float("inf"))
    for index in among:
        along, away = nearest_on(segments[index], place)
        if away < best[1]:
            best = (starts[index] + along, away)
    return best


def _numbered(
    finding: Finding | NumberedFinding, numbers: Sequence[int], drawing: Drawing
) -> Finding:
    if isinstance(finding, NumberedFinding):
        return finding.numbered(numbers, drawing.names)
    return finding
