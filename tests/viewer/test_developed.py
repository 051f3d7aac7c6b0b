"""The elevation developed along the run: true lengths across, true verticals up."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
import rink_analyses as rink

from viewer import developed
from viewer.developed import developed_scene, draw_developed, plan_developed
from viewer.scene import build_scene


def scene(made, direction="forward"):
    return build_scene(made.runs[0], made.job, direction)


def plan_length(shown):
    points = shown.points_m
    return float(np.hypot(np.diff(points[:, 0]), np.diff(points[:, 1])).sum())


@pytest.mark.parametrize("direction", ["forward", "reverse"])
def test_it_is_as_long_as_the_run_in_plan(direction):
    shown = scene(rink.riser(), direction)
    flat = developed_scene(shown)
    assert np.ptp(flat.points_m[:, 0]) == pytest.approx(plan_length(shown), rel=1e-9)
    first = flat.point_at(0.0 if direction == "forward" else shown.length_m)
    assert first[0] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("stretch", [1.0, 3.0])
def test_heights_are_true_or_stretched_as_said_and_risers_stand_upright(stretch):
    shown = scene(rink.riser())
    flat = developed_scene(shown, stretch)
    assert np.allclose(flat.points_m[:, 2], stretch * shown.points_m[:, 2])
    upright = np.abs(shown.legs[0].tangents[:, 2]) > 1 - 1e-9
    x = flat.legs[0].points_m[upright, 0]
    assert upright.sum() > 5
    assert np.ptp(x) < 1e-6


def test_labels_do_not_overlap_and_every_bend_tells_its_elevation():
    sheet = plan_developed(scene(rink.analysis_of(boxes=(("Box A", 64.0),))), effort=0.2)
    rects = [placement.rect for placement in sheet.marks.placements]
    assert sheet.marks.left_out == ()
    for a, b in combinations(rects, 2):
        assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])
    bends = [chip for chip in sheet.marks.chips if chip.kind == "bend"]
    assert len(bends) == 8
    assert all("elevation" in chip.detail for chip in bends)


def bend_details(corners):
    made = rink.analysis_of(corners)
    sheet = plan_developed(scene(made), effort=0.1)
    return [chip.detail for chip in sheet.marks.chips if chip.kind == "bend"]


def test_a_bend_between_straights_tells_the_elevation_of_its_corner():
    # level at 4 ft, up to 20 ft and a kick: no straight stands at the middle of an arc
    details = bend_details(
        [(0, 0, 4), (30, 0, 4, 24), (30, 0, 20, 24), (60, 0, 20, 24), (90, 0, 30)]
    )
    assert details == [
        "R 24 in · corner elevation 4'-0\"",
        "R 24 in · corner elevation 20'-0\"",
        "R 24 in · corner elevation 20'-0\"",
    ]


def test_a_level_bend_tells_its_one_elevation():
    assert bend_details([(0, 0, 9), (30, 0, 9, 24), (30, 40, 9)]) == ["R 24 in · elevation 9'-0\""]


def test_a_bend_that_turns_back_tells_the_elevations_of_its_ends():
    # its straights meet far away or nowhere, so a corner tells nothing
    far = 30 - 26 * np.cos(np.radians(5))
    details = bend_details([(0, 0, 4), (30, 0, 4, 24), (far, 0, 4 + 26 * np.sin(np.radians(5)))])
    assert details == ["R 24 in · elevation 4'-0\" to 8'-0\""]


@pytest.mark.picture
def test_it_is_drawn_for_print():
    pixels = draw_developed(plan_developed(scene(rink.riser()), 1100, 850, effort=0.1, unit_px=1))
    assert pixels.shape == (850, 1100, 3)


@pytest.mark.parametrize("make", [rink.riser, rink.analysis_of, rink.tiny])
@pytest.mark.parametrize("size", [(640, 480), (1600, 1000)])
def test_numbers_of_the_scales_stand_apart_at_every_size(monkeypatch, make, size):
    sheet = plan_developed(scene(make()), *size, effort=0.05)
    canvas, written = sheet.canvas, []

    def note(self, x, y, text, points, bold=False, align="left", **_):
        width, high = canvas.text_size(text, points, bold)
        left = x - {"left": 0.0, "center": 0.5, "right": 1.0}[align] * width
        written.append((text, left, y - 0.35 * high, left + width, y + 0.35 * high))

    monkeypatch.setattr(type(canvas), "text", note)
    developed._draw_heights(sheet, sheet.view[0], sheet.view[1])
    assert len(written) >= 5
    for one, other in combinations(written, 2):
        apart = one[3] <= other[1] or other[3] <= one[1] or one[4] <= other[2] or other[4] <= one[2]
        assert apart, (one, other)
