"""Why no placement passes: which leg, which limit, and what stands in the way.

A leg between two neighboring places for boxes is as short as it can be made. Where such a leg
fails, no placement passes. Where none does (only with feed tension), the leg that comes nearest
to leaving the part of the run that can be reached is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analyzer.checks.situation import at_most, station_words
from analyzer.job.settings import FittingKind, Job, Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction, Pull, Share
from analyzer.route.legs import Leg, split_into_legs
from analyzer.route.run import SAME_PLACE_M, Fitting
from analyzer.studies.boxes_costs import LegPricing
from analyzer.studies.boxes_places import Stop
from analyzer.units import (
    show_degrees,
    show_force,
    show_length,
    show_pressure,
    show_radius,
    show_share,
    to_deg,
)

__all__ = ["Blocked", "find_blocked"]


@dataclass(frozen=True, slots=True)
class Blocked:
    """A leg that cannot be made to pass, by one limit.

    Attributes
    ----------
    code : str
        Code of the check.
    from_m, to_m : float
        Stations of its ends: the nearest places for boxes on either side. [m]
    value, limit : float
        In `unit`.
    unit : str
        ``deg``, ``m``, ``N`` or ``N/m``.
    message : str
        What stands in the way, and what to do.
    """

    code: str
    from_m: float
    to_m: float
    value: float
    limit: float
    unit: str
    message: str


def find_blocked(
    pricing: LegPricing,
    stops: Sequence[Stop],
    is_allowed: NDArray[np.bool_],
    counts: NDArray[np.int64],
) -> tuple[Blocked, ...]:
    """Return the legs that cannot be made to pass.

    Parameters
    ----------
    pricing : LegPricing
        The run under its job.
    stops : sequence of Stop
        Places tried, ends included.
    is_allowed : (n, n) bool
        Which legs between them pass.
    counts : (n,) int
        Fewest boxes with which each is reached; -1 where it is not.
    """
    neighbors = [
        (index, index + 1)
        for index in range(len(stops) - 1)
        if not is_allowed[index, index + 1]
        # boxes struck out for standing too near to each other block nothing
        and (stops[index].room is None or stops[index].room != stops[index + 1].room)
    ]
    found = [item for pair in neighbors for item in _reasons(pricing, stops, *pair)]
    if found:
        return tuple(found)
    reached = np.flatnonzero(counts >= 0)
    outside = np.flatnonzero(counts < 0)
    if not outside.size:
        return ()
    low = int(reached[reached < outside[-1]][-1])
    high = int(outside[outside > low][0])
    return _reasons(pricing, stops, low, high)


def _reasons(
    pricing: LegPricing, stops: Sequence[Stop], low: int, high: int
) -> tuple[Blocked, ...]:
    """Every limit that the leg between two stops fails."""
    job = pricing.job
    found: list[Blocked] = []
    legs, forward, reverse = _pulled(pricing, stops[low], stops[high])
    for leg in legs:
        found += _by_geometry(leg, job)
    ways = {"forward": [forward], "reverse": [reverse]}.get(job.boxes.direction, [forward, reverse])
    failing = [_failing(pulls) for pulls in ways]
    if all(failing):
        # the direction that comes nearer to passing
        nearer = min(failing, key=lambda pairs: max(share.share for _, share in pairs))
        found += [_by_pull(legs, pull, share, job) for pull, share in nearer]
    return tuple(found)


def _pulled(pricing: LegPricing, low: Stop, high: Stop) -> tuple[list[Leg], list[Pull], list[Pull]]:
    """Return the legs between two stops, pulled both ways by the solver."""
    run = pricing.run
    kept = [
        item
        for item in run.fittings
        if item in (run.fittings[0], run.fittings[-1])
        or low.station_m - SAME_PLACE_M <= item.station_m <= high.station_m + SAME_PLACE_M
    ]
    added = [_box(stop) for stop in (low, high) if not stop.is_fixed]
    fittings = sorted((*kept, *added), key=lambda item: item.station_m)
    changed = replace(run, fittings=tuple(fittings))
    legs = split_into_legs(changed)
    forward = pull_legs(changed, legs, pricing.job, Direction.FORWARD)
    reverse = pull_legs(changed, legs, pricing.job, Direction.REVERSE)
    inside = [
        i
        for i, leg in enumerate(legs)
        if leg.start.station_m >= low.station_m - SAME_PLACE_M
        and leg.end.station_m <= high.station_m + SAME_PLACE_M
    ]
    return (
        [legs[i] for i in inside],
        [forward[i] for i in inside],
        [reverse[i] for i in inside],
    )


def _box(stop: Stop) -> Fitting:
    name = "a box" if stop.way_in.length_m == 0.0 else f"a box at {stop.name}"
    return Fitting(
        name=name,
        kind=FittingKind.PULL_BOX,
        station_m=stop.station_m,
        position_m=(0.0, 0.0, 0.0),
        pull_point=True,
        passage=Passage.REFEED,
        passage_stated=True,
    )


def _by_geometry(leg: Leg, job: Job) -> list[Blocked]:
    limits = job.limits
    between = _between(leg, job)
    found = []
    total = round(to_deg(leg.bend_total_rad), 3)
    most = round(limits.degrees_between_pull_points, 3)
    if total > most:
        message = (
            f"bends add up to {show_degrees(total)} {between}, above the {show_degrees(most)} "
            "allowed between pull points, and no box can stand between them: allow one there, "
            "leave more straight between the bends, or take bends out"
        )
        found.append(_blocked("bend-total", leg, total, most, "deg", message))
    longest = limits.length_between_pull_points_m
    if longest is not None and not at_most(leg.length_m, longest):
        message = (
            f"it is {show_length(leg.length_m, job.units)} {between}, above the "
            f"{show_length(longest, job.units)} allowed between pull points, and no box can stand "
            "between: allow one there"
        )
        found.append(_blocked("leg-length", leg, leg.length_m, longest, "m", message))
    return found


def _by_pull(legs: Sequence[Leg], pull: Pull, share: Share, job: Job) -> Blocked:
    leg = next(
        leg for leg in legs if {leg.start.name, leg.end.name} >= {pull.feed_at, pull.pull_at}
    )
    is_wall = share.code.startswith("sidewall")
    show = show_pressure if is_wall else show_force
    state = "held back at low friction" if share.code.endswith("braked") else "at high friction"
    message = (
        f"{share.name} is {show(share.value, job.units)} {_between(leg, job)}, {state}, in the "
        f"better direction, above the limit of {show(share.limit, job.units)} "
        f"({show_share(share.share)} of it), and no box can stand nearer: "
    )
    bend = next(
        (
            bend
            for bend in leg.bends
            if share.station_m is not None
            and bend.station_m - SAME_PLACE_M
            <= share.station_m
            <= bend.end_station_m + SAME_PLACE_M
        ),
        None,
    )
    if is_wall and bend is not None and bend.radius_m is not None:
        radius = show_radius(bend.radius_m, job.units)
        message += f"the radius of {radius} of bend {bend.number} is too small for it"
    elif is_wall:
        message += "the bend's radius is too small for it"
    elif share.code.endswith("braked"):
        message += "the drop is too high to hang in one piece; support it or use a box on the way"
    else:
        message += "allow a box there, or pull fewer or lighter conductors"
    return _blocked(share.code, leg, share.value, share.limit, "N/m" if is_wall else "N", message)


def _failing(pulls: Sequence[Pull]) -> list[tuple[Pull, Share]]:
    """Shares above one; of several for one limit the largest."""
    worst: dict[str, tuple[Pull, Share]] = {}
    for pull in pulls:
        for share in pull.shares:
            if at_most(share.value, share.limit):
                continue
            if share.code not in worst or share.share > worst[share.code][1].share:
                worst[share.code] = (pull, share)
    return list(worst.values())


def _between(leg: Leg, job: Job) -> str:
    ends = [
        station_words(fitting.station_m, job)
        if fitting.name.startswith("a box")
        else f"{fitting.name} ({station_words(fitting.station_m, job)})"
        for fitting in (leg.start, leg.end)
    ]
    return f"between {ends[0]} and {ends[1]}"


def _blocked(code: str, leg: Leg, value: float, limit: float, unit: str, message: str) -> Blocked:
    ends = (leg.start.station_m, leg.end.station_m)
    return Blocked(code, *ends, value=value, limit=limit, unit=unit, message=message)
