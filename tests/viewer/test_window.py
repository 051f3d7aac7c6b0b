"""The window, driven by its controls: off screen, and by real events under a virtual screen."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.analysis import analyze
from analyzer.errors import InputError
from analyzer.pulling.results import Direction
from viewer.cases import scene_at
from viewer.quantities import Quantity
from viewer.scene import build_scene

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
            made._changed()
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


@pytest.mark.picture
def test_a_box_switched_off_shows_what_a_fresh_analysis_gives(window, analysis):
    assert window.click(*button(window, "Box A"))
    run = analysis.runs[0].run
    fittings = tuple(replace(f, pull_point=False) if f.name == "Box A" else f for f in run.fittings)
    fresh = analyze([replace(run, fittings=fittings)], analysis.job)
    expected = build_scene(fresh.runs[0], fresh.job, "forward")
    assert len(window.scene.legs) == 2
    assert same(window.scene, expected)
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
    from viewer.overlay import chips_of

    fresh = chips_of(window.scene, window.camera, window._measure().unit)
    shown = window._moved_marks(window._marks)
    assert [chip.title for chip in shown.chips] == [chip.title for chip in fresh]


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
    from viewer.compare import box_cases
    from viewer.compare_window import CompareWindow

    made = CompareWindow(box_cases(analysis, analysis.runs[0]), size=(1040, 680), off_screen=True)
    made.plotter.show(auto_close=False, interactive=False)
    first, second = made.plotter.renderers
    assert first.GetActiveCamera() is second.GetActiveCamera()
    assert made.scenes[0].scale == made.scenes[1].scale
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


_DRIVER = """
import sys
sys.path.insert(0, {tests!r})
import rink_analyses as rink
from analyzer.analysis import analyze
from viewer.window import RunWindow

made = rink.analysis_of(boxes=(("Box A", 64.0), ("Box B", 130.0)))
window = RunWindow(analyze([made.runs[0].run], made.job), direction="forward", size=(1100, 760))
window.plotter.show(auto_close=False, interactive=False, interactive_update=True)
raw = window.plotter.iren.interactor

def send(event, x, y):
    raw.SetEventInformation(int(x), int(window._size[1] - 1 - y), 0, 0, chr(0), 0, None)
    raw.InvokeEvent(event)

def click(x, y):
    send("MouseMoveEvent", x, y)
    send("LeftButtonPressEvent", x, y)
    send("LeftButtonReleaseEvent", x, y)

def button(text):
    control = next(control for control in window.controls if control.text == text)
    a, b, c, d = control.rect
    return (a + c) / 2, (b + d) / 2

print("size", window._size, window.plotter.render_window.GetSize(), file=sys.stderr)
click(*button("Reverse"))
print("direction", window.direction)
click(*button("Box A"))
print("legs", len(window.scene.legs))
frame = window._frame
y = (frame.top + frame.bottom) / 2
send("LeftButtonPressEvent", frame.left + 50, y)
for step in range(4):
    send("MouseMoveEvent", frame.left + 50 + 40 * step, y)
send("LeftButtonReleaseEvent", frame.left + 170, y)
print("head", window.head is not None)
before = window.camera.azimuth_deg
left, top, right, bottom = window._view_rect()
x, y = right - 60, top + 60
send("LeftButtonPressEvent", x, y)
for step in range(1, 5):
    send("MouseMoveEvent", x - 25 * step, y)
send("LeftButtonReleaseEvent", x - 100, y)
print("turned", abs(window.camera.azimuth_deg - before) > 1.0)
control = next(c for c in window.controls if c.group == "Friction" and c.share is not None)
a, b, c, d = control.rect
send("LeftButtonPressEvent", a + 5, (b + d) / 2)
for step in range(4):
    send("MouseMoveEvent", a + 20 * step, (b + d) / 2)
send("LeftButtonReleaseEvent", c, (b + d) / 2)
print("friction", window.friction)
print("labels", window._marks is not None and len(window._marks.placements) > 5)
window.close()
"""


@pytest.mark.window
def test_real_clicks_and_drags_under_a_virtual_screen(tmp_path):
    if shutil.which("Xvfb") is None:
        pytest.skip("Xvfb is not installed: no screen to open a window on")
    number = next(n for n in range(90, 200) if not Path(f"/tmp/.X11-unix/X{n}").exists())
    display = f":{number}"
    screen = subprocess.Popen(
        ["Xvfb", display, "-screen", "0", "1400x1000x24"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        for _ in range(100):
            if Path(f"/tmp/.X11-unix/X{number}").exists():
                break
            time.sleep(0.1)
        env = {k: v for k, v in os.environ.items() if k != "VTK_DEFAULT_OPENGL_WINDOW"}
        script = tmp_path / "driver.py"
        script.write_text(_DRIVER.format(tests=str(Path(__file__).parent)))
        child = subprocess.run(
            [sys.executable, str(script)],
            env={**env, "DISPLAY": display},
            capture_output=True,
            text=True,
            timeout=120,
        )
    finally:
        screen.terminate()
        screen.wait()
    assert child.stdout.split("\n")[:6] == [
        "direction reverse",
        "legs 2",
        "head True",
        "turned True",
        "friction 0.5",
        "labels True",
    ], child.stderr[-2000:]
