"""The charts below a picture: head tension along the run, and the run's elevation.

Both share the stations of the run as their level axis, feed at the left (stations then fall to
the right where the feed is at the far end), and the tube's colors.

Above 500 lines: both charts stand on the same bands, lines of boxes, axes and ticks, which nothing
else draws; apart they would be handed to each other piece by piece.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analyzer.units import UnitSystem, to_ft
from viewer.bend_rows import name_places
from viewer.canvas import Canvas
from viewer.ground import nice_step
from viewer.head import Head, colors_to_head, curve_at, legs_to_head
from viewer.labels import Rect
from viewer.quantities import Quantity
from viewer.scene import FittingMark, Scene
from viewer.shown_values import (
    elevation_text,
    limit_text,
    scale_numbers,
    short_name,
    value_text,
    value_unit,
)
from viewer.traces import LegTrace
from viewer.wording import friction_text

__all__ = [
    "ChartFrame",
    "distance_title",
    "draw_elevation",
    "draw_tension",
    "station_axis",
    "tension_top",
]

Floats = NDArray[np.float64]

_TITLES = {
    Quantity.TENSION: "Head tension along the run",
    Quantity.SIDEWALL: "Sidewall pressure along the run",
    Quantity.SHARE: "Share of limit along the run",
}


@dataclass(frozen=True, slots=True)
class ChartFrame:
    """A plot on the canvas: its rectangle, and what stands at its edges.

    `flipped` where the feed is at the higher stations: x then counts from the far end.
    """

    left: float
    top: float
    right: float
    bottom: float
    length_m: float
    low: float
    high: float
    flipped: bool

    def x(self, station_m: Floats) -> Floats:
        """Return picture x of stations."""
        share = np.asarray(station_m, dtype=float) / self.length_m
        share = 1.0 - share if self.flipped else share
        return self.left + share * (self.right - self.left)

    def y(self, value: Floats) -> Floats:
        """Return picture y of values."""
        share = (np.asarray(value, dtype=float) - self.low) / (self.high - self.low)
        return self.bottom - share * (self.bottom - self.top)


def tension_top(scene: Scene) -> float:
    """Return where the axis of the curve ends: above the limit and the worst value."""
    worst = scene.peak.peak
    limit = scene.chart_scale.limit
    if limit is None:
        return 1.2 * max(worst, 1e-9)
    return max(1.15 * limit, 1.18 * worst)


def draw_tension(
    canvas: Canvas,
    scene: Scene,
    frame: ChartFrame,
    axis_text: bool,
    title: str | None = None,
    head: Head | None = None,
    mark: bool = True,
) -> None:
    """Draw head tension along the run with limit, bends, boxes and the worst value.

    The usual title names the friction where the legend does not and the frame is wide enough.

    Parameters
    ----------
    canvas : Canvas
        Where it is drawn.
    scene : Scene
        The run.
    frame : ChartFrame
        The plot and its axes.
    axis_text : bool
        Whether distances are written below: they are not where the elevation stands there.
    title : str, optional
        What stands above in place of the usual title; an empty one leaves it out.
    head : Head, optional
        The pulling head: what lies ahead of it is a thin dotted line.
    mark : bool
        Whether the head, or the worst place without one, is marked.
    """
    u = canvas.text_unit
    scale = scene.chart_scale
    lead = title if title is not None else _TITLES[scale.quantity]
    titled = -np.inf
    if lead:
        text = f"{lead}, {value_unit(scale.quantity, scene.units)}"
        if title is None and not scene.quantity.has_curve:
            longer = f"{text}, at {friction_text(scene)}"
            room = frame.right - frame.left + 30 * u
            text = longer if canvas.text_size(longer, 9, bold=True)[0] <= room else text
        canvas.text(frame.left - 30 * u, frame.top - 21 * u, text, 9, bold=True)
        titled = frame.left - 30 * u + canvas.text_size(text, 9, bold=True)[0]
    _bands(canvas, scene, frame, titled)
    limit = scale.limit
    for leg, passed in legs_to_head(scene, head):
        for piece in _stretches(leg, passed):
            _fill(canvas, scene, frame, piece)
            if limit is not None:
                _hatch(canvas, scene, frame, piece, limit)
            line = np.stack([frame.x(piece.station_m), frame.y(_curve(scene, piece))], axis=-1)
            _colored(canvas, line, scene.color_scale.colors(piece.values), 4.2, 6.1)
        for piece in _stretches(leg, ~passed):
            line = np.stack([frame.x(piece.station_m), frame.y(_curve(scene, piece))], axis=-1)
            canvas.line(line, 1.1, canvas.theme.muted, dash=(1.5, 2.5), layer=6)
    if limit is not None:
        y = float(frame.y(np.array(limit)))
        canvas.line(
            [(frame.left, y), (frame.right, y)], 1.5, canvas.theme.ink, dash=(6, 3), layer=7.4
        )
        text = f"limit {limit_text(scale, scene.units)}"
        _draw_limit_text(canvas, scene, frame, text, y, mark and head is None)
    _box_lines(canvas, scene, frame, names=True)
    _axes(canvas, scene, frame, _tension_ticks(scene, frame), axis_text)
    if not mark:
        return
    if head is None:
        place_m, tension = scene.peak.peak_station_m, scene.peak.peak
    else:
        place_m, tension = head.station_m, curve_at(scene, head)
    x, y = float(frame.x(np.array(place_m))), float(frame.y(np.array(tension)))
    if head is not None:
        canvas.line([(x, frame.top), (x, frame.bottom)], 1.2, canvas.theme.ink, layer=7.6)
    value = value_text(tension, scale.quantity, scene.units)
    left, _, _, base = _value_place(canvas, frame, value, x, y)
    canvas.text(left, base, value, 8.6, bold=True, halo=True, layer=11)
    _ring_mark(canvas, x, y)


def _value_place(canvas: Canvas, frame: ChartFrame, value: str, x: float, y: float) -> Rect:
    """Return left, top, right and base of the value beside its ring. [px]"""
    u = canvas.text_unit
    width, high = canvas.text_size(value, 8.6, bold=True)
    # left of the ring, off the box line and name that may stand there; right where no room is
    left = x - 4 * u - width if x - width - 8 * u > frame.left else x + 8 * u
    base = max(y - 12 * u, frame.top + 8 * u)
    return left, base - high, left + width, base


def _curve(scene: Scene, leg: LegTrace) -> Floats:
    return leg.curve(scene.quantity)


def _stretches(leg: LegTrace, wanted: NDArray[np.bool_]) -> list[LegTrace]:
    """Return the unbroken parts of a leg where the samples are wanted."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], wanted.astype(int), [0]])))
    parts = []
    for low, high in edges.reshape(-1, 2).tolist():
        if high - low > 1:
            parts.append(leg.sampled(partial(_rows, low, high)))
    return parts


