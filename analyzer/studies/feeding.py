"""Which end, and from where: the reels stand at one pull point and feed both ways from it.

The conductors are whole from end to end. From the feeding place they are pulled outward, to one
end or to both; at a pull point on the way they are taken out and fed again, or passed through.
One pull from a feed to the next refeed, or to an end, is one set-up; it starts with the feed
tension of its own place. Choices are compared by their greatest share of limit, then by their
greatest tension, both at high friction, then by the shares of their other set-ups; all choices
are searched, none is guessed.

Legs pulled from both ends toward one box need conductors that are cut and joined there; what that
would give stands beside the choices.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from analyzer.checks.directions import heads_meet_at
from analyzer.checks.gentlest import Measure, equals_of, gentlest
from analyzer.errors import InputError
from analyzer.geometry.readings import Bend
from analyzer.job.settings import Job, Passage
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction, Pull, Share, largest_share
from analyzer.route.legs import Leg
from analyzer.route.run import Fitting, Run

__all__ = [
    "FeedingChoice",
    "FeedingStudy",
    "SetUp",
    "choice_from",
    "set_up_between",
    "study_feeding",
]

_EQUAL = 1e-9
_MOST_SEARCHED = 40


@dataclass(frozen=True, slots=True)
class SetUp:
    """One pull: fed at one pull point, pulled to another, all between passed through.

    Attributes
    ----------
    feed, pull_to : Fitting
        Where the conductors are fed and where the head leaves.
    passed : tuple of Fitting
        Pull points passed through, in order of travel.
    bends : tuple of Bend
        Bends of the raceway between, in order of travel.
    length_m, rise_m : float
        Length; height gained in the direction of travel. [m]
    pull : Pull
        Its figures.
    """

    feed: Fitting
    pull_to: Fitting
    passed: tuple[Fitting, ...]
    bends: tuple[Bend, ...]
    length_m: float
    rise_m: float
    pull: Pull

    @property
    def share_of_limit(self) -> float | None:
        """Largest share of limit; None where nothing could be checked."""
        return self.pull.share_of_limit

    @property
    def greatest_tension_n(self) -> float:
        """Greatest tension at high friction. [N]"""
        return self.pull.high.max_tension_n


@dataclass(frozen=True, slots=True)
class FeedingChoice:
    """One way to get the conductors in: a feeding place, and its set-ups in order of work.

    The longer half comes first, so that least is laid out beside the reels for the other.
    """

    feed: Fitting
    set_ups: tuple[SetUp, ...]

    @property
    def greatest_tension_n(self) -> float:
        """Greatest tension of all set-ups at high friction. [N]"""
        return max(item.greatest_tension_n for item in self.set_ups)

    @property
    def share_of_limit(self) -> float | None:
        """Largest share of limit of all set-ups; None where nothing could be checked."""
        return largest_share(item.share_of_limit for item in self.set_ups)

    @property
    def governing(self) -> Share | None:
        """The limit that comes nearest, None where nothing could be checked."""
        shares = [share for item in self.set_ups for share in item.pull.shares]
        return max(shares, key=lambda share: share.share, default=None)

    @property
    def lengths_m(self) -> tuple[float, float]:
        """Length pulled toward the run's first point, and toward its last. [m]"""
        back = sum(i.length_m for i in self.set_ups if i.pull.direction is Direction.REVERSE)
        ahead = sum(i.length_m for i in self.set_ups if i.pull.direction is Direction.FORWARD)
        return back, ahead

    @property
    def measure(self) -> Measure:
        """What it is judged by among other choices."""
        shares = tuple(item.share_of_limit for item in self.set_ups)
        return Measure(shares, self.greatest_tension_n, not all(self.lengths_m))

    @property
    def hold_back_n(self) -> float:
        """Greatest brake force at any feed, at low friction. [N]"""
        return max(item.pull.braked.hold_back_n for item in self.set_ups)


@dataclass(frozen=True, slots=True)
class FeedingStudy:
    """All that can be said about where to feed a run.

    Attributes
    ----------
    places : tuple of FeedingChoice
        Every pull point as feeding place, passages as the job states them, refeed where it does
        not; in order of station.
    fewest : tuple of FeedingChoice
        For each possible number of set-ups the best choice over all feeding places and all
        passages that the job leaves open, by share and tension; from the smallest number up.
    each_better : tuple of SetUp
        Every stretch from refeed to refeed at its better end, in order of station.
    joints : tuple of str
        Names of the boxes where that needs conductors cut and joined; empty where it needs none.
    """

    places: tuple[FeedingChoice, ...]
    fewest: tuple[FeedingChoice, ...]
    each_better: tuple[SetUp, ...]
    joints: tuple[str, ...]

    @property
    def best(self) -> FeedingChoice:
        """The best of `places`, as `gentlest` judges."""
        return _best(self.places)

    @property
    def as_good_as_best(self) -> tuple[str, ...]:
        """Names of the other places that nothing but custom tells from the best one."""
        best = self.best
        equals = equals_of(best.measure, [choice.measure for choice in self.places])
        names = (self.places[index].feed.name for index in equals)
        return tuple(name for name in names if name != best.feed.name)


