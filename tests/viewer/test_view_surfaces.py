"""Surfaces, camera and shading by their arrays: nothing is drawn here."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.catalog.raceways import find_raceway
from analyzer.job.settings import FittingKind
from viewer.boxes import boxes_of
from viewer.camera import Camera, Margins, best_angles, fit_camera
from viewer.canvas import Canvas
from viewer.developed import developed_scene
from viewer.furniture import draw_triad
from viewer.image import plan_picture
from viewer.meshes import SIDES, bake_tube, frames_along, tube_caps, tube_surface
from viewer.palette import LIGHT
from viewer.scene import build_scene
from viewer.solids import arrows_of, build_solids, drawn_radius, true_radius
from viewer.wording import notes, wordiest

CAMERA = Camera(-70.0, 30.0, (15.0, 10.0, 2.0), 0.03, 1200, 500)


def scene(**options):
    analysis = rink.analysis_of(**options)
    return build_scene(analysis.runs[0], analysis.job, "forward")


def test_frames_stay_across_the_run_without_twist():
    leg = scene().legs[0]
    first, second = frames_along(leg.tangents)
    assert np.abs(np.einsum("ij,ij->i", first, leg.tangents)).max() < 1e-9
    assert np.allclose(np.cross(leg.tangents, first), second)
    turned = np.einsum("ij,ij->i", first[:-1], first[1:])
    # carried along: a frame never turns more than its tangent does
    bent = np.einsum("ij,ij->i", leg.tangents[:-1], leg.tangents[1:])
    assert (turned >= bent - 1e-9).all()


def test_tube_lies_at_its_radius_and_faces_outward():
    leg = scene().legs[0]
    colors = np.ones((len(leg.station_m), 3))
    tube = tube_surface(leg.points_m, leg.tangents, 0.1, colors)
    axis = np.repeat(leg.points_m, SIDES, axis=0)
    assert np.allclose(np.linalg.norm(tube.points_m - axis, axis=1), 0.1)
    a, b, c = (tube.points_m[tube.triangles[:, i]] for i in range(3))
    face = np.cross(b - a, c - a)
    size = np.linalg.norm(face, axis=1)
    outward = np.einsum("ij,ij->i", face, tube.normals[tube.triangles[:, 0]])
    assert (outward[size > 1e-12] > 0).all()


def test_caps_face_away_from_the_run():
    leg = scene().legs[0]
    caps = tube_caps(leg.points_m, leg.tangents, 0.1, np.ones((len(leg.station_m), 3)))
    a, b, c = (caps.points_m[caps.triangles[:, i]] for i in range(3))
    face = np.cross(b - a, c - a)
    assert (face[:SIDES] @ leg.tangents[0] < 0).all()
    assert (face[SIDES:] @ leg.tangents[-1] > 0).all()


def test_baked_color_on_the_middle_line_is_the_color_of_the_map():
    for tangent in ([1.0, 0, 0], [0, 0, 1.0], [0.6, 0.64, 0.48]):
        t = np.tile(np.array(tangent), (2, 1))
        points = np.array([[0.0, 0, 0], tangent])
        tube = tube_surface(points, t, 0.1, np.tile([0.4, 0.5, 0.6], (2, 1)))
        facing = CAMERA.toward - (CAMERA.toward @ t[0]) * t[0]
        facing /= np.linalg.norm(facing)
        # turn one corner to face the viewer exactly
        normals = tube.normals.copy()
        normals[0] = facing
        turned = type(tube)(tube.points_m, tube.triangles, normals, tube.colors)
        baked = bake_tube(turned, np.repeat(t, SIDES, axis=0), CAMERA.toward, CAMERA.up)
        assert np.allclose(baked.colors[0], [0.4, 0.5, 0.6], atol=1e-4)


def test_drawn_radius_never_passes_half_the_smallest_bend_radius_on_an_ordinary_run():
    shown = scene()
    for m_per_unit in (0.005, 0.03, 0.05):
        assert drawn_radius(shown, m_per_unit) <= 0.5 * shown.smallest_radius_m + 1e-12


def test_rings_lie_only_where_tension_is_over_the_limit():
    shown = scene()
    solids = build_solids(shown, CAMERA, 1.0, LIGHT)
    leg = shown.legs[0]
    first = leg.station_m[leg.tension_n > shown.scale.limit_n].min()
    middles = solids.rings.points_m.reshape(-1, SIDES, 3).mean(axis=1)
    line = shown.analysis.run.centerline
    stations = [line.nearest_station(tuple(point))[0] for point in middles]
    assert min(stations) >= first - 1e-6
    low = build_solids(scene(limit=1e9), CAMERA, 1.0, LIGHT)
    assert low.rings is None


@pytest.mark.parametrize("stretch", [None, 1.0, 3.0])
def test_every_ring_lies_round_the_tube_as_drawn(stretch):
    shown = scene()
    if stretch is not None:
        shown = developed_scene(shown, stretch)
    solids = build_solids(shown, CAMERA, 1.0, LIGHT)
    middles = solids.rings.points_m.reshape(-1, SIDES, 3).mean(axis=1)
    assert len(middles) > 20
    leg = shown.legs[0]
    along = np.linspace(leg.start_m, leg.end_m, 20_000)
    tube = np.stack([np.interp(along, leg.station_m, part) for part in leg.points_m.T], axis=-1)
    off = [np.linalg.norm(tube - middle, axis=1).min() for middle in middles]
    assert max(off) < 0.05 * solids.radius_m


def test_boxes_stand_at_their_fittings():
    shown = scene(boxes=(("Box A", 64.0),))
    panel, box, chiller = boxes_of(shown, 0.15)
    assert box.name == "Box A"
    assert np.allclose(box.center_m, shown.fittings[1].point_m)
    # a panel below the first riser: the run enters its top
    assert panel.center_m[2] + panel.size_m[2] / 2 == pytest.approx(shown.points_m[0, 2])
    face = chiller.center_m - shown.points_m[-1]
    assert np.linalg.norm(face) >= chiller.size_m[0] / 2 - 1e-9


def inside(box, points, margin):
    off = np.abs((points - box.center_m) @ box.axes.T)
    return (off < box.size_m / 2 + margin).all(axis=1)


CLOSED_IN = [(0, 0, 4), (40, 0, 4, 9), (40, 30, 4, 9), (0, 30, 4, 9), (0, 3, 4)]
"""A U whose ends stand 3 ft apart."""


def test_boxes_of_ends_that_stand_close_do_not_grow_into_each_other():
    shown = scene(corners=CLOSED_IN, ends=("A", "B"))
    radius = 0.2
    panel, equipment = boxes_of(shown, radius)
    corners = np.array(list(product((-0.5, 0.5), repeat=3)))
    for one, other in ((panel, equipment), (equipment, panel)):
        assert not inside(one, other.center_m + (corners * other.size_m) @ other.axes, 0.0).any()
    # nor into the raceway of the other end
    first = shown.points_m[shown.points_m[:, 1] < 0.01]
    assert not inside(equipment, first, radius).any()
    assert min(equipment.size_m) > 2 * radius


def test_a_box_does_not_hide_bends_of_a_short_run():
    corners = [(0, 0, 4), (2, 0, 4, 6), (2, 2, 4, 6), (-0.8, 2, 4, 6), (-0.8, -2, 4, 6), (2, -2, 4)]
    shown = scene(corners=corners, kinds=(FittingKind.EQUIPMENT, FittingKind.END))
    radius = 0.05
    (equipment,) = boxes_of(shown, radius)
    beyond = shown.legs[0].station_m > shown.bends[0].end_station_m
    assert not inside(equipment, shown.legs[0].points_m[beyond], radius).any()
    assert equipment.size_m[0] < 12 * radius


def test_a_box_with_air_round_it_keeps_its_size():
    for box in boxes_of(scene(boxes=(("Box A", 64.0),)), 0.1):
        assert max(box.size_m) == pytest.approx(
            {"Panel MCC-1": 1.1, "Box A": 0.8, "Chiller 2": 1.2}[box.name]
        )


def test_a_box_never_gets_smaller_than_stated():
    shown = scene(corners=CLOSED_IN, ends=("A", "B"))
    stated = tuple(replace(mark, size_m=(2.0, 1.5, 1.0)) for mark in shown.fittings)
    for box in boxes_of(replace(shown, fittings=stated), 0.2):
        assert (box.size_m >= (2.0, 1.5, 1.0)).all()


def test_arrows_point_the_way_of_the_pull_and_keep_off_bends():
    for direction, sign in (("forward", 1.0), ("reverse", -1.0)):
        analysis = rink.analysis_of()
        shown = build_scene(analysis.runs[0], analysis.job, direction)
        arrows = arrows_of(shown, CAMERA, 1.0, 0.15)
        assert arrows
        for arrow in arrows:
            tangent = shown.analysis.run.centerline.tangents_at([arrow.station_m])[0]
            assert arrow.direction @ tangent == pytest.approx(sign)
            assert not any(
                bend.station_m < arrow.station_m < bend.end_station_m for bend in shown.bends
            )


def test_fitted_camera_shows_everything_inside_its_margins():
    points = np.random.default_rng(3).uniform(-20, 30, (50, 3))
    camera = fit_camera(40.0, 25.0, points, 900, 500, Margins(80, 60, 50, 40))
    pixels = camera.pixels(points)
    assert pixels[:, 0].min() >= 80 - 1e-6 and pixels[:, 0].max() <= 840 + 1e-6
    assert pixels[:, 1].min() >= 50 - 1e-6 and pixels[:, 1].max() <= 460 + 1e-6


def test_uprights_stay_upright_and_up_is_up():
    a, b = CAMERA.pixels([[1.0, 2.0, 0.0], [1.0, 2.0, 5.0]])
    assert a[0] == pytest.approx(b[0])
    assert b[1] < a[1]


def test_a_picture_point_goes_back_to_its_place_on_the_floor():
    point = CAMERA.on_plane(333.0, 222.0, 1.5)
    assert point[2] == pytest.approx(1.5)
    assert np.allclose(CAMERA.pixels(point)[0], [333.0, 222.0])


def test_chosen_view_puts_the_feed_left_and_hides_no_bend():
    shown = scene()
    leg = shown.legs[0]
    anchors = np.array([bend.point_m for bend in shown.bends])
    turns = tuple((bend.before, bend.after) for bend in shown.bends)
    step = slice(None, None, 8)
    azimuth, elevation = best_angles(
        leg.points_m[step], leg.tangents[step], leg.station_m[step], anchors, turns, 2.3
    )
    camera = Camera(azimuth, elevation, (0.0, 0.0, 0.0), 0.03, 1200, 500)
    ends = camera.pixels(leg.points_m[[0, -1]])
    assert ends[0, 0] < ends[1, 0]
    gaps = np.linalg.norm(camera.pixels(anchors)[:, None] - camera.pixels(anchors)[None], axis=-1)
    assert gaps[~np.eye(len(gaps), dtype=bool)].min() > 20


def with_raceway(shown, size="2", type="EMT"):
    return replace(shown, job=replace(shown.job, raceway=find_raceway(type, size)))


def tube_reach(picture):
    """Greatest distance of the drawn tube from the centerline. [m]"""
    solids = build_solids(picture.scene, picture.camera, picture.canvas.unit, LIGHT)
    line = picture.scene.analysis.run.centerline
    return max(line.nearest_station(tuple(point))[1] for point in solids.tube.points_m[::97])


def test_true_diameter_draws_the_tube_as_wide_as_the_raceway():
    shown = replace(with_raceway(scene()), true_diameter=True)
    picture = plan_picture(shown, effort=0.1)
    assert tube_reach(picture) == pytest.approx(true_radius(shown), rel=1e-3)
    assert "at its true diameter" in " ".join(picture.layout.caution_lines)


def test_a_true_diameter_that_is_not_confirmed_is_marked():
    shown = replace(with_raceway(scene(), "3-1/2", "PVC-40"), true_diameter=True)
    words = " ".join(plan_picture(shown, effort=0.1).layout.caution_lines)
    assert "Raceway drawn at its outside diameter (not confirmed)." in words


@pytest.mark.parametrize("type", ["EMT", "PVC-40", "FMC"])
@pytest.mark.parametrize("asked", [True, False])
def test_room_is_kept_for_the_longest_words_on_the_width(type, asked):
    """A picture's camera settles the width drawn, after the room for its words."""
    shown = replace(with_raceway(scene(), "3-1/2", type), true_diameter=asked)
    kept = len(notes(wordiest(shown)))
    assert kept >= len(notes(replace(shown, true_diameter=True)))
    assert kept >= len(notes(replace(shown, too_thin=True)))


