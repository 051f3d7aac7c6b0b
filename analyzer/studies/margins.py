"""Margins of a leg or set-up: the governing limit, the highest friction and the smallest radius.

The friction of the pulled state rises until one of its limits is reached, with nothing else
changed. The radius of the bend that presses most shrinks, or grows, until the sidewall limit is
reached there, pulled and held back (see `bend_radii`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.checks.situation import at_most
from analyzer.errors import SolverError
from analyzer.geometry.readings import Bend
from analyzer.pulling.limits import sidewall_limit, tension_limits
from analyzer.pulling.results import Pull, Share, pressure_between
from analyzer.pulling.sign_change import root_between
from analyzer.pulling.string_model import ArcPiece
from analyzer.route.run import SAME_PLACE_M
from analyzer.studies.bend_radii import BendRadii, BendRadius
from analyzer.studies.ways import Way

__all__ = [
    "GREATEST_FRICTION",
    "BendOver",
    "Margins",
    "highest_friction",
    "margins_of",
]

GREATEST_FRICTION = 2.0
"""The search for friction ends here, as the job file does."""

_LEAST_FRICTION = 0.001
_TOO_MUCH = 1e300


@dataclass(frozen=True, slots=True)
class BendOver:
    """A bend above the sidewall limit, and the radius it alone would need.

    `n_per_m` is the greater pressure, pulled at high friction or held back at low, as `is_braked`
    says. [N/m]
    """

    bend: Bend
    n_per_m: float
    is_braked: bool
    radius: BendRadius

    @property
    def radius_m(self) -> float | None:
        """The radius it would need; None where none is found. [m]"""
        return self.radius.smallest_m


@dataclass(frozen=True, slots=True)
class Margins:
    """How far a set-up is from its limits.

    Attributes
    ----------
    governing : Share or None
        The limit that comes nearest; None where nothing could be checked.
    highest_friction : float or None
        Highest friction at which every limit of the pulled state holds; None where none holds or
        none is known.
        `GREATEST_FRICTION` stands for that and more.
    bend : Bend or None
        The bend that presses most; None without bends.
    radius : BendRadius
        Smallest radius of that bend within the sidewall limit, and the largest that fits.
    over : tuple of BendOver
        Every bend above the sidewall limit, the worst first.
    has_other_bends : bool
        Whether there are bends beside `bend`, which stay as they are for its radius.
    """

    governing: Share | None
    highest_friction: float | None
    bend: Bend | None
    radius: BendRadius
    over: tuple[BendOver, ...] = ()
    has_other_bends: bool = False

    @property
    def spare(self) -> float | None:
        """Limit minus value of the governing limit, negative where it is passed. [N] or [N/m]"""
        return None if self.governing is None else self.governing.limit - self.governing.value

    @property
    def smallest_radius_m(self) -> float | None:
        """Smallest radius of `bend`; None where none is found, or nothing presses there. [m]"""
        return self.radius.smallest_m


def margins_of(way: Way, pull: Pull, bends: Sequence[Bend]) -> Margins:
    """Return the margins of a leg or set-up in one direction.

    Parameters
    ----------
    way : Way
        Ready to be pulled again.
    pull : Pull
        Its figures.
    bends : sequence of Bend
        Its bends.
    """
    bend = _pressed_most(way, pull, bends)
    radii = BendRadii(way)
    radius = BendRadius() if bend is None else radii.of(bend)
    return Margins(
        governing=pull.governing,
        highest_friction=highest_friction(way),
        bend=bend,
        radius=radius,
        over=_bends_over(way, pull, bends, {} if bend is None else {bend.number: radius}, radii),
        has_other_bends=len(bends) > 1,
    )


def highest_friction(way: Way) -> float | None:
    """Return the highest friction at which the pulled state holds every limit that is checked.

    None where not even next to no friction holds them, or none is known; `GREATEST_FRICTION`
    where that and more does.
    """
    job, group = way.job, way.group
    limits = [item.limit for item in tension_limits(job, group) if item.limit]
    wall, factor = sidewall_limit(job).limit, group.sidewall.factor

    def over(friction: float) -> float:
        try:
            (string,) = way.strings([friction])
        except SolverError:  # beyond any number
            return _TOO_MUCH
        greatest, _ = string.greatest()
        parts = [greatest / limit for limit in limits]
        bearing = string.greatest_bearing()
        if bearing is not None and wall:
            parts.append(factor * bearing[0] / wall)
        return max(parts) - 1.0

    if not limits and not (wall and _has_bends(way)):
        return None
    if over(_LEAST_FRICTION) > 0.0:
        return None
    # from near the friction of the job: far above it tension soon grows beyond any number
    low, high = _LEAST_FRICTION, min(max(2.0 * job.pull.friction.high, 0.5), GREATEST_FRICTION)
    while over(high) <= 0.0:
        if high >= GREATEST_FRICTION:
            return GREATEST_FRICTION
        low, high = high, min(2.0 * high, GREATEST_FRICTION)
    return root_between(over, low, high)


def _bends_over(
    way: Way, pull: Pull, bends: Sequence[Bend], known: dict[int, BendRadius], radii: BendRadii
) -> tuple[BendOver, ...]:
    limit = sidewall_limit(way.job).limit
    found = []
    for bend in bends:
        pulled, held = (
            pressure_between(arcs, bend.station_m, bend.end_station_m)
            for arcs in (pull.high.arcs, pull.braked.arcs)
        )
        worst = max(pulled, held)
        if limit is not None and not at_most(worst, limit):
            radius = known[bend.number] if bend.number in known else radii.of(bend)
            found.append(BendOver(bend, worst, held > pulled, radius))
    return tuple(sorted(found, key=lambda item: -item.n_per_m))


def _pressed_most(way: Way, pull: Pull, bends: Sequence[Bend]) -> Bend | None:
    """Return the bend with the greatest sidewall pressure, pulled or held back."""
    station = pull.high.max_sidewall_station_m
    if pull.braked.max_sidewall_n_per_m > pull.high.max_sidewall_n_per_m:
        station = pull.braked.max_sidewall_station_m
    if station is None or way.group.sidewall.factor <= 0.0:
        return None
    near = [
        b for b in bends if b.station_m - SAME_PLACE_M <= station <= b.end_station_m + SAME_PLACE_M
    ]
    return near[0] if near else None


def _has_bends(way: Way) -> bool:
    return any(isinstance(piece, ArcPiece) for piece in way.section.pieces)
