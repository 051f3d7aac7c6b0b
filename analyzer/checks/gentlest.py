"""Which of several ways to pull a run is the gentlest: one rule for the check and for the plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

__all__ = ["Measure", "equals_of", "gentlest"]

_EQUAL = 1.0 + 1e-9


@dataclass(frozen=True, slots=True)
class Measure:
    """What a way to pull a run is judged by.

    Attributes
    ----------
    shares : tuple of float or None
        Largest share of limit of each set-up, in any order; None where nothing could be checked,
        which speaks against no way.
    tension_n : float
        Greatest tension at high friction. [N]
    is_end : bool
        Whether the conductors are fed at an end of the run.
    """

    shares: tuple[float | None, ...]
    tension_n: float
    is_end: bool


def gentlest(measures: Sequence[Measure]) -> int:
    """Return the index of the gentlest way.

    The least greatest share of limit wins; of equals the least greatest tension, then the least
    share of the second worst set-up, of the third and so on, then fewer set-ups, then an end of
    the run, then the first.
    """
    near = _as_gentle(measures)
    return min(near, key=lambda index: (len(measures[index].shares), not measures[index].is_end))


def equals_of(chosen: Measure, measures: Sequence[Measure]) -> tuple[int, ...]:
    """Return the indices of all ways as good as the chosen one, each with as many set-ups.

    Where that is more than the chosen one, only the custom to feed at an end, or the order along
    the run, tells them apart.
    """
    return tuple(
        index
        for index, measure in enumerate(measures)
        if len(measure.shares) == len(chosen.shares)
        and all(_is_equal(*pair) for pair in zip(_costs(measure), _costs(chosen), strict=True))
    )


def _costs(measure: Measure) -> tuple[float, ...]:
    worst, *others = sorted((share or 0.0 for share in measure.shares), reverse=True)
    return (worst, measure.tension_n, *others)


def _is_equal(one: float, other: float) -> bool:
    return max(one, other) <= min(one, other) * _EQUAL


def _as_gentle(measures: Sequence[Measure]) -> list[int]:
    near = list(range(len(measures)))
    for costs in zip_longest(*(_costs(measure) for measure in measures), fillvalue=0.0):
        least = min(costs[index] for index in near) * _EQUAL
        near = [index for index in near if costs[index] <= least]
    return near
