"""The scene: what a picture of one run shows, as plain arrays, scalars and labels.

Built from an analysis and nothing else; nothing is drawn here and nothing is calculated beyond
looking values up along the run.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analyzer.analysis import Analysis, LegAnalysis, RunAnalysis
from analyzer.errors import InputError
from analyzer.findings import Verdict
from analyzer.geometry.readings import Attitude
from analyzer.job.named_runs import alike_runs_fault, runs_meant
from analyzer.job.settings import FittingKind, Job
from analyzer.pulling.limits import sidewall_limit
from analyzer.pulling.results import Direction, Profile, Pull
from analyzer.route.run import Fitting
from analyzer.units import UnitSystem, show_angle, show_radius
from viewer.ground import floor_under
from viewer.quantities import ColorScale, Quantity, color_scale_of, limit_of_code, peak_of
from viewer.traces import LegTrace, TensionScale, sampled_trace

__all__ = [
    "TENSION_LIMITS",
    "BendMark",
    "FittingMark",
    "Scene",
    "build_scene",
    "raceway_radius",
    "run_named",
]

Floats = NDArray[np.float64]

TENSION_LIMITS = {
    "conductor-tension": "conductors",
    "grip-tension": "grip",
    "line-tension": "pulling line",
    "puller-tension": "puller",
}
"""Checks whose limit is a tension of the pulled state, with the word for what it protects."""


_STEEP = 0.9

_IN_PICTURES = {Attitude.RISING: "vertical", Attitude.FALLING: "vertical"}
"""Words for attitudes that hang on the way: a picture may show the pull against forward."""


@dataclass(frozen=True, slots=True)
class BendMark:
    """One bend: where its middle is, which way its outer side lies, and its two lines of text."""

    number: int
    station_m: float
    end_station_m: float
    point_m: Floats
    outward: Floats
    title: str
    detail: str
    before: Floats
    after: Floats

    @property
    def name(self) -> str:
        """Short name, such as ``B3``."""
        return f"B{self.number}"


@dataclass(frozen=True, slots=True)
class FittingMark:
    """One fitting: where it stands, how the run passes, and what it is in this picture.

    `role` is ``feed`` or ``pull`` where every leg that meets it is fed or pulled there, else
    ``box``; `outward` is the way out of the run at an end, and None between the ends;
    `pull_point` is whether it ends a leg.
    """

    name: str
    kind: FittingKind
    station_m: float
    point_m: Floats
    tangent: Floats
    size_m: tuple[float, ...] | None
    role: str
    outward: Floats | None
    pull_point: bool = True


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a picture of one run shows.

    Attributes
    ----------
    analysis, shown : RunAnalysis
        What it was built from: the analysis that judges, and the one at the friction shown.
    job : Job
        Job of that analysis.
    scale : TensionScale
        Tension to color.
    other_scale : ColorScale or None
        The quantity in color where it is not tension.
    friction_name, friction : str, float
        Which friction the colors show.
    legs : tuple of LegTrace
        In order of station.
    bends : tuple of BendMark
        In order of station.
    fittings : tuple of FittingMark
        In order of station, both ends with them.
    feed_left : bool
        Whether the feed is at the lower stations, so that charts read from the feed.
    floor_m, grid_m : float
        Elevation of the drawn floor; distance of its grid lines. [m]
    run_count : int
        Runs of the route this one is from.
    smallest_radius_m : float or None
        Smallest bend radius, which bounds the drawn width of the tube. [m]
    true_diameter : bool
        Whether the tube is drawn at the raceway's own diameter, or as near to it as color shows.
    too_thin : bool
        Whether that diameter is too thin in the picture, so that the tube is drawn wider.
    """

    analysis: RunAnalysis
    shown: RunAnalysis
    job: Job
    scale: TensionScale
    friction_name: str
    friction: float
    legs: tuple[LegTrace, ...]
    bends: tuple[BendMark, ...]
    fittings: tuple[FittingMark, ...]
    feed_left: bool
    floor_m: float
    grid_m: float
    smallest_radius_m: float | None
    run_count: int = 1
    true_diameter: bool = False
    too_thin: bool = False
    other_scale: ColorScale | None = None

    @property
    def color_scale(self) -> ColorScale:
        """Scale of the quantity in color."""
        return self.scale.in_color if self.other_scale is None else self.other_scale

    @property
    def chart_scale(self) -> ColorScale:
        """Scale of what the chart draws: the quantity in color, or tension beside a place."""
        scale = self.color_scale
        return scale if scale.quantity.has_curve else self.scale.in_color

    @property
    def quantity(self) -> Quantity:
        """The quantity in color."""
        return self.color_scale.quantity

    @property
    def units(self) -> UnitSystem:
        """Unit system people see."""
        return self.job.units

    @property
    def length_m(self) -> float:
        """Length of the run. [m]"""
        return self.analysis.run.centerline.length_m

    @property
    def worst(self) -> LegTrace:
        """Leg with the greatest tension; the first of equals in order of travel."""
        legs = self.legs if self.feed_left else self.legs[::-1]
        return max(legs, key=lambda leg: leg.max_tension_n)

    @property
    def points_m(self) -> Floats:
        """Samples of the whole run, shape (n, 3). [m]"""
        return np.concatenate([leg.points_m for leg in self.legs])

    @property
    def peak(self) -> LegTrace:
        """Leg with the greatest value of what the chart draws; the first in order of travel."""
        legs = self.legs if self.feed_left else self.legs[::-1]
        return max(legs, key=lambda leg: leg.peak)

    def point_at(self, station_m: float) -> Floats:
        """Return the place at a station as it is drawn, shape (3,). [m]"""
        stations = np.concatenate([leg.station_m for leg in self.legs])
        points = self.points_m
        return np.array([np.interp(station_m, stations, points[:, axis]) for axis in range(3)])

    def with_scale(self, scale: TensionScale, other: ColorScale | None = None) -> Scene:
        """Return the same scene in the colors of another scale, sampled anew."""
        color = scale.in_color if other is None else other
        side = _sidewall_limit(self)
        legs = tuple(
            sampled_trace(
                self.analysis, leg, _profile_of(self.shown, leg), color, (scale.limit_n, side)
            )
            for leg in self.legs
        )
        return replace(self, scale=scale, other_scale=other, legs=legs)


