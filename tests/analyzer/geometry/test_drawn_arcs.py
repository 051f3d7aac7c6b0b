"""Arcs and splines in a path: off tangent, drawn in several ways, and off the drawing."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import cos, degrees, pi, radians, sin

import numpy as np
import pytest
from drawn_ways import CORNER_M, R, arc_points, codes, finding, lines, straight_after
from scipy.interpolate import BSpline

from analyzer.findings import Severity
from analyzer.geometry.bend_chain import Asked, BendChain
from analyzer.geometry.bends import read_bends
from analyzer.geometry.curves import arcs_along
from analyzer.geometry.drawing_cleanup import clean_drawing
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.far_points import far_point_findings
from analyzer.geometry.readings import RadiusFrom, Reading
from analyzer.geometry.segments import Arc, Straight, Vector, cross, dot, unit
from analyzer.geometry.vectors import plus, times
from analyzer.units import show_short


def spline_edges(control: list[tuple[float, ...]], knots: list[float], degree: int = 3):
    """Edges along a spline, as the importer makes them."""
    curve = BSpline(knots, np.array(control, float), degree)
    found = arcs_along(curve, curve.derivative(), sorted(set(knots)))
    return tuple(DrawnEdge(one, DrawnAs.SPLINE, 0) for one in found)


def fan(count: int, turn_deg: float, kink_deg: float, radius: float) -> tuple[DrawnEdge, ...]:
    """Arcs in a row that turn left in the plane and meet at a kink, from the origin along x."""
    edges = []
    place, way = (0.0, 0.0, 0.0), 0.0
    for _ in range(count):
        center = (place[0] - radius * sin(way), place[1] + radius * cos(way), 0.0)
        arc = Arc(place, center, (0.0, 0.0, 1.0), radians(turn_deg))
        edges.append(DrawnEdge(arc, DrawnAs.ARC))
        place, way = arc.end_m, way + radians(turn_deg + kink_deg)
    return tuple(edges)


def beside(
    edges: tuple[DrawnEdge, ...], before_deg: float, after_deg: float, after_m: float = 2.0
) -> DrawnPath:
    """Edges with straights, the first of 2 m, turned from them by angles in the plane."""
    first, last = edges[0].segment, edges[-1].segment

    def turned(along: Vector, angle: float) -> Vector:
        x, y, _ = along
        c, s = cos(angle), sin(angle)
        return (c * x - s * y, s * x + c * y, 0.0)

    into = turned(first.start_tangent, -radians(before_deg))
    out = turned(last.end_tangent, radians(after_deg))
    start = tuple(a - 2.0 * b for a, b in zip(first.start_m, into, strict=True))
    end = tuple(a + after_m * b for a, b in zip(last.end_m, out, strict=True))
    return DrawnPath(
        (
            DrawnEdge(Straight(start, first.start_m)),
            *edges,
            DrawnEdge(Straight(last.end_m, end)),
        )
    )


def turned_deg(reading: Reading) -> float:
    return degrees(sum(bend.angle_rad for bend in reading.bends))


def elbow() -> tuple[DrawnEdge, ...]:
    """A spline that turns left by 94°, tighter in its middle than at its ends."""
    rows = [(0, 0), (0.3, 0), (0.5, 0.05), (0.6, 0.25), (0.62, 0.5), (0.6, 0.8)]
    control = [(x, y, 0.0) for x, y in rows]
    return spline_edges(control, [0, 0, 0, 0, 1, 2, 3, 3, 3, 3])


# --- off tangent ------------------------------------------------------------------------------


@pytest.mark.parametrize("off_deg", [0.001, 0.1, 0.4, 2.4])
def test_spline_off_tangent_to_its_lines_keeps_its_radius_and_all_turning(off_deg: float) -> None:
    edges = elbow()
    (own,) = read_bends(DrawnPath(edges), corner_radius_m=CORNER_M).bends
    reading = read_bends(beside(edges, off_deg, off_deg), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.radius_m == pytest.approx(own.radius_m, rel=1e-9)
    # the line stands off by the length of the short arc on it, so it turns that little more
    assert turned_deg(reading) == pytest.approx(degrees(own.angle_rad) + 2 * off_deg, rel=1e-3)
    assert "corner-too-short" not in codes(reading)
    if off_deg > 0.5:
        caution = finding(reading, "off-tangent")
        assert caution.severity is Severity.CAUTION
        assert "2.4°" in caution.message
    else:
        assert finding(reading, "tangent-mismatch").severity is Severity.NOTE


def test_arc_more_than_half_a_degree_off_its_lines_keeps_its_drawn_radius() -> None:
    reading = read_bends(beside(fan(1, 90.0, 0.0, R), 0.6, 0.6), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert bend.radius_m == pytest.approx(R, rel=1e-9)
    assert degrees(bend.angle_rad) == pytest.approx(91.2, abs=0.01)
    assert codes(reading) == ["off-tangent", "off-tangent"]


@pytest.mark.parametrize("stub_m", [2.0, 0.4])
def test_the_radius_told_of_an_arc_off_tangent_is_the_one_it_is_laid_with(stub_m: float) -> None:
    """The drawn one where there is room; beside a wide corner on a short stub, what is left."""
    (edge,) = fan(1, 90.0, 0.0, R)
    t = radians(4.0)
    stub = (-stub_m * cos(t), stub_m * sin(t), 0.0)
    start = (stub[0] - 2.0 * cos(2.0 * t), stub[1] + 2.0 * sin(2.0 * t), 0.0)
    into = (Straight(start, stub), Straight(stub, (0.0, 0.0, 0.0)))
    x, y, _ = edge.segment.end_m
    out = DrawnEdge(Straight((x, y, 0.0), (x, y + 2.0, 0.0)))
    path = DrawnPath((*(DrawnEdge(one) for one in into), edge, out))
    reading = read_bends(path, corner_radius_m=24.0 * R)
    curve = max(reading.bends, key=lambda bend: bend.angle_rad)
    said = finding(reading, "off-tangent").message
    is_short = stub_m < 1.0
    assert (curve.radius_m < 0.99 * R) == is_short
    assert (f"bend {curve.number} is laid with {show_short(curve.radius_m)}" in said) == is_short
    assert (f"keeps its drawn radius of {show_short(R)}" in said) != is_short


def test_a_lead_that_is_a_bend_of_its_own_is_told_with_its_own_radius() -> None:
    reading = read_bends(beside(fan(1, 90.0, 0.0, R), 0.0, -2.0), corner_radius_m=CORNER_M)
    quarter, back = reading.bends
    assert back.radius_m > 1.01 * quarter.radius_m
    said = finding(reading, "off-tangent").message
    assert f"drawn radius of {show_short(R)}" in said
    assert f"the straight is bent to it with {show_short(back.radius_m)};" in said


@pytest.mark.parametrize(
    ("off_deg", "length", "extra"), [(0.6, 0.1, 0.1), (2.0, 0.1, 0.25), (3.0, 0.2, 0.25)]
)
def test_short_straight_off_tangent_costs_no_radius_and_hardly_turns_more(
    off_deg: float, length: float, extra: float
) -> None:
    reading = read_bends(beside(fan(1, 90.0, 0.0, R), 0.0, off_deg, length), corner_radius_m=R)
    (bend,) = reading.bends
    assert bend.radius_m == pytest.approx(R, rel=1e-6)
    assert 90.0 + off_deg <= degrees(bend.angle_rad) <= 90.0 + off_deg + extra
    assert codes(reading) == ["off-tangent"]


@pytest.mark.parametrize(("off_deg", "length"), [(1.0, 0.1), (3.0, 0.2), (4.9, 1.0)])
def test_what_a_straight_off_tangent_turns_more_than_drawn_is_told(
    off_deg: float, length: float
) -> None:
    reading = read_bends(beside(fan(1, 90.0, 0.0, R), 0.0, off_deg, length), corner_radius_m=R)
    more = turned_deg(reading) - 90.0 - off_deg
    assert more > 0.01
    assert (
        f"the straight lies {more:.2f}° off the way it is drawn"
        in finding(reading, "off-tangent").message
    )


def test_a_long_straight_off_tangent_is_told_no_other_way() -> None:
    reading = read_bends(beside(fan(1, 90.0, 0.0, R), 0.0, 0.6, 20.0), corner_radius_m=R)
    assert turned_deg(reading) == pytest.approx(90.6, abs=0.001)
    assert "off the way" not in finding(reading, "off-tangent").message


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize(("off_deg", "gap"), [(1.0, 0.12), (3.0, 0.5)])
def test_straight_between_two_curves_off_tangent_at_both_ends_costs_no_radius(
    off_deg: float, gap: float, side: float
) -> None:
    first = fan(1, 45.0, 0.0, R)
    way = radians(45.0 + off_deg)
    place = first[0].segment.end_m
    start = (place[0] + gap * cos(way), place[1] + gap * sin(way), 0.0)
    way += side * radians(off_deg)
    center = (start[0] - R * sin(way), start[1] + R * cos(way), 0.0)
    second = DrawnEdge(Arc(start, center, (0.0, 0.0, 1.0), radians(45.0)), DrawnAs.ARC)
    edges = (*first, DrawnEdge(Straight(place, start)), second)
    reading = read_bends(beside(edges, 0.0, 0.0), corner_radius_m=R)
    radii = [bend.radius_m or 0.0 for bend in reading.bends]
    assert len(radii) == (2 if side > 0.0 else 3)
    assert min(radii) == pytest.approx(R, rel=1e-6)
    drawn = 90.0 + 2.0 * off_deg
    assert drawn - 1e-9 <= turned_deg(reading) <= drawn + 0.5
    assert codes(reading) == ["off-tangent", "off-tangent"]


@pytest.mark.parametrize("off_deg", [0.002, 0.02])
@pytest.mark.parametrize("gap", [0.012, 0.02, 0.03, 0.06])
@pytest.mark.parametrize("side", [1.0, 0.0, -1.0])
def test_short_straight_between_two_curves_of_rounded_places_has_room_for_both_leads(
    side: float, gap: float, off_deg: float
) -> None:
    first = fan(2, 22.5, 0.0, R)
    place, way = first[1].segment.end_m, radians(45.0 + off_deg)
    start = (place[0] + gap * R * cos(way), place[1] + gap * R * sin(way), 0.0)
    way += side * radians(off_deg)
    second = []
    for _ in range(2):
        center = (start[0] - R * sin(way), start[1] + R * cos(way), 0.0)
        arc = Arc(start, center, (0.0, 0.0, 1.0), radians(22.5))
        second.append(DrawnEdge(arc, DrawnAs.ARC))
        start, way = arc.end_m, way + radians(22.5)
    edges = (*first, DrawnEdge(Straight(place, second[0].segment.start_m)), *second)
    reading = read_bends(beside(edges, 0.0, 0.0), corner_radius_m=R)
    assert codes(reading) == ["tangent-mismatch"]
    assert [bend.radius_m for bend in reading.bends] == pytest.approx([R, R], rel=1e-9)
    assert [degrees(b.angle_rad) for b in reading.bends] == pytest.approx([45.0] * 2, abs=0.05)


def test_straight_too_short_to_be_bent_to_its_curve_is_an_error() -> None:
    reading = read_bends(beside(fan(1, 90.0, 0.0, R), 0.0, 4.0, 0.03), corner_radius_m=R)
    assert turned_deg(reading) == pytest.approx(94.0, abs=0.01)
    assert finding(reading, "corner-too-short").severity is Severity.ERROR


def test_straight_that_leaves_an_arc_the_other_way_is_a_bend_of_its_own() -> None:
    reading = read_bends(beside(fan(1, 90.0, 0.0, R), 0.0, -2.0), corner_radius_m=CORNER_M)
    quarter, back = reading.bends
    assert degrees(quarter.angle_rad) == pytest.approx(90.0, abs=1e-9)
    assert degrees(back.angle_rad) == pytest.approx(2.0, abs=0.02)
    assert quarter.radius_m == pytest.approx(R, rel=1e-9)


def test_vertex_between_a_line_and_the_straight_start_of_a_spline_is_kept() -> None:
    control = [(0.5 * k, 0, 0) for k in range(6)] + [(2.5, 0.3, 0), (2.5, 0.8, 0)]
    edges = spline_edges(control, [0, 0, 0, 0, 1, 2, 3, 4, 5, 5, 5, 5])
    assert isinstance(edges[0].segment, Straight)
    line = Straight((-2.0 * cos(radians(0.3)), -2.0 * sin(radians(0.3)), 0.0), (0.0, 0.0, 0.0))
    reading = read_bends(DrawnPath((DrawnEdge(line), *edges)), corner_radius_m=CORNER_M)
    (alone,) = read_bends(DrawnPath(edges), corner_radius_m=CORNER_M).bends
    assert degrees(reading.bends[0].angle_rad) == pytest.approx(0.3, abs=1e-9)
    assert reading.bends[-1].radius_m == pytest.approx(alone.radius_m, rel=1e-9)
    assert reading.deviation_m < 1e-9
    assert codes(reading) == ["slight-corner"]


# --- the plane of a bend -----------------------------------------------------------------------


def kicks(*bends: Sequence[tuple[float, float]], lift_m: float = 0.0) -> DrawnPath:
    """Bends of arcs (turn and roll from the arc before, in degrees), straights of 1 m between.

    From the second bend on all is lifted, out of the plane of the first and off its straights.
    """
    way, axis = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
    place: Vector = (0.0, 0.0, 0.0)
    edges: list[DrawnEdge] = []
    for number, bend in enumerate(bends):
        goal = plus(plus(place, way, 1.0), axis, lift_m if number == 1 else 0.0)
        edges.append(DrawnEdge(Straight(place, goal)))
        place = goal
        for turn_deg, roll_deg in bend:
            roll = radians(roll_deg)
            axis = unit(plus(times(axis, cos(roll)), cross(way, axis), sin(roll)))
            arc = Arc(place, plus(place, cross(axis, way), R), axis, radians(turn_deg))
            edges.append(DrawnEdge(arc, DrawnAs.SPLINE, number))
            place, way = arc.end_m, arc.end_tangent
    edges.append(DrawnEdge(Straight(place, plus(place, way, 1.0))))
    return DrawnPath(tuple(edges))


def rotations_deg(path: DrawnPath) -> list[float]:
    bends = read_bends(path, corner_radius_m=CORNER_M).bends
    return [degrees(bend.rotation_rad) for bend in bends if bend.rotation_rad is not None]


@pytest.mark.parametrize("roll_deg", [0.0, 40.0, 180.0])
@pytest.mark.parametrize("lift_m", [-1e-3, -1e-5, 1e-8, 1e-6, 1e-4, 4e-3])
def test_short_arc_that_joins_a_straight_to_a_curve_tells_no_plane(
    lift_m: float, roll_deg: float
) -> None:
    path = kicks([(15.0, 0.0), (15.0, 0.0)], [(15.0, roll_deg), (15.0, 0.0)], lift_m=lift_m)
    (rotation_deg,) = rotations_deg(path)
    assert (rotation_deg - roll_deg) % 360.0 == pytest.approx(0.0, abs=0.01) or (
        roll_deg - rotation_deg
    ) % 360.0 == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("tiny_deg", [0.0003, 0.04])
def test_tiny_arc_at_the_end_of_a_spline_tells_no_plane(tiny_deg: float) -> None:
    first = [(30.0, 0.0), (tiny_deg, 70.0)]
    second = [(tiny_deg, 50.0), (30.0, 60.0)]
    assert rotations_deg(kicks(first, second)) == pytest.approx([180.0], abs=0.2)


def test_bend_that_leaves_its_plane_is_rolled_from_where_it_starts_to_where_it_ends() -> None:
    twisted = [(15.0, 40.0), *[(15.0, 10.0)] * 4]
    path = kicks([(30.0, 0.0)], twisted, [(30.0, 90.0)])
    assert rotations_deg(path) == pytest.approx([40.0, 90.0], abs=1e-6)


# --- one bend ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("count", "turn", "kink"), [(20, 2.0, 0.4), (10, 9.0, 0.4)])
def test_arcs_that_meet_at_slight_kinks_are_one_bend(count: int, turn: float, kink: float) -> None:
    reading = read_bends(beside(fan(count, turn, kink, 2.0), 0.0, 0.0), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    total = count * turn + (count - 1) * kink
    assert degrees(bend.angle_rad) == pytest.approx(total, abs=1e-3)
    # all of the turn on the length of the arcs
    assert bend.radius_m == pytest.approx(2.0 * count * turn / total, rel=0.01)
    cautions = [one for one in reading.findings if one.severity is Severity.CAUTION]
    assert "78.74 in (2,000.0 mm) is drawn" in cautions[0].message
    assert "corner-too-short" not in codes(reading)


@pytest.mark.parametrize("order", [("arc", "spline"), ("spline", "arc"), ("spline", "spline")])
def test_elbow_exploded_into_arc_and_spline_is_one_bend(order: tuple[str, str]) -> None:
    first, second = fan(2, 45.0, 0.0, R)
    kinds = {"arc": DrawnAs.ARC, "spline": DrawnAs.SPLINE}
    edges = (
        DrawnEdge(first.segment, kinds[order[0]], 0 if order[0] == "spline" else -1),
        DrawnEdge(second.segment, kinds[order[1]], 1 if order[1] == "spline" else -1),
    )
    (bend,) = read_bends(beside(edges, 0.0, 0.0), corner_radius_m=CORNER_M).bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=1e-9)
    assert bend.radius_m == pytest.approx(R, rel=1e-9)


@pytest.mark.parametrize("arc_first", [True, False])
def test_elbow_of_an_arc_and_chords_of_its_circle_is_one_bend(arc_first: bool) -> None:
    rows = [(0.0, 0.0, 0.0), *arc_points(13), straight_after(pi / 2)]
    whole = lines(rows).edges
    axis, center = (0.0, 0.0, 1.0), (2.0, R, 0.0)
    half = 6
    if arc_first:
        arc = Arc(rows[1], center, axis, pi / 4)
        edges = (whole[0], DrawnEdge(arc, DrawnAs.ARC), *whole[1 + half :])
    else:
        arc = Arc(rows[1 + half], center, axis, pi / 4)
        edges = (*whole[: 1 + half], DrawnEdge(arc, DrawnAs.ARC), whole[-1])
    (bend,) = read_bends(DrawnPath(tuple(edges)), corner_radius_m=CORNER_M).bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=1e-6)
    assert bend.radius_m == pytest.approx(R, rel=1e-6)


# --- nothing travels backward, nothing is lost --------------------------------------------------


def test_spline_of_degree_five_with_a_straight_start_never_turns_back() -> None:
    """Length against the sum of 200,001 chords of the curve."""
    rng = np.random.default_rng(950)
    for _ in range(6):
        points, along = [np.zeros(3)], np.array([1.0, 0.0, 0.0])
        for k in range(13):
            if k >= 7:
                angle = radians(rng.uniform(-30.0, 30.0))
                c, s = cos(angle), sin(angle)
                x, y, z = along
                along = np.array([c * x - s * y, s * x + c * y, z])
            points.append(points[-1] + 0.5 * along)
        knots = [0.0] * 6 + [float(k) for k in range(1, 9)] + [9.0] * 6
        curve = BSpline(knots, np.array(points), 5)
        edges = spline_edges(points, knots, 5)
        segments = read_bends(DrawnPath(edges), corner_radius_m=None).centerline.segments
        for before, after in pairwise(segments):
            assert dot(before.end_tangent, after.start_tangent) > 0.0
        chords = np.diff(curve(np.linspace(0.0, 9.0, 200_001)), axis=0)
        length = float(np.linalg.norm(chords, axis=1).sum())
        assert sum(one.length_m for one in segments) == pytest.approx(length, rel=1e-7)


def test_points_on_the_lines_beside_a_corner_are_cut_with_it() -> None:
    along = [(0.1 * k, 0.0, 0.0) for k in range(11)]
    up = [(1.0, 0.1 * k, 0.0) for k in range(1, 11)]
    reading = read_bends(lines([*along, *up]), corner_radius_m=0.3)
    assert reading.deviation_m > 0.02
    assert "off-the-drawing" not in codes(reading)


@pytest.mark.parametrize(
    ("away", "expected"),
    [
        (0.0005, None),
        (0.004, Severity.CAUTION),
        (0.08, Severity.ERROR),
        (0.5, Severity.ERROR),
    ],
)
def test_centerline_that_passes_drawn_points_is_never_silent(
    away: float, expected: Severity | None
) -> None:
    """On a grid of 0.1 m, which is no rounding: the places were meant as they are."""
    asked = Asked(CORNER_M, RadiusFrom.TABLE, None, None, "run 1")
    drawing = clean_drawing(
        lines([(0, 0, 0), (1, 0, 0), (2, 0.1, 0)]), frozenset(), asked, BendChain()
    )
    found = far_point_findings(drawing, asked, 0.0, (), [0.0, away, 0.0], [0.0, 1.0, 2.0])
    assert [one.severity for one in found] == ([] if expected is None else [expected])
    # measured points are passed by their scatter, and no farther
    measured = far_point_findings(drawing, asked, 0.006, (), [0.0, away, 0.0], [0.0, 1.0, 2.0])
    assert bool(measured) is (away > 0.08)


@pytest.mark.parametrize("way", [0.2, 0.5, 0.9, 1.3])
def test_arc_is_held_against_the_whole_straight_of_sticks_on_a_coarse_grid(way: float) -> None:
    grid, stick, radius = 0.0254, 1.37, 0.61
    along, left = np.array((cos(way), sin(way), 0.0)), np.array((-sin(way), cos(way), 0.0))

    def sticks(place: np.ndarray, way: np.ndarray, counts: range) -> list[tuple[float, ...]]:
        rows = place + stick * np.outer(counts, way)
        return [tuple(float(v) for v in row) for row in np.round(rows / grid) * grid]

    before = sticks(np.array((2.31, 7.13, 1.19)), along, range(6))
    start = np.array(before[-1])
    arc = Arc(before[-1], tuple(start + radius * left), (0.0, 0.0, 1.0), pi / 2)
    after = [arc.end_m, *sticks(np.array(arc.end_m), left, range(1, 7))]
    edges = [DrawnEdge(Straight(a, b)) for a, b in pairwise(before)]
    edges.append(DrawnEdge(arc, DrawnAs.ARC))
    edges += [DrawnEdge(Straight(a, b)) for a, b in pairwise(after)]
    reading = read_bends(DrawnPath(tuple(edges)), corner_radius_m=CORNER_M)
    (bend,) = reading.bends
    assert degrees(bend.angle_rad) == pytest.approx(90.0, abs=0.3)
    assert bend.radius_m == pytest.approx(radius, rel=1e-3)
    assert "off-tangent" not in codes(reading)