def _rows(low: int, high: int, values: Floats) -> Floats:
    return values[low:high]


def draw_elevation(
    canvas: Canvas, scene: Scene, frame: ChartFrame, head: Head | None = None
) -> None:
    """Draw the run's elevation over distance in the tube's colors, with its levels written.

    Parameters
    ----------
    canvas : Canvas
        Where it is drawn.
    scene : Scene
        The run.
    frame : ChartFrame
        The plot and its axes.
    head : Head, optional
        The pulling head: raceway it has not reached is neutral.
    """
    u = canvas.text_unit
    unit = "ft" if scene.units is UnitSystem.US else "m"
    canvas.text(frame.left - 30 * u, frame.top - 11 * u, f"Elevation, {unit}", 9, bold=True)
    _bands(canvas, scene, frame)
    for leg, passed in legs_to_head(scene, head):
        line = np.stack([frame.x(leg.station_m), frame.y(leg.points_m[:, 2])], axis=-1)
        _colored(canvas, line, colors_to_head(scene, leg, passed, canvas.theme), 6.4, 8.6)
        _line_rings(canvas, line, scene.color_scale.over(leg.values) & passed)
    _box_lines(canvas, scene, frame, names=False)
    for mark in scene.fittings:
        if mark.outward is None:
            x = float(frame.x(np.array(mark.station_m)))
            y = float(frame.y(mark.point_m[2]))
            half = 7 * canvas.unit
            canvas.rectangle(
                x - half,
                y - 0.8 * half,
                x + half,
                y + 0.8 * half,
                canvas.theme.chip,
                edge=canvas.theme.ink,
                width=1.3,
                layer=8,
            )
    _levels(canvas, scene, frame)
    _axes(canvas, scene, frame, _elevation_ticks(scene, frame), True)