def test_a_true_diameter_too_thin_to_see_is_drawn_as_thin_as_color_shows():
    """And its outline stays a rim: at most half as wide as the tube's radius, on either side."""
    analysis = rink.long_run()
    shown = build_scene(analysis.runs[0], analysis.job, "forward")
    shown = replace(with_raceway(shown, "1/2"), true_diameter=True)
    picture = plan_picture(shown, 900, 700, effort=0.1)
    unit_m = picture.camera.m_per_px * picture.canvas.unit
    assert true_radius(shown) < 0.4 * unit_m
    reach = tube_reach(picture)
    assert reach == pytest.approx(0.5 * unit_m, rel=1e-3)
    solids = build_solids(picture.scene, picture.camera, picture.canvas.unit, LIGHT)
    line = picture.scene.analysis.run.centerline
    rim = max(line.nearest_station(tuple(point))[1] for point in solids.outline.points_m[::97])
    assert reach < rim <= 1.6 * reach  # stretched a little beyond both ends
    text = " ".join(picture.layout.caution_lines)
    assert "Raceway drawn wider than true, to show its color." in text


def test_a_raceway_at_least_as_wide_as_the_drawn_tube_is_drawn_true_unasked():
    analysis = rink.tiny(corners=[(0, 0, 1.5), (0, 0, 3, 9.5), (3, 0, 3)])
    small = build_scene(analysis.runs[0], analysis.job, "forward")
    wide = plan_picture(with_raceway(small, "4"), 900, 700, effort=0.1)
    assert tube_reach(wide) == pytest.approx(true_radius(wide.scene), rel=1e-3)
    assert "at its true diameter" in " ".join(wide.layout.caution_lines)
    thin = plan_picture(with_raceway(scene(), "1/2"), 900, 700, effort=0.1)
    assert tube_reach(thin) > true_radius(thin.scene)
    assert "wider than true" in " ".join(thin.layout.caution_lines)


