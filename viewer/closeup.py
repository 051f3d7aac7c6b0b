"""Plan and close-up on one sheet: where along the run it fails, and how that place looks.

The plan has north up. The close-up draws the raceway at its true width, with the sector, center
and radii of each bend, and the tension into and out of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np
from numpy.typing import NDArray

from analyzer.errors import InputError
from analyzer.geometry.segments import Arc
from analyzer.pulling.results import Direction, Share, pressure_between
from analyzer.units import show_force, show_pressure
from viewer.camera import PLAN, Camera, Margins, fit_camera
from viewer.canvas import Canvas
from viewer.image import BRIEF_BELOW_PX, camera_for, draw_foot, heading_lines, text_unit_for
from viewer.labels import Rect
from viewer.legend import LEGEND_HEIGHT, LEGEND_WIDTH, draw_legend
from viewer.marks import draw_marks
from viewer.overlay import Marks, plan_marks
from viewer.palette import LIGHT, Theme
from viewer.render import render_solids
from viewer.scene import BendMark, Scene
from viewer.solids import build_solids, draws_true, true_radius
from viewer.telling_places import Place, bend_names, bend_shares, telling_places, whole_leg_words
from viewer.traces import LegTrace
from viewer.wording import CAUTION, friction_text, notes, subline, verdict_line
from viewer.wrapping import wrapped

__all__ = ["Closeup", "Heading", "draw_closeup", "near_scene", "plan_closeup"]

Floats = NDArray[np.float64]

_AROUND_M = 1.5
_TUBE_BEYOND_M = 12.0
_TOP_UNITS = 15.0
_HIGHEST_HEADING = 0.18  # of the sheet's height
_BESIDE_LEGEND = LEGEND_HEIGHT + 24.0
_LEAST_VIEW_UNITS = 150.0
_WIDEST_LEGEND = 0.36  # of the sheet's width
_DETAILS = "details: raceway check"


@dataclass(frozen=True, slots=True)
class Heading:
    """Title and the lines below it, with their sizes in points; height and legend as drawn.

    `height` is in pixels, `legend` the width of the legend in text units.
    """

    title_points: float
    lines: tuple[str, ...]
    points: float
    height: float
    legend: float


@dataclass(frozen=True, slots=True)
class Closeup:
    """Plan and close-up laid out: nothing drawn yet. Views are rectangles in pixels."""

    scene: Scene
    near: Scene
    canvas: Canvas
    cameras: tuple[Camera, Camera]
    marks: tuple[Marks, Marks]
    views: tuple[Rect, Rect]
    place: Place
    heading: Heading


def near_scene(scene: Scene, bends: tuple[BendMark, ...], beyond_m: float) -> Scene:
    """Return the scene cut to some bends and the run a little beyond them."""
    low = bends[0].station_m - beyond_m
    high = bends[-1].end_station_m + beyond_m
    legs = []
    for leg in scene.legs:
        if leg.start_m < high and leg.end_m > low:
            legs.append(_part(leg, max(low, leg.start_m), min(high, leg.end_m)))
    loads = bend_shares(scene)
    told = tuple(replace(b, detail=_told(scene, b, loads.get(b.number, ()))) for b in bends)
    return replace(scene, legs=tuple(legs), bends=told, fittings=())


def _part(leg: LegTrace, low: float, high: float) -> LegTrace:
    inside = (leg.station_m > low) & (leg.station_m < high)

    def cut(values: Floats) -> Floats:
        table = values if values.ndim == 2 else values[:, None]
        ends = [
            np.array([np.interp(at, leg.station_m, column) for column in table.T])
            for at in (low, high)
        ]
        part = np.concatenate([ends[0][None], table[inside], ends[1][None]])
        return part if values.ndim == 2 else part[:, 0]

    part = leg.sampled(cut)
    return replace(part, tangents=part.tangents / np.linalg.norm(part.tangents, axis=1)[:, None])


def _told(scene: Scene, bend: BendMark, shares: Sequence[Share]) -> str:
    """Tension into and out of a bend and its greatest sidewall pressure, at the friction shown.

    Where limits are checked at a higher friction, the pressure there stands beside it.
    """
    middle = (bend.station_m + bend.end_station_m) / 2
    leg = next(leg for leg in scene.legs if leg.start_m <= middle <= leg.end_m)
    low, high = np.interp([bend.station_m, bend.end_station_m], leg.station_m, leg.tension_n)
    forward = leg.direction is Direction.FORWARD
    into, out = (float(low), float(high)) if forward else (float(high), float(low))
    text = f"{show_force(into, scene.units)} in, {show_force(out, scene.units)} out"
    pull = next(item for item in scene.shown.legs if item.leg.name == leg.name)
    arcs = (pull.forward if forward else pull.reverse).expected.arcs
    greatest = pressure_between(arcs, bend.station_m, bend.end_station_m)
    if greatest > 0:
        text += f" · sidewall {show_pressure(greatest, scene.units)}"
        most = max((share.value for share in shares if share.code == "sidewall"), default=0.0)
        if most > greatest * (1 + 1e-9):
            text += f" (high: {show_pressure(most, scene.units)})"
    return text


def plan_closeup(
    scene: Scene,
    width: int = 1600,
    height: int = 1000,
    theme: Theme = LIGHT,
    effort: float = 2.0,
    unit_px: float | None = None,
    rank: int = 0,
) -> Closeup:
    """Return plan and close-up laid out.

    Parameters
    ----------
    scene : Scene
        What to show.
    width, height : int
        Size of the picture. [px]
    theme : Theme
        Neutral colors.
    effort : float
        How long places are sought for the labels of each view, as in `place_labels`.
    unit_px : float, optional
        Pixels of one drawing unit; by default from the width.
    rank : int
        Which of the `telling_places`: 0 is the worst.

    Raises
    ------
    InputError
        If the run has no bends, or the sheet is too low for what has to stand on it.
    """
    places = telling_places(scene)
    place = places[rank]
    bends = place.bends
    unit = 0.8 * unit_px if unit_px else max(0.8 * width / 1280, 0.85)
    canvas = Canvas(width, height, theme, unit, unit_px or text_unit_for(width))
    u = canvas.text_unit
    heading = _heading(canvas, scene, places, rank)
    foot = len(_foot_lines(canvas, scene)) * canvas.px(6.8) * 1.3
    top, half = max(_BESIDE_LEGEND * u, heading.height) + 34 * u, width * 0.52
    bottom = height - foot - 16 * u
    short = _LEAST_VIEW_UNITS * u - (bottom - top)
    if short > 0:
        least = ceil((height + short) / 10) * 10
        raise InputError(
            f"a close-up of this run has no room in {width}x{height} pixels: give it {least} "
            f"pixels of height, --size {width}x{least}"
        )
    views = ((0.0, top, half, bottom), (half, top, float(width), bottom))
    brief = width < BRIEF_BELOW_PX
    plan_size = (round(half), round(bottom - top))
    plan_camera = camera_for(scene, *plan_size, canvas, brief, angles=PLAN)
    true = draws_true(scene, plan_camera.m_per_px * canvas.unit)
    scene = replace(scene, true_diameter=true)
    near = near_scene(scene, bends, _TUBE_BEYOND_M)
    seen = near_scene(scene, bends, _AROUND_M).points_m
    side = min(130 * u, 0.25 * (width - half))
    near_camera = fit_camera(
        *_angles_on(bends),
        seen,
        round(width - half),
        round(bottom - top),
        Margins(side, side, 56 * u, 56 * u),
    )
    many = frozenset({"leg", "bend detail"})
    told = {"leg", "worst"}
    widest = max(canvas.text_size(bend.detail, 6.8)[0] for bend in near.bends)
    if widest + 40 * u > width - half:
        told.add("bend detail")  # no label could hold it
    marks = (
        plan_marks(canvas, scene, plan_camera, brief, effort=effort, without=many),
        plan_marks(
            canvas,
            near,
            near_camera,
            effort=effort,
            without=frozenset(told),
            radius_m=true_radius(scene),
        ),
    )
    cameras = (plan_camera, near_camera)
    return Closeup(scene, near, canvas, cameras, marks, views, place, heading)


def _angles_on(bends: tuple[BendMark, ...]) -> tuple[float, float]:
    """Direction of view that sees the planes of the bends 30 to 60 degrees open."""
    axes = []
    for bend in bends:
        axis = np.cross(bend.before, bend.after)
        size = float(np.linalg.norm(axis))
        if size > 1e-9:
            axes.append(axis / size)
    level = all(abs(axis[2]) > 0.95 for axis in axes)
    elevation = 38.0 if level else 18.0
    best, choice = -np.inf, -70.0
    for azimuth in range(-180, 180, 10):
        camera = Camera(float(azimuth), elevation, (0.0, 0.0, 0.0), 1.0, 10, 10)
        opened = [np.degrees(np.arcsin(min(abs(float(a @ camera.toward)), 1.0))) for a in axes]
        score = -max((abs(angle - 45.0) for angle in opened), default=0.0)
        # from the south where nothing else tells
        score -= 0.02 * abs((azimuth + 70 + 180) % 360 - 180)
        if score > best:
            best, choice = score, float(azimuth)
    return choice, elevation


def draw_closeup(closeup: Closeup) -> NDArray[np.uint8]:
    """Return the pixels of plan and close-up, shape (height, width, 3).

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    canvas, scene = closeup.canvas, closeup.scene
    _draw_heading(canvas, closeup)
    names = bend_names(closeup.near.bends).split(" ", 1)[1]
    titles = ("Plan", f"{names}, raceway at true width")
    radii = (None, true_radius(scene))
    for index, shown in enumerate((scene, closeup.near)):
        view, camera = closeup.views[index], closeup.cameras[index]
        solids = build_solids(shown, camera, canvas.unit, canvas.theme, radius_m=radii[index])
        pixels = render_solids(solids, camera, canvas.unit, canvas.theme, 50 * canvas.unit)
        rect = (round(view[0]), round(view[1]), round(view[2]), round(view[3]))
        canvas.picture(pixels, rect, layer=1)
        if index == 1:
            for bend in closeup.near.bends:
                _draw_sector(canvas, scene, camera, bend, np.array(rect[:2]))
        draw_marks(canvas, shown, camera, closeup.marks[index], (rect[0], rect[1]), radii[index])
        left = view[0] + (0.045 * canvas.width if index == 0 else 30 * canvas.text_unit)
        points = 11.5
        while canvas.text_size(titles[index], points, True)[0] > view[2] - 8 - left and points > 7:
            points -= 0.25
        canvas.text(left, view[1] - 8 * canvas.text_unit, titles[index], points, bold=True)
    _draw_foot(canvas, scene, [title for part in closeup.marks for title in part.left_out])
    return canvas.pixels()


