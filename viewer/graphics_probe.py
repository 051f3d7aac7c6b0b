"""Is there a usable graphics library? Asked in a child process, once for each process.

Without one vtk ends a process by a segmentation fault that nothing can catch.
"""

from __future__ import annotations

import os
import subprocess
import sys
from functools import cache
from threading import Thread

from analyzer.errors import GraphicsError

__all__ = [
    "DEBIAN_PACKAGES",
    "ask_early",
    "graphics_fault",
    "prepare_off_screen",
    "require_graphics",
]

DEBIAN_PACKAGES = "libegl1 libgl1-mesa-dri"
"""Packages that give vtk a software renderer on Debian and its kin."""

_EARLY: list[Thread] = []

_PROBE = """
import pyvista
plotter = pyvista.Plotter(off_screen=True, window_size=(32, 32))
plotter.add_mesh(pyvista.Cube(), color="#FF0000", lighting=False)
image = plotter.screenshot(None, return_img=True)
plotter.close()
raise SystemExit(0 if image[16, 16, 0] == 255 and image[16, 16, 1] == 0 else 9)
"""


def prepare_off_screen() -> None:
    """Make vtk draw without a screen where there is none; call it before vtk is loaded."""
    if not os.environ.get("DISPLAY"):
        os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")


@cache
def graphics_fault() -> str:
    """Return why no picture can be drawn here, or an empty text where it can.

    A child process draws a red cube off screen and looks at the pixel in the middle. One to two
    seconds the first time, nothing after that.
    """
    prepare_off_screen()
    try:
        child = subprocess.run(
            [sys.executable, "-c", _PROBE],
            capture_output=True,
            timeout=90,
            check=False,
            env={**os.environ, "PYTHONWARNINGS": "ignore"},
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return f"asking for a graphics library failed: {error}"
    if child.returncode == 0:
        return ""
    if child.returncode == 9:
        return "the graphics library draws wrong colors"
    if child.returncode < 0:
        return "no usable graphics library: drawing ended the process asked to try it"
    last = child.stderr.decode(errors="replace").strip().splitlines()
    return "drawing does not work here" + (f": {last[-1]}" if last else "")


def ask_early() -> None:
    """Start asking for a graphics library beside other work, so that the answer costs no wait."""
    if not _EARLY:
        _EARLY.append(Thread(target=graphics_fault, daemon=True))
        _EARLY[0].start()


def require_graphics() -> None:
    """Do nothing where pictures can be drawn.

    Raises
    ------
    GraphicsError
        Where they cannot, with the packages to install.
    """
    while _EARLY:
        _EARLY.pop().join()
    fault = graphics_fault()
    if fault:
        raise GraphicsError(
            f"no picture can be drawn: {fault}. On Debian or Ubuntu install the packages "
            f"{DEBIAN_PACKAGES}; everything but pictures works without them"
        )
