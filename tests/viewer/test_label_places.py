"""Labels never overlap, stay in the frame and off what is forbidden: in image space, many views."""

from __future__ import annotations

import itertools
from itertools import combinations

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.units import UnitSystem, ft
from viewer import fonts
from viewer.camera import Margins, fit_camera
from viewer.canvas import Canvas
from viewer.chips import chips_of
from viewer.furniture import Ground, flat_bar, floor_bar
from viewer.image import camera_for, plan_picture, text_unit_for
from viewer.labels import LabelRequest, Obstacles, place_labels
from viewer.overlay import plan_marks
from viewer.palette import LIGHT
from viewer.scene import build_scene
from viewer.shown_values import short_name

TWO_BOXES = (("Box A", 64.0), ("Box B", 130.0))


def overlap(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def scene(**options):
    analysis = rink.analysis_of(**options)
    return build_scene(analysis.runs[0], analysis.job, "forward")


def check(marks, width, height):
    rects = [placement.rect for placement in marks.placements]
    for one, other in combinations(rects, 2):
        assert not overlap(one, other)
    for left, top, right, bottom in rects:
        assert left >= 0 and top >= 0 and right <= width and bottom <= height


@pytest.mark.parametrize(
    ("width", "height", "elevation"),
    [(1280, 430, 20.0), (1600, 600, 35.0), (640, 300, 35.0), (800, 420, 20.0)],
)
def test_labels_of_many_views_do_not_overlap_and_none_is_lost(width, height, elevation):
    shown = scene(boxes=TWO_BOXES)
    brief = width <= 800
    for azimuth in range(0, 360, 60):
        canvas = Canvas(width, height, LIGHT, max(width / 1280, 0.85), text_unit_for(width))
        camera = camera_for(shown, width, height, canvas, brief, (float(azimuth), elevation))
        marks = plan_marks(canvas, shown, camera, brief=brief, effort=0.1)
        check(marks, width, height)
        if width >= 1280:
            assert len(marks.placements) == len(marks.chips)


@pytest.mark.parametrize(
    ("make", "size"),
    [
        (rink.analysis_of, (1600, 1000)),
        (rink.analysis_of, (640, 400)),
        (rink.overhead, (1280, 720)),
        (rink.riser, (1600, 1000)),
        (rink.riser, (800, 600)),
        (rink.tiny, (1280, 720)),
        (rink.long_run, (1600, 1000)),
        (rink.long_run, (640, 400)),
    ],
)
def test_every_label_of_a_still_finds_a_free_place(make, size):
    analysis = make()
    picture = plan_picture(build_scene(analysis.runs[0], analysis.job), *size, effort=0.3)
    left, top, right, bottom = picture.layout.view
    check(picture.marks, right - left, bottom - top)
    assert {chip.key for chip in picture.marks.chips} == {
        placement.key for placement in picture.marks.placements
    }


def empty(width=400, height=300):
    blank = np.zeros((height, width), dtype=bool)
    return Obstacles(blank, blank.copy())


def test_a_label_that_finds_no_free_place_is_left_out_least_important_first():
    requests = tuple(
        LabelRequest(str(i), (110.0, 85.0), (70.0, 50.0), priority=i, reach=40.0) for i in range(9)
    )
    placed = place_labels(requests, empty(220, 170), 1.0)
    rects = [placement.rect for placement in placed]
    assert not any(overlap(a, b) for a, b in combinations(rects, 2))
    assert 1 <= len(placed) < 9
    assert placed[0].key == "0"


def test_a_label_keeps_off_a_forbidden_place():
    blank = empty()
    wall = (0.0, 0.0, 400.0, 140.0)
    blocked = Obstacles(blank.tube, blank.lines, (wall,))
    (placed,) = place_labels((LabelRequest("a", (200.0, 150.0), (60.0, 20.0)),), blocked, 1.0)
    assert not overlap(placed.rect, wall)


def test_a_label_keeps_off_the_tube_and_stands_on_the_outer_side():
    blank = empty()
    blank.tube[140:160, :] = True
    request = LabelRequest("a", (200.0, 150.0), (60.0, 20.0), away=(0.0, -1.0))
    (placed,) = place_labels((request,), blank, 1.0)
    assert placed.rect[3] < 140


def test_leaders_end_on_the_edge_of_their_chip():
    (placed,) = place_labels((LabelRequest("a", (200.0, 150.0), (60.0, 20.0)),), empty(), 1.0)
    left, top, right, bottom = placed.rect
    assert placed.foot[0] in (left, (left + right) / 2, right)
    assert placed.foot[1] in (top, (top + bottom) / 2, bottom)


def test_equal_input_gives_equal_places():
    requests = tuple(LabelRequest(str(i), (40.0 + 30 * i, 150.0), (60.0, 20.0)) for i in range(8))
    one = place_labels(requests, empty(), 1.0)
    assert one == place_labels(requests, empty(), 1.0)


def test_places_hang_on_no_clock(monkeypatch):
    crowd = tuple(
        LabelRequest(str(i), (40.0 + 22.0 * i, 150.0 + 40.0 * (i % 3)), (70.0, 24.0))
        for i in range(14)
    )
    quick = place_labels(crowd, empty(), 1.0)
    late = itertools.count(0.0, 1000.0)
    monkeypatch.setattr("time.monotonic", lambda: next(late))
    assert place_labels(crowd, empty(), 1.0) == quick


def test_less_effort_tries_fewer_places():
    crowd = tuple(
        LabelRequest(str(i), (40.0 + 22.0 * i, 150.0 + 40.0 * (i % 3)), (70.0, 24.0))
        for i in range(14)
    )
    assert place_labels(crowd, empty(), 1.0, effort=0.0) != place_labels(crowd, empty(), 1.0)


def test_a_run_with_nineteen_boxes_still_names_every_box_and_bend():
    boxes = tuple((f"Box {i}", 10.0 + 9.0 * i) for i in range(19))
    analysis = rink.analysis_of(boxes=boxes)
    marks = plan_picture(build_scene(analysis.runs[0], analysis.job), 1600, 1000).marks
    check(marks, 1600, 1000)
    lost = {chip.key for chip in marks.chips} - {item.key for item in marks.placements}
    assert lost == set()


def test_of_three_hundred_bends_every_fifth_is_named_and_the_picture_says_so():
    corners = [(4.0 * n, 4.0 * (n // 2 % 2), 10 + 0.02 * n, 6) for n in range(302)]
    corners[0], corners[-1] = corners[0][:3], corners[-1][:3]
    analysis = rink.analysis_of(corners=corners)
    picture = plan_picture(build_scene(analysis.runs[0], analysis.job), 1600, 1000)
    named = [chip for chip in picture.marks.chips if chip.key.startswith("bend")]
    assert [chip.title for chip in named[:3]] == ["B1", "B6", "B11"]
    assert "Of 300 bends one in 5 is named." in " ".join(picture.layout.caution_lines)


def test_a_very_long_name_is_cut_in_its_middle():
    name = "Panel of the chiller room in the basement of the rink, north side"
    assert short_name(name) == "Panel of the chiller r…rth side"
    assert short_name("Panel P1") == "Panel P1"


def test_wide_letters_count_twice_where_a_name_is_cut():
    assert short_name("冷凍機室三号盤地下二階東側配電盤") == "冷凍機室三号盤地下二階東側配電盤"
    name = "冷凍機室三号盤（予備）地下二階東側配電盤"
    assert short_name(name) == "冷凍機室三号盤（予備）…側配電盤"


@pytest.fixture
def two_fonts(monkeypatch):
    """Two fonts installed: the one used, and one for a script of its own."""
    held = {"used.ttf": frozenset(map(ord, "abc é")), "other.ttf": frozenset(map(ord, "盤é"))}
    fonts._family_of.cache_clear()
    monkeypatch.setattr(fonts, "font_family", lambda: "Used")
    monkeypatch.setattr(fonts, "_faces", lambda: (("Used", "used.ttf"), ("Other", "other.ttf")))
    monkeypatch.setattr(fonts, "_letters", held.__getitem__)
    yield
    fonts._family_of.cache_clear()


@pytest.mark.usefixtures("two_fonts")
def test_letters_the_font_lacks_come_from_any_font_that_holds_them():
    assert fonts.families_for("abc") == fonts.families_for("é") == ("Used",)
    assert fonts.families_for("a盤") == ("Used", "Other")
    assert fonts.letters_lacking("a盤\u200b") == ""
    assert fonts.letters_lacking("盤кк") == "к"


def test_a_font_of_empty_boxes_holds_no_letter():
    assert not any("Last Resort" in family for family, _ in fonts._faces())
    assert fonts.letters_lacking("\U000e0fff\U0002fa1e\U0001e6ff") != ""


@pytest.mark.parametrize("camera_deg", [(-90.0, 2.0), (-70.0, 30.0), (-90.0, 89.9)])
@pytest.mark.parametrize("units", list(UnitSystem))
def test_a_flat_bar_is_true_across_the_view(camera_deg, units):
    canvas = Canvas(900, 600, LIGHT, 1.0, 1.0)
    camera = fit_camera(*camera_deg, [(0, 0, 0), (7, 3, 2)], 900, 600, Margins(90, 90, 60, 60))
    bar = flat_bar(canvas, units, camera, np.zeros((600, 900), dtype=bool))
    number, unit = bar.whole.removesuffix(" across the view").split()
    true = float(number.replace(",", "")) * {"in": 0.0254, "ft": 0.3048, "m": 1, "mm": 0.001}[unit]
    assert (bar.points[2, 0] - bar.points[0, 0]) * camera.m_per_px == pytest.approx(true)
    assert float(bar.half) * 2 == float(number.replace(",", ""))


def test_a_floor_bar_is_as_long_as_it_says():
    shown = scene()
    camera = fit_camera(-70.0, 30.0, shown.points_m, 1600, 700, Margins(90, 90, 60, 60))
    canvas = Canvas(1600, 700, LIGHT, 1.0, 1.0)
    ground = Ground(shown.points_m, shown.floor_m, shown.grid_m, shown.units)
    bar = floor_bar(canvas, ground, camera, np.zeros((700, 1600), dtype=bool))
    ends = [camera.on_plane(*point, shown.floor_m) for point in bar.points[[0, 2]]]
    assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(ft(float(bar.whole.split()[0])))


def test_a_floor_bar_leaves_room_for_the_labels_that_belong_near_it():
    shown = scene()
    camera = fit_camera(-90.0, 89.9, shown.points_m, 1600, 700, Margins(90, 90, 60, 60))
    canvas = Canvas(1600, 700, LIGHT, 1.0, 1.0)
    ground = Ground(shown.points_m, shown.floor_m, shown.grid_m, shown.units)
    free = np.zeros((700, 1600), dtype=bool)
    near = floor_bar(canvas, ground, camera, free).points[1]
    anchors = near[None, :]
    moved = floor_bar(canvas, ground, camera, free, anchors).points
    assert np.linalg.norm(moved - near, axis=1).min() > 60


@pytest.mark.parametrize("seed", [2, 5, 7])
def test_no_leader_touches_the_chip_of_another_label(seed):
    free = np.zeros((300, 400), dtype=bool)
    anchors = np.random.default_rng(seed).integers((150, 110), (250, 190), size=(14, 2))
    requests = [
        LabelRequest(f"{index}", (float(x), float(y)), (60.0, 20.0))
        for index, (x, y) in enumerate(anchors)
    ]
    placed = place_labels(tuple(requests), Obstacles(free, free), 1.0, effort=0.5)
    assert len(placed) == 14
    for one, other in itertools.permutations(placed, 2):
        start, end = np.array(one.anchor), np.array(one.foot)
        at = start + np.linspace(0.0, 1.0, 80)[:, None] * (end - start)
        left, top, right, bottom = other.rect
        across = (left - 2 < at[:, 0]) & (at[:, 0] < right + 2)
        assert not (across & (top - 2 < at[:, 1]) & (at[:, 1] < bottom + 2)).any()


def test_the_label_of_a_leg_points_at_no_straight_seen_end_on():
    analysis = rink.riser(boxes=(("Box A", 100.0),))
    shown = build_scene(analysis.runs[0], analysis.job)
    plan = fit_camera(-90.0, 89.9, shown.points_m, 900, 600, Margins(90, 90, 60, 60))
    upright = plan.pixels(np.array([[ft(18.0), 0.0, ft(30.0)]]))[0]
    label = next(chip for chip in chips_of(shown, plan, 1.0) if chip.key == "Leg 1")
    assert np.linalg.norm(np.array(label.anchor) - upright) > 50