def _heading(canvas: Canvas, scene: Scene, places: Sequence[Place], rank: int) -> Heading:
    """Return the heading: the fullest that leaves the views their room, else the shortest."""
    place, u = places[rank], canvas.text_unit
    brief = canvas.width < BRIEF_BELOW_PX
    legend = min(LEGEND_WIDTH, _WIDEST_LEGEND * canvas.width / u)
    room = canvas.width * 0.91 - (legend + 26) * u
    size, points = 16.0, 8.0 if brief else 9.0
    while canvas.text_size(place.title, size, bold=True)[0] > room and size > 10:
        size -= 0.5
    most = max(_HIGHEST_HEADING * canvas.height, _BESIDE_LEGEND * u)
    for told in _tellings(scene, places, rank):
        words = [
            subline(scene, brief),
            verdict_line(scene),
            " · ".join(text.removesuffix(".") for text in told),
        ]
        words = [" · ".join(words)] if brief else words
        lines = heading_lines(canvas, words, points, (room, canvas.width * 0.91), size)
        height = _TOP_UNITS * u + canvas.px(size) * 1.2 + len(lines) * canvas.px(points) * 1.35
        if height <= most:
            break
    return Heading(size, lines, points, height, legend)


def _tellings(scene: Scene, places: Sequence[Place], rank: int) -> Iterator[tuple[str, ...]]:
    """Yield what is said of a place: all, then without other places, then the worst alone."""
    place = places[rank]
    rest: list[str] = []
    others = [bend for other in places if other is not place for bend in other.chosen]
    if others:
        verb = "fails" if len(others) == 1 else "fail"
        place_words = f"place {rank + 1} of {len(places)}, worst first"
        names = bend_names(tuple(others))
        rest.append(f"{names[0].upper()}{names[1:]} {verb} too ({place_words})")
    rest += whole_leg_words(scene)
    yield (place.reason, *rest)
    for reason in place.reasons if rest else place.reasons[1:]:
        yield (f"{reason} · {_DETAILS}",)


