"""The movie: the head runs from feed to pull end, color fills in behind it, the chart draws along.

What stands still (header, legend, labels, cautions, the chart with and without its color) is
drawn once; each frame is the geometry rendered anew, the two charts joined at the head, and the
head's mark. Where the conductors are refed the tension starts anew, as the chart shows.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib import font_manager
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from analyzer.errors import InputError, OutputError
from analyzer.pulling.results import Direction
from analyzer.units import show_force
from viewer.camera import Camera
from viewer.canvas import Canvas, font_family
from viewer.chart import ChartFrame, distance_title, draw_tension, tension_top
from viewer.graphics_probe import prepare_off_screen, require_graphics
from viewer.head import Head, head_at, legs_to_head
from viewer.image import camera_for, draw_footer, draw_header, layout_for, text_unit_for
from viewer.labels import Rect
from viewer.legend import legend_colors
from viewer.marks import draw_marks
from viewer.overlay import head_words, plan_marks
from viewer.palette import LIGHT, Theme, rgb
from viewer.render import add_moving, add_solids, aim
from viewer.scene import Scene
from viewer.solids import Solids, build_solids

__all__ = ["FRAMES", "film", "walked_lengths", "write_movie"]

FRAMES = 60
"""Frames of the way; the last one is held."""

_SECONDS = 8.0
_HOLD_SECONDS = 2.0
_OVERSAMPLING = 2
_NEAR_COLOR = 9


@dataclass(frozen=True, slots=True)
class _Stage:
    """All that stands still in a movie."""

    scene: Scene
    canvas: Canvas
    camera: Camera
    view: Rect
    frame: ChartFrame
    labels: Image.Image
    drawn: NDArray[np.uint8]
    ahead: NDArray[np.uint8]


def walked_lengths(scene: Scene, frames: int = FRAMES) -> list[float]:
    """Return the length pulled at each frame, from nothing to the whole run. [m]

    Raises
    ------
    InputError
        If fewer than two frames are asked for.
    """
    if frames < 2:
        raise InputError(f"a movie needs two frames or more: got {frames}")
    return [float(value) for value in np.linspace(0.0, scene.length_m, frames)]


def film(
    scene: Scene,
    width: int = 800,
    height: int = 608,
    theme: Theme = LIGHT,
    frames: int = FRAMES,
) -> Iterator[NDArray[np.uint8]]:
    """Yield the frames of a movie, each of shape (height, width, 3).

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    lengths = walked_lengths(scene, frames)
    require_graphics()
    prepare_off_screen()
    import pyvista

    stage = _stage(scene, width, height, theme)
    size = (stage.camera.width * _OVERSAMPLING, stage.camera.height * _OVERSAMPLING)
    plotter = pyvista.Plotter(off_screen=True, window_size=size, lighting="none")
    plotter.set_background(theme.ground)
    moving: list[Any] = []
    floor = None
    try:
        for walked in lengths:
            head = head_at(scene, walked)
            solids = build_solids(scene, stage.camera, stage.canvas.unit, theme, head, floor=floor)
            if floor is None:
                line_px = stage.canvas.unit * _OVERSAMPLING
                moving = add_solids(plotter, solids, line_px, theme)[1][: _moving_count(solids)]
                aim(plotter, stage.camera)
                floor = solids.floor
            else:
                for actor in moving:
                    plotter.remove_actor(actor, render=False)
                moving = add_moving(plotter, solids)[1]
            plotter.render()
            geometry = np.asarray(plotter.screenshot(None, return_img=True))[..., :3]
            yield _composed(stage, head, geometry)
    finally:
        plotter.close()


def _moving_count(solids: Solids) -> int:
    """Actors of a scene that change with the head: they are added first."""
    return 1 if solids.rings is None else 2