def run_named(analysis: Analysis, name: str | None) -> RunAnalysis:
    """Return the run of that name, or the worst run where no name is given.

    Worst is a verdict of fail, then the largest share of limit; of equals the first.

    Raises
    ------
    InputError
        If no run has that name, with the names there are, or if several are like it.
    """
    if name is None:
        return max(analysis.runs, key=_badness)
    names = [run_analysis.run.name for run_analysis in analysis.runs]
    meant = runs_meant(name, names)
    if not meant:
        raise InputError(f"no run is named {name!r}: this route holds {', '.join(sorted(names))}")
    if len(meant) > 1:
        raise InputError(f'run "{name}" {alike_runs_fault(meant, names)}')
    return analysis.runs[meant[0]]


def _badness(run_analysis: RunAnalysis) -> tuple[bool, float]:
    shares = [_pull(leg, _way(leg, "better")).share_of_limit or 0.0 for leg in run_analysis.legs]
    return run_analysis.verdict is Verdict.FAIL, max(shares, default=0.0)


def build_scene(
    run_analysis: RunAnalysis,
    job: Job,
    direction: str = "better",
    friction_name: str = "expected",
    shown: RunAnalysis | None = None,
    run_count: int = 1,
    quantity: Quantity = Quantity.TENSION,
) -> Scene:
    """Return the scene of one run.

    Parameters
    ----------
    run_analysis : RunAnalysis
        The run: its limits, checks and better directions are told from here.
    job : Job
        The job it was analyzed under.
    direction : str
        ``forward``, ``reverse``, or ``better``: each leg its own better direction.
    friction_name : str
        Word for the friction shown: ``low``, ``expected`` or ``high``.
    shown : RunAnalysis, optional
        The same run analyzed at the friction shown alone; not needed for the expected one.
    run_count : int
        Runs of the route: where it holds several the picture names the one it shows.
    quantity : Quantity
        What the colors show.

    Raises
    ------
    InputError
        If the share of limit is asked for and no limit is known.
    """
    ways = [_way(leg, direction) for leg in run_analysis.legs]
    pairs = list(zip(run_analysis.legs, ways, strict=True))
    shown = run_analysis if shown is None else shown
    pulls = [_pull(leg, way) for leg, way in zip(shown.legs, ways, strict=True)]
    judged = [_pull(leg, way) for leg, way in pairs]
    scale = _scale_of(judged, max(pull.expected.max_tension_n for pull in pulls))
    heights = run_analysis.run.centerline.points_at(run_analysis.run.centerline.stations_m)[:, 2]
    side = limit_of_code(judged, "sidewall")
    if quantity is Quantity.SHARE and scale.limit_n is None and side is None:
        raise InputError("no limit is known: there is no share of limit to show")
    other = None
    if quantity is not Quantity.TENSION:
        length = run_analysis.run.centerline.length_m
        span = (float(heights.min()), float(heights.max()))
        other = color_scale_of(quantity, sidewall_limit(job).limit, pulls, length, span)
    color = scale.in_color if other is None else other
    legs = []
    for leg_analysis, pull, judge in zip(run_analysis.legs, pulls, judged, strict=True):
        leg = leg_analysis.leg
        peak, peak_station = peak_of(quantity, pull.expected, scale.limit_n, side)
        bare = LegTrace(
            name=leg.name,
            direction=pull.direction,
            feed_at=pull.feed_at,
            pull_at=pull.pull_at,
            length_m=leg.length_m,
            bend_total_rad=leg.bend_total_rad,
            max_tension_n=pull.expected.max_tension_n,
            max_station_m=pull.expected.max_tension_station_m,
            high_max_tension_n=judge.high.max_tension_n,
            station_m=np.array([leg.start.station_m, leg.end.station_m]),
            points_m=np.empty((0, 3)),
            tangents=np.empty((0, 3)),
            tension_n=np.empty(0),
            values=np.empty(0),
            peak=peak,
            peak_station_m=peak_station,
            high_peak=peak_of(quantity, judge.high, scale.limit_n, side)[0],
        )
        legs.append(sampled_trace(run_analysis, bare, pull.profile, color, (scale.limit_n, side)))
    forward = [pull.direction is Direction.FORWARD for pull in pulls]
    radii = [bend.radius_m for bend in run_analysis.run.bends if bend.radius_m is not None]
    line = run_analysis.run.centerline
    fittings = _fitting_marks(run_analysis, legs)
    floor_m, grid_m = floor_under(
        line.points_at(np.linspace(0, line.length_m, 400)),
        job.units,
        raceway_radius(job) or 0.0,
        any(_stands_below(mark) for mark in fittings),
    )
    return Scene(
        analysis=run_analysis,
        shown=shown,
        job=job,
        scale=scale,
        friction_name=friction_name,
        friction=getattr(job.pull.friction, friction_name),
        legs=tuple(legs),
        bends=_bend_marks(run_analysis, job.units),
        fittings=fittings,
        feed_left=any(forward),
        floor_m=floor_m,
        grid_m=grid_m,
        smallest_radius_m=min(radii, default=None),
        run_count=run_count,
        other_scale=other,
    )


