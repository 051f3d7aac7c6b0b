"""Movies to files: GIF with one palette for all frames, MP4 where the encoder is found."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from analyzer.errors import OutputError
from viewer.compared_cases import Case
from viewer.encoder import check_movie, encode
from viewer.legend import legend_colors
from viewer.movie import FRAMES, Stage, case_stage, film_stage, pair_stage
from viewer.palette import LIGHT, Theme, rgb
from viewer.quantities import ColorScale
from viewer.scene import Scene

__all__ = ["write_movie", "write_pair_movie"]

_SECONDS = 8.0
_HOLD_SECONDS = 2.0
_NEAR_COLOR = 9


def write_movie(
    scene: Scene,
    file: Path,
    width: int = 800,
    height: int = 608,
    theme: Theme = LIGHT,
    frames: int = FRAMES,
) -> None:
    """Write a movie as GIF, or as MP4 where the encoder is found; whole or not at all.

    Parameters
    ----------
    scene : Scene
        What is pulled.
    file : Path
        What is written: a ``.gif`` or ``.mp4``.
    width, height : int
        Size of the movie. [px]
    theme : Theme
        Neutral colors.
    frames : int
        How many pictures it has, two or more.

    Raises
    ------
    InputError
        If the name ends in neither ``.gif`` nor ``.mp4``, no MP4 encoder is found, an MP4 has an
        odd side, the movie is too small, or it has fewer than two frames.
    GraphicsError
        If no graphics library is usable here.
    OutputError
        If the file cannot be written.
    """
    check_movie(file, (width, height))
    _write(case_stage(scene, width, height, theme), file, frames)


def write_pair_movie(
    cases: tuple[Case, ...],
    file: Path,
    width: int = 1600,
    height: int = 912,
    theme: Theme = LIGHT,
    frames: int = FRAMES,
) -> None:
    """Write a movie of cases side by side; as `write_movie`.

    Parameters
    ----------
    cases : tuple of Case
        From left to right.
    file : Path
        What is written: a ``.gif`` or ``.mp4``.
    width, height : int
        Size of the movie. [px]
    theme : Theme
        Neutral colors.
    frames : int
        How many pictures it has, two or more.
    """
    check_movie(file, (width, height))
    _write(pair_stage(cases, width, height, theme), file, frames)


def _write(stage: Stage, file: Path, frames: int) -> None:
    kind = file.suffix.lower()
    part = file.with_name(f".{file.stem}.part{kind}")
    width, height = stage.canvas.width, stage.canvas.height
    scale, theme = stage.panels[0].scene.color_scale, stage.canvas.theme
    try:
        if kind == ".gif":
            _write_gif(film_stage(stage, frames), part, frames, scale, theme)
        else:
            _write_mp4(film_stage(stage, frames), part, width, height, frames)
        part.replace(file)
    except OSError as error:
        raise OutputError(f"cannot write {file}: {error.strerror or error}") from error
    finally:
        part.unlink(missing_ok=True)


def _write_gif(
    pictures: Iterator[NDArray[np.uint8]], file: Path, frames: int, scale: ColorScale, theme: Theme
) -> None:
    """Write frames with one shared palette: the map and the theme exactly, the rest by need."""
    made = [Image.fromarray(picture) for picture in pictures]
    palette = _palette(made[-1], scale, theme)
    flat = [image.quantize(palette=palette, dither=Image.Dither.NONE) for image in made]
    step = round(1000 * _SECONDS / frames)
    hold = round(1000 * _HOLD_SECONDS)
    flat[0].save(
        file,
        save_all=True,
        append_images=flat[1:],
        duration=[step] * (len(flat) - 1) + [hold],
        loop=0,
    )


def _palette(last: Image.Image, scale: ColorScale, theme: Theme) -> Image.Image:
    """Palette of 256 colors: 48 of the map, 5 of the theme, the others from the last frame."""
    legend = legend_colors(scale, 48)
    fixed = np.concatenate(
        [
            np.round(legend * 255),
            [
                np.round(rgb(color) * 255)
                for color in (theme.ground, theme.ink, theme.muted, theme.floor, theme.not_reached)
            ],
        ]
    ).astype(np.uint8)
    room = 256 - len(fixed)
    entries = last.quantize(room, method=Image.Quantize.MEDIANCUT).getpalette() or []
    free = np.array(entries[: room * 3], dtype=np.uint8).reshape(-1, 3)
    # entries beside a fixed color would steal its pixels
    gap = np.abs(free[:, None, :].astype(int) - fixed[None, :, :].astype(int)).max(axis=-1)
    close = gap.min(axis=1) <= _NEAR_COLOR
    free[close] = fixed[gap.argmin(axis=1)[close]]
    made = Image.new("P", (1, 1))
    colors = np.concatenate([fixed, free]).ravel().tolist()
    made.putpalette((colors + [0] * 768)[:768])
    return made


def _write_mp4(
    pictures: Iterator[NDArray[np.uint8]], file: Path, width: int, height: int, frames: int
) -> None:
    rate = frames / _SECONDS
    encode(_held(pictures, round(rate * _HOLD_SECONDS)), file, width, height, rate)


def _held(pictures: Iterator[NDArray[np.uint8]], more: int) -> Iterator[bytes]:
    """Yield the bytes of the frames, the last one some more times."""
    last = b""
    for picture in pictures:
        last = np.ascontiguousarray(picture).tobytes()
        yield last
    for _ in range(more):
        yield last