def _stage(scene: Scene, width: int, height: int, theme: Theme) -> _Stage:
    canvas = _blank(width, height, theme)
    layout = layout_for(canvas, scene, strip=False, least_units=200.0)
    if layout.tension is None:
        raise InputError(f"a movie of {width}x{height} has no room for its chart: make it larger")
    left, top, right, bottom = (round(value) for value in layout.view)
    camera = camera_for(scene, right - left, bottom - top, canvas, brief=True)
    frame = ChartFrame(
        *layout.tension, scene.length_m, 0.0, tension_top(scene), not scene.feed_left
    )
    marks = plan_marks(
        canvas, scene, camera, brief=width < 1100, without=frozenset({"worst", "leg"})
    )
    still = type(marks)(marks.chips, marks.placements, (), marks.scale_bar, marks.triad, marks.head)
    draw_marks(canvas, scene, camera, still, (left, top))
    draw_header(canvas, scene, layout)
    draw_footer(canvas, layout)
    labels = Image.fromarray(canvas.overlay(), "RGBA")
    view = (float(left), float(top), float(right), float(bottom))
    return _Stage(
        scene=scene,
        canvas=canvas,
        camera=camera,
        view=view,
        frame=frame,
        labels=labels,
        drawn=_chart(scene, frame, canvas, None),
        ahead=_chart(scene, frame, canvas, head_at(scene, 0.0)),
    )


def _blank(width: int, height: int, theme: Theme) -> Canvas:
    return Canvas(width, height, theme, max(width / 1280, 0.85), text_unit_for(width))


def _chart(scene: Scene, frame: ChartFrame, like: Canvas, head: Head | None) -> NDArray[np.uint8]:
    canvas = _blank(like.width, like.height, like.theme)
    draw_tension(canvas, scene, frame, axis_text=True, head=head, mark=False)
    u = canvas.text_unit
    canvas.text(
        frame.right,
        frame.bottom + 28 * u,
        distance_title(scene),
        7.2,
        color=canvas.theme.muted,
        align="right",
    )
    return canvas.pixels()


def _composed(stage: _Stage, head: Head, geometry: NDArray[np.uint8]) -> NDArray[np.uint8]:
    passed = _columns_passed(stage, head)
    picture = Image.fromarray(np.where(passed[None, :, None], stage.drawn, stage.ahead))
    left, top, right, bottom = (round(value) for value in stage.view)
    small = Image.fromarray(geometry).resize((right - left, bottom - top), Image.Resampling.LANCZOS)
    picture.paste(small, (left, top))
    picture.paste(stage.labels, (0, 0), stage.labels)
    _mark_head(stage, head, picture)
    return np.asarray(picture)


def _columns_passed(stage: _Stage, head: Head) -> NDArray[np.bool_]:
    """Columns of the chart that the head has passed; outside the frame the drawn chart stands."""
    frame = stage.frame
    columns = np.arange(stage.canvas.width) + 0.5
    share = (columns - frame.left) / (frame.right - frame.left)
    share = 1.0 - share if frame.flipped else share
    station = share * frame.length_m
    passed = np.ones(len(columns), dtype=bool)
    for leg, samples in legs_to_head(stage.scene, head):
        inside = (station >= leg.start_m) & (station <= leg.end_m)
        if leg.name != head.leg:
            passed[inside] = bool(samples[0])
        elif leg.direction is Direction.FORWARD:
            passed[inside] = station[inside] <= head.station_m
        else:
            passed[inside] = station[inside] >= head.station_m
    return passed


def _mark_head(stage: _Stage, head: Head, picture: Image.Image) -> None:
    """Draw the head's ring in view and chart, and what it reads."""
    scene, canvas, frame, theme = stage.scene, stage.canvas, stage.frame, stage.canvas.theme
    draw = ImageDraw.Draw(picture)
    x = float(frame.x(np.array(head.station_m)))
    y = float(frame.y(np.array(head.tension_n)))
    draw.line([(x, frame.top), (x, frame.bottom)], fill=theme.ink, width=1)
    _ring(picture, x, y, 8.5 * canvas.unit)
    at = stage.camera.pixels(scene.point_at(head.station_m))[0]
    _ring(picture, stage.view[0] + float(at[0]), stage.view[1] + float(at[1]), 10 * canvas.unit)
    text = f"Head {show_force(head.tension_n, scene.units)} · {head_words(scene, head)}"
    u = canvas.text_unit
    font = _font(canvas.px(8.4))
    draw.text((frame.right, frame.top - 21 * u), text, fill=theme.ink, font=font, anchor="rs")


