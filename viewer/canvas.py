"""A drawing sheet whose unit is the pixel: every letter, line and chip of a still picture.

A thin layer over matplotlib. Axes cover the whole picture, x to the right and y down, so that
the pixels of the camera are the units of the drawing. Hinting is off: text then measures the
same at every size.
"""

from __future__ import annotations

import logging
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Circle, FancyBboxPatch, Polygon, Rectangle
from numpy.typing import NDArray

from viewer.fonts import families_for
from viewer.palette import Theme

__all__ = ["Canvas"]

_RC: dict[str, Any] = {"text.hinting": "none", "path.simplify": False}
if tuple(int(part) for part in matplotlib.__version__.split(".")[:2]) < (3, 11):
    _RC["text.hinting_factor"] = 1  # newer ones measure letters exactly without it

_WIDTHS: dict[tuple[str, float, bool], float] = {}
_MOST_WIDTHS = 5000


@contextmanager
def _drawing() -> Iterator[None]:
    """Set matplotlib up, and quiet: of letters no font holds `viewer.fonts` tells in better words.

    A font that helps out may have no bold face; its plain one then does.
    """
    logger = logging.getLogger("matplotlib.font_manager")
    level = logger.level
    logger.setLevel(logging.ERROR)
    try:
        with matplotlib.rc_context(_RC), warnings.catch_warnings():
            warnings.filterwarnings("ignore", message="Glyph .* missing")
            yield
    finally:
        logger.setLevel(level)


