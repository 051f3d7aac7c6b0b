"""Which way each leg is better pulled, and so which of its checks count.

A crew pulls a leg one way. Legs joined by a fitting passed through are pulled the same way, in
one go: they are judged together, from refeed to refeed. Each stretch is judged alone, so heads may
meet at a box: `heads_meet_at` names it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from analyzer.checks.situation import ALLOWANCE
from analyzer.job.settings import Passage
from analyzer.pulling.results import Direction, Pull, largest_share
from analyzer.route.legs import Leg

__all__ = ["better_way", "counted_directions", "heads_meet_at"]


def better_way(forward: Sequence[Pull], reverse: Sequence[Pull]) -> Direction | None:
    """Return the better direction of legs pulled in one go, None where they are equal.

    Compared by the largest share of limit, then by the exit tension, both at high friction;
    equal within a relative 1e-6. Where a direction could not be checked, by exit tension alone.

    Parameters
    ----------
    forward, reverse : sequence of Pull
        The same legs in order of station, pulled each way.
    """
    pairs = [(forward[-1].high.exit_tension_n, reverse[0].high.exit_tension_n)]
    ahead = largest_share(pull.share_of_limit for pull in forward)
    back = largest_share(pull.share_of_limit for pull in reverse)
    if ahead is not None and back is not None:
        pairs.insert(0, (ahead, back))
    for one, other in pairs:
        if abs(one - other) > ALLOWANCE * max(abs(one), abs(other)):
            return Direction.FORWARD if one < other else Direction.REVERSE
    return None


def counted_directions(
    legs: Sequence[Leg], forward: Sequence[Pull], reverse: Sequence[Pull]
) -> tuple[Direction, ...]:
    """Return for every leg the direction whose checks count: the better one, else forward.

    Parameters
    ----------
    legs : sequence of Leg
        In order of station.
    forward : sequence of Pull
        The pull of each leg one way.
    reverse : sequence of Pull
        And the other way.
    """
    directions: list[Direction] = []
    first = 0
    for index, leg in enumerate(legs):
        if index + 1 < len(legs) and leg.end.passage is Passage.THROUGH:
            continue
        stretch = slice(first, index + 1)
        way = better_way(forward[stretch], reverse[stretch]) or Direction.FORWARD
        directions += [way] * (index + 1 - first)
        first = index + 1
    return tuple(directions)


def heads_meet_at(pulls: Sequence[Pull]) -> tuple[str, ...]:
    """Return the names of the boxes where heads meet: pulled to from both sides.

    Parameters
    ----------
    pulls : sequence of Pull
        Of legs, or of stretches from refeed to refeed, in order of station.
    """
    return tuple(
        below.pull_at
        for below, above in pairwise(pulls)
        if below.direction is Direction.FORWARD and above.direction is Direction.REVERSE
    )
