"""Analyses built by hand for tests of pictures: an ice rink's chiller feeder and its kin.

Tensions here are of a plain sum (weight times friction on straights, friction times angle in
bends): good enough to draw, and no statement about any pull.
"""

from __future__ import annotations

from math import acos, ceil, exp, tan

import numpy as np

from analyzer.analysis import Analysis, LegAnalysis, RunAnalysis
from analyzer.catalog.conductors import Conductor
from analyzer.checks.check import Check
from analyzer.findings import Verdict
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Attitude, Bend, RadiusFrom, ReadAs
from analyzer.geometry.segments import Arc, Segment, Straight
from analyzer.job.settings import (
    ConductorLine,
    DrawingSettings,
    FittingKind,
    Friction,
    Job,
    Limits,
    Passage,
    PullSettings,
)
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.results import BrakedState, Direction, Profile, Pull, PullFigures, Share
from analyzer.route.legs import split_into_legs
from analyzer.route.run import Fitting, Run, RunInput
from analyzer.units import UnitSystem, ft, inches, lbf, lbf_per_ft

FEEDER = [
    (0, 0, 6.92),
    (0, 0, 16.4, 24),
    (37, 0, 16.4, 24),
    (37, 28, 16.4, 24),
    (40, 35, 19, 24),
    (40, 55, 19, 24),
    (55.5, 70.5, 19, 24),
    (99, 70.5, 19, 36),
    (99, 70.5, 3.92, 36),
    (96.5, 54, 3.92),
]
"""Corners in feet, with the bend radius in inches."""


LIMIT_N = lbf(900)
WEIGHT_N_PER_M = lbf_per_ft(7.0)


def centerline_of(corners):
    """Straights and arcs through corners (x, y, z, radius)."""
    points = [np.array(corner[:3], dtype=float) * ft(1) for corner in corners]
    segments: list[Segment] = []
    at = points[0]
    for index in range(1, len(points) - 1):
        before = points[index] - points[index - 1]
        after = points[index + 1] - points[index]
        d1, d2 = before / np.linalg.norm(before), after / np.linalg.norm(after)
        turn = acos(float(np.clip(d1 @ d2, -1, 1)))
        radius = inches(corners[index][3])
        cut = radius * tan(turn / 2)
        start = points[index] - cut * d1
        normal = d2 - (d1 @ d2) * d1
        normal /= np.linalg.norm(normal)
        center = start + radius * normal
        axis = np.cross(d1, normal)
        if np.linalg.norm(start - at) > 1e-6:
            segments.append(Straight(tuple(at.tolist()), tuple(start.tolist())))
        begin = segments[-1].end_m if segments else tuple(start.tolist())
        arc = Arc(begin, tuple(center.tolist()), tuple(axis.tolist()), turn)
        segments.append(arc)
        at = np.array(arc.end_m)
    segments.append(Straight(tuple(at.tolist()), tuple(points[-1].tolist())))
    return Centerline(tuple(segments))


def bends_of(centerline):
    bends = []
    for start, segment in zip(centerline.stations_m, centerline.segments, strict=False):
        if not isinstance(segment, Arc):
            continue
        rise = segment.end_m[2] - segment.start_m[2]
        flat = abs(segment.axis[2])
        if flat > 0.9998:
            attitude = Attitude.LEVEL
        elif flat < 0.02:
            attitude = Attitude.RISING if rise > 0 else Attitude.FALLING
        else:
            attitude = Attitude.TILTED
        bends.append(
            Bend(
                len(bends) + 1,
                start,
                start + segment.length_m,
                segment.angle_rad,
                segment.radius_m,
                RadiusFrom.DRAWING,
                attitude,
                None,
                False,
                ReadAs.ARCS,
            )
        )
    return tuple(bends)


