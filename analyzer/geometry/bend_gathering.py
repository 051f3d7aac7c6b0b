"""Corner points gathered along a drawn path, stretch by stretch.

Lines are read by `stretches`, survey points by `survey_parts`; true arcs and the arcs of splines
are taken as drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, cos, degrees, radians

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import (
    ONE_NODE_RAD,
    ROUNDED_RAD,
    TANGENT_RAD,
    Asked,
    BendChain,
    BendSpec,
    Drawing,
    add_corner,
    arc_node,
    is_line,
    show_short,
)
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.chords.chord_runs import ChordRun
from analyzer.geometry.chords.tangencies import Tangency
from analyzer.geometry.corners import Node, arc_nodes, meeting_point
from analyzer.geometry.drawn import DrawnAs
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc, Straight, Vector, dot, norm, unit
from analyzer.geometry.stretches import LineReading, read_lines
from analyzer.geometry.survey.parts import (
    bend_shots_between,
    gather_survey,
    rounding_accuracy,
)
from analyzer.geometry.surveyed_stretches import SurveyedPart, look_drawn
from analyzer.geometry.vectors import minus, plus, times

__all__ = ["gather_bends"]

_SAME_CIRCLE = 1e-3
_SPLINE_PLANE = cos(radians(30.0))
_SPLINE_LEAST_RAD = radians(0.05)

_LOOSE, _LOOSEST_RAD = 1.05, radians(1.0)
"""Times the width of a bridged gap over the length beside it, that a turn at an arc is no corner,
and the largest turn that is none."""


def gather_bends(drawing: Drawing, asked: Asked, chain: BendChain) -> None:
    """Gather the corner points of a whole path into the chain, its two ends included."""
    edges = drawing.edges
    chain.nodes.append(Node(edges[0].segment.start_m))
    chain.joints.append(0)
    mismatch: list[float] = []
    index = 0
    smooth: set[int] = set()
    while index < len(edges):
        if is_line(edges[index]):
            stop = _line_stop(drawing, index)
            _joint_corner(drawing, asked, chain, index, smooth)
            smooth |= _gather_lines(drawing, asked, chain, index, stop)
            index = stop
        else:
            _joint_corner(drawing, asked, chain, index, smooth)
            mismatch += _gather_curve(drawing, asked, chain, index, smooth)
            index += 1
    chain.nodes.append(Node(chain.end or edges[-1].segment.end_m))
    chain.joints.append(len(edges))
    if mismatch:
        chain.find(
            "tangent-mismatch",
            Severity.NOTE,
            f"{len(mismatch)} joint{'s' if len(mismatch) > 1 else ''} of drawn arcs miss tangency, "
            f"by at most {degrees(max(mismatch)):.2g}°: the arcs are laid tangent with their drawn "
            "radius",
            None,
        )


def _joint_turn(drawing: Drawing, joint: int) -> float:
    before, after = drawing.edges[joint - 1].segment, drawing.edges[joint].segment
    return angle_between(before.end_tangent, after.start_tangent)


def _tangent_within(drawing: Drawing, joint: int) -> float:
    """Largest turn at a joint of an arc that is no corner: what rounding makes, or a gap. [rad]

    Where a gap was bridged at an end of a piece, its direction is known only to the gap's width
    over its length.
    """
    loose = 0.0
    for edge in drawing.edges[joint - 1 : joint + 1]:
        if edge.bridged_m > 0.0:
            size = norm(minus(edge.segment.end_m, edge.segment.start_m))
            loose += _LOOSE * edge.bridged_m / size
    return min(max(ROUNDED_RAD, loose), _LOOSEST_RAD)


def _joint_corner(
    drawing: Drawing, asked: Asked, chain: BendChain, joint: int, smooth: set[int]
) -> None:
    """Add a corner where two edges meet, one of them no line, and turn more than rounding."""
    if joint == 0 or joint in smooth:
        return
    if _joint_turn(drawing, joint) <= _tangent_within(drawing, joint):
        return
    if is_line(drawing.edges[joint]):
        reading = _line_reading(drawing, asked, joint, _line_stop(drawing, joint))
        if _starts_tangent(reading):
            return
    add_corner(drawing, asked, chain, joint)


def _line_stop(drawing: Drawing, joint: int) -> int:
    """Joint where the lines that start at a joint end."""
    while joint < len(drawing.edges) and is_line(drawing.edges[joint]):
        joint += 1
    return joint


def _starts_tangent(reading: LineReading) -> bool:
    """Whether a stretch starts with chords tangent to the arc before."""
    return any(run.first == 0 and run.start.tangency is not Tangency.FREE for run in reading.runs)


def _first_leg_is_no_straight(drawing: Drawing, asked: Asked, joint: int) -> bool:
    """Whether the lines after a joint start with a chord or between survey points."""
    if not is_line(drawing.edges[joint]):
        return False
    if asked.read_as is ReadAs.SURVEY:
        return True
    reading = _line_reading(drawing, asked, joint, _line_stop(drawing, joint))
    measured = reading.surveyed or any(part.first == 0 for part in reading.parts)
    return measured or _starts_tangent(reading)


def _line_reading(drawing: Drawing, asked: Asked, first: int, stop: int) -> LineReading:
    edges = drawing.edges
    locked = [
        joint - first
        for joint in range(first, stop + 1)
        if joint in drawing.kept or drawing.radii_m[joint] is not None
    ]
    # beside survey points the nearest leg says nothing of the direction
    arc_before = first > 0 and not is_line(edges[first - 1])
    arc_after = stop < len(edges) and not is_line(edges[stop])
    entry = edges[first - 1].segment.end_tangent if arc_before else None
    leave = edges[stop].segment.start_tangent if arc_after else None
    return read_lines(
        drawing.points_m[first : stop + 1],
        drawing.rounding_m,
        drawing.floor_m,
        locked=locked,
        entry=entry,
        leave=leave,
        read_as=asked.read_as,
        corner_radius_m=asked.corner_radius_m,
        accuracy_m=asked.accuracy_m,
    )


def _gather_lines(
    drawing: Drawing, asked: Asked, chain: BendChain, first: int, stop: int
) -> set[int]:
    """Read a stretch of lines; return the joints at which a run leaves tangent to the next arc."""
    whole = first == 0 and stop == len(drawing.edges)
    if asked.read_as is ReadAs.SURVEY:
        return _gather_measured(drawing, asked, chain, first, stop)
    reading = _line_reading(drawing, asked, first, stop)
    stated = asked.accuracy_m is not None and asked.read_as is None
    if reading.measured_again:
        chain.find(
            "measured-again",
            Severity.NOTE,
            f"{reading.measured_again} place{'s were' if reading.measured_again > 1 else ' was'} "
            "measured several times in a row: every measurement counts in the fit",
            first,
        )
    if reading.surveyed and (stated or asked.read_as is None):
        return _gather_measured(drawing, asked, chain, first, stop)
    if stated and whole:
        corners = [vertex for vertex in reading.corners if vertex not in drawing.kept]
        drawn = look_drawn(drawing.points_m, corners, drawing.rounding_m, asked.accuracy_m or 0.0)
        shots = None if drawn else bend_shots_between(drawing, asked, first, stop)
        if shots is not None:
            return gather_survey(drawing, asked, chain, first, stop, shots=shots)
        if not reading.parts:
            _find_accuracy_unused(chain, 0 if drawn else len(corners))
    if reading.parts:
        return _gather_parts(drawing, asked, chain, first, stop, reading.parts)
    for doubt in reading.doubts:
        chain.find(
            "ambiguous-chords",
            Severity.CAUTION if doubt.serious else Severity.NOTE,
            doubt.message,
            first + doubt.vertex,
        )
    things: list[tuple[int, ChordRun | None]] = [(vertex, None) for vertex in reading.corners]
    things += [(run.first, run) for run in reading.runs]
    for vertex, run in sorted(things, key=lambda pair: (pair[0], pair[1] is not None)):
        if run is None:
            add_corner(drawing, asked, chain, first + vertex)
        else:
            spec = BendSpec(ReadAs.CHORDS, RadiusFrom.FIT)
            chain.add(spec, _run_nodes(run), first + run.first)
    last = stop - first
    ends_run = any(
        run.last == last and run.end.tangency is not Tangency.FREE for run in reading.runs
    )
    return {stop} if ends_run else set()


def _find_accuracy_unused(chain: BendChain, corners: int) -> None:
    """Say that a whole run is read exactly although an accuracy is stated.

    `corners` counts those that look measured: a caution; a note where there are none.
    """
    if not corners:
        chain.find(
            "accuracy-not-used",
            Severity.NOTE,
            "the points are too few or too exact for survey points, so the stated accuracy is not "
            'used and they are read exactly: read_as = "survey" in the job fits them all the same',
            None,
        )
        return
    chain.find(
        "accuracy-not-used",
        Severity.CAUTION,
        "an accuracy is stated, but the points are too few to tell straights and arcs, so it is "
        f"not used: {corners} points that turn are read as corners, each a bend of its "
        "own. Where they were measured along the raceway, that is wrong in number, angle "
        "and radius of the bends: measure closer, or at the start, the middle and the end of "
        'every bend and twice on every straight; read_as = "survey" in the job fits them all the '
        'same. Where each is a corner, read_as = "corners" confirms it',
        None,
    )


def _gather_measured(
    drawing: Drawing, asked: Asked, chain: BendChain, first: int, stop: int
) -> set[int]:
    """Fit measured points; return the joint where what follows goes on tangent."""
    rounded = None if asked.accuracy_m else rounding_accuracy(drawing, first, stop)
    source = "estimated from the points"
    if rounded is not None:
        source = f"taken from their rounding to {show_short(drawing.rounding_m)}"
    if asked.accuracy_m is None and asked.read_as is None:
        chain.find(
            "read-as-survey",
            Severity.CAUTION,
            "the points look measured, so straights and arcs are fitted to them with an "
            f"accuracy {source}: state [drawing] accuracy. Only where they "
            "are free of noise, give the run's name in [drawing.read_as] of the job the value "
            '"corners" or "chords": every wobble counts as a bend then',
            first,
        )
    elif rounded is not None:
        text = f"no survey accuracy stated: {show_short(rounded)} a coordinate, {source}"
        chain.find("survey-accuracy-rounding", Severity.NOTE, text, first)
    return gather_survey(drawing, asked, chain, first, stop, rounded)


def _gather_parts(
    drawing: Drawing,
    asked: Asked,
    chain: BendChain,
    first: int,
    stop: int,
    parts: Sequence[SurveyedPart],
) -> set[int]:
    """Read a stretch that is drawn in some parts and measured in others, each as what it is."""
    smooth: set[int] = set()
    here = first
    for part in parts:
        low, high = first + part.first, first + part.last
        if low > here:
            smooth |= _gather_lines(drawing, asked, chain, here, low)
        if low > first and low not in smooth:
            add_corner(drawing, asked, chain, low)
        smooth |= _gather_measured(drawing, asked, chain, low, high)
        here = high
    if here < stop:
        if here not in smooth:
            add_corner(drawing, asked, chain, here)
        smooth |= _gather_lines(drawing, asked, chain, here, stop)
    return smooth & {stop}


def _run_nodes(run: ChordRun) -> list[Node]:
    start, end = run.start, run.end
    if run.angle_rad <= ONE_NODE_RAD:
        place = meeting_point(start.place_m, start.direction, end.place_m, end.direction)
        return [Node(place, run.radius_m)]
    along = start.direction
    reach = dot(minus(run.center_m, start.place_m), along)
    touch = plus(start.place_m, along, reach)
    axis = unit(minus(run.axis, times(along, dot(run.axis, along))))
    return arc_nodes(touch, along, axis, run.radius_m, run.angle_rad, -1)


def _gather_curve(
    drawing: Drawing, asked: Asked, chain: BendChain, index: int, smooth: set[int]
) -> list[float]:
    """Add the arc of one edge that is no drawn line; return its joints that miss tangency.

    `smooth` are joints where chords or points before the arc are tangent to it as a whole: the
    direction of their last leg then means nothing.
    """
    edge = drawing.edges[index]
    arc = edge.segment
    if not isinstance(arc, Arc):
        return []
    entry, missed_before = _arc_line(drawing, index, at_start=True)
    leave, missed_after = _arc_line(drawing, index, at_start=False)
    if missed_before > 0.0 and index in smooth:
        entry, missed_before = (arc.start_m, arc.start_tangent), 0.0
    if missed_after > 0.0 and _first_leg_is_no_straight(drawing, asked, index + 1):
        leave, missed_after = (arc.end_m, arc.end_tangent), 0.0
    count = ceil(arc.angle_rad / ONE_NODE_RAD)
    part = arc.length_m / count
    pieces = [arc] if count == 1 else [arc.part(k * part, (k + 1) * part) for k in range(count)]
    nodes = [arc_node(piece) for piece in pieces]
    if count == 1 and missed_before + missed_after > 0.0 and arc.angle_rad > ROUNDED_RAD:
        nodes = [Node(meeting_point(*entry, *leave), arc.radius_m)]
    number = _same_bend(drawing, chain, index)
    if number is None:
        kind = ReadAs.SPLINE if edge.drawn_as is DrawnAs.SPLINE else ReadAs.ARCS
        chain.add(BendSpec(kind, RadiusFrom.DRAWING), nodes, index)
    else:
        chain.extend(number, nodes, index)
    last = index + 1 == len(drawing.edges) or is_line(drawing.edges[index + 1])
    return [m for m in (missed_before, missed_after if last else 0.0) if m > 0.0]


def _arc_line(
    drawing: Drawing, index: int, *, at_start: bool
) -> tuple[tuple[Vector, Vector], float]:
    """Return the line an arc is laid tangent to at one end, and by how much it was drawn off it."""
    arc = drawing.edges[index].segment
    place = arc.start_m if at_start else arc.end_m
    own = arc.start_tangent if at_start else arc.end_tangent
    other = index - 1 if at_start else index + 1
    if not 0 <= other < len(drawing.edges):
        return (place, own), 0.0
    neighbor = drawing.edges[other].segment
    theirs = neighbor.end_tangent if at_start else neighbor.start_tangent
    missed = angle_between(own, theirs)
    if not TANGENT_RAD < missed <= _tangent_within(drawing, index if at_start else index + 1):
        return (place, own), 0.0
    if isinstance(neighbor, Straight):
        return (place, theirs), missed
    return (place, unit(plus(own, theirs, 1.0))), missed


def _same_bend(drawing: Drawing, chain: BendChain, index: int) -> int | None:
    """Return the bend an arc goes on with: the same circle, or the same way on a spline."""
    if index == 0 or index in drawing.kept:
        return None
    edge, before = drawing.edges[index], drawing.edges[index - 1]
    a, b = before.segment, edge.segment
    if not isinstance(a, Arc) or not isinstance(b, Arc) or before.drawn_as is not edge.drawn_as:
        return None
    if angle_between(a.end_tangent, b.start_tangent) > ROUNDED_RAD:
        return None
    number = chain.nodes[-1].bend
    if edge.drawn_as is DrawnAs.SPLINE:
        small = min(a.angle_rad, b.angle_rad) < _SPLINE_LEAST_RAD and dot(a.axis, b.axis) > -0.5
        alike = dot(a.axis, b.axis) > _SPLINE_PLANE
        return number if edge.curve == before.curve and (alike or small) else None
    apart = norm(minus(a.center_m, b.center_m))
    same = apart <= _SAME_CIRCLE * a.radius_m and dot(a.axis, b.axis) > cos(radians(0.1))
    return number if same and abs(a.radius_m - b.radius_m) <= _SAME_CIRCLE * a.radius_m else None
