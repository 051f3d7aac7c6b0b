"""What a pull gives: figures, profiles and the braked state, as data."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

__all__ = [
    "ArcLoad",
    "Brake",
    "BrakedState",
    "Direction",
    "Profile",
    "Pull",
    "PullFigures",
    "Share",
    "largest_share",
    "loads_between",
    "pressure_between",
]


class Direction(Enum):
    """Forward feeds at the lower station and pulls toward the higher one."""

    FORWARD = "forward"
    REVERSE = "reverse"


@dataclass(frozen=True, slots=True)
class ArcLoad:
    """Greatest tension and sidewall pressure in one arc and their station. [m] [N] [N/m]

    The arc is known by the station of its middle: where arcs meet their ends have one station.
    """

    middle_m: float
    station_m: float
    tension_n: float
    n_per_m: float


def loads_between(arcs: Sequence[ArcLoad], low_m: float, high_m: float) -> list[ArcLoad]:
    """Return the loads of the arcs between two stations, such as those of one bend.

    Parameters
    ----------
    arcs : sequence of ArcLoad
        Those of one pull.
    low_m, high_m : float
        Stations between which the middle of an arc has to lie. [m]
    """
    return [arc for arc in arcs if low_m < arc.middle_m < high_m]


def pressure_between(arcs: Sequence[ArcLoad], low_m: float, high_m: float) -> float:
    """Return the greatest pressure of the arcs between two stations, 0 without any. [N/m]

    Parameters
    ----------
    arcs : sequence of ArcLoad
        Those of one pull.
    low_m, high_m : float
        Stations between which the middle of an arc has to lie. [m]
    """
    return max((arc.n_per_m for arc in loads_between(arcs, low_m, high_m)), default=0.0)


@dataclass(frozen=True, slots=True)
class PullFigures:
    """Figures of one pull at one friction. Slack counts as 0. [N] [m] [N/m]

    `max_tension_n` is the greatest anywhere on the leg, feed and interior of bends included; at
    equal values the place first met. Sidewall figures are 0 and their station None on a leg
    without bends; `arcs` has what each arc takes.
    """

    friction: float
    exit_tension_n: float
    max_tension_n: float
    max_tension_station_m: float
    max_sidewall_n_per_m: float
    max_sidewall_station_m: float | None
    arcs: tuple[ArcLoad, ...] = ()


@dataclass(frozen=True, slots=True)
class Brake:
    """The brake that holds a string back, where its conductors are fed. [N]"""

    at: str
    force_n: float


@dataclass(frozen=True, slots=True)
class BrakedState:
    """The string held back by a brake at low friction, worst over all head positions.

    `hold_back_n` is the greatest force at this leg's own feed side, `arcs` what each arc
    takes. Where the conductors are passed through the box there, no brake can stand at it:
    `carried_from` is the one at the feed where they came in, None where this leg is fed.
    [N] [m] [N/m]
    """

    hold_back_n: float
    max_tension_n: float
    max_tension_station_m: float
    max_sidewall_n_per_m: float
    max_sidewall_station_m: float | None
    arcs: tuple[ArcLoad, ...] = ()
    carried_from: Brake | None = None


@dataclass(frozen=True, slots=True)
class Profile:
    """Head tension and sidewall pressure at stations, in order of travel (expected friction).

    Joints of segments appear twice; a corner passed through gives two entries at one station;
    at most 5° of bend between entries. [m] [N] [N/m]
    """

    station_m: tuple[float, ...]
    tension_n: tuple[float, ...]
    sidewall_n_per_m: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Share:
    """One calculated value against its limit; `code` is the check it belongs to."""

    code: str
    name: str
    value: float
    limit: float
    station_m: float | None

    @property
    def share(self) -> float:
        """Value over limit."""
        return self.value / self.limit


@dataclass(frozen=True, slots=True)
class Pull:
    """One leg (or a whole run) pulled in one direction.

    Attributes
    ----------
    direction : Direction
        Forward feeds at the lower station.
    feed_at, pull_at : str
        Names of the fittings where conductors enter and where the head leaves.
    feed_tension_n : float
        Tension where the conductors enter, at expected friction: the job's, the fitting's, or
        what a `through` fitting carries in. [N]
    low, expected, high : PullFigures
        Figures at the three frictions; all equal when one number was given.
    sidewall_rule : str
        Name of the form the sidewall pressure was computed by.
    slack : tuple of (float, float)
        Stretches where the conductors run by themselves at expected friction, as
        (lower, higher) station. [m]
    braked : BrakedState
        Held back at low friction.
    shares : tuple of Share
        Every tension, grip, line, puller and sidewall limit that could be checked, at high
        friction (braked: low).
    profile : Profile
        At expected friction.
    """

    direction: Direction
    feed_at: str
    pull_at: str
    feed_tension_n: float
    low: PullFigures
    expected: PullFigures
    high: PullFigures
    sidewall_rule: str
    slack: tuple[tuple[float, float], ...]
    braked: BrakedState
    shares: tuple[Share, ...]
    profile: Profile

    @property
    def brake(self) -> Brake:
        """The brake of the pull that this leg is part of, at the feed where it starts."""
        return self.braked.carried_from or Brake(self.feed_at, self.braked.hold_back_n)

    @property
    def governing(self) -> Share | None:
        """The share of limit that is largest among those checked; None if none could be."""
        return max(self.shares, key=lambda share: share.share, default=None)

    @property
    def share_of_limit(self) -> float | None:
        """Largest share of limit; None where nothing could be checked."""
        governing = self.governing
        return None if governing is None else governing.share


def largest_share(shares: Iterable[float | None]) -> float | None:
    """Return the largest of shares of limit; None where none of them is known.

    Examples
    --------
    >>> largest_share([0.4, None, 0.7])
    0.7
    """
    return max((share for share in shares if share is not None), default=None)
