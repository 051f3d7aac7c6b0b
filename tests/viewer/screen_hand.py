"""A hand at a real mouse and keyboard: xdotool on a virtual screen with one window on it.

Nothing here waits for time to pass. The window counts every event that reaches it
(`shown_window`); each act of the hand waits until its own events are counted and the window has
drawn what they ask for. The limit of a wait only bounds a test that fails.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import ImageGrab

_LONGEST_WAIT_S = 90.0
_SCREEN = "1400x1000x24"


class Hand:
    """Mouse and keys on a screen, and what the window under them says of itself."""

    def __init__(self, display: str, folder: Path, kind: str) -> None:
        self.display = display
        self.env = {**os.environ, "DISPLAY": display}
        self.env.pop("VTK_DEFAULT_OPENGL_WINDOW", None)
        self.told = folder / "told.json"
        self.sent = {"press": 0, "release": 0, "wheel": 0, "key": 0}
        # files, not pipes: a pipe that nobody reads stops the window when it is full
        self._out, self._err = folder / "out.txt", folder / "err.txt"
        script = Path(__file__).with_name("shown_window.py")
        with self._out.open("w") as out, self._err.open("w") as err:
            self.process = subprocess.Popen(
                [sys.executable, str(script), kind, str(self.told)],
                env=self.env,
                stdout=out,
                stderr=err,
            )
        self.until(lambda state: state["idle"], "the window is open")

    # what the window says

    def state(self) -> dict[str, Any]:
        return json.loads(self.told.read_text())

    def until(self, wanted: Callable[[dict[str, Any]], object], what: str) -> dict[str, Any]:
        """The state as soon as it is as wanted; the test fails where it never is."""
        end = time.monotonic() + _LONGEST_WAIT_S
        while time.monotonic() < end:
            if self.told.exists():
                state = self.state()
                if wanted(state):
                    return state
            if self.process.poll() is not None:
                break
            time.sleep(0.02)
        told = self.told.read_text() if self.told.exists() else "nothing"
        raise AssertionError(
            f"never came: {what}\nlast told: {told}\nstderr: {self._err.read_text()[-3000:]}"
        )

    def settled(self) -> dict[str, Any]:
        """The state once all that the hand did has reached the window and is drawn."""

        def reached(state: dict[str, Any]) -> bool:
            counts = state["counts"]
            wheels = counts.get("MouseWheelForwardEvent", 0)
            wheels += counts.get("MouseWheelBackwardEvent", 0)
            return (
                state["idle"]
                and counts.get("LeftButtonPressEvent", 0) == self.sent["press"]
                and counts.get("LeftButtonReleaseEvent", 0) == self.sent["release"]
                and wheels == self.sent["wheel"]
                and counts.get("KeyPressEvent", 0) == self.sent["key"]
            )

        return self.until(reached, f"all of {self.sent} reached the window")

    def ended(self) -> str:
        """What the process printed once it has ended."""
        self.process.wait(_LONGEST_WAIT_S)
        assert self._out.read_text() == "closed\n", self._err.read_text()[-3000:]
        return self._err.read_text()

    def glass(self) -> np.ndarray:
        """The screen's own pixels, shape (height, width, 3)."""
        return np.asarray(ImageGrab.grab(xdisplay=self.display).convert("RGB"))

    def until_glass(self, wanted: Callable[[np.ndarray], object], what: str) -> np.ndarray:
        """The screen's pixels as soon as they are as wanted."""
        end = time.monotonic() + _LONGEST_WAIT_S
        while time.monotonic() < end:
            pixels = self.glass()
            if wanted(pixels):
                return pixels
            time.sleep(0.05)
        raise AssertionError(f"never shown on the screen: {what}")

    # what the hand does

    def slow_down(self, seconds: float) -> None:
        """Make every drawing of the window slower from now on."""
        self.told.with_suffix(".slow").write_text(str(seconds))

    def do(self, *words: object) -> None:
        subprocess.run(["xdotool", *(str(word) for word in words)], env=self.env, check=True)

    def move(self, x: float, y: float) -> dict[str, Any]:
        """Move the pointer; the state once the window knows it is there and has followed."""
        place = [round(x), round(y)]
        self.do("mousemove", *place)
        return self.until(
            lambda s: s["at"] == place and s["following"], f"the pointer is at {place}"
        )

    def click(self, x: float, y: float) -> None:
        self.move(x, y)
        self.sent["press"] += 1
        self.sent["release"] += 1
        self.do("click", 1)

    def press(self, group: str, text: str) -> dict[str, Any]:
        """Click a button; the state once it has done its work."""
        left, top, right, bottom = self.control(group, text)
        self.click((left + right) / 2, (top + bottom) / 2)
        return self.settled()

    def hold(self, start: tuple[float, float], end: tuple[float, float]) -> dict[str, Any]:
        """Drag and keep the button down; the state once the window has followed to the end."""
        self.move(*start)
        self.sent["press"] += 1
        self.do("mousedown", 1)
        self.until(
            lambda s: s["counts"].get("LeftButtonPressEvent", 0) == self.sent["press"],
            "the button is down",
        )
        halfway = [round((a + b) / 2) for a, b in zip(start, end, strict=True)]
        self.do("mousemove", *halfway)
        return self.move(*end)

    def release(self) -> dict[str, Any]:
        """Let the button go; the state once the window has drawn it."""
        self.sent["release"] += 1
        self.do("mouseup", 1)
        return self.settled()

    def slide(self, group: str, share: float) -> dict[str, Any]:
        """Drag a slider's knob from where it stands to a place from 0 to 1; keep it held."""
        at, (left, top, right, bottom) = next(
            (share, rect)
            for name, _, _, rect, share in self.state()["controls"]
            if name == group and share is not None
        )
        middle = (top + bottom) / 2
        return self.hold(
            (left + at * (right - left), middle), (left + share * (right - left), middle)
        )

    def wheel(self, x: float, y: float, steps: int) -> dict[str, Any]:
        """Turn the wheel over a place: away from the hand is negative."""
        self.move(x, y)
        self.sent["wheel"] += abs(steps)
        self.do("click", "--repeat", abs(steps), 4 if steps < 0 else 5)
        return self.settled()

    def key(self, name: str) -> None:
        """Press a key in the window: no window manager gives it the keyboard, so the hand does."""
        self.do("windowfocus", "--sync", self.state()["handle"])
        self.sent["key"] += 1
        self.do("key", name)

    def control(self, group: str, text: str) -> tuple[float, float, float, float]:
        """Where a button stands."""
        found = self.state()["controls"]
        return next(rect for at, name, _, rect, _ in found if at == group and name == text)


@pytest.fixture
def screen(tmp_path):
    """Opens windows on a virtual screen of their own: call it with what to open."""
    for tool in ("Xvfb", "xdotool"):
        if shutil.which(tool) is None:
            pytest.skip(f"{tool} is not installed: no screen and hand to drive a window with")
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    # the server takes a free number itself, so two test runs at once never share a screen; it
    # must not start anew when a client that was alone on it, such as xdotool, goes away
    back, number = os.pipe()
    words = ["Xvfb", "-displayfd", str(number), "-screen", "0", _SCREEN, "-noreset"]
    server = subprocess.Popen([*words, "-nolisten", "tcp"], pass_fds=[number], **quiet)
    os.close(number)
    with os.fdopen(back) as answer:
        display = f":{answer.readline().strip()}"
    hands = []

    def opened(kind: str) -> Hand:
        hands.append(Hand(display, tmp_path, kind))
        return hands[-1]

    try:
        yield opened
    finally:
        for hand in hands:
            hand.process.kill()
            hand.process.wait()
        server.terminate()
        server.wait()