@dataclass(slots=True)
class Canvas:
    """A picture being drawn.

    Attributes
    ----------
    width, height : int
        Size. [px]
    theme : Theme
        Its neutral colors.
    unit : float
        Pixels of one drawing unit for lines, markers and gaps.
    text_unit : float
        Pixels of one drawing unit for letters; never so small that letters get unreadable.
    """

    width: int
    height: int
    theme: Theme
    unit: float
    text_unit: float
    _figure: Any = None
    _axes: Any = None
    _renderer: Any = None

    def __post_init__(self) -> None:
        with _drawing():
            figure = Figure(figsize=(self.width / 100, self.height / 100), dpi=100)
            FigureCanvasAgg(figure)
            figure.patch.set_facecolor(self.theme.ground)
            axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
            axes.set_xlim(0, self.width)
            axes.set_ylim(self.height, 0)
            axes.set_autoscale_on(False)
            axes.axis("off")
            self._figure, self._axes = figure, axes
            self._renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]

    def px(self, points: float) -> float:
        """Return the pixels of a size in points on paper."""
        return points * self.text_unit * 100 / 72

    def _font(self, text: str, points: float, bold: bool) -> FontProperties:
        size = self.px(points) * 72 / 100
        families = list(families_for(text))
        return FontProperties(family=families, size=size, weight="bold" if bold else "normal")

    def text_size(self, text: str, points: float, bold: bool = False) -> tuple[float, float]:
        """Return width and height of a line of text. [px]"""
        key = (text, round(self.px(points), 4), bold)
        width = _WIDTHS.get(key)
        if width is None:
            with _drawing():
                width, _, _ = self._renderer.get_text_width_height_descent(
                    text or " ", self._font(text, points, bold), False
                )
            if len(_WIDTHS) > _MOST_WIDTHS:
                _WIDTHS.clear()
            _WIDTHS[key] = width = float(width)
        return width, self.px(points) * 1.15

    def text(
        self,
        x: float,
        y: float,
        text: str,
        points: float,
        bold: bool = False,
        color: str | None = None,
        align: str = "left",
        upright: str = "baseline",
        halo: bool = False,
        layer: float = 10,
    ) -> None:
        """Write one line of text.

        Parameters
        ----------
        x, y : float
            Where it stands. [px]
        text : str
            The line; nothing in it is read as mathematics.
        points : float
            Size of the letters. [pt]
        bold : bool
            Whether they are bold.
        color : str, optional
            Their color; by default the ink of the theme.
        align, upright : str
            Which of its sides and heights stands at x and y, in matplotlib's words.
        halo : bool
            Whether they have an outline in the color of the ground.
        layer : float
            What is drawn in higher layers covers it.
        """
        made = self._axes.text(
            x,
            y,
            text,
            fontproperties=self._font(text, points, bold),
            color=color or self.theme.ink,
            ha=align,
            va=upright,
            zorder=layer,
            parse_math=False,
        )
        if halo:
            from matplotlib.patheffects import withStroke

            made.set_path_effects(
                [withStroke(linewidth=self.pt(3.0), foreground=self.theme.ground)]
            )

    def pt(self, units: float) -> float:
        """Return drawing units as the points matplotlib measures line widths in."""
        return units * self.unit * 72 / 100

    def line(
        self,
        points: Any,
        width: float,
        color: str,
        dash: tuple[float, ...] | None = None,
        layer: float = 5,
        round_ends: bool = True,
    ) -> None:
        """Draw a line through points.

        Parameters
        ----------
        points : (n, 2) array-like
            Its points. [px]
        width : float
            Its width. [unit]
        color : str
            Its color.
        dash : tuple of float, optional
            Lengths of dashes and gaps in turn, in widths of the line; by default it is unbroken.
        layer : float
            What is drawn in higher layers covers it.
        round_ends : bool
            Whether an unbroken line ends round, else flat.
        """
        xy = np.asarray(points, dtype=float)
        made = self._axes.plot(
            xy[:, 0],
            xy[:, 1],
            color=color,
            linewidth=self.pt(width),
            zorder=layer,
            solid_capstyle="round" if round_ends else "butt",
            solid_joinstyle="round",
            dash_capstyle="butt",
        )[0]
        if dash:
            made.set_dashes([value * 1.0 for value in dash])

    def pieces(self, pairs: Any, colors: Any, width: float, layer: float) -> None:
        """Draw many short lines, one color each.

        Parameters
        ----------
        pairs : (n, 2, 2) array-like
            Their ends. [px]
        colors : (n, 3) or (n, 4) array-like
            Their colors.
        width : float
            Their width. [unit]
        layer : float
            What is drawn in higher layers covers them.
        """
        self._axes.add_collection(
            LineCollection(
                list(pairs),
                colors=colors,
                linewidths=self.pt(width),
                capstyle="butt",
                zorder=layer,
            ),
            autolim=False,
        )

    def polygon(
        self,
        points: Any,
        fill: str,
        alpha: float = 1.0,
        layer: float = 5,
    ) -> None:
        """Draw a filled polygon.

        Parameters
        ----------
        points : (n, 2) array-like
            Its corners. [px]
        fill : str
            Its color.
        alpha : float
            How much it covers what lies under it, from 0 to 1.
        layer : float
            What is drawn in higher layers covers it.
        """
        self._axes.add_patch(
            Polygon(
                np.asarray(points, dtype=float),
                closed=True,
                facecolor=fill,
                edgecolor="none",
                linewidth=0,
                alpha=alpha,
                zorder=layer,
            )
        )

    def rectangle(
        self,
        left: float,
        top: float,
        right: float,
        bottom: float,
        fill: str | None,
        edge: str | None = None,
        width: float = 0.6,
        layer: float = 5,
    ) -> None:
        """Draw a rectangle.

        Parameters
        ----------
        left, top, right, bottom : float
            Its sides. [px]
        fill, edge : str or None
            Its color and that of its outline; None draws none.
        width : float
            Width of the outline. [unit]
        layer : float
            What is drawn in higher layers covers it.
        """
        self._axes.add_patch(
            Rectangle(
                (left, top),
                right - left,
                bottom - top,
                facecolor=fill if fill else "none",
                edgecolor=edge if edge else "none",
                linewidth=self.pt(width) if edge else 0,
                zorder=layer,
            )
        )

    def disc(
        self,
        x: float,
        y: float,
        radius: float,
        fill: str | None,
        edge: str | None = None,
        width: float = 0.8,
        layer: float = 8,
    ) -> None:
        """Draw a disc or ring.

        Parameters
        ----------
        x, y : float
            Its center. [px]
        radius : float
            Its radius. [unit]
        fill, edge : str or None
            Its color and that of its outline; None draws none.
        width : float
            Width of the outline. [unit]
        layer : float
            What is drawn in higher layers covers it.
        """
        self._axes.add_patch(
            Circle(
                (x, y),
                radius * self.unit,
                facecolor=fill if fill else "none",
                edgecolor=edge if edge else "none",
                linewidth=self.pt(width) if edge else 0,
                zorder=layer,
            )
        )

    def chip(
        self,
        rect: tuple[float, float, float, float],
        fill: str,
        edge: str | None,
        width: float = 0.85,
        alpha: float = 0.94,
        layer: float = 12,
    ) -> None:
        """Draw a rectangle with round corners.

        Parameters
        ----------
        rect : (float, float, float, float)
            Left, top, right, bottom. [px]
        fill : str
            Its color.
        edge : str or None
            Color of its outline; None draws none.
        width : float
            Width of the outline. [unit]
        alpha : float
            How much it covers what lies under it, from 0 to 1.
        layer : float
            What is drawn in higher layers covers it.
        """
        radius = 4 * self.text_unit
        self._axes.add_patch(
            FancyBboxPatch(
                (rect[0] + radius, rect[1] + radius),
                rect[2] - rect[0] - 2 * radius,
                rect[3] - rect[1] - 2 * radius,
                boxstyle=f"round,pad={radius},rounding_size={radius}",
                facecolor=matplotlib.colors.to_rgba(fill, alpha),
                edgecolor=edge if edge else "none",
                linewidth=self.pt(width) if edge else 0,
                zorder=layer,
            )
        )

    def picture(
        self,
        image: NDArray[Any],
        rect: tuple[float, float, float, float],
        smooth: bool = False,
        layer: float = 1,
        clip: Sequence[tuple[float, float]] | None = None,
    ) -> None:
        """Lay an image over a rectangle.

        Parameters
        ----------
        image : (height, width, 3) or (height, width, 4) array
            What is laid there, first row at the top.
        rect : (float, float, float, float)
            Left, top, right, bottom. [px]
        smooth : bool
            Whether its colors blend where it is enlarged.
        layer : float
            What is drawn in higher layers covers it.
        clip : sequence of (float, float), optional
            Corners of a polygon outside which it is not seen. [px]
        """
        left, top, right, bottom = rect
        made = self._axes.imshow(
            image,
            extent=(left, right, bottom, top),
            interpolation="bilinear" if smooth else "nearest",
            zorder=layer,
            aspect="auto",
        )
        self._axes.set_xlim(0, self.width)
        self._axes.set_ylim(self.height, 0)
        if clip is not None:
            made.set_clip_path(
                Polygon(np.asarray(clip), closed=True, transform=self._axes.transData)
            )

    def fade_edges(self, rect: tuple[float, float, float, float], units: float) -> None:
        """Fade what lies under the edges of a rectangle to the ground: no floor ends in a cut."""
        left, top, right, bottom = rect
        wide = min(units * self.unit, (right - left) / 4, (bottom - top) / 4)
        inward = np.linspace(0.0, 1.0, 24)
        strip = np.empty((24, 4))
        strip[:, :3] = matplotlib.colors.to_rgb(self.theme.ground)
        strip[:, 3] = 1.0 - inward**2 * (3.0 - 2.0 * inward)
        columns, rows = strip[None, :, :], strip[:, None, :]
        for image, place in (
            (columns, (left, top, left + wide, bottom)),
            (columns[:, ::-1], (right - wide, top, right, bottom)),
            (rows, (left, top, right, top + wide)),
            (rows[::-1], (left, bottom - wide, right, bottom)),
        ):
            self.picture(image, place, smooth=True, layer=0.6)

    def overlay(self) -> NDArray[np.uint8]:
        """Return the drawing over nothing, shape (height, width, 4), ground left clear."""
        with _drawing():
            self._figure.patch.set_alpha(0.0)
            self._figure.canvas.draw()
            buffer = np.asarray(self._figure.canvas.buffer_rgba())
        return buffer[: self.height, : self.width].copy()

    def pixels(self) -> NDArray[np.uint8]:
        """Return the finished picture, shape (height, width, 3)."""
        with _drawing():
            self._figure.canvas.draw()
            buffer = np.asarray(self._figure.canvas.buffer_rgba())
        return buffer[: self.height, : self.width, :3].copy()
