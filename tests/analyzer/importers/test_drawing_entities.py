"""Every entity a route is drawn with, in any plane: exact arcs, in meters."""

from __future__ import annotations

from math import atan, cos, degrees, hypot, pi, radians, sin, sqrt

import numpy as np
import pytest
from dxf_samples import (
    INCH,
    away_from_path_m,
    codes,
    draw_and_read,
    finding,
    flattened_m,
    length_m,
    read,
    save,
)

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.geometry.drawn import DrawnAs
from analyzer.geometry.segments import Arc, Straight

VERSIONS = ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"]
NORMALS = [(0, 0, 1), (0, 0, -1), (1, 0, 0), (0, -1, 0), (0.3, -0.7, 0.2), (0.001, 0.002, -5.0)]


def only(drawn):
    assert len(drawn.paths) == 1, drawn.findings
    return drawn.paths[0]


@pytest.mark.parametrize("binary", [False, True])
@pytest.mark.parametrize("version", VERSIONS)
def test_line_and_arc_are_read_from_every_version_ascii_and_binary(tmp_path, version, binary):
    def draw(_, model):
        model.add_line((0, 0, 5), (10, 0, 5))
        model.add_arc((10, 4, 5), 4, 270, 360)
        model.add_line((14, 4, 5), (14, 9, 5))

    path = save(tmp_path, draw, version=version, binary=binary)
    unit = {} if version != "R12" else {"units": None}
    if version == "R12":
        from analyzer.units import LengthUnit

        unit = {"units": LengthUnit.INCH}
    run = only(read(path, **unit))
    kinds = [type(edge.segment) for edge in run.edges]
    assert kinds == [Straight, Arc, Straight]
    assert length_m(run) == pytest.approx((10 + 2 * pi + 5) * INCH, rel=1e-14)


def test_units_turn_exactly_into_meters(tmp_path):
    run = only(draw_and_read(tmp_path, lambda _, m: m.add_line((0, 0, 0), (1, 2, 3))))
    assert run.edges[0].segment == Straight((0.0, 0.0, 0.0), (0.0254, 0.0508, 3 * 0.0254))


@pytest.mark.parametrize("normal", NORMALS)
def test_arc_in_any_plane_is_the_arc_the_library_draws(tmp_path, normal):
    made = []

    def draw(_, model):
        made.append(model.add_arc((3, 2, 1), 5, 350, 100, dxfattribs={"extrusion": normal}))

    run = only(draw_and_read(tmp_path, draw))
    (edge,) = run.edges
    assert edge.drawn_as is DrawnAs.ARC
    assert edge.segment.radius_m == pytest.approx(5 * INCH, rel=1e-14)
    assert degrees(edge.segment.angle_rad) == pytest.approx(110.0, abs=1e-12)
    start, end = made[0].start_point, made[0].end_point
    assert edge.segment.start_m == pytest.approx([x * INCH for x in start], abs=1e-15)
    assert edge.segment.end_m == pytest.approx([x * INCH for x in end], abs=1e-15)
    middle = made[0].ocs().to_wcs((3 + 5 * cos(radians(45)), 2 + 5 * sin(radians(45)), 1))
    assert away_from_path_m(run, [x * INCH for x in middle]) < 1e-12


def test_arc_over_half_a_turn_is_split_in_two(tmp_path):
    run = only(draw_and_read(tmp_path, lambda _, m: m.add_arc((0, 0), 2, 0, 300)))
    assert [degrees(e.segment.angle_rad) for e in run.edges] == pytest.approx([150.0, 150.0])
    assert length_m(run) == pytest.approx(2 * INCH * radians(300), rel=1e-14)


@pytest.mark.parametrize("bulge", [0.1, -0.1, tan := sqrt(2) - 1, -tan, 1.0, -1.0, 2.5, -3.048])
@pytest.mark.parametrize("normal", NORMALS[:5])
def test_bulge_of_any_size_and_sign_is_the_arc_the_library_draws(tmp_path, bulge, normal):
    made = []

    def draw(_, model):
        made.append(
            model.add_lwpolyline(
                [(0, 0, 0), (10, 1, bulge), (14, 4, 0), (20, 4, 0)],
                format="xyb",
                dxfattribs={"extrusion": normal, "elevation": 7.5},
            )
        )

    drawn = draw_and_read(tmp_path, draw)
    run = only(drawn)
    turn, chord = 4 * atan(abs(bulge)), hypot(4, 3)
    arc = turn * chord / (2 * sin(turn / 2))
    assert length_m(run) == pytest.approx((hypot(10, 1) + arc + 6) * INCH, rel=1e-13)
    for point in flattened_m(made[0])[::7]:
        assert away_from_path_m(run, point) < 1e-9
    assert drawn.ordered == (True,)


