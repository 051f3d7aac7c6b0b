"""Corner points gathered along a drawn path, stretch by stretch.

Lines are read by `stretches`, survey points by `survey_parts`; true arcs and the arcs of splines
are taken as drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import Asked, BendChain, BendSpec, Drawing, add_corner, is_line
from analyzer.geometry.chords.measured_runs import ChordRun
from analyzer.geometry.chords.tangencies import Tangency
from analyzer.geometry.corners import ONE_NODE_RAD, Node, arc_nodes, meeting_point
from analyzer.geometry.drawn_arcs import (
    gather_curve,
    goes_on,
    joint_turn,
    leads,
    missed,
    tangent_within,
)
from analyzer.geometry.line_readings import LineReading, Wanted
from analyzer.geometry.measured_parts import find_lone_shots, survey_throughout
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.geometry.segments import dot, unit
from analyzer.geometry.stretches import read_lines
from analyzer.geometry.survey.parts import (
    bend_shots_between,
    gather_survey,
    rounding_accuracy,
)
from analyzer.geometry.surveyed_stretches import SurveyedPart, look_drawn
from analyzer.geometry.vectors import minus, plus, times
from analyzer.units import show_short

__all__ = ["gather_bends"]


def gather_bends(drawing: Drawing, asked: Asked, chain: BendChain) -> None:
    """Gather the corner points of a whole path into the chain, its two ends included."""
    edges = drawing.edges
    chain.nodes.append(Node(edges[0].segment.start_m))
    chain.joints.append(0)
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
            before = 0.0 if index in smooth else missed(drawing, index)
            after = missed(drawing, index + 1)
            if after > 0.0 and _first_leg_is_no_straight(drawing, asked, index + 1):
                after = 0.0
            gather_curve(drawing, chain, index, before, after)
            index += 1
    chain.nodes.append(Node(chain.end or edges[-1].segment.end_m))
    chain.joints.append(len(edges))


def _joint_corner(
    drawing: Drawing, asked: Asked, chain: BendChain, joint: int, smooth: set[int]
) -> None:
    """Add a corner where two edges meet, one of them no line, and turn more than rounding."""
    if joint == 0 or joint in smooth:
        return
    if joint_turn(drawing, joint) <= tangent_within(drawing, joint):
        return
    if leads(drawing, joint) and not _first_leg_is_no_straight(drawing, asked, joint):
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
        Wanted(
            locked=locked,
            entry=entry,
            leave=leave,
            read_as=asked.read_as,
            corner_radius_m=asked.corner_radius_m,
            accuracy_m=asked.accuracy_m,
        ),
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
        fit = None if drawn else bend_shots_between(drawing, asked, first, stop)
        if fit is not None:
            return gather_survey(drawing, asked, chain, first, stop, shots=fit)
    if stated:
        fit = survey_throughout(drawing, asked, first, stop, reading)
        if fit is not None:
            return gather_survey(drawing, asked, chain, first, stop, shots=fit)
    if stated and whole and not reading.parts:
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
            _add_run(drawing, chain, first, run)
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
    here, before = first, len(chain.nodes)
    for part in parts:
        low, high = first + part.first, first + part.last
        if low > here:
            if here > first and here not in smooth:
                add_corner(drawing, asked, chain, here)
            smooth |= _gather_lines(drawing, asked, chain, here, low)
        if low > first and low not in smooth:
            add_corner(drawing, asked, chain, low)
        smooth |= _gather_measured(drawing, asked, chain, low, high)
        here = high
    if here < stop:
        if here not in smooth:
            add_corner(drawing, asked, chain, here)
        smooth |= _gather_lines(drawing, asked, chain, here, stop)
    find_lone_shots(drawing, chain, before)
    return smooth & {stop}


def _add_run(drawing: Drawing, chain: BendChain, first: int, run: ChordRun) -> None:
    """Add chords: a bend of their own, or more of the arc before that lies on their circle."""
    joint = first + run.first
    if run.outside:
        chain.outside |= set(range(joint, first + run.last + 1))
    if run.first == 0 and run.start.tangency is not Tangency.FREE and goes_on(drawing, first, run):
        chain.extend(chain.nodes[-1].bend, _run_nodes(run), joint)
    else:
        joints = None if run.outside else (joint, first + run.last)
        spec = BendSpec(ReadAs.CHORDS, RadiusFrom.FIT, chord_joints=joints)
        chain.add(spec, _run_nodes(run), joint)
    chain.last_run = (chain.nodes[-1].bend, first + run.last, run)


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
