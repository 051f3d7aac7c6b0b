"""The window, driven off screen by its controls; `test_windows_by_hand` does it by real events."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.analysis import analyze
from analyzer.catalog.raceways import find_raceway
from analyzer.errors import InputError
from analyzer.pulling.results import Direction
from viewer.cases import scene_at
from viewer.chips import chips_of
from viewer.head import head_at
from viewer.overlay import moved_marks
from viewer.quantities import Quantity
from viewer.scene import build_scene
from viewer.solids import drawn_radius, tube_of

TWO_BOXES = (("Box A", 64.0), ("Box B", 130.0))


@pytest.fixture(scope="module")
def analysis():
    """The two-box feeder through the analyzer itself."""
    made = rink.analysis_of(boxes=TWO_BOXES)
    return analyze([made.runs[0].run], made.job)


@pytest.fixture(scope="module")
def window(analysis):
    from viewer.window import RunWindow

    made = RunWindow(analysis, direction="forward", size=(1040, 700), off_screen=True)
    made.plotter.show(auto_close=False, interactive=False)
    yield made
    made.close()


@pytest.fixture(autouse=True)
def as_new(request):
    yield
    if "window" in request.fixturenames:
        made = request.getfixturevalue("window")
        wanted = ("forward", "expected", "Best", Quantity.TENSION, set(), None)
        if wanted != (
            made.direction, made.friction, made.view, made.quantity, made.off, made.head
        ):  # fmt: skip
            made.direction, made.friction, view, made.quantity, _, made.head = wanted
            made.off.clear()
            made._judged = made.whole
            made.scene = made._new_scene()
            made.set_view(view)


def button(window, text):
    control = next(control for control in window.controls if control.text == text)
    left, top, right, bottom = control.rect
    return (left + right) / 2, (top + bottom) / 2


def same(scene, other):
    return all(
        np.array_equal(a.station_m, b.station_m) and np.array_equal(a.tension_n, b.tension_n)
        for a, b in zip(scene.legs, other.legs, strict=True)
    )


def in_the_window(mesh, window, scene, unit=None):
    """Whether the tube in a window is, point by point, the one drawn of a scene."""
    unit = window._measure().unit if unit is None else unit
    radius = drawn_radius(scene, window.camera.m_per_px * unit)
    tube = tube_of(scene, window.camera, radius, window.theme)
    colors = np.clip(np.round(tube.colors * 255), 0, 255).astype(np.uint8)
    return np.allclose(mesh.points, tube.points_m, atol=1e-5) and np.array_equal(
        mesh.point_data["rgb"], colors
    )


@pytest.mark.picture
def test_a_box_switched_off_shows_what_a_fresh_analysis_gives(window, analysis):
    assert window.click(*button(window, "Box A"))
    run = analysis.runs[0].run
    fittings = tuple(replace(f, pull_point=False) if f.name == "Box A" else f for f in run.fittings)
    fresh = analyze([replace(run, fittings=fittings)], analysis.job)
    expected = build_scene(fresh.runs[0], fresh.job, "forward")
    assert len(window.scene.legs) == 2
    assert same(window.scene, expected)
    assert in_the_window(window._tube, window, expected)
    window.click(*button(window, "Box A"))
    assert same(window.scene, build_scene(analysis.runs[0], analysis.job, "forward"))


@pytest.mark.picture
def test_the_direction_buttons_turn_the_pull(window):
    before = window.screenshot()
    assert window.click(*button(window, "Reverse"))
    assert all(leg.direction is Direction.REVERSE for leg in window.scene.legs)
    assert (window.screenshot() != before).any()


@pytest.mark.picture
def test_the_friction_buttons_recolor_by_another_analysis(window):
    tension = window.scene.worst.max_tension_n
    window.click(*button(window, "High"))
    assert window.scene.friction == 0.5
    assert window.scene.worst.max_tension_n > tension
    window.click(*button(window, "Low"))
    assert window.scene.worst.max_tension_n < tension


def track(window, group):
    return next(c for c in window.controls if c.group == group and c.share is not None)


@pytest.mark.picture
def test_the_friction_slider_shows_any_friction_of_the_band(window, analysis):
    left, top, right, bottom = track(window, "Friction").rect
    assert window.click(left + 0.8 * (right - left), (top + bottom) / 2)
    assert window.friction == pytest.approx(0.44, abs=0.006)
    assert same(window.scene, scene_at(analysis, analysis.runs[0], "forward", window.friction))
    assert track(window, "Friction").share == pytest.approx((window.friction - 0.2) / 0.3)


@pytest.mark.picture
def test_while_the_friction_is_dragged_no_label_tells_an_old_number(window):
    window._held = track(window, "Friction")
    try:
        window.slide("Friction", 1.0)
    finally:
        window._held = None
    canvas = window._measure()
    fresh = chips_of(window.scene, window.camera, canvas.unit)
    shown = moved_marks(canvas, window.scene, window.camera, window._marks, window.head)
    assert [chip.title for chip in shown.chips] == [chip.title for chip in fresh]


@pytest.mark.picture
def test_while_the_head_is_dragged_its_label_goes_with_it_over_no_other(window):
    window.walk_head(0.5)
    shown = moved_marks(
        window._measure(), window.scene, window.camera, window._marks, head_at(window.scene, 20.0)
    )
    label = next(place for place in shown.placements if place.key == "worst")
    at = window.camera.pixels(window.scene.point_at(shown.head.station_m))[0]
    assert label.anchor == pytest.approx(tuple(at))
    for other in shown.placements:
        a, b = label.rect, other.rect
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert other is label or apart


@pytest.mark.picture
def test_the_head_slider_walks_the_run(window):
    left, top, right, bottom = track(window, "Head").rect
    assert window.click((left + right) / 2, (top + bottom) / 2)
    assert window.head.walked_m == pytest.approx(window.scene.length_m / 2, rel=0.01)
    assert track(window, "Head").text.endswith(" ft")


@pytest.mark.picture
@pytest.mark.parametrize("quantity", ["Sidewall", "Elevation"])
def test_the_color_buttons_show_another_quantity(window, analysis, quantity):
    before = window.screenshot()
    assert window.click(*button(window, quantity))
    kind = Quantity(quantity.lower())
    expected = build_scene(analysis.runs[0], analysis.job, "forward", quantity=kind)
    for leg, other in zip(window.scene.legs, expected.legs, strict=True):
        assert np.array_equal(leg.values, other.values)
    assert (window.screenshot() != before).any()


@pytest.mark.picture
def test_both_views_of_a_comparison_turn_under_one_camera(analysis):
    from viewer.compare_window import CompareWindow
    from viewer.compared_cases import box_cases

    made = CompareWindow(box_cases(analysis, analysis.runs[0]), size=(1040, 680), off_screen=True)
    made.plotter.show(auto_close=False, interactive=False)
    first, second = made.plotter.renderers
    assert first.GetActiveCamera() is second.GetActiveCamera()
    assert made.scenes[0].scale == made.scenes[1].scale
    run = analysis.runs[0].run
    bare = replace(run, fittings=(run.fittings[0], run.fittings[-1]))
    fresh = [analyze([bare], analysis.job).runs[0], analysis.runs[0]]
    for mesh, judged in zip(made._tubes, fresh, strict=True):
        alone = build_scene(judged, analysis.job, "better").with_scale(made.scenes[0].scale)
        assert in_the_window(mesh, made, alone, made._plan.canvas.unit)
    assert made.click(*button(made, "Plan"))
    assert second.GetActiveCamera().GetPosition()[2] > 10
    made.slide("Head", 0.5)
    for head, scene in zip(made.heads, made.scenes, strict=True):
        assert head.walked_m == pytest.approx(scene.length_m / 2)
    assert made.click(*button(made, "Whole pull"))
    assert made.heads == (None, None)
    made.close()


@pytest.mark.parametrize("width", [700, 1000, 1440, 1920])
def test_controls_never_overlap_and_stay_in_the_window(width):
    from viewer.canvas import Canvas
    from viewer.controls import Group, Slider, place_controls
    from viewer.image import text_unit_for
    from viewer.palette import LIGHT

    canvas = Canvas(width, 700, LIGHT, 1.0, text_unit_for(width))
    names = tuple((f"Box {i}", True) for i in range(9))
    groups = [
        Group("View", tuple((name, False) for name in ("Best", "Iso", "Plan", "Front", "Side"))),
        Group("Friction", (("Low", False), ("High", True), Slider(0.5, "0.35"))),
        Group("Head", (Slider(0.2, "120 lbf", 170.0),)),
        Group("Boxes", names),
    ]
    placed, high = place_controls(canvas, groups, 20.0, width - 20.0, 100.0)
    rects = [control.rect for control in placed]
    for a, b in combinations(rects, 2):
        assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])
    assert max(rect[2] for rect in rects) <= width - 20 + 1
    assert max(rect[3] for rect in rects) <= 100 + high


@pytest.mark.picture
@pytest.mark.parametrize("view", ["Iso", "Plan"])
def test_the_view_buttons_turn_the_camera(window, view):
    from viewer.sheet_window import VIEWS

    window.click(*button(window, view))
    assert (window.camera.azimuth_deg, window.camera.elevation_deg) == VIEWS[view]
    assert window.view == view


@pytest.mark.picture
def test_a_click_in_the_chart_puts_the_head_there(window):
    frame = window._frame
    x = float(frame.x(np.array(20.0)))
    assert window.click(x, (frame.top + frame.bottom) / 2)
    assert window.head.station_m == pytest.approx(20.0, abs=0.1)
    assert window.click(*button(window, "Whole pull"))
    assert window.head is None


@pytest.mark.picture
def test_a_click_on_the_tube_reads_that_place(window):
    left, top = window._origin()
    x, y = window.camera.pixels(window.scene.point_at(8.0))[0]
    assert window.click(left + x, top + y)
    assert window.head.station_m == pytest.approx(8.0, abs=0.3)
    leg = window.scene.legs[0]
    expected = np.interp(window.head.station_m, leg.station_m, leg.tension_n)
    assert window.head.tension_n == pytest.approx(expected)


@pytest.mark.picture
def test_a_click_on_nothing_does_nothing(window):
    _, top, right, _ = window._view_rect()
    assert not window.click(right - 3, top + 40)
    assert window.head is None


@pytest.mark.picture
def test_the_window_is_placed_over_the_geometry_it_labels(window):
    # the color under a point of the run, read from the window's own pixels
    left, top = window._origin()
    image = window.screenshot()
    x, y = window.camera.pixels(window.scene.point_at(5.0))[0]
    patch = image[int(top + y) - 2 : int(top + y) + 3, int(left + x) - 2 : int(left + x) + 3]
    leg = window.scene.legs[0]
    color = window.scene.scale.colors([np.interp(5.0, leg.station_m, leg.tension_n)])[0] * 255
    assert np.abs(patch.reshape(-1, 3) - color).max(axis=1).min() < 12


@pytest.mark.picture
def test_unknown_controls_are_refused(window):
    for call in (window.set_direction, window.set_friction, window.set_view, window.toggle_box):
        with pytest.raises(InputError):
            call("sideways")


@pytest.mark.picture
def test_a_run_that_was_seen_end_on_is_drawn_wide_again():
    from viewer.window import RunWindow

    upright = rink.analysis_of(corners=[(0, 0, 0), (0, 0, 60)])
    job = replace(upright.job, raceway=find_raceway("EMT", 2))
    made = RunWindow(analyze([upright.runs[0].run], job), size=(800, 600), off_screen=True)
    try:
        wide = made._radius
        assert not made.scene.true_diameter
        made.set_view("Plan")
        made.set_view("Best")
        assert made._radius == pytest.approx(wide)
        assert not made.scene.true_diameter
    finally:
        made.close()
