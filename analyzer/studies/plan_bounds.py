"""Independent bounds of a level pull, printed beside it.

All bends at the pull end give more than any order of bends can, all bends at the feed end less.
They rest on closed forms, not on the string model.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.geometry.segments import Arc, Segment
from analyzer.job.settings import Job
from analyzer.pulling.closed_forms import all_bends_first_tension_n, all_bends_last_tension_n
from analyzer.pulling.groups import conductor_group
from analyzer.route.run import Run
from analyzer.studies.feeding import SetUp

__all__ = ["LevelBounds", "level_bounds"]

_LEVEL = 1e-6


@dataclass(frozen=True, slots=True)
class LevelBounds:
    """Exit tension between `lower_n` and `upper_n` at one friction. [N]"""

    friction: float
    lower_n: float
    exit_n: float
    upper_n: float

    @property
    def hold(self) -> bool:
        """Whether the exit tension lies between its bounds."""
        room = 1e-9 * self.upper_n
        return self.lower_n - room <= self.exit_n <= self.upper_n + room


def level_bounds(run: Run, job: Job, set_up: SetUp) -> tuple[LevelBounds, ...]:
    """Return the bounds at low, expected and high friction; empty where they do not hold.

    They hold on level pulls with one friction all along: not where a segment rises or falls, nor
    where the lubricant ends on the way.

    References
    ----------
    IEEE Std 1185-2019, Annex C, Eq. C.1 (all bends at the pull end, without feed tension).
    """
    low, high = sorted((set_up.feed.station_m, set_up.pull_to.station_m))
    reach = job.pull.lubricant_reach_m
    if reach is not None and reach < set_up.length_m:
        return ()
    part = run.centerline.part(low, high)
    if not all(_is_level(segment) for segment in part.segments):
        return ()
    turning = sum(s.angle_rad for s in part.segments if isinstance(s, Arc))
    turning += sum(corner.angle_rad for corner in part.corners())
    straight = sum(s.length_m for s in part.segments if not isinstance(s, Arc))
    weight, factor = job.pulling_weight_n_per_m, conductor_group(job).weight_factor
    own = set_up.feed.feed_tension_n
    feed = job.pull.feed_tension_n if own is None else own
    bounds = []
    for figures in (set_up.pull.low, set_up.pull.expected, set_up.pull.high):
        k = figures.friction * factor
        in_bends = k if job.pull.weight_factor_in_bends else figures.friction
        # a closed form takes one k: weight times k over that of bends gives straights their own
        heavier = weight * k / in_bends if in_bends > 0.0 else weight
        upper = all_bends_last_tension_n(feed, heavier, set_up.length_m, turning, in_bends)
        lower = all_bends_first_tension_n(feed, heavier, straight, turning, in_bends)
        bounds.append(LevelBounds(figures.friction, lower, figures.exit_tension_n, upper))
    return tuple(bounds)


def _is_level(segment: Segment) -> bool:
    if isinstance(segment, Arc):
        return abs(abs(segment.axis[2]) - 1.0) < _LEVEL and abs(segment.start_tangent[2]) < _LEVEL
    return abs(segment.start_tangent[2]) < _LEVEL
