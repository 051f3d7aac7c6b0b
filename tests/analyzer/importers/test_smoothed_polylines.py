"""Old-style polylines smoothed to a spline: read as the curve where the file proves it."""

from __future__ import annotations

from math import degrees

import pytest
from dxf_samples import INCH, codes, draw_and_read, finding, length_m
from ezdxf.math import BSpline, Matrix44

from analyzer.errors import RouteError
from analyzer.findings import Severity
from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnAs

FRAME = [(0, 0, 0), (120, 0, 0), (240, 0, 0), (240, 120, 36), (240, 240, 72)]
FLAT = [(x, y, 0) for x, y, _ in FRAME]
CURVE, KNOT_FRAME = 8, 16


def smoothed(model, frame, drawn, *, smooth_type=6, digits=16, **attributes):
    """Draw a smoothed polyline; flat where it has attributes of a flat one."""
    is_flat = bool(attributes)
    make = model.add_polyline2d if is_flat else model.add_polyline3d
    line = make([], dxfattribs=attributes)
    line.dxf.flags |= 4
    line.dxf.smooth_type = smooth_type
    mark = 0 if is_flat else 32
    for points, flag in ((frame, KNOT_FRAME), (drawn, CURVE)):
        rows = [tuple(round(value, digits) for value in point) for point in points]
        if is_flat:
            line.append_formatted_vertices([row[:2] for row in rows], format="xy")
            for vertex in line.vertices[-len(rows) :]:
                vertex.dxf.flags = flag
        else:
            line.append_vertices(rows, dxfattribs={"flags": mark | flag})
    return line


def curve(frame, degree=3, count=32):
    return list(BSpline(frame, order=degree + 1).approximate(count))


def as_spline(model, frame, degree=3):
    model.add_spline().set_open_uniform(frame, degree)


def only(drawn):
    (path,) = drawn.paths
    return path


def bends(drawn):
    reading = read_bends(only(drawn), corner_radius_m=0.3)
    return [(degrees(one.angle_rad), one.radius_m) for one in reading.bends]


@pytest.mark.parametrize(("degree", "smooth_type"), [(2, 5), (3, 6)])
@pytest.mark.parametrize("digits", [16, 6, 3])
def test_a_smoothed_polyline_is_the_spline_of_its_frame(tmp_path, degree, smooth_type, digits):
    def draw(_, model):
        drawn = curve(FRAME, degree)
        smoothed(model, FRAME, drawn, smooth_type=smooth_type, digits=digits)

    (tmp_path / "spline").mkdir()
    spline = draw_and_read(tmp_path / "spline", lambda _, model: as_spline(model, FRAME, degree))
    drawn = draw_and_read(tmp_path, draw)
    assert bends(drawn) == bends(spline)
    assert {edge.drawn_as for edge in only(drawn).edges} >= {DrawnAs.SPLINE}
    told = finding(drawn, "spline-frame-read")
    assert told.severity is Severity.NOTE
    assert "5 control points" in told.message
    assert not {"spline-frame-skipped", "smoothed-polyline"} & set(codes(drawn))


def test_a_flat_smoothed_polyline_stands_at_its_elevation_and_normal(tmp_path):
    def draw(_, model):
        at = {"elevation": (0, 0, 7), "extrusion": (0, -1, 0)}
        smoothed(model, FLAT, curve(FLAT), **at)

    (tmp_path / "spline").mkdir()
    turned = [
        tuple(p)
        for p in Matrix44.ucs((1, 0, 0), (0, 0, 1), (0, -1, 0)).transform_vertices(
            [(x, y, 7) for x, y, _ in FLAT]
        )
    ]
    spline = draw_and_read(tmp_path / "spline", lambda _, model: as_spline(model, turned))
    drawn = draw_and_read(tmp_path, draw)
    assert "spline-frame-read" in codes(drawn)
    for one, other in zip(only(drawn).edges, only(spline).edges, strict=True):
        assert one.segment.end_m == pytest.approx(other.segment.end_m, abs=1e-9)


@pytest.mark.parametrize(
    ("frame", "drawn", "smooth_type", "why"),
    [
        ([], curve(FRAME), 6, "does not hold its control points"),
        (FRAME, curve(FRAME), 0, "smooth type 0"),
        (FRAME, curve(FRAME, 2), 6, "do not lie on the cubic spline"),
        (FRAME, curve(FRAME)[:-3], 6, "do not lie on the cubic spline"),
        (FRAME, [FRAME[0], FRAME[-1]], 6, "do not lie on the cubic spline"),
    ],
)
def test_a_smoothed_polyline_that_proves_no_spline_is_read_as_drawn_and_told(
    tmp_path, frame, drawn, smooth_type, why
):
    def draw(_, model):
        smoothed(model, frame, drawn, smooth_type=smooth_type)

    read = draw_and_read(tmp_path, draw)
    assert {edge.drawn_as for edge in only(read).edges} == {DrawnAs.LINE}
    told = finding(read, "smoothed-polyline")
    assert told.severity is Severity.CAUTION
    assert told.concern.entities
    assert why in told.message
    assert ("spline-frame-skipped" in codes(read)) == bool(frame)


def test_arcs_between_the_points_of_a_smoothed_polyline_stay_arcs(tmp_path):
    def draw(_, model):
        line = smoothed(model, FLAT, curve(FLAT), elevation=(0, 0, 0))
        line.vertices[-2].dxf.bulge = 0.01

    read = draw_and_read(tmp_path, draw)
    assert "arcs join its points" in finding(read, "smoothed-polyline").message
    assert DrawnAs.ARC in {edge.drawn_as for edge in only(read).edges}


def test_a_polyline_of_control_points_alone_misses_its_curve(tmp_path):
    def draw(_, model):
        smoothed(model, FRAME, [])
        model.add_line((0, 500), (90, 500))

    read = draw_and_read(tmp_path, draw)
    assert length_m(only(read)) == pytest.approx(90 * INCH)
    told = finding(read, "entity-unreadable")
    assert told.severity is Severity.CAUTION
    assert told.concern.is_every_run
    assert "all its 5 vertices are control points" in told.message
    assert "zero-length" not in codes(read)
    with pytest.raises(RouteError, match="points of the curve are missing"):
        draw_and_read(tmp_path, lambda _, model: smoothed(model, FRAME, []))


def test_a_frame_whose_spline_has_a_cusp_is_read_as_drawn(tmp_path):
    frame = [(0, 0, 0), (100, 0, 0), (100, 0, 0), (100, 0, 0), (100, 0, 0), (0, 50, 0), (0, 90, 0)]
    read = draw_and_read(tmp_path, lambda _, model: smoothed(model, frame, curve(frame)))
    assert {edge.drawn_as for edge in only(read).edges} == {DrawnAs.LINE}
    assert "smoothed-polyline" in codes(read)
