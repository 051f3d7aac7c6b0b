"""People and time: force screening of a hand pull, and minutes at the usual speed.

Screening divides the tension by what ergonomics allows one person; it says when a pull is no
longer one for hands, not what a crew can do.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from analyzer.catalog.practice import find_practice
from analyzer.units import lbf, to_ft

__all__ = ["Crew", "people_for", "plan_crew"]


@dataclass(frozen=True, slots=True)
class Crew:
    """People and time of one set-up.

    Attributes
    ----------
    tension_n : float
        Greatest tension at high friction, what the screening stands on. [N]
    short, sustained : int
        People pulling by hand, for a short pull and a sustained one; never fewer than two.
    posts : int
        Places that need somebody: feed, pull end and every fitting the head passes.
    slow_min, fast_min : float
        Time at the lower and the higher usual speed, stops left out. [min]
    """

    tension_n: float
    short: int
    sustained: int
    posts: int
    slow_min: float
    fast_min: float


def people_for(tension_n: float, force_n: float) -> int:
    """Return the people that share a tension, never fewer than two.

    Examples
    --------
    >>> people_for(lbf(200.0), lbf(50.0)), people_for(lbf(200.0), lbf(24.0)), people_for(1.0, 50.0)
    (4, 9, 2)
    """
    least = int(find_practice("least people").value)
    return max(least, ceil(tension_n / force_n * (1.0 - 1e-9)))


def plan_crew(tension_n: float, length_m: float, passed: int) -> Crew:
    """Return people and time of a set-up.

    Parameters
    ----------
    tension_n : float
        Greatest tension at high friction. [N]
    length_m : float
        Length of the pull. [m]
    passed : int
        Fittings the head passes.

    References
    ----------
    Ergonomic handbook values of pulling force (secondary copy): 50 lbf standing; ergonomics
    learning page: 24 lbf sustained; electrician's handbook: 10 to 15 ft/min.
    """
    return Crew(
        tension_n=tension_n,
        short=people_for(tension_n, lbf(find_practice("hand force short").value)),
        sustained=people_for(tension_n, lbf(find_practice("hand force sustained").value)),
        posts=2 + passed,
        slow_min=to_ft(length_m) / find_practice("speed low").value,
        fast_min=to_ft(length_m) / find_practice("speed high").value,
    )
