"""Which checks a change makes fail, leaves failing or mends, whatever its legs are called.

A leg gets another name where a box is added below it, so checks of two runs are matched by their
code and by what they lie on: the bends above the limit, else the stretch of their leg. Bends are
those between the same stations: without a box that stood in one, they have other numbers.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.analysis import RunAnalysis
from analyzer.checks.check import Check
from analyzer.findings import Verdict

__all__ = ["FailingChecks", "compare_failing"]


@dataclass(frozen=True, slots=True)
class FailingChecks:
    """Failing checks that count, before and after a change.

    Attributes
    ----------
    new : tuple of Check
        Fail after it where nothing of their code failed before, or at a bend that did not.
    kept : tuple of Check
        Fail after it as before, with their figures after it.
    mended : tuple of Check
        Failed before, and nothing of their code fails there any more.
    """

    new: tuple[Check, ...]
    kept: tuple[Check, ...]
    mended: tuple[Check, ...]


@dataclass(frozen=True, slots=True)
class _Failing:
    check: Check
    low_m: float
    high_m: float
    bends_m: tuple[tuple[float, float], ...]

    def meets(self, other: _Failing) -> bool:
        """Whether both are of one code and lie on a bend or stretch in common."""
        if self.check.code != other.check.code:
            return False
        if self.bends_m and other.bends_m:
            return any(_meet(one, two) for one in self.bends_m for two in other.bends_m)
        return _meet((self.low_m, self.high_m), (other.low_m, other.high_m))


def _meet(one: tuple[float, float], two: tuple[float, float]) -> bool:
    return min(one[1], two[1]) > max(one[0], two[0])


def compare_failing(before: RunAnalysis, after: RunAnalysis) -> FailingChecks:
    """Return which checks that count start failing, still fail and no longer fail.

    Parameters
    ----------
    before, after : RunAnalysis
        Of one centerline, so that stations are the same.
    """
    old, now = _failing(before), _failing(after)
    failed = [(item.check.code, bend) for item in old for bend in item.bends_m]
    kept = [
        item
        for item in now
        if any(item.meets(other) for other in old)
        and all(
            any(code == item.check.code and _meet(bend, before) for code, before in failed)
            for bend in item.bends_m
        )
    ]
    return FailingChecks(
        new=tuple(item.check for item in now if item not in kept),
        kept=tuple(item.check for item in kept),
        mended=tuple(item.check for item in old if not any(item.meets(other) for other in now)),
    )


def _failing(analyzed: RunAnalysis) -> list[_Failing]:
    legs = {item.leg.name: item.leg for item in analyzed.legs}
    bends = {item.number: (item.station_m, item.end_station_m) for item in analyzed.run.bends}
    found = []
    for check in analyzed.checks:
        if check.verdict is not Verdict.FAIL or not check.counts:
            continue
        leg = None if check.leg is None else legs.get(check.leg)
        low = 0.0 if leg is None else leg.start.station_m
        high = analyzed.run.centerline.length_m if leg is None else leg.end.station_m
        found.append(_Failing(check, low, high, tuple(bends[number] for number in check.bends)))
    return found