def _bands(canvas: Canvas, scene: Scene, frame: ChartFrame, title_end: float | None = None) -> None:
    """Shade the bends; name them above where the end of the title there is given. [px]"""
    u = canvas.text_unit
    bends = scene.bends[::-1] if frame.flipped else scene.bends
    named: list[tuple[float, float, str]] = []
    for bend in bends:
        x = np.sort(frame.x(np.array([bend.station_m, bend.end_station_m])))
        if x[1] - x[0] < 2 * canvas.unit:
            x = x.mean() + np.array([-1, 1]) * canvas.unit
        canvas.rectangle(x[0], frame.top, x[1], frame.bottom, canvas.theme.band, layer=2)
        named.append((float(x.mean()), canvas.text_size(bend.name, 7.2)[0], bend.name))
    if title_end is None:
        return
    height = canvas.text_size("B1", 7.2)[1]
    for middle, row, name in name_places(named, 3 * u, title_end + 6 * u):
        y = frame.top - 5 * u - row * height
        canvas.text(middle, y, name, 7.2, color=canvas.theme.muted, align="center")


def _fill(canvas: Canvas, scene: Scene, frame: ChartFrame, leg: LegTrace) -> None:
    """Fill under the curve: a one-row picture clipped by the curve, so that no seams show."""
    x = frame.x(leg.station_m)
    left, right = float(x.min()), float(x.max())
    columns = max(2, round((right - left) * 2))
    order = slice(None, None, -1) if frame.flipped else slice(None)
    at = left + (np.arange(columns) + 0.5) / columns * (right - left)
    values = np.interp(at, x[order], leg.values[order])
    row = np.concatenate([scene.color_scale.colors(values), np.full((columns, 1), 0.30)], axis=1)[
        None, :, :
    ]
    y = frame.y(_curve(scene, leg))
    outline = [
        (float(x[0]), frame.bottom),
        *zip(x.tolist(), y.tolist(), strict=True),
        (float(x[-1]), frame.bottom),
    ]
    canvas.picture(row, (left, float(y.min()), right, frame.bottom), layer=3, clip=outline)


def _hatch(canvas: Canvas, scene: Scene, frame: ChartFrame, leg: LegTrace, limit: float) -> None:
    """Upright lines between limit and curve where it is over the limit."""
    x = frame.x(leg.station_m)
    order = slice(None, None, -1) if frame.flipped else slice(None)
    xs, ts = x[order], _curve(scene, leg)[order]
    pitch = 9 * canvas.unit
    base = float(frame.y(np.array(limit)))
    for at in np.arange(np.ceil(xs[0] / pitch) * pitch, xs[-1], pitch):
        tension = float(np.interp(at, xs, ts))
        if tension > limit:
            y = float(frame.y(np.array(tension)))
            canvas.line([(at, base), (at, y)], 0.8, canvas.theme.muted, layer=3.5)


