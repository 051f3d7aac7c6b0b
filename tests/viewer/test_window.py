"""The window, driven by its controls: off screen, and by real events under a virtual screen."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.analysis import analyze
from analyzer.errors import InputError
from analyzer.pulling.results import Direction
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

    made = RunWindow(analysis, direction="forward", size=(1280, 800), off_screen=True)
    made.plotter.show(auto_close=False, interactive=False)
    yield made
    made.close()


@pytest.fixture(autouse=True)
def as_new(request):
    yield
    if "window" in request.fixturenames:
        made = request.getfixturevalue("window")
        made.off.clear()
        made.head = None
        made.direction, made.friction_name, made.view = "forward", "expected", "Best"
        made._judged = made.whole
        made._changed()


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


@pytest.mark.picture
@pytest.mark.parametrize("view", ["Iso", "Plan", "Front", "Side"])
def test_the_view_buttons_turn_the_camera(window, view):
    from viewer.window import VIEWS

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
    assert child.stdout.split("\n")[:5] == [
        "direction reverse",
        "legs 2",
        "head True",
        "turned True",
        "labels True",
    ], child.stderr[-2000:]