def _way(leg_analysis: LegAnalysis, direction: str) -> Direction:
    """Return the way a leg is shown pulled; equal ways are shown forward."""
    return leg_analysis.best.direction if direction == "better" else Direction(direction)


def _pull(leg_analysis: LegAnalysis, way: Direction) -> Pull:
    return leg_analysis.forward if way is Direction.FORWARD else leg_analysis.reverse


def _scale_of(pulls: Sequence[Pull], top: float) -> TensionScale:
    """Smallest tension limit among all that could be checked."""
    limits = [
        (share.limit, TENSION_LIMITS[share.code])
        for pull in pulls
        for share in pull.shares
        if share.code in TENSION_LIMITS
    ]
    top_n = top if top > 0 else 1.0
    if not limits:
        return TensionScale(None, "", top_n)
    limit_n, limit_of = min(limits)
    return TensionScale(limit_n, limit_of, top_n)


def _sidewall_limit(scene: Scene) -> float | None:
    """Return the limit of sidewall pressure of the pulls shown. [N/m]"""
    ways = {leg.name: leg.direction for leg in scene.legs}
    pulls = [_pull(item, ways[item.leg.name]) for item in scene.analysis.legs]
    return limit_of_code(pulls, "sidewall")


def _profile_of(run_analysis: RunAnalysis, trace: LegTrace) -> Profile:
    for leg_analysis in run_analysis.legs:
        if leg_analysis.leg.name == trace.name:
            forward = trace.direction is Direction.FORWARD
            return (leg_analysis.forward if forward else leg_analysis.reverse).profile
    raise InputError(f"no leg is named {trace.name!r}")


