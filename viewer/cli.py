"""The subcommand `view`, found by the command `raceway` through its entry point.

Nothing heavy is imported here before the command runs.
"""

from __future__ import annotations

import argparse
import gc
import re
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import GraphicsError, InputError, OutputError
from viewer.options import PictureSize, ViewOptions
from viewer.sizes import LEAST_SIZE, MOST_PIXELS

if TYPE_CHECKING:
    from analyzer.analysis import Analysis

__all__ = ["ViewCommand", "command"]

_DPI = 300
_PAPER = {"letter": (3300, 2550), "a4": (3508, 2480)}


class ViewCommand:
    """Show a run in 3D: in a window, or as a picture or model in a file."""

    name = "view"
    help = "show a run in 3D, colored by pulling tension against its limit"

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Add the options of this command."""
        group = parser.add_argument_group("the view")
        group.add_argument(
            "--image", type=Path, metavar="FILE", help="write a PNG picture; no screen is needed"
        )
        group.add_argument(
            "--size",
            type=_size,
            metavar="WxH",
            help="pixels, or letter or a4 for print at 300 per inch (default: 1600x1000; of a "
            "movie 800x608, of two cases 1600x912)",
        )
        group.add_argument(
            "--movie",
            type=Path,
            metavar="FILE",
            help="write a movie of the pull, .gif (.mp4 where an encoder is installed)",
        )
        group.add_argument(
            "--page",
            type=Path,
            metavar="FILE",
            help="write an interactive page (.html) that needs neither network nor this program",
        )
        group.add_argument(
            "--glb", type=Path, metavar="FILE", help="write a 3D model for other viewers"
        )
        group.add_argument("--run", metavar="NAME", help="which run, where a route holds several")
        group.add_argument(
            "--direction",
            choices=("forward", "reverse", "better"),
            default="better",
            help="which way each leg is pulled (default: its better way)",
        )
        group.add_argument(
            "--at-friction",
            type=_friction,
            default="expected",
            metavar="WHICH",
            help="which friction the colors show: low, expected, high, or a number within the "
            "job's band (default: expected)",
        )
        group.add_argument(
            "--quantity",
            choices=("tension", "sidewall", "share", "station", "elevation"),
            default="tension",
            help="what the colors show (default: tension)",
        )
        group.add_argument(
            "--compare",
            choices=("boxes", "directions", "all"),
            help="cases side by side: without and with boxes, both ways, or both ways without and "
            "then with boxes; in a window, or with --image or --movie in a file",
        )
        group.add_argument(
            "--drawing",
            choices=("view", "plan", "elevation", "closeup"),
            help="with --image: which drawing; closeup shows each place that fails, or the "
            "hardest (default: view)",
        )
        group.add_argument(
            "--true-diameter",
            action="store_true",
            help="with --image: draw the raceway at its own diameter, or as thin as color shows",
        )
        group.add_argument("--dark", action="store_true", help="dark ground, for projectors")
        parser.epilog = "example: raceway view example_paths/overhead_feeder.dxf --image feeder.png"

    def run(self, args: argparse.Namespace) -> int:
        """Do the work and return the exit code.

        `args.load_analysis` is the call that reads and analyses what the command line names.
        """
        _refuse_mixtures(args)
        files = (args.image, args.glb, args.movie, args.page)
        for file in files:
            _check_output(file)
        if args.movie is not None:
            from viewer.encoder import check_movie

            check_movie(args.movie, None if args.size is None else args.size[:2])
        shows = all(file is None for file in files)
        if shows:
            _require_screen()
        draws = args.image is not None or args.movie is not None
        if draws or shows:
            from viewer.graphics_probe import ask_early, require_graphics

            ask_early()
        # an analysis lives to the end: looking for garbage in it is a tenth of the reading
        gc.disable()
        analysis = args.load_analysis()
        gc.enable()
        gc.freeze()
        if draws:
            require_graphics()
        options = ViewOptions(
            args.run, args.direction, args.at_friction, args.quantity, args.size, args.dark
        )
        _refuse_of_several(analysis, args)
        _say_which(analysis, args)
        if shows:
            from viewer.sessions import show_windows

            show_windows(analysis, options, args.compare)
            return 0
        if args.page is not None:
            from viewer.page import write_page

            write_page(
                analysis, args.page, args.run, args.direction, args.at_friction, options.theme
            )
        if args.glb is not None:
            from viewer.gltf import write_glb

            write_glb(options.scene(analysis), args.glb)
        if args.movie is not None:
            from viewer.outputs import write_movies

            write_movies(analysis, options, args.compare, args.movie)
        if args.image is not None and args.compare is not None:
            from viewer.outputs import write_comparison

            write_comparison(analysis, options, args.compare, args.image)
        elif args.image is not None:
            from viewer.outputs import write_still

            drawing = args.drawing or "view"
            write_still(analysis, options, args.image, drawing, args.true_diameter)
        return 0


def _refuse_mixtures(args: argparse.Namespace) -> None:
    """Refuse options that do not go together, before any work is done."""
    if args.compare and (args.glb is not None or args.page is not None):
        raise InputError("--compare goes with --image, --movie or a window: leave the others out")
    for given, option in ((args.drawing, "--drawing"), (args.true_diameter, "--true-diameter")):
        if given and args.compare:
            raise InputError(f"{option} and --compare do not go together: leave one of them out")
    if args.drawing and args.image is None:
        raise InputError("--drawing chooses a still picture: give it with --image FILE")
    if args.true_diameter and args.drawing == "closeup":
        raise InputError(
            "--true-diameter and --drawing closeup do not go together: leave one of them out"
        )
    if args.true_diameter and args.image is None:
        raise InputError("--true-diameter draws one still picture: give it with --image FILE")
    has_pixels = args.image is not None or args.movie is not None
    if args.size and not has_pixels and (args.page is not None or args.glb is not None):
        raise InputError(
            "--size is the size of a picture, a movie or a window: a page takes that of its "
            "browser and a model has none; leave it out"
        )
    if args.dark and not has_pixels and args.page is None and args.glb is not None:
        raise InputError("a model has no ground that could be dark: leave --dark out")
    if args.page is not None and args.quantity != "tension":
        raise InputError("a page switches its quantity by itself: leave --quantity out")
    if args.page is not None and not isinstance(args.at_friction, str):
        raise InputError("a page starts at low, expected or high friction: give one of these")


def _refuse_of_several(analysis: Analysis, args: argparse.Namespace) -> None:
    """Refuse options that a picture of all runs of a route would leave aside in silence."""
    every = args.run is None and len(analysis.runs) > 1
    if args.image is None or not every or not _is_overview(args):
        return
    given = (
        (args.quantity != "tension", "--quantity"),
        (args.at_friction != "expected", "--at-friction"),
        (args.true_diameter, "--true-diameter"),
    )
    names = [option for is_given, option in given if is_given]
    if not names:
        return
    from analyzer.reports.words import joined

    verb, leave = ("goes", "leave it out") if len(names) == 1 else ("go", "leave them out")
    raise InputError(
        f"{joined(names)} {verb} with a picture of one run: name it by --run "
        f"({_run_names(analysis)}), or {leave} for the picture of all {len(analysis.runs)} runs, "
        "which shows each one's share of limit at high friction"
    )


def _is_overview(args: argparse.Namespace) -> bool:
    """Whether a picture without a run named would show all runs."""
    return args.compare is None and args.drawing in (None, "view")


def _run_names(analysis: Analysis) -> str:
    """Return the names of the runs, the first twenty of many."""
    names = ", ".join(item.run.name for item in analysis.runs[:20])
    return names if len(analysis.runs) <= 20 else f"{names} and {len(analysis.runs) - 20} more"


def _say_which(analysis: Analysis, args: argparse.Namespace) -> None:
    """Say which run is shown where a route holds several and one picture takes one only."""
    import sys

    from viewer.scene import run_named

    alone = args.movie is None and args.glb is None
    if args.run is not None or len(analysis.runs) < 2 or (_is_overview(args) and alone):
        return
    shown = run_named(analysis, None).run.name
    sys.stderr.write(
        f"Showing {shown}, the worst of {len(analysis.runs)} runs; choose another by --run: "
        f"{_run_names(analysis)}.\n"
    )


def _friction(text: str) -> str | float:
    """Read a friction: a word of the band or a number."""
    if text in ("low", "expected", "high"):
        return text
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no friction: give low, expected, high or a number"
        ) from None


def _size(text: str) -> PictureSize:
    """Read a picture size such as ``1600x1000``, or a sheet of paper."""
    if text.strip().lower() in _PAPER:
        width, height = _PAPER[text.strip().lower()]
        return PictureSize(width, height, _DPI / 100, _DPI)
    match = re.fullmatch(r"\s*(\d{1,5})\s*[xX×]\s*(\d{1,5})\s*", text)
    if match is None:
        raise argparse.ArgumentTypeError(
            f"{text!r} is no size: write it like 1600x1000, or letter or a4"
        )
    width, height = int(match[1]), int(match[2])
    if width < LEAST_SIZE[0] or height < LEAST_SIZE[1] or width * height > MOST_PIXELS:
        raise argparse.ArgumentTypeError(
            f"{text} cannot be drawn: at least 640x400, at most 40 million pixels"
        )
    return PictureSize(width, height)


def _check_output(file: Path | None) -> None:
    """Refuse a file that cannot be written before any work is done."""
    if file is None:
        return
    if str(file) == "-":
        raise InputError("a picture or model goes to a file: give it a name instead of -")
    if not file.parent.is_dir():
        raise OutputError(f"cannot write {file}: there is no folder {file.parent}")
    if file.exists() and not file.is_file():
        raise OutputError(f"cannot write {file}: it is a folder or a device, no file")


def _require_screen() -> None:
    """Refuse a window where no screen is known.

    Raises
    ------
    GraphicsError
        On systems that name their screen in DISPLAY or WAYLAND_DISPLAY and do not.
    """
    import os
    import sys

    named = os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")
    if sys.platform.startswith("linux") and not named:
        raise GraphicsError(
            "no screen for a window (DISPLAY is not set): add --image FILE for a picture, or "
            "--glb FILE for a model; neither needs one"
        )
    display = os.environ.get("DISPLAY")
    if sys.platform.startswith("linux") and display and not _answers(display):
        raise GraphicsError(
            f"the screen that DISPLAY names, {display}, does not answer: add --image FILE for a "
            "picture, or --glb FILE for a model; neither needs one"
        )


def _answers(display: str) -> bool:
    """Whether a screen server listens where DISPLAY says; an unknown form is left to vtk."""
    import socket

    match = re.fullmatch(r"(.*):(\d+)(\.\d+)?", display)
    if match is None:
        return True
    host, number = match[1], int(match[2])
    if host not in ("", "unix"):
        try:
            socket.create_connection((host.removeprefix("tcp/"), 6000 + number), 3.0).close()
        except OSError:
            return False
        return True
    for place in (f"/tmp/.X11-unix/X{number}", f"\0/tmp/.X11-unix/X{number}"):
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as line:
            line.settimeout(3.0)
            try:
                line.connect(place)
            except OSError:
                continue
            return True
    return False


command = ViewCommand()