def job_of(units=UnitSystem.US, title="Ice rink chiller feeder", friction=None):
    conductor = Conductor(
        "feeder cable", None, None, None, None, None, inches(0.6), 0.28, lbf_per_ft(2.3),
        "stated", 1.0, None, lbf(300), None, True, "job",
    )  # fmt: skip
    return Job(
        title=title,
        units=units,
        drawing=DrawingSettings(),
        raceway=None,
        bender=None,
        bend_radius_m=None,
        conductors=(ConductorLine(1, conductor),),
        existing=(),
        pull=PullSettings(friction=friction or Friction(0.20, 0.35, 0.50)),
        limits=Limits(),
        fittings=(),
    )


def _profile(centerline, low, high, weight, friction, forward):
    part = centerline.part(low, high)
    if not forward:
        part = part.reversed()
    station, tension = [], []
    s, t = 0.0, 0.0
    for segment in part.segments:
        count = ceil(np.degrees(segment.angle_rad) / 5) if isinstance(segment, Arc) else 1
        s0, t0 = s, t
        station.append(s0)
        tension.append(t0)
        for step in range(1, count + 1):
            along = segment.length_m * step / count
            if isinstance(segment, Arc):
                t = t0 * exp(friction * segment.angle_rad * step / count) + weight * along * 0.3
            else:
                level = np.hypot(*segment.start_tangent[:2])
                t = t0 + weight * along * (friction * level + segment.start_tangent[2])
            t = max(t, 0.0)
            station.append(s0 + along)
            tension.append(t)
        s = s0 + segment.length_m
    station = np.array(station)
    station = low + station if forward else high - station
    station = np.clip(station, low, high)
    return Profile(tuple(station.tolist()), tuple(tension), tuple(0.0 for _ in tension))


def _figures(profile, friction):
    tensions = np.array(profile.tension_n)
    worst = int(np.argmax(tensions))
    return PullFigures(
        friction, float(tensions[-1]), float(tensions[worst]), profile.station_m[worst], 0.0, None
    )


def _pull(centerline, start, end, weight, friction, forward, limit):
    low, high = start.station_m, end.station_m
    profiles = {
        name: _profile(centerline, low, high, weight, getattr(friction, name), forward)
        for name in ("low", "expected", "high")
    }
    figures = {name: _figures(profiles[name], getattr(friction, name)) for name in profiles}
    top = figures["high"]
    shares = ()
    if limit is not None:
        shares = (
            Share("conductor-tension", "conductors", top.max_tension_n, limit,
                  top.max_tension_station_m),
        )  # fmt: skip
    feed, pull = (start, end) if forward else (end, start)
    return Pull(
        direction=Direction.FORWARD if forward else Direction.REVERSE,
        feed_at=feed.name,
        pull_at=pull.name,
        feed_tension_n=0.0,
        low=figures["low"],
        expected=figures["expected"],
        high=top,
        sidewall_rule="triangular",
        slack=(),
        braked=BrakedState(0.0, 0.0, low, 0.0, None),
        shares=shares,
        profile=profiles["expected"],
    )