def _colored(canvas: Canvas, line: Floats, colors: Floats, width: float, outer: float) -> None:
    """Draw a line in changing colors over a wider one in ink."""
    canvas.line(line, outer, canvas.theme.outline, layer=6, round_ends=False)
    pieces = np.stack([line[:-1], line[1:]], axis=1)
    steps = pieces[:, 1] - pieces[:, 0]
    size = np.linalg.norm(steps, axis=1)
    long = size > 1e-9
    # each piece runs a little under the next, so that no seam shows
    pieces[long, 1] += 0.6 * canvas.unit * steps[long] / size[long][:, None]
    middle = (colors[:-1] + colors[1:]) / 2
    canvas.pieces(pieces[long], middle[long], width, layer=7)


def _line_rings(canvas: Canvas, line: Floats, over: NDArray[np.bool_]) -> None:
    """Dark bands across a line where it is over the limit, evenly spaced on paper."""
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    pitch = 11 * canvas.unit
    for at in np.arange(pitch / 2, along[-1], pitch):
        index = min(int(np.searchsorted(along, at, side="right")) - 1, len(steps) - 1)
        if not (over[index] and over[index + 1]) or steps[index] == 0:
            continue
        point = line[index] + (at - along[index]) / steps[index] * (line[index + 1] - line[index])
        direction = (line[index + 1] - line[index]) / steps[index]
        across = np.array([-direction[1], direction[0]]) * 3.4 * canvas.unit
        canvas.line(
            [point - across, point + across], 2.0, canvas.theme.ring, layer=7.6, round_ends=False
        )


def _box_lines(canvas: Canvas, scene: Scene, frame: ChartFrame, names: bool) -> None:
    u = canvas.text_unit
    for mark in scene.fittings:
        if mark.outward is not None:
            continue
        x = float(frame.x(np.array(mark.station_m)))
        strong = mark.pull_point
        canvas.line(
            [(x, frame.top), (x, frame.bottom)],
            2.2 if strong else 1.0,
            canvas.theme.ink if strong else canvas.theme.muted,
            dash=None if strong else (3, 3),
            layer=7.5,
            round_ends=False,
        )
    base = _box_name_base(scene, frame, u)
    for left, _, name in _box_names(canvas, scene, frame) if names else ():
        canvas.text(left, base, name, 7.5, bold=True, halo=True, layer=9)


def _box_name_base(scene: Scene, frame: ChartFrame, u: float) -> float:
    """Baseline of the names of boxes: at the top, never struck through by the line of the limit."""
    base, limit = frame.top + 9 * u, scene.chart_scale.limit
    if limit is None:
        return base
    line = float(frame.y(np.array(limit)))
    return line + 11 * u if base - 10 * u < line < base + 3 * u else base


def _box_names(canvas: Canvas, scene: Scene, frame: ChartFrame) -> list[tuple[float, float, str]]:
    """Return left, right and text of the names beside box lines: those that reach no other line."""
    u = canvas.text_unit
    inner = [mark for mark in scene.fittings if mark.outward is None]
    at = sorted((float(frame.x(np.array(mark.station_m))), short_name(mark.name)) for mark in inner)
    found = []
    for index, (x, name) in enumerate(at):
        right = x + 5 * u + canvas.text_size(name, 7.5, bold=True)[0]
        beyond = at[index + 1][0] if index + 1 < len(at) else frame.right + 8 * u
        if right + 4 * u < beyond:
            found.append((x + 5 * u, right, name))
    return found