@pytest.mark.parametrize("bulge", [1e-12, 1e-9, 9e-8, 1.1e-7, 1e-6, -1e-6, 1e-5, 1e-4])
def test_bulges_next_to_nothing_keep_the_polyline_joined(tmp_path, bulge):
    points = [(4e6, 3e6, bulge), (4e6 + 3000, 3e6 + 400, bulge), (4e6 + 7000, 3e6, 0)]
    drawn = draw_and_read(tmp_path, lambda _, m: m.add_lwpolyline(points, format="xyb"))
    exact = hypot(3000, 400) + hypot(4000, 400)
    assert length_m(only(drawn)) == pytest.approx(exact * INCH, rel=2e-8)


def test_a_closed_polyline_is_a_loop_and_no_run(tmp_path):
    def draw(_, model):
        model.add_lwpolyline([(0, 0), (5, 0), (5, 5)], close=True)
        model.add_circle((9, 9), 1)
        model.add_ellipse((20, 9), (3, 0), 1.0)
        model.add_line((0, 20), (30, 20))

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.paths) == 1
    assert "3 closed curves" in finding(drawn, "closed-loop").message


def test_circular_ellipse_is_an_arc_and_a_flat_one_is_reported(tmp_path):
    def circular(_, model):
        model.add_ellipse((1, 2, 3), (0, 4, 0), 1.0, 0.25, 1.5)

    run = only(draw_and_read(tmp_path, circular))
    (edge,) = run.edges
    assert edge.drawn_as is DrawnAs.ARC
    assert edge.segment.radius_m == pytest.approx(4 * INCH, rel=1e-14)
    assert edge.segment.angle_rad == pytest.approx(1.25, abs=1e-13)

    def flat(_, model):
        model.add_ellipse((1, 2, 3), (4, 0, 0), 0.5, 0, pi / 2)

    drawn = draw_and_read(tmp_path, flat)
    assert {edge.drawn_as for edge in only(drawn).edges} == {DrawnAs.SPLINE}
    assert len({edge.curve for edge in only(drawn).edges}) == 1
    assert "elliptical" in finding(drawn, "not-circular").message
    # a quarter of an ellipse with half-axes 4 and 2: 2 E(3/4) x 2, complete integral by AGM
    assert length_m(only(drawn)) == pytest.approx(quarter_ellipse(4, 2) * INCH, rel=1e-5)


def quarter_ellipse(a: float, b: float) -> float:
    """A quarter of the perimeter by the arithmetic-geometric mean (Gauss)."""
    x, y, total, power = a, b, 0.0, 0.5
    total = power * (a * a - b * b)
    while abs(x - y) > 1e-15 * a:
        x, y = (x + y) / 2, sqrt(x * y)
        power *= 2
        total += power * (x * x - y * y)
    return pi / 2 * (a * a - total) / x


def test_old_polyline_with_bulge_in_r12_is_exact(tmp_path):
    def draw(_, model):
        line = model.add_polyline2d(
            [(0, 0, 0), (10, 0, 0), (14, 4, 0)], format="xyb", dxfattribs={"elevation": (0, 0, 9)}
        )
        line.vertices[1].dxf.bulge = sqrt(2) - 1

    from analyzer.units import LengthUnit

    drawn = draw_and_read(tmp_path, draw, version="R12", units=LengthUnit.INCH)
    run = only(drawn)
    assert run.edges[-1].segment.radius_m == pytest.approx(4 * INCH, rel=1e-12)
    assert run.vertices_m[:, 2] == pytest.approx(9 * INCH)
    assert drawn.ordered == (True,)


def test_3d_polyline_keeps_its_heights_and_its_order(tmp_path):
    points = [(9, 0, 0), (9, 0, 12), (0, 0, 12), (0, 5, 14)]
    drawn = draw_and_read(tmp_path, lambda _, m: m.add_polyline3d(points))
    assert only(drawn).vertices_m == pytest.approx(np.array(points) * INCH)
    assert drawn.ordered == (True,)