@dataclass
class _Pulls:
    """Set-ups between pull points of one run, each computed once."""

    run: Run
    job: Job
    found: dict[tuple[int, int], SetUp] = field(default_factory=dict)

    @property
    def stops(self) -> list[Fitting]:
        return [fitting for fitting in self.run.fittings if fitting.pull_point]

    def between(self, feed: int, pull: int) -> SetUp:
        key = (feed, pull)
        if key not in self.found:
            stops = self.stops
            self.found[key] = set_up_between(self.run, self.job, stops[feed], stops[pull])
        return self.found[key]


def set_up_between(run: Run, job: Job, feed: Fitting, pull_to: Fitting) -> SetUp:
    """Return the set-up from one pull point to another, all between passed through.

    Parameters
    ----------
    run : Run
        The run both stand on.
    job : Job
        Conductors, friction and limits.
    feed, pull_to : Fitting
        Two different pull points, in either order.

    Raises
    ------
    InputError
        If both are the same place.
    """
    if feed.station_m == pull_to.station_m:
        raise InputError(f"a set-up needs two places: {feed.name} is both its feed and its end")
    is_forward = pull_to.station_m > feed.station_m
    direction = Direction.FORWARD if is_forward else Direction.REVERSE
    start, end = (feed, pull_to) if is_forward else (pull_to, feed)
    bends = [
        bend
        for bend in run.bends
        if not bend.in_fitting
        and start.station_m <= (bend.station_m + bend.end_station_m) / 2 < end.station_m
    ]
    passed = [
        item
        for item in run.fittings
        if item.pull_point and start.station_m < item.station_m < end.station_m
    ]
    length, rise = end.station_m - start.station_m, end.position_m[2] - start.position_m[2]
    leg = Leg("", start, end, length, rise, tuple(bends))
    (pull,) = pull_legs(run, (leg,), job, direction)
    if not is_forward:
        bends.reverse()
        passed.reverse()
        rise = -rise
    return SetUp(feed, pull_to, tuple(passed), tuple(bends), length, rise, pull)


def choice_from(run: Run, job: Job, feed_at: str) -> FeedingChoice:
    """Return the set-ups of a feeding place, passages as the job states them.

    Parameters
    ----------
    run : Run
        Placed, with its bends and fittings.
    job : Job
        Conductors, frictions and limits.
    feed_at : str
        Name of the pull point where the reels stand.

    Raises
    ------
    InputError
        If the run has no pull point of that name.
    """
    pulls = _Pulls(run, job)
    names = [stop.name for stop in pulls.stops]
    if feed_at not in names:
        raise InputError(f"{run.name} has no pull point {feed_at!r}: there are {', '.join(names)}")
    return _as_stated(pulls, names.index(feed_at))


def study_feeding(run: Run, job: Job) -> FeedingStudy:
    """Return every feeding place of a run, and the best choice for each number of set-ups.

    Parameters
    ----------
    run : Run
        The run with its fittings.
    job : Job
        Conductors, friction and limits.

    Raises
    ------
    InputError
        If the run has more pull points than the search is meant for.
    """
    pulls = _Pulls(run, job)
    if len(pulls.stops) > _MOST_SEARCHED:
        raise InputError(
            f"{run.name} has {len(pulls.stops)} pull points: the feeding study takes up to "
            f"{_MOST_SEARCHED}; analyze it in parts"
        )
    places = tuple(_as_stated(pulls, index) for index in range(len(pulls.stops)))
    each_better = _each_better(pulls)
    joints = heads_meet_at([item.pull for item in each_better])
    return FeedingStudy(places, _fewest(pulls), each_better, joints)


def _best(choices: Sequence[FeedingChoice]) -> FeedingChoice:
    return choices[gentlest([choice.measure for choice in choices])]


def _choice(pulls: _Pulls, feed: int, back: Sequence[int], ahead: Sequence[int]) -> FeedingChoice:
    """Return the choice that stops at these pull points on the way to either end."""
    halves = [
        [pulls.between(one, other) for one, other in pairwise([feed, *stops])]
        for stops in (back, ahead)
    ]
    halves.sort(key=lambda half: -sum(item.length_m for item in half))
    return FeedingChoice(pulls.stops[feed], tuple(item for half in halves for item in half))


def _as_stated(pulls: _Pulls, feed: int) -> FeedingChoice:
    last = len(pulls.stops) - 1

    def is_stop(index: int) -> bool:
        return index in (0, last) or pulls.stops[index].passage is Passage.REFEED

    back = [index for index in range(feed - 1, -1, -1) if is_stop(index)]
    ahead = [index for index in range(feed + 1, last + 1) if is_stop(index)]
    return _choice(pulls, feed, back, ahead)


