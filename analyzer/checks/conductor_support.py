"""Conductor supports: how far conductors hang in vertical parts of the run.

A vertical part is a stretch that keeps rising or keeps falling and somewhere in each straight and
bend is steep: 45° or more, within what a drawing leaves open. The bends at its ends belong to it,
as to the height of a riser on a drawing. A box in it does not end it, nor does a flatter jog that
keeps rising (or falling) and is no longer than a length of raceway: conductors are held where they
are deflected by 90° (NEC 300.19(C), from memory), and such a jog deflects them by less. Longer flat
parts are not counted: there the raceway carries the conductors.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, ceil, cos, hypot, pi, radians, sin

import numpy as np

from analyzer.catalog.supports import SupportSpacing, find_support_spacing
from analyzer.checks.check import Check
from analyzer.checks.situation import Situation, at_most, hair, settled, station_words
from analyzer.findings import Verdict
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, Floats, Segment
from analyzer.units import ft, show_length

__all__ = ["VerticalPart", "check_conductor_supports", "support_stations", "vertical_parts"]

_OPEN_RAD = radians(0.5)  # what a drawing or its points leave of an angle, on the safe side
_STEEP = sin(pi / 4.0 - _OPEN_RAD)
_LEVEL = sin(_OPEN_RAD)
_LISTED = 50  # of more supports the rest is told by its spacing
_JOG_M = ft(10.0)  # a length of raceway; common practice


@dataclass(frozen=True, slots=True)
class VerticalPart:
    """A steep stretch with its bends: its stations, and the height between its ends. [m]"""

    station_m: float
    end_station_m: float
    rise_m: float


def vertical_parts(centerline: Centerline) -> tuple[VerticalPart, ...]:
    """Return the vertical parts of a centerline in order; a fall has a negative rise."""
    parts: list[VerticalPart] = []
    direction, jog_m = 0, 0.0
    for station, segment in zip(centerline.stations_m, centerline.segments, strict=False):
        for start, end, rise, steep in _slopes(segment):
            if steep and steep == direction:
                last = parts.pop()
                rise = _height(centerline, station + end) - _height(centerline, last.station_m)
                parts.append(VerticalPart(last.station_m, station + end, rise))
            elif steep:
                parts.append(VerticalPart(station + start, station + end, rise))
            jog_m = 0.0 if steep else jog_m + end - start
            keeps_on = rise * direction > _LEVEL * (end - start) and jog_m <= _JOG_M
            direction = steep or (direction if keeps_on else 0)
    return tuple(parts)


def _height(centerline: Centerline, station_m: float) -> float:
    return float(centerline.points_at([station_m])[0][2])


def support_stations(
    centerline: Centerline, part: VerticalPart, spacing_m: float
) -> tuple[float, ...]:
    """Return where supports go: at the top, then a spacing of height below one another. [m]

    Parameters
    ----------
    centerline : Centerline
        Of the run.
    part : VerticalPart
        The vertical part that the conductors hang in.
    spacing_m : float
        Greatest height between two supports. [m]
    """
    drops_m = np.arange(_count(part, spacing_m), dtype=float) * spacing_m
    return tuple(_stations_below_top(centerline, part, drops_m).tolist())


def _count(part: VerticalPart, spacing_m: float) -> int:
    """How many supports a vertical part needs."""
    return max(ceil(abs(part.rise_m) / spacing_m - 1e-6), 1)


def check_conductor_supports(situation: Situation) -> tuple[Check, ...]:
    """Return one caution for each vertical part higher than the table allows without support.

    Where there is none, one check holds the highest part against the smallest spacing among the
    conductors. Conductors without a table size and metal are not checked. The caution gives the
    number of supports and their stations, of very many the first ones and the last.
    """
    parts = vertical_parts(situation.run.centerline)
    known, unknown = _spacings(situation)
    if not known and parts:
        return (_not_checked(situation, unknown),)
    spacing = min(known, key=lambda pair: pair[1].spacing_m) if known else None
    high = [
        part
        for part in parts
        if spacing is not None and not at_most(abs(part.rise_m), spacing[1].spacing_m)
    ]
    if spacing is not None and high:
        return tuple(_caution(situation, part, *spacing) for part in high)
    if unknown and parts:
        return (_not_checked(situation, unknown),)
    highest = max(parts, key=lambda part: abs(part.rise_m), default=None)
    return (_within(situation, highest, spacing),)


def _spacings(situation: Situation) -> tuple[list[tuple[str, SupportSpacing]], list[str]]:
    """Spacing of each conductor pulled that has a table size and metal; names of the others."""
    known, unknown = [], []
    for line in situation.job.conductors:
        conductor = line.conductor
        if conductor.size is None or conductor.metal is None:
            unknown.append(conductor.full_name)
        else:
            known.append(
                (conductor.full_name, find_support_spacing(conductor.size, conductor.metal))
            )
    return known, unknown


def _slopes(segment: Segment) -> Iterator[tuple[float, float, float, int]]:
    """Yield the stretches of a segment that only rise or only fall.

    Start and end from the segment's start, height gained, and 1 or -1 where it rises or falls and
    is somewhere steep, else 0.
    """
    if not isinstance(segment, Arc):
        climb = segment.start_tangent[2]
        steep = 0 if abs(climb) < _STEEP else 1 if climb > 0.0 else -1
        yield 0.0, segment.length_m, segment.end_m[2] - segment.start_m[2], steep
        return
    ahead, inward, radius = segment.start_tangent[2], segment.start_normal[2], segment.radius_m
    steepest = hypot(ahead, inward)
    # the slope is steepest * cos(turned - middle): level a quarter turn before and after
    middle = atan2(inward, ahead)
    levels = [middle + pi / 2.0 + k * pi for k in range(-3, 4)]
    cuts = [0.0, *(a for a in levels if 1e-9 < a < segment.angle_rad - 1e-9), segment.angle_rad]
    for one, other in pairwise(cuts):
        rise = radius * steepest * (sin(other - middle) - sin(one - middle))
        passes = any(one <= middle + k * pi <= other for k in range(-3, 4))
        most = steepest if passes else steepest * max(abs(cos(a - middle)) for a in (one, other))
        steep = 0 if most < _STEEP else 1 if rise > 0.0 else -1
        yield radius * one, radius * other, rise, steep


def _stations_below_top(centerline: Centerline, part: VerticalPart, drops_m: Floats) -> Floats:
    """Stations that lie heights (n,) below the top of a vertical part, by bisection, (n,)."""
    top, bottom = part.station_m, part.end_station_m
    if part.rise_m > 0.0:
        top, bottom = bottom, top
    wanted = _height(centerline, top) - drops_m
    above, below = np.full(wanted.shape, top), np.full(wanted.shape, bottom)
    for _ in range(60):
        middle = (above + below) / 2.0
        is_above = centerline.points_at(middle)[:, 2] > wanted
        above, below = np.where(is_above, middle, above), np.where(is_above, below, middle)
    return above


def _source(situation: Situation) -> str:
    return f"NEC {situation.rules.edition} 300.19(A), Table 300.19(A)"


def _caution(situation: Situation, part: VerticalPart, name: str, spacing: SupportSpacing) -> Check:
    job = situation.job
    line, count = situation.run.centerline, _count(part, spacing.spacing_m)
    listed = np.arange(min(count, _LISTED), dtype=float)
    top, *rest = _stations_below_top(line, part, listed * spacing.spacing_m).tolist()
    places = [f"at or near the top ({station_words(top, job)})"]
    places += [f"at {station_words(station, job)}" for station in rest]
    if count > _LISTED:
        last = np.array([(count - 1) * spacing.spacing_m])
        (lowest,) = _stations_below_top(line, part, last).tolist()
        places.append(
            f"so on at every {show_length(spacing.spacing_m, job.units)} of height down to "
            f"{station_words(lowest, job)}"
        )
    number = f"{count:,} support{'s' if count > 1 else ''}"
    high, allowed = (show_length(m, job.units) for m in (abs(part.rise_m), spacing.spacing_m))
    message = (
        f"Vertical part of {high}, {hair('more than', high, allowed)} the {allowed} that {name} "
        f"may hang without support: give {number}, {' and '.join(_joined(places))}."
    )
    if not spacing.confirmed:
        message += " The table value is not confirmed."
    return _check(situation, part, spacing, Verdict.CAUTION, message)


def _joined(places: list[str]) -> list[str]:
    """All but the last place as one text, and the last."""
    return places if len(places) < 3 else [", ".join(places[:-1]), places[-1]]


def _within(
    situation: Situation, part: VerticalPart | None, spacing: tuple[str, SupportSpacing] | None
) -> Check:
    system = situation.job.units
    if part is None or spacing is None:
        message = "No part of the run is vertical: conductors need no supports."
        limit = None if spacing is None else spacing[1]
        return _check(situation, None, limit, Verdict.PASS, message)
    name, limit = spacing
    message = (
        f"Highest vertical part {show_length(abs(part.rise_m), system)}, within the "
        f"{show_length(limit.spacing_m, system)} that {name} may hang without support."
    )
    doubts: tuple[str, ...] = ()
    if not limit.confirmed:
        doubts = ("not confirmed",)
        message += " Caution: the table value is not confirmed."
    return _check(situation, part, limit, settled(True, doubts), message)


def _not_checked(situation: Situation, names: list[str]) -> Check:
    message = (
        f"Conductor supports not checked: state size and metal of {', '.join(names)}, which give "
        "the spacing."
    )
    return _check(situation, None, None, Verdict.NOT_CHECKED, message)


def _check(
    situation: Situation,
    part: VerticalPart | None,
    spacing: SupportSpacing | None,
    verdict: Verdict,
    message: str,
) -> Check:
    job = situation.job
    where = "whole run"
    if part is not None:
        start, end = station_words(part.station_m, job), station_words(part.end_station_m, job)
        where = f"{start} to {end}"
    value = 0.0 if part is None else abs(part.rise_m)
    return Check(
        code="conductor-support",
        leg=None,
        direction=None,
        verdict=verdict,
        value=None if verdict is Verdict.NOT_CHECKED else value,
        limit=None if spacing is None else spacing.spacing_m,
        unit="m",
        where=where,
        station_m=None if part is None else part.station_m,
        source=_source(situation),
        message=message,
    )
