"""What the command writes: still pictures, movies, models and pages, one function a kind."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from analyzer.errors import InputError
from viewer.options import PictureSize

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analyzer.analysis import Analysis
    from viewer.options import ViewOptions
    from viewer.palette import Theme
    from viewer.scene import Scene

__all__ = ["write_comparison", "write_movies", "write_still"]

_IMAGE = (1600, 1000)
_MOVIE = (800, 608)
_PAIR_MOVIE = (1600, 912)
_MOST_UNDRAWABLE = 5


def write_still(
    analysis: Analysis, options: ViewOptions, file: Path, drawing: str, true_diameter: bool
) -> None:
    """Write a still picture.

    A view of a route with several runs of which none is named shows all of them. Close-ups of
    further failing places go to files beside the first, numbered from 2.

    Parameters
    ----------
    analysis : Analysis
        All runs.
    options : ViewOptions
        What the command line asks for.
    file : Path
        What is written, a PNG.
    drawing : str
        ``view``, ``plan``, ``elevation`` or ``closeup``.
    true_diameter : bool
        Whether the tube is drawn at the raceway's own diameter.

    Raises
    ------
    InputError
        If no run has the name asked for, the friction is not of the band, there is no limit to
        take a share of, the true diameter is asked for and the job names no raceway, or the
        picture is too small.
    GraphicsError
        If no graphics library is usable here.
    OutputError
        If the file cannot be written.
    """
    from viewer.camera import PLAN
    from viewer.image import draw_picture, plan_picture, save_pixels

    _say_undrawable(analysis, options)
    size = options.size or PictureSize(*_IMAGE)
    width, height, unit, dpi = size
    if drawing == "view" and options.run is None and len(analysis.runs) > 1:
        from viewer.many import build_many
        from viewer.many_picture import draw_many, plan_many, require_many_room

        every = build_many(analysis, options.direction)
        require_many_room(every, width, height, options.theme, unit)
        all_runs = plan_many(every, width, height, options.theme, unit_px=unit)
        save_pixels(draw_many(all_runs), file, dpi)
        _say_left_out(file, all_runs.left_out)
        return
    scene = replace(options.scene(analysis), true_diameter=true_diameter)
    if true_diameter and scene.job.raceway is None:
        raise InputError("--true-diameter needs a raceway: name it in the job under [raceway]")
    if drawing == "closeup":
        _write_closeups(scene, size, options.theme, file)
        return
    if drawing == "elevation":
        from viewer.developed import draw_developed, plan_developed

        sheet = plan_developed(scene, width, height, options.theme, unit_px=unit)
        save_pixels(draw_developed(sheet), file, dpi)
        _say_left_out(file, sheet.marks.left_out)
        return
    angles = PLAN if drawing == "plan" else None
    picture = plan_picture(scene, width, height, options.theme, angles=angles, unit_px=unit)
    save_pixels(draw_picture(picture), file, dpi)
    _say_left_out(file, picture.marks.left_out)


def _say_left_out(file: Path, names: Sequence[str]) -> None:
    """Say which labels found no room in a picture; the picture says it too, in short."""
    if names:
        what = "a label" if len(names) == 1 else f"{len(names)} labels"
        sys.stderr.write(f"No room in {file.name} for {what}: {', '.join(names)}.\n")


def _say_undrawable(analysis: Analysis, options: ViewOptions) -> None:
    """Say which names hold letters that no font installed here holds."""
    from viewer.fonts import letters_lacking

    runs = [item.run for item in analysis.runs if options.run in (None, item.run.name)]
    names = [analysis.job.title or ""]
    for run in runs:
        names += [run.name, *(fitting.name for fitting in run.fittings)]
    lacking = [name for name in dict.fromkeys(names) if letters_lacking(name)]
    if not lacking:
        return
    what = "this name are" if len(lacking) == 1 else f"these {len(lacking)} names are"
    shown = "; ".join(lacking[:_MOST_UNDRAWABLE])
    more = len(lacking) - _MOST_UNDRAWABLE
    rest = f"; and {more} more" if more > 0 else ""
    sys.stderr.write(
        f"Letters of {what} drawn as empty boxes, as no font installed here holds them: "
        f"{shown}{rest}. Install a font for them, or write them in other letters.\n"
    )


def _write_closeups(scene: Scene, size: PictureSize, theme: Theme, file: Path) -> None:
    from viewer.closeup import draw_closeup, plan_closeup
    from viewer.image import save_pixels
    from viewer.telling_places import MOST_CLOSEUPS, bend_names, telling_places, whole_leg_words

    width, height, unit, dpi = size
    places = telling_places(scene)
    names = []
    # all are laid out before the first is written: none is left behind where one finds no room
    sheets = [
        plan_closeup(scene, width, height, theme, unit_px=unit, rank=rank)
        for rank in range(min(len(places), MOST_CLOSEUPS))
    ]
    for rank, (place, sheet) in enumerate(zip(places, sheets, strict=False)):
        part = file if rank == 0 else file.with_name(f"{file.stem}-{rank + 1}{file.suffix}")
        save_pixels(draw_closeup(sheet), part, dpi)
        _say_left_out(part, [title for marks in sheet.marks for title in marks.left_out])
        names.append(f"{part.name} ({bend_names(place.chosen)})")
    if places[0].fails:
        count = sum(len(place.chosen) for place in places)
        noun = "1 bend fails" if count == 1 else f"{count} bends fail"
        sys.stderr.write(f"{noun}: wrote {', '.join(names)}.\n")
    rest = tuple(bend for place in places[MOST_CLOSEUPS:] for bend in place.chosen)
    if rest:
        which = "which fails" if len(rest) == 1 else "which fail"
        sys.stderr.write(f"No close-up of {bend_names(rest)}, {which} too, but by less.\n")
    for words in whole_leg_words(scene):
        sys.stderr.write(f"{words}\n")


def write_comparison(analysis: Analysis, options: ViewOptions, kind: str, file: Path) -> None:
    """Write cases side by side.

    Parameters
    ----------
    analysis : Analysis
        All runs.
    options : ViewOptions
        What the command line asks for.
    kind : str
        ``boxes``, ``directions`` or ``all``, as `cases_of` takes it.
    file : Path
        What is written, a PNG.
    """
    from viewer.compare import draw_comparison, plan_comparison, require_room
    from viewer.compared_cases import cases_of
    from viewer.image import save_pixels

    _say_undrawable(analysis, options)
    cases = cases_of(analysis, options, kind)
    width, height, unit, dpi = options.size or PictureSize(*_IMAGE)
    require_room("comparison", cases, width, height, options.theme, unit)
    comparison = plan_comparison(cases, width, height, options.theme, unit_px=unit)
    save_pixels(draw_comparison(comparison), file, dpi)
    _say_left_out(file, [title for marks in comparison.marks for title in marks.left_out])


def write_movies(analysis: Analysis, options: ViewOptions, kind: str | None, file: Path) -> None:
    """Write the movie of one case, or of several side by side.

    Parameters
    ----------
    analysis : Analysis
        All runs.
    options : ViewOptions
        What the command line asks for.
    kind : str or None
        Which cases, as `cases_of` takes it; None for the one that the options ask for.
    file : Path
        What is written: a ``.gif`` or ``.mp4``.
    """
    from viewer.compared_cases import cases_of
    from viewer.movie_files import write_movie, write_pair_movie

    _say_undrawable(analysis, options)
    if kind is None:
        width, height = (options.size or _MOVIE)[:2]
        write_movie(options.scene(analysis), file, width, height, options.theme)
        return
    width, height = (options.size or _PAIR_MOVIE)[:2]
    write_pair_movie(cases_of(analysis, options, kind), file, width, height, options.theme)