def _draw_heading(canvas: Canvas, closeup: Closeup) -> None:
    u, side, heading = canvas.text_unit, 0.045 * canvas.width, closeup.heading
    y = 12 * u + canvas.px(heading.title_points) * 1.2
    canvas.text(side, y, closeup.place.title, heading.title_points, bold=True)
    y += 3 * u
    for line in heading.lines:
        y += canvas.px(heading.points) * 1.35
        canvas.text(side, y, line, heading.points, color=canvas.theme.muted)
    draw_legend(canvas, closeup.scene, canvas.width - side, 12 * u, heading.legend)


def _draw_sector(
    canvas: Canvas, scene: Scene, camera: Camera, bend: BendMark, shift: Floats
) -> None:
    """Draw the sector of a bend's circle, its center and two radii."""
    line = scene.analysis.run.centerline
    for start, segment in zip(line.stations_m, line.segments, strict=False):
        inside = bend.station_m - 1e-6 <= start < bend.end_station_m - 1e-6
        if not inside or not isinstance(segment, Arc):
            continue
        arc = camera.pixels(segment.points_at(np.linspace(0, segment.length_m, 40))) + shift
        center = camera.pixels([segment.center_m])[0] + shift
        ink = canvas.theme.muted
        canvas.polygon([center, *arc], ink, alpha=0.13, layer=4)
        for end in (arc[0], arc[-1]):
            canvas.line([center, end], 0.9, ink, layer=4.2)
        canvas.disc(float(center[0]), float(center[1]), 2.4, ink, layer=4.3)


def _foot_text(scene: Scene) -> str:
    told = f"Tension and sidewall pressure at {friction_text(scene)}."
    small = notes(scene).replace("Raceway drawn", "Raceway in the plan drawn")
    return f"{told} {small} {CAUTION}"


def _foot_lines(canvas: Canvas, scene: Scene) -> tuple[str, ...]:
    return wrapped(canvas, _foot_text(scene), 6.8, 0.91 * canvas.width)


def _draw_foot(canvas: Canvas, scene: Scene, left_out: Sequence[str]) -> None:
    side = 0.045 * canvas.width
    draw_foot(canvas, (side, canvas.width - side), _foot_text(scene), left_out)