def analysis_of(
    corners=FEEDER,
    boxes=(),
    limit=LIMIT_N,
    weight=WEIGHT_N_PER_M,
    ends=("Panel MCC-1", "Chiller 2"),
    kinds=(FittingKind.PANEL, FittingKind.EQUIPMENT),
    units=UnitSystem.US,
    name="chiller feeder",
    title="Ice rink chiller feeder",
    better="forward",
    friction=None,
):
    """An analysis of one run; `boxes` are (name, station in feet)."""
    line = centerline_of(corners)
    placed = [
        (ends[0], kinds[0], 0.0),
        *((label, FittingKind.PULL_BOX, ft(at)) for label, at in boxes),
        (ends[1], kinds[1], line.length_m),
    ]
    fittings = tuple(
        Fitting(
            label, kind, at, tuple(line.points_at([at])[0].tolist()), True, Passage.REFEED, True
        )
        for label, kind, at in placed
    )
    points = line.points_at(np.linspace(0, line.length_m, 200))
    extents = (tuple(points.min(axis=0).tolist()), tuple(points.max(axis=0).tolist()))
    source = RunInput("rink.csv", "0" * 64, "csv", "ft", "header", extents)
    run = Run(name, source, line, bends_of(line), fittings, ReadAs.ARCS, 0.0)
    job = job_of(units, title, friction)
    band = job.pull.friction
    legs = []
    for leg in split_into_legs(run):
        both = [_pull(line, leg.start, leg.end, weight, band, way, limit) for way in (True, False)]
        legs.append(LegAnalysis(leg, both[0], both[1], better))
    checks = []
    verdict = Verdict.PASS if limit is not None else Verdict.NOT_CHECKED
    for leg in legs:
        total = np.degrees(leg.leg.bend_total_rad)
        bad = round(total, 3) > 360
        checks.append(
            Check("bend-total", leg.leg.name, None, Verdict.FAIL if bad else Verdict.PASS,
                  float(total), 360.0, "deg", "", None, "common practice", "")
        )  # fmt: skip
        if limit is not None:
            top = leg.forward.high.max_tension_n
            over = top > limit
            checks.append(
                Check("conductor-tension", leg.leg.name, "forward",
                      Verdict.FAIL if over else Verdict.PASS, top, limit, "N", "", None,
                      "common practice", "")
            )  # fmt: skip
            bad = bad or over
        if bad:
            verdict = Verdict.FAIL
    through = [
        _pull(line, fittings[0], fittings[-1], weight, band, way, limit) for way in (True, False)
    ]
    run_analysis = RunAnalysis(
        run, tuple(legs), through[0], through[1], (), tuple(checks), (), verdict
    )
    return Analysis(job, conductor_group(job), (run_analysis,), ())


def overhead(**options):
    """A flat overhead run with four bends."""
    corners = [
        (0, 0, 12), (40, 0, 12, 18), (40, 35, 12, 18), (75, 35, 12, 18), (75, 10, 12, 18),
        (110, 10, 12),
    ]  # fmt: skip
    given = {"corners": corners, "ends": ("Panel A", "Pump 1"), "title": "Brine pump feeder"}
    return analysis_of(**{**given, **options})


def riser(**options):
    """A riser going up 60 ft to the roof."""
    corners = [
        (0, 0, 4), (18, 0, 4, 24), (18, 0, 64, 24), (18, 30, 64, 24), (32, 30, 66, 24),
        (50, 30, 66),
    ]  # fmt: skip
    given = {"corners": corners, "ends": ("Switchboard", "Roof unit 3"), "title": "Roof riser"}
    return analysis_of(**{**given, **options})


def tiny(**options):
    """A run of 20 ft."""
    corners = [(0, 0, 1.5), (0, 0, 8, 9.5), (8, 0, 8, 9.5), (8, 4, 8)]
    given = {
        "corners": corners,
        "ends": ("Panel T", "Heater"),
        "title": "Snow melt heater",
        "kinds": (FittingKind.PANEL, FittingKind.EQUIPMENT),
    }
    return analysis_of(**{**given, **options})


def long_run(**options):
    """A thin run of about 500 ft with fourteen bends."""
    corners = [(0, 0, 10)]
    x, y, z = 0.0, 0.0, 10.0
    for index in range(7):
        x += 38
        corners.append((x, y, z, 18))
        y += 24 if index % 3 else 9
        corners.append((x, y, z, 18))
    corners.append((x + 60, y, z))
    given = {
        "corners": corners,
        "ends": ("start", "end"),
        "kinds": (FittingKind.END, FittingKind.END),
        "title": "Training yard, long run",
        "boxes": (("Box 1", 150.0), ("Box 2", 310.0)),
    }
    return analysis_of(**{**given, **options})


def without_limit(**options):
    """The feeder where no tension limit could be checked."""
    return analysis_of(limit=None, **options)