def _each_better(pulls: _Pulls) -> tuple[SetUp, ...]:
    stops = pulls.stops
    places = [
        index
        for index, stop in enumerate(stops)
        if index in (0, len(stops) - 1) or stop.passage is Passage.REFEED
    ]
    better = []
    for one, other in pairwise(places):
        ahead, back = pulls.between(one, other), pulls.between(other, one)
        pairs = (
            (_counted(ahead), _counted(back)),
            (ahead.pull.high.exit_tension_n, back.pull.high.exit_tension_n),
        )
        chosen = ahead
        for first, second in pairs:
            if abs(first - second) > 1e-6 * max(first, second):
                chosen = ahead if first < second else back
                break
        better.append(chosen)
    return tuple(better)


def _counted(item: SetUp) -> float:
    """Return the share of limit to compare by; what could not be checked speaks against no way."""
    return item.share_of_limit or 0.0


def _fewest(pulls: _Pulls) -> tuple[FeedingChoice, ...]:
    """Return the best choice for every number of set-ups, exact over places and passages."""
    best: dict[int, FeedingChoice] = {}
    for feed in range(len(pulls.stops)):
        for choice in _choices_from(pulls, feed):
            number = len(choice.set_ups)
            best[number] = _best([best[number], choice]) if number in best else choice
    return tuple(best[number] for number in sorted(best))


def _choices_from(pulls: _Pulls, feed: int) -> list[FeedingChoice]:
    """Return for one feeding place the best choice for each pair of numbers of set-ups."""
    last = len(pulls.stops) - 1
    back = _Half(pulls, list(range(feed, -1, -1)))
    ahead = _Half(pulls, list(range(feed, last + 1)))
    choices = []
    for number_back, share_back in back.least_shares.items():
        for number_ahead, share_ahead in ahead.least_shares.items():
            share = max(share_back, share_ahead) * (1.0 + _EQUAL)
            one = back.gentlest(number_back, share)
            other = ahead.gentlest(number_ahead, share)
            choices.append(_choice(pulls, feed, one, other))
    return choices


class _Half:
    """One way out from the feeding place: where to stop between there and the end.

    A stretch costs its share of limit and its tension, whatever comes before and after it, so
    the least greatest cost for each number of stretches follows step by step from stop to stop.
    """

    def __init__(self, pulls: _Pulls, indices: list[int]) -> None:
        self.pulls = pulls
        self.indices = indices
        share = self._least(_counted, None)
        last = len(indices) - 1
        self.least_shares = {
            number: costs[last] for number, costs in enumerate(share) if last in costs
        }

    def gentlest(self, number: int, share: float) -> list[int]:
        """Return the stops of the least greatest tension within a share of limit."""
        table = self._least(lambda item: item.greatest_tension_n, share)
        stops: list[int] = []
        at = len(self.indices) - 1
        for step in range(number, 0, -1):
            stops.append(self.indices[at])
            goal = table[step][at] * (1.0 + _EQUAL)
            at = next(
                before
                for before in table[step - 1]
                if before < at
                and max(table[step - 1][before], self._cost(before, at, share)) <= goal
            )
        return stops[::-1]

    def _least(
        self, cost: Callable[[SetUp], float], share: float | None
    ) -> list[Mapping[int, float]]:
        """Least greatest cost by number of stretches, and by the stop they end at."""
        table: list[Mapping[int, float]] = [{0: 0.0}]
        for _ in range(len(self.indices) - 1):
            row: dict[int, float] = {}
            for before, reached in table[-1].items():
                for at, item in self._pulled_from(before, share):
                    row[at] = min(row.get(at, float("inf")), max(reached, cost(item)))
            table.append(row)
        return table

    def _pulled_from(self, before: int, share: float | None) -> Iterator[tuple[int, SetUp]]:
        """Yield the stops that one stretch may reach within a share of limit, and its pull."""
        for at in range(before + 1, len(self.indices)):
            if self._may_pass(before, at) and self._may_stop(at):
                item = self.pulls.between(self.indices[before], self.indices[at])
                if share is None or _counted(item) <= share:
                    yield at, item

    def _cost(self, before: int, at: int, share: float) -> float:
        if not (self._may_pass(before, at) and self._may_stop(at)):
            return float("inf")
        item = self.pulls.between(self.indices[before], self.indices[at])
        return item.greatest_tension_n if _counted(item) <= share else float("inf")

    def _may_stop(self, at: int) -> bool:
        fitting = self.pulls.stops[self.indices[at]]
        is_end = at == len(self.indices) - 1
        return is_end or not fitting.passage_stated or fitting.passage is Passage.REFEED

    def _may_pass(self, before: int, at: int) -> bool:
        return all(
            not fitting.passage_stated or fitting.passage is Passage.THROUGH
            for fitting in (self.pulls.stops[self.indices[i]] for i in range(before + 1, at))
        )
