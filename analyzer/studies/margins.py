"""Margins of a leg or set-up: the governing limit, the highest friction and the smallest radius.

Both are found with nothing else changed: the friction of the pulled state rises until one of its
limits is reached; the radius of the bend that presses most shrinks, or grows, until the sidewall
limit is reached there, pulled and held back. What comes before the bend stays as it is, and what
is held back comes in from behind it, so the bend alone is pulled again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analyzer.checks.situation import at_most
from analyzer.errors import SolverError
from analyzer.geometry.readings import Bend
from analyzer.pulling.limits import sidewall_limit, tension_limits
from analyzer.pulling.results import Pull, Share, pressure_between
from analyzer.pulling.sections import least_frictions, pull_pieces
from analyzer.pulling.sign_change import root_between
from analyzer.pulling.string_model import (
    ArcPiece,
    CornerPiece,
    Piece,
    StraightPiece,
    pull_string,
    reversed_pieces,
)
from analyzer.studies.ways import Way, bend_tensions_n

__all__ = [
    "GREATEST_FRICTION",
    "BendOver",
    "Margins",
    "highest_friction",
    "margins_of",
    "smallest_radius_m",
]

GREATEST_FRICTION = 2.0
"""The search for friction ends here, as the job file does."""

_LEAST_FRICTION = 0.001
_TOO_MUCH = 1e300
_RADIUS_FACTORS = (1e-3, 1e3)


@dataclass(frozen=True, slots=True)
class BendOver:
    """A bend above the sidewall limit, and the radius it alone would need.

    `n_per_m` is the greater pressure, pulled at high friction or held back at low, as `is_braked`
    says; `radius_m` is None where no radius is found. [N/m] [m]
    """

    bend: Bend
    n_per_m: float
    is_braked: bool
    radius_m: float | None


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
    smallest_radius_m : float or None
        Smallest radius of that bend within the sidewall limit; None where none is found, or
        where nothing presses there. [m]
    over : tuple of BendOver
        Every bend above the sidewall limit, the worst first.
    """

    governing: Share | None
    highest_friction: float | None
    bend: Bend | None
    smallest_radius_m: float | None
    over: tuple[BendOver, ...] = ()

    @property
    def spare(self) -> float | None:
        """Limit minus value of the governing limit, negative where it is passed. [N] or [N/m]"""
        return None if self.governing is None else self.governing.limit - self.governing.value


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
    return Margins(
        governing=pull.governing,
        highest_friction=highest_friction(way),
        bend=bend,
        smallest_radius_m=None if bend is None else smallest_radius_m(way, bend),
        over=_bends_over(way, pull, bends),
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


def smallest_radius_m(way: Way, bend: Bend) -> float | None:
    """Return the smallest radius of a bend within the sidewall limit, all else as drawn. [m]

    None where no radius within a thousandth to a thousand times the drawn one reaches the limit:
    nothing presses there, or too much does.
    """
    limit = sidewall_limit(way.job).limit
    factor = way.group.sidewall.factor
    pieces = [piece for piece in way.section.pieces if _is_inside(piece, bend)]
    if limit is None or bend.radius_m is None or not pieces or factor <= 0.0:
        return None
    friction = way.job.pull.friction.high
    ahead = bend_tensions_n(way.strings([friction])[0], bend)
    behind = bend_tensions_n(way.held(), bend)
    if ahead is None or behind is None:
        return None
    entry = np.array([ahead[0]])
    gone = way.gone_m + abs(pieces[0].station_m - way.section.feed.station_m)

    def over(scale: float) -> float:
        scaled = _scaled(pieces, scale)
        (pulled,) = pull_pieces(scaled, way.job, way.group, [friction], entry, gone)
        back = reversed_pieces(scaled)
        k = -np.array(least_frictions(back, way.job), dtype=float).reshape(-1, 1)
        (held,) = pull_string(back, way.job.pulling_weight_n_per_m, k, behind[0])
        bearings = (pulled.greatest_bearing(), held.greatest_bearing())
        return factor * max(found[0] for found in bearings if found is not None) / limit - 1.0

    least, most = _RADIUS_FACTORS
    if over(least) <= 0.0 or over(most) > 0.0:
        return None
    return bend.radius_m * root_between(over, least, most)


def _bends_over(way: Way, pull: Pull, bends: Sequence[Bend]) -> tuple[BendOver, ...]:
    limit = sidewall_limit(way.job).limit
    found = []
    for bend in bends:
        pulled, held = (
            pressure_between(arcs, bend.station_m, bend.end_station_m)
            for arcs in (pull.high.arcs, pull.braked.arcs)
        )
        worst = max(pulled, held)
        if limit is not None and not at_most(worst, limit):
            found.append(BendOver(bend, worst, held > pulled, smallest_radius_m(way, bend)))
    return tuple(sorted(found, key=lambda item: -item.n_per_m))


def _pressed_most(way: Way, pull: Pull, bends: Sequence[Bend]) -> Bend | None:
    """Return the bend with the greatest sidewall pressure, pulled or held back."""
    station = pull.high.max_sidewall_station_m
    if pull.braked.max_sidewall_n_per_m > pull.high.max_sidewall_n_per_m:
        station = pull.braked.max_sidewall_station_m
    if station is None or way.group.sidewall.factor <= 0.0:
        return None
    near = [b for b in bends if b.station_m - 1e-6 <= station <= b.end_station_m + 1e-6]
    return near[0] if near else None


def _has_bends(way: Way) -> bool:
    return any(isinstance(piece, ArcPiece) for piece in way.section.pieces)


def _is_inside(piece: Piece, bend: Bend) -> bool:
    middle = 0.5 * (piece.station_m + piece.end_station_m)
    return bend.station_m < middle < bend.end_station_m


def _scaled(pieces: Sequence[Piece], scale: float) -> list[Piece]:
    """Return the pieces of a bend with every radius scaled, stations following."""
    sign = 1.0 if pieces[-1].end_station_m >= pieces[0].station_m else -1.0
    at, scaled = pieces[0].station_m, list[Piece]()
    for piece in pieces:
        if isinstance(piece, CornerPiece):
            scaled.append(replace(piece, station_m=at))
            continue
        length = piece.length_m if isinstance(piece, StraightPiece) else 0.0
        shape = None
        if isinstance(piece, ArcPiece):
            shape = replace(piece.shape, radius_m=piece.shape.radius_m * scale)
            length = shape.radius_m * shape.angle_rad
        end = at + sign * length
        if isinstance(piece, ArcPiece) and shape is not None:
            scaled.append(ArcPiece(at, end, shape))
        elif isinstance(piece, StraightPiece):
            scaled.append(replace(piece, station_m=at, end_station_m=end))
        at = end
    return scaled