TURNS = tuple(product(range(-180, 180, 15), (0.0, 5.0, 12.0, 20.0, 35.0, 60.0, 80.0, 89.9)))


def test_the_letters_of_the_triad_never_meet(monkeypatch):
    """Nor does an arm run through one, whichever way the view is turned."""
    canvas = Canvas(400, 300, LIGHT, 1.25, 1.27)
    seen, lines = [], []

    def noted(self, x, y, text, points, bold=False, **_):
        width, height = self.text_size(text, points, bold)
        seen.append((x - width / 2, y - height / 2, x + width / 2, y + height / 2))

    monkeypatch.setattr(Canvas, "text", noted)
    monkeypatch.setattr(Canvas, "line", lambda self, points, *_, **__: lines.append(points))
    for azimuth, elevation in (*TURNS, (-90.01, 20.0)):
        seen.clear(), lines.clear()
        camera = Camera(azimuth, elevation, (0.0, 0.0, 0.0), 0.03, 400, 300)
        draw_triad(canvas, camera, np.array([200.0, 150.0]))
        assert len(seen) == len(lines) >= 2
        for a, b in combinations(seen, 2):
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])
        for a, (start, end) in product(seen, lines):
            along = start + np.linspace(0.0, 1.0, 50)[:, None] * (np.array(end) - start)
            inside = (along > a[:2]) & (along < a[2:])
            assert not inside.all(axis=1).any()
        reach = 52 * canvas.text_unit  # what the placing of the triad keeps free for it
        for a in seen:
            assert abs(np.array(a) - [200, 150, 200, 150]).max() <= reach