def _ring(picture: Image.Image, x: float, y: float, radius: float) -> None:
    """Paste the double ring with a dot, drawn large and reduced so that its edges are smooth."""
    scale, size = 6, int(np.ceil(radius)) * 2 + 4
    big = Image.new("RGBA", (size * scale, size * scale), (255, 255, 255, 0))
    draw = ImageDraw.Draw(big)
    middle = size * scale / 2 + np.array([x - round(x), y - round(y)]) * scale
    for share, color in ((1.0, "#FFFFFF"), (0.82, "#1B2229"), (0.58, "#FFFFFF"), (0.30, "#1B2229")):
        reach = radius * share * scale
        box = (middle[0] - reach, middle[1] - reach, middle[0] + reach, middle[1] + reach)
        draw.ellipse(box, fill=color)
    small = big.resize((size, size), Image.Resampling.BOX)
    picture.paste(small, (round(x) - size // 2, round(y) - size // 2), small)


def _font(size_px: float) -> Any:
    path = font_manager.findfont(font_manager.FontProperties(family=font_family(), weight="bold"))
    return ImageFont.truetype(path, size_px)


def write_movie(
    scene: Scene,
    file: Path,
    width: int = 800,
    height: int = 608,
    theme: Theme = LIGHT,
    frames: int = FRAMES,
) -> None:
    """Write a movie as GIF, or as MP4 where the encoder is found; whole or not at all.

    Raises
    ------
    InputError
        If the name ends in neither ``.gif`` nor ``.mp4``, or no MP4 encoder is found.
    OutputError
        If the file cannot be written.
    """
    kind = file.suffix.lower()
    if kind not in (".gif", ".mp4"):
        raise InputError(f"a movie is a .gif or .mp4 file: {file.name} is neither")
    part = file.with_name(f".{file.stem}.part{kind}")
    try:
        if kind == ".gif":
            _write_gif(film(scene, width, height, theme, frames), part, frames, scene, theme)
        else:
            _write_mp4(film(scene, width, height, theme, frames), part, width, height, frames)
        part.replace(file)
    except OSError as error:
        raise OutputError(f"cannot write {file}: {error.strerror or error}") from error
    finally:
        part.unlink(missing_ok=True)


def _write_gif(
    pictures: Iterator[NDArray[np.uint8]], file: Path, frames: int, scene: Scene, theme: Theme
) -> None:
    """Write frames with one shared palette: the map and the theme exactly, the rest by need."""
    made = [Image.fromarray(picture) for picture in pictures]
    palette = _palette(made[-1], scene, theme)
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


def _palette(last: Image.Image, scene: Scene, theme: Theme) -> Image.Image:
    """Palette of 256 colors: 48 of the map, 5 of the theme, the others from the last frame."""
    legend = legend_colors(scene, 48)
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
    try:
        imageio_ffmpeg = import_module("imageio_ffmpeg")
    except ImportError as error:
        raise InputError(
            "no MP4 encoder is installed: install imageio-ffmpeg, or give the movie a .gif name"
        ) from error
    if width % 16 or height % 16:
        raise InputError(f"an MP4 needs sides that divide by 16: {width}x{height} does not")
    rate = frames / _SECONDS
    writer = imageio_ffmpeg.write_frames(str(file), (width, height), fps=rate)
    writer.send(None)
    last = None
    for picture in pictures:
        last = np.ascontiguousarray(picture)
        writer.send(last)
    for _ in range(round(rate * _HOLD_SECONDS)):
        writer.send(last)
    writer.close()