def _bend_marks(run_analysis: RunAnalysis, units: UnitSystem) -> tuple[BendMark, ...]:
    marks = []
    centerline = run_analysis.run.centerline
    for bend in run_analysis.run.bends:
        if bend.in_fitting:
            continue
        middle = (bend.station_m + bend.end_station_m) / 2
        stations = [bend.station_m, middle, bend.end_station_m]
        points = centerline.points_at(stations)
        tangents = centerline.tangents_at(
            [bend.station_m + 1e-7, middle, bend.end_station_m - 1e-7]
        )
        outward = points[1] - (points[0] + points[2]) / 2
        size = float(np.linalg.norm(outward))
        detail = _IN_PICTURES.get(bend.attitude, bend.attitude.value)
        if bend.radius_m is not None:
            detail = f"R {show_radius(bend.radius_m, units)} · {detail}"
        marks.append(
            BendMark(
                number=bend.number,
                station_m=bend.station_m,
                end_station_m=bend.end_station_m,
                point_m=points[1],
                outward=outward / size if size > 0 else np.zeros(3),
                title=f"B{bend.number}  {show_angle(bend.angle_rad)}",
                detail=detail,
                before=tangents[0],
                after=tangents[2],
            )
        )
    return tuple(marks)


def _fitting_marks(run_analysis: RunAnalysis, legs: Sequence[LegTrace]) -> tuple[FittingMark, ...]:
    run = run_analysis.run
    marks = []
    for index, fitting in enumerate(run.fittings):
        first, last = index == 0, index == len(run.fittings) - 1
        inside = min(max(fitting.station_m, 1e-7), run.centerline.length_m - 1e-7)
        tangent = run.centerline.tangents_at([inside])[0]
        marks.append(
            FittingMark(
                name=fitting.name,
                kind=fitting.kind,
                station_m=fitting.station_m,
                point_m=np.asarray(fitting.position_m, dtype=float),
                tangent=tangent,
                size_m=fitting.size_m,
                role=_role(fitting, first, last, legs),
                outward=-tangent if first else tangent if last else None,
                pull_point=fitting.pull_point,
            )
        )
    return tuple(marks)


def _role(fitting: Fitting, first: bool, last: bool, legs: Sequence[LegTrace]) -> str:
    if not first and not last:
        met = [leg.feed_at == fitting.name for leg in legs if _touches(leg, fitting)]
        if len(met) == 2 and met[0] == met[1]:
            return "feed" if met[0] else "pull"
        return "box"
    leg = legs[0] if first else legs[-1]
    feeds = (leg.direction is Direction.FORWARD) == first
    return "feed" if feeds else "pull"


def _touches(leg: LegTrace, fitting: Fitting) -> bool:
    return fitting.name in (leg.feed_at, leg.pull_at)


def raceway_radius(job: Job) -> float | None:
    """Return the outside radius of the raceway, None where none is named. [m]

    Where the table has no outside diameter the inside one stands for it.
    """
    raceway = job.raceway
    if raceway is None:
        return None
    return (raceway.outside_diameter_m or raceway.inside_diameter_m) / 2


def _stands_below(mark: FittingMark) -> bool:
    """Whether a panel or equipment stands below the end it is at."""
    if mark.outward is None or mark.kind is FittingKind.END:
        return False
    return float(mark.outward[2]) < -_STEEP