def _draw_limit_text(
    canvas: Canvas, scene: Scene, frame: ChartFrame, text: str, y: float, marked: bool
) -> None:
    """Write what the limit is on its line, where no other words stand: at the left, else elsewhere.

    Above the line, else below it, as in a low chart under the names of its bends.
    """
    u = canvas.text_unit
    width, high = canvas.text_size(text, 7.5, bold=True)
    taken = [(-np.inf, -np.inf, np.inf, frame.top - 4 * u)]
    name_base = _box_name_base(scene, frame, u)
    for left, right, _ in _box_names(canvas, scene, frame):
        taken.append((left, name_base - 0.75 * high, right, name_base + 0.25 * high))
    if marked:
        peak = scene.peak
        value = value_text(peak.peak, scene.chart_scale.quantity, scene.units)
        x, at = (float(frame.x(np.array(peak.peak_station_m))), float(frame.y(np.array(peak.peak))))
        left, top, right, base = _value_place(canvas, frame, value, x, at)
        taken.append((left, base - 0.75 * (base - top), right, base))
    first, last = frame.left + 6 * u, frame.right - width - 6 * u
    lefts = (first, last, (frame.left + frame.right) / 2, *np.linspace(first, last, 17).tolist())
    places = [(at, base) for base in (y - 5 * u, y + 3 * u + 0.75 * high) for at in lefts]
    free = [
        (at, base)
        for at, base in places
        if all(
            at + width + 4 * u < left
            or right + 4 * u < at
            or base + 0.05 * high < top
            or bottom < base - 0.75 * high
            for left, top, right, bottom in taken
        )
    ]
    canvas.text(*(free or places)[0], text, 7.5, bold=True, halo=True, layer=9)


def _ring_mark(canvas: Canvas, x: float, y: float) -> None:
    canvas.disc(x, y, 8.5, "#FFFFFF", layer=9.5)
    canvas.disc(x, y, 6.9, None, edge="#1B2229", width=2.0, layer=9.6)
    canvas.disc(x, y, 3.0, "#1B2229", layer=9.7)


def _axes(
    canvas: Canvas,
    scene: Scene,
    frame: ChartFrame,
    ticks: list[tuple[float, str]],
    axis_text: bool,
) -> None:
    u, ink = canvas.text_unit, canvas.theme.muted
    canvas.line([(frame.left, frame.top), (frame.left, frame.bottom)], 0.9, ink, layer=8)
    canvas.line([(frame.left, frame.bottom), (frame.right, frame.bottom)], 0.9, ink, layer=8)
    for value, text in ticks:
        y = float(frame.y(np.array(value)))
        canvas.line([(frame.left - 4 * u, y), (frame.left, y)], 0.9, ink, layer=8)
        canvas.text(frame.left - 7 * u, y, text, 7.5, align="right", upright="center")
    most = min(8.5, (frame.right - frame.left) / (34 * u))
    for station, text in station_axis(frame.length_m, scene.units, most):
        x = float(frame.x(np.array(station)))
        canvas.line([(x, frame.bottom), (x, frame.bottom + 4 * u)], 0.9, ink, layer=8)
        if axis_text:
            canvas.text(x, frame.bottom + 15 * u, text, 7.5, align="center")


def station_axis(length_m: float, units: UnitSystem, most: float = 8.5) -> list[tuple[float, str]]:
    """Return the ticks of the distance axis: stations and their numbers, few enough. [m]"""
    scale = float(to_ft(1.0)) if units is UnitSystem.US else 1.0
    total = length_m * scale
    steps = (lead * 10.0**power for power in range(-4, 9) for lead in (1, 2, 2.5, 5))
    step = next(s for s in steps if total / s <= most)
    count = int(total / step + 1e-9)
    return [(i * step / scale, f"{i * step:,g}") for i in range(count + 1)]


def _tension_ticks(scene: Scene, frame: ChartFrame) -> list[tuple[float, str]]:
    scale = scene.chart_scale
    limit = scale.limit
    if limit is None:
        values = [0.0, frame.high / 2.4, frame.high / 1.2]
    elif frame.high < 1.5 * limit:
        values = [0.0, limit / 3, 2 * limit / 3, limit]
    else:
        steps = (lead * 10**power for power in range(300) for lead in (1, 2, 5))
        step = next(n for n in steps if frame.high / limit / n < 4.5)
        values = [n * limit for n in range(0, int(frame.high / limit) + 1, step)]
        far = (frame.bottom - frame.top) * limit / frame.high > 14 * 1.0
        if step > 1 and far and step * limit < frame.high:
            values.append(limit)
    return list(zip(values, scale_numbers(values, scale.quantity, scene.units), strict=True))


