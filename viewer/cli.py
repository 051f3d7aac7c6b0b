"""The subcommand `view`, found by the command `raceway` through its entry point.

Nothing heavy is imported here before the command runs.
"""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import GraphicsError, InputError, OutputError

if TYPE_CHECKING:
    from analyzer.analysis import Analysis
    from viewer.palette import Theme
    from viewer.scene import Scene

__all__ = ["ViewCommand", "command", "scene_of"]

_LEAST_SIZE = (480, 320)
_IMAGE_SIZE = (1600, 1000)
_MOVIE_SIZE = (800, 608)
_MOST_PIXELS = 40_000_000


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
            "--size", type=_size, metavar="WxH", help="default 1600x1000, of a movie 800x608"
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
            choices=("low", "expected", "high"),
            default="expected",
            help="which friction of the band the colors show (default: expected)",
        )
        group.add_argument(
            "--compare",
            choices=("boxes", "directions"),
            help="with --image: two cases side by side, without and with boxes, or both ways",
        )
        group.add_argument(
            "--closeup",
            action="store_true",
            help="with --image: plan, and a close-up of the place that fails or is hardest",
        )
        group.add_argument(
            "--true-diameter",
            action="store_true",
            help="with --image: draw the raceway at its own diameter, however thin that is",
        )
        group.add_argument("--dark", action="store_true", help="dark ground, for projectors")
        parser.epilog = "example: raceway view example_paths/overhead_feeder.dxf --image feeder.png"

    def run(self, args: argparse.Namespace) -> int:
        """Do the work and return the exit code.

        `args.load_analysis` is the call that reads and analyses what the command line names.
        """
        if args.compare and (args.image is None or args.glb is not None or args.page is not None):
            raise InputError("--compare draws one picture: give it with --image FILE alone")
        if args.true_diameter and (args.image is None or args.compare or args.closeup):
            raise InputError("--true-diameter draws one still picture: give it with --image FILE")
        if args.closeup and (args.image is None or args.compare is not None):
            raise InputError("--closeup draws a picture of its own: give it with --image FILE")
        if args.compare is not None and args.at_friction != "expected":
            raise InputError("--compare shows expected friction only: leave --at-friction out")
        for file in (args.image, args.glb, args.movie, args.page):
            _check_output(file)
        if args.image is not None or args.movie is not None:
            from viewer.graphics_probe import require_graphics

            require_graphics()
        elif args.glb is None and args.page is None:
            _require_screen()
        analysis = args.load_analysis()
        _say_which(analysis, args.run)
        theme = _theme(args.dark)
        if args.compare is not None:
            _compare(args, analysis, theme)
            return 0
        if args.page is not None:
            from viewer.page import write_page

            write_page(analysis, args.page, args.run, args.direction, args.at_friction, theme)
        if all(file is None for file in (args.image, args.glb, args.movie, args.page)):
            from viewer.window import show_window

            show_window(analysis, args.run, args.direction, args.at_friction, theme)
            return 0
        scene = scene_of(analysis, args.run, args.direction, args.at_friction)
        if args.glb is not None:
            from viewer.gltf import write_glb

            write_glb(scene, args.glb)
        if args.movie is not None:
            from viewer.movie import write_movie

            width, height = args.size or _MOVIE_SIZE
            write_movie(scene, args.movie, width, height, theme)
        if args.closeup:
            from viewer.closeup import draw_closeup, plan_closeup
            from viewer.image import save_pixels

            width, height = args.size or _IMAGE_SIZE
            sheet = plan_closeup(scene, width, height, theme)
            save_pixels(draw_closeup(sheet), args.image)
        elif args.image is not None:
            from dataclasses import replace

            from viewer.image import write_image

            width, height = args.size or _IMAGE_SIZE
            shown = replace(scene, true_diameter=args.true_diameter)
            write_image(shown, args.image, width, height, theme)
        return 0


def _say_which(analysis: Analysis, run: str | None) -> None:
    """Say which run is shown where a route holds several and none was named."""
    import sys

    from viewer.scene import run_named

    if run is None and len(analysis.runs) > 1:
        shown = run_named(analysis, None).run.name
        names = ", ".join(item.run.name for item in analysis.runs[:20])
        more = "" if len(analysis.runs) <= 20 else f" and {len(analysis.runs) - 20} more"
        sys.stderr.write(
            f"Showing {shown}, the worst of {len(analysis.runs)} runs; choose another by --run: "
            f"{names}{more}.\n"
        )


def _compare(args: argparse.Namespace, analysis: Analysis, theme: Theme) -> None:
    """Write two cases side by side."""
    from viewer.compare import box_cases, direction_cases, draw_comparison, plan_comparison
    from viewer.image import save_pixels
    from viewer.scene import run_named

    run = run_named(analysis, args.run)
    if args.compare == "boxes":
        cases = box_cases(analysis, run, args.direction)
    else:
        cases = direction_cases(analysis, run)
    width, height = args.size or _IMAGE_SIZE
    comparison = plan_comparison(cases, width, height, theme)
    save_pixels(draw_comparison(comparison), args.image)


def scene_of(analysis: Analysis, run: str | None, direction: str, friction_name: str) -> Scene:
    """Return the scene of one run of an analysis, analysed again where another friction is shown.

    Raises
    ------
    InputError
        If no run has that name.
    """
    from dataclasses import replace

    from analyzer.job.settings import Friction
    from viewer.scene import build_scene, run_named

    judged = run_named(analysis, run)
    count = len(analysis.runs)
    if friction_name == "expected":
        return build_scene(judged, analysis.job, direction, run_count=count)
    from analyzer.analysis import analyze

    band = analysis.job.pull.friction
    value = band.low if friction_name == "low" else band.high
    pull = replace(analysis.job.pull, friction=Friction(value, value, value, band.stated))
    shown = analyze([judged.run], replace(analysis.job, pull=pull)).runs[0]
    return build_scene(judged, analysis.job, direction, friction_name, shown, count)


def _theme(dark: bool) -> Theme:
    from viewer.palette import DARK, LIGHT

    return DARK if dark else LIGHT


def _size(text: str) -> tuple[int, int]:
    """Read a picture size such as ``1600x1000``."""
    match = re.fullmatch(r"\s*(\d{1,5})\s*[xX×]\s*(\d{1,5})\s*", text)
    if match is None:
        raise argparse.ArgumentTypeError(f"{text!r} is no size: write it like 1600x1000")
    width, height = int(match[1]), int(match[2])
    if width < _LEAST_SIZE[0] or height < _LEAST_SIZE[1] or width * height > _MOST_PIXELS:
        raise argparse.ArgumentTypeError(
            f"{text} cannot be drawn: at least 480x320, at most 40 million pixels"
        )
    return width, height


def _check_output(file: Path | None) -> None:
    """Refuse a file that cannot be written before any work is done."""
    if file is None:
        return
    if str(file) == "-":
        raise InputError("a picture or model goes to a file: give it a name instead of -")
    if not file.parent.is_dir():
        raise OutputError(f"cannot write {file}: there is no folder {file.parent}")


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


command = ViewCommand()