def test_spline_frame_vertices_are_skipped(tmp_path):
    def draw(_, model):
        line = model.add_polyline3d([(0, 0, 0), (1, 1, 0), (2, 0, 0)])
        line.dxf.flags |= 4
        line.append_vertices([(50, 50, 50), (60, 60, 60)], dxfattribs={"flags": 32 | 16})

    drawn = draw_and_read(tmp_path, draw)
    assert length_m(only(drawn)) == pytest.approx(2 * sqrt(2) * INCH)
    assert "2 control points" in finding(drawn, "spline-frame-skipped").message


def test_flat_polyline_with_vertex_heights_is_taken_flat_and_said_so(tmp_path):
    def draw(_, model):
        line = model.add_polyline2d([(0, 0), (10, 0), (10, 10)])
        for vertex, z in zip(line.vertices, (0, 3, 6), strict=True):
            vertex.dxf.location = (vertex.dxf.location.x, vertex.dxf.location.y, z)

    drawn = draw_and_read(tmp_path, draw)
    assert length_m(only(drawn)) == pytest.approx(20 * INCH)
    message = finding(drawn, "flat-polyline-heights").message
    assert "0 to 6" in message
    assert "3D polyline" in message


def test_spline_follows_the_curve_the_library_draws(tmp_path):
    made = []

    def draw(_, model):
        made.append(
            model.add_open_spline([(0, 0, 0), (10, 0, 0), (12, 8, 3), (20, 8, 9), (30, 0, 9)])
        )

    drawn = draw_and_read(tmp_path, draw)
    run = only(drawn)
    points = flattened_m(made[0])
    for point in points[:: max(len(points) // 40, 1)]:
        assert away_from_path_m(run, point) < 2e-4
    fine = made[0].construction_tool()
    params = np.linspace(0, fine.max_t, 20001)
    curve = np.array([tuple(p) for p in fine.points(params)])
    exact = np.linalg.norm(np.diff(curve, axis=0), axis=1).sum() * INCH
    assert length_m(run) == pytest.approx(exact, rel=1e-5)
    assert drawn.ordered == (True,)
    assert {(edge.drawn_as, edge.curve) for edge in run.edges} == {(DrawnAs.SPLINE, 0)}


def test_rational_spline_of_a_quarter_circle_has_the_circle_s_length(tmp_path):
    w = sqrt(0.5)

    def draw(_, model):
        model.add_rational_spline(
            [(5, 0, 0), (5, 5, 0), (0, 5, 0)],
            weights=[1, w, 1],
            degree=2,
            knots=[0, 0, 0, 1, 1, 1],
        )

    run = only(draw_and_read(tmp_path, draw))
    assert length_m(run) == pytest.approx(2.5 * pi * INCH, rel=1e-5)


def test_spline_with_a_corner_is_taken_in_two_curves(tmp_path):
    def draw(_, model):
        spline = model.add_spline(degree=2)
        spline.control_points = [(0, 0, 0), (5, 0, 0), (10, 0, 0), (10, 5, 0), (15, 9, 0)]
        spline.knots = [0, 0, 0, 1, 1, 2, 2, 2]

    run = only(draw_and_read(tmp_path, draw))
    kinds = {(edge.drawn_as, edge.curve) for edge in run.edges}
    assert kinds == {(DrawnAs.LINE, -1), (DrawnAs.SPLINE, 1)}
    before = next(e for e in reversed(run.edges) if e.curve == -1)
    after = next(e for e in run.edges if e.curve == 1)
    assert before.segment.end_tangent == pytest.approx((1, 0, 0), abs=1e-9)
    assert after.segment.start_tangent == pytest.approx((0, 1, 0), abs=1e-6)
    assert before.segment.end_m == pytest.approx((10 * INCH, 0, 0), abs=1e-12)


def test_spline_of_degree_one_is_drawn_lines(tmp_path):
    def draw(_, model):
        spline = model.add_spline(degree=1)
        spline.control_points = [(0, 0, 0), (5, 0, 0), (5, 5, 0)]
        spline.knots = [0, 0, 1, 2, 2]

    drawn = draw_and_read(tmp_path, draw)
    assert [e.drawn_as for e in only(drawn).edges] == [DrawnAs.LINE] * 2


def test_spline_whose_first_control_points_coincide_is_read(tmp_path):
    def draw(_, model):
        model.add_open_spline([(0, 0, 0), (0, 0, 0), (10, 0, 0), (12, 8, 3), (20, 8, 9)])

    run = only(draw_and_read(tmp_path, draw))
    assert run.edges[0].segment.start_tangent == pytest.approx((1, 0, 0), abs=1e-3)


def test_arcs_along_a_curve_are_said_with_their_smallest_radius(tmp_path):
    drawn = draw_and_read(
        tmp_path, lambda _, m: m.add_ellipse((0, 0), (40, 0, 0), 0.5, 0.0, pi / 2)
    )
    # the smallest radius of curvature of an ellipse is b squared over a: 20 * 20 / 40 = 10 in
    assert "smallest radius 10" in finding(drawn, "curve-as-arcs").message


def test_spline_given_by_fit_points_only_is_read(tmp_path):
    drawn = draw_and_read(tmp_path, lambda _, m: m.add_spline([(0, 0, 0), (5, 1, 0), (10, 0, 2)]))
    ends = only(drawn).vertices_m[[0, -1]]
    assert ends == pytest.approx(np.array([(0, 0, 0), (10, 0, 2)]) * INCH, abs=1e-9)


def test_entities_without_length_are_named_and_left_out(tmp_path):
    handles = []

    def draw(_, model):
        handles.append(model.add_line((1, 1), (1, 1), dxfattribs={"layer": "DOTS"}).dxf.handle)
        model.add_line((0, 0), (9, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert finding(drawn, "zero-length").where == f"layer DOTS, LINE {handles[0]}"
    assert length_m(only(drawn)) == pytest.approx(9 * INCH)


def test_coordinates_that_are_no_numbers_stop_with_layer_and_handle(tmp_path):
    path = save(tmp_path, lambda _, m: m.add_line((0, 0), (7.125, 0), dxfattribs={"layer": "RUN"}))
    path.write_text(path.read_text().replace("7.125", "nan"))
    with pytest.raises(RouteError, match=r"layer RUN, LINE \w+: a coordinate is not a finite"):
        read(path)


def test_repeated_vertices_leave_no_edge(tmp_path):
    run = only(
        draw_and_read(tmp_path, lambda _, m: m.add_lwpolyline([(0, 0), (4, 0), (4, 0), (8, 3)]))
    )
    assert len(run.edges) == 2


def test_meshes_draw_no_route(tmp_path):
    def draw(_, model):
        model.add_polyface()
        model.add_line((0, 0), (9, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert "1 POLYLINE" in finding(drawn, "entities-not-read").message
    assert "closed-loop" not in codes(drawn)


def test_absurd_coordinates_stop_with_layer_and_handle(tmp_path):
    with pytest.raises(RouteError, match="no place for a raceway"):
        draw_and_read(tmp_path, lambda _, m: m.add_line((0, 0), (1e300, 0)))


@pytest.mark.parametrize("degree", [1, 3])
def test_a_spline_with_the_closed_flag_whose_ends_are_apart_is_read_as_open(tmp_path, degree):
    def draw(_, model):
        points = [(0, 0, 0), (100, 0, 0), (200, 100, 0), (300, 100, 0)]
        model.add_open_spline(points, degree=degree).dxf.flags |= 1

    drawn = draw_and_read(tmp_path, draw)
    (path,) = drawn.paths
    assert path.vertices_m[-1] == pytest.approx([300 * INCH, 100 * INCH, 0.0])
    found = finding(drawn, "closed-flag-open")
    assert found.severity is Severity.CAUTION
    assert "ends are 316.2 drawing units apart: read as open" in found.message


def test_a_closed_spline_is_a_loop_whether_by_control_or_by_fit_points(tmp_path):
    def draw(_, model):
        ring = [(0, 0, 0), (90, 0, 0), (90, 90, 0), (0, 90, 0)]
        model.add_spline().set_closed(ring, degree=3)
        model.add_spline(ring).dxf.flags |= 1
        model.add_line((500, 0), (900, 0))

    drawn = draw_and_read(tmp_path, draw)
    assert len(drawn.paths) == 1
    assert "2 closed curves" in finding(drawn, "closed-loop").message
    assert "closed-flag-open" not in codes(drawn)