def _elevation_ticks(scene: Scene, frame: ChartFrame) -> list[tuple[float, str]]:
    step = nice_step((frame.high - frame.low) / 2.6, scene.units)
    scale = float(to_ft(1.0)) if scene.units is UnitSystem.US else 1.0
    first = int(np.ceil(frame.low / step - 1e-9))
    last = int(np.floor(frame.high / step + 1e-9))
    return [(n * step, f"{round(n * step * scale, 2):,.6g}") for n in range(first, last + 1)]


def _levels(canvas: Canvas, scene: Scene, frame: ChartFrame) -> None:
    """Write the elevation of both ends and of the longest level stretches, never overlapping."""
    u = canvas.text_unit
    line = scene.analysis.run.centerline
    wanted: list[tuple[float, float, float]] = []
    for segment, (start, end) in zip(line.segments, pairwise(line.stations_m), strict=True):
        if abs(segment.end_m[2] - segment.start_m[2]) < 1e-3:
            wanted.append((end - start, (start + end) / 2, segment.start_m[2]))
    wanted.sort(key=lambda item: (-round(item[0], 6), item[1]))
    ends = [(0.0, 0.0, line.start_m[2]), (0.0, line.length_m, line.end_m[2])]
    taken: list[tuple[float, float]] = [
        (x, x) for x in (_box_x(frame, mark) for mark in scene.fittings if mark.outward is None)
    ]
    written: set[str] = set()
    for _, station, height in wanted[:6] + ends:
        text = elevation_text(height, scene.units)
        if text in written:
            continue
        width, _ = canvas.text_size(text, 7.2)
        x = float(frame.x(np.array(station)))
        x = min(max(x, frame.left + width / 2 + 8 * u), frame.right - width / 2 - 8 * u)
        if any(x - width / 2 < b + 14 * u and a < x + width / 2 + 14 * u for a, b in taken):
            continue
        base = _clear_of_curve(scene, frame, x, width, 9 * u)
        if base is None:
            continue
        canvas.text(x, base, text, 7.2, align="center", halo=True, layer=9)
        taken.append((x - width / 2, x + width / 2))
        written.add(text)


def _box_x(frame: ChartFrame, mark: FittingMark) -> float:
    return float(frame.x(np.array(mark.station_m)))


def _clear_of_curve(
    scene: Scene, frame: ChartFrame, x: float, width: float, gap: float
) -> float | None:
    """Baseline above or below the curve over the whole width of a text, within the frame."""
    ys = []
    for leg in scene.legs:
        at = frame.x(leg.station_m)
        near = (at > x - width / 2 - gap / 2) & (at < x + width / 2 + gap / 2)
        ys.append(frame.y(leg.points_m[near, 2]))
        order = slice(None, None, -1) if frame.flipped else slice(None)
        # of a leg only what lies within it: beyond its ends another leg is the line
        places = np.array([x - width / 2, x, x + width / 2])
        places = places[(places >= at.min()) & (places <= at.max())]
        ys.append(frame.y(np.interp(places, at[order], leg.points_m[order, 2])))
    seen = np.concatenate(ys)
    above, below = float(seen.min()) - gap, float(seen.max()) + 1.9 * gap
    if above - 0.9 * gap >= frame.top - 0.4 * gap:
        return above
    return below if below <= frame.bottom - 0.2 * gap else None


def distance_title(scene: Scene) -> str:
    """Return the title of the distance axis, such as ``distance from Panel P1, ft``."""
    unit = "ft" if scene.units is UnitSystem.US else "m"
    return f"distance from {short_name(scene.fittings[0].name)}, {unit}"
