"""Loose ends: stray bits, gaps too wide to bridge."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass
from math import pi, radians, tan

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.centerline import angle_between
from analyzer.geometry.segments import Floats, Vector
from analyzer.importers.chaining.chains import Chain, chain_ends, joining_reach
from analyzer.importers.chaining.missing_risers import MissingRisers
from analyzer.importers.chaining.missing_straights import missing_straights
from analyzer.importers.chaining.overlaps import told_in_part
from analyzer.importers.chaining.standing import Standing
from analyzer.importers.near_points import near_pair_arrays
from analyzer.importers.told_places import UnitText, place_list
from analyzer.units import show_angle

__all__ = ["near_miss_findings", "without_strays"]

STRAY_SHARE = 0.01
"""A separate bit is stray if shorter than this share of the longest path, and than the snap."""

_STRAIGHT = radians(5.0)  # a smaller turn between two ends is none
_MOST_TURN = radians(120.0)  # beyond it two runs lie side by side
_ARC_REACH = 10.0  # how many times the snap the ends of a missing arc may lie apart
_ARC_ALLOWANCE = 0.02  # by which the two tangent lengths of a missing arc may differ
_MOST_MISSES = 20  # pairs of ends that nearly meet are told one by one
_DRAW_IT = "If they are one run, draw the missing piece or a box"
_MOST_TIPS = 20_000  # of a drawing with more ends only those within the snap are compared


def without_strays(
    chains: list[Chain], snap_m: float, text: UnitText
) -> tuple[list[Chain], list[Chain], list[Finding]]:
    """Set aside separate bits far shorter than the longest path."""
    if not chains:
        return [], [], []
    longest = max(chain.length_m for chain in chains)
    limit = min(snap_m, STRAY_SHARE * longest)
    kept = [chain for chain in chains if chain.length_m >= limit]
    strays = [chain for chain in chains if chain.length_m < limit]
    if not strays:
        return kept, strays, []
    places = [f"{c.path.where} ({text.length(c.length_m)} long)" for c in strays]
    message = (
        f"{len(strays)} stray bit{'s' if len(strays) > 1 else ''} shorter than "
        f"{text.length(limit)} left out; join or delete them"
    )
    ends = tuple((end, end) for chain in strays for end in chain_ends(chain))
    concern = Concern(boxes_m=ends, reach_m=snap_m)
    return (
        kept,
        strays,
        [Finding("stray-bit", Severity.CAUTION, message, place_list(places), concern)],
    )


def near_miss_findings(
    chains: Sequence[Chain],
    join_m: float,
    snap_m: float,
    standing: Standing,
    text: UnitText,
) -> list[Finding]:
    """List ends that may belong together across a gap too wide to bridge.

    Two ends nearer than the snap, whatever the turn between them, unless the runs lie side by
    side; and two ends farther apart that one missing arc would join, that face each other along
    one line, or that one missing riser would join, at whatever heights. Farther apart than ten
    times the snap, ends face each other where one missing straight would join them. Ends at one
    fitting are left out, unless its symbol may be what is missing: that is told. So are ends that
    face each other, or stand above each other, where one of them is at a fitting.

    Parameters
    ----------
    chains : sequence of Chain
        Open paths of the drawing.
    join_m : float
        Up to which gap ends are joined, so that nothing is missing. [m]
    snap_m : float
        How near ends are told of whatever the turn between them. [m]
    standing : Standing
        Fittings, symbols and closed curves that ends may be at.
    text : UnitText
        How lengths and places are written.
    """
    if len(chains) < 2:
        return []
    tips = np.array([p for chain in chains for p in chain_ends(chain)])
    ways: list[Vector] = []
    for chain in chains:
        t = chain.path.edges[0].segment.start_tangent
        ways += [(-t[0], -t[1], -t[2]), chain.path.edges[-1].segment.end_tangent]
    reach = _ARC_REACH * snap_m if len(tips) <= _MOST_TIPS else snap_m
    reach = reach if snap_m > join_m else joining_reach(join_m)
    one, other, gaps = near_pair_arrays(tips, reach)
    # many runs may end at one place: their pairs are joined ends, of which nothing is to be told
    is_joined = (gaps <= joining_reach(join_m)) & (one // 2 != other // 2)
    facing = set(one[is_joined].tolist()) | set(other[is_joined].tolist())
    apart = (rows[~is_joined].tolist() for rows in (one, other, gaps))
    pairs = {(i, j): gap for i, j, gap in zip(*apart, strict=True)}
    risers = MissingRisers(chains, tips, ways, join_m, snap_m)
    straights = missing_straights(chains, tips, ways, join_m, _ARC_REACH * snap_m)
    pairs |= straights | risers.pairs
    held = standing.stops_at(tips, snap_m)
    misses = _NearMisses(
        tips, ways, reach, join_m, snap_m, straights, risers, standing, held, text, facing
    )
    findings = []
    for (i, j), gap in sorted(pairs.items(), key=lambda pair: pair[1]):
        told = None if i // 2 == j // 2 else misses.told(i, j, gap)
        if told is None:
            continue
        words, advice = told
        message = (
            f"{_both(chains[i // 2], chains[j // 2])} end {text.length(gap)} apart, {words}, at "
            f"{text.place(_vector(tips[i]))}: more than the {text.length(join_m)} that is bridged. "
            f"{advice}"
        )
        symbol = misses.symbol_at(i, j)
        if symbol is not None:
            message += f"; {symbol}"
        where = f"{chains[i // 2].path.where}; {chains[j // 2].path.where}"
        handles = [chains[k // 2].curves[-1 if k % 2 else 0].handle for k in (i, j)]
        concern = Concern(entities=tuple(handles))
        findings.append(Finding("gap-not-bridged", Severity.CAUTION, message, where, concern))
    if len(findings) <= _MOST_MISSES:
        return findings
    left = len(findings) - _MOST_MISSES
    message = f"{left} more pair{'s' if left > 1 else ''} of ends nearly meet, farther apart"
    return told_in_part(findings, _MOST_MISSES, message)


@dataclass(slots=True)
class _NearMisses:
    """What two ends that nearly meet may lack between them; nearer ends are to be asked first.

    `held` tells for each end the fittings it is at; `facing` holds the ends that already are
    joined to another one or face one.
    """

    tips_m: Floats
    ways: Sequence[Vector]
    reach_m: float
    join_m: float
    snap_m: float
    straights: Container[tuple[int, int]]
    risers: MissingRisers
    standing: Standing
    held: Sequence[set[int]]
    text: UnitText
    facing: set[int]

    def told(self, i: int, j: int, gap_m: float) -> tuple[str, str] | None:
        """Return how two ends lie and what to do; None where nothing is to be told."""
        turn = pi - angle_between(self.ways[i], self.ways[j])
        words = f"at a turn of {show_angle(turn)}" if turn > _STRAIGHT else "facing each other"
        in_line = turn <= _STRAIGHT and self._in_line(i, j, gap_m)
        if in_line or (gap_m <= self.snap_m and turn <= _STRAIGHT):
            self.facing.update((i, j))
        if self.held[i] & self.held[j] and self.symbol_at(i, j) is None:
            return None
        if gap_m > self.snap_m:
            return self._straight(i, j) if in_line else self._bend_or_riser(i, j, gap_m, words)
        return None if turn > _MOST_TURN else (words, _DRAW_IT)

    def symbol_at(self, i: int, j: int) -> str | None:
        """Return what to say of a symbol at both ends that may be the missing piece, if any."""
        return self.standing.symbol_at(*self._ends(i, j), self.join_m)

    def _ends(self, i: int, j: int) -> tuple[Vector, Vector]:
        return _vector(self.tips_m[i]), _vector(self.tips_m[j])

    def _in_line(self, i: int, j: int, gap_m: float) -> bool:
        if {i, j} & self.facing:
            return False
        if (i, j) in self.straights:
            return True
        tips, ways = self.tips_m, self.ways
        return gap_m <= self.reach_m and _in_line(tips[i], ways[i], tips[j], ways[j], self.join_m)

    def _straight(self, i: int, j: int) -> tuple[str, str] | None:
        """Tell of ends that face each other along one line, farther apart than the snap."""
        ends, is_far = self._ends(i, j), (i, j) in self.straights
        if self.standing.keeps_apart(*ends, self.snap_m) or (
            is_far and any(self.standing.loop_at(end, self.snap_m) for end in ends)
        ):
            return None
        words = "facing each other along one line"
        words += ", as if a straight were missing" * is_far
        between = self.standing.between(*ends, self.snap_m)
        if between is None:
            return words, _DRAW_IT
        return (
            f"{words}, with a closed curve ({between}) between them",
            "If that is a box, say what its block is under [drawing.fittings]; if the run goes on "
            "through it, draw the line",
        )

    def _bend_or_riser(self, i: int, j: int, gap_m: float, words: str) -> tuple[str, str] | None:
        """Tell of other ends farther apart than the snap: an arc or a riser is missing."""
        if gap_m <= self.reach_m:
            one, other = ((self.tips_m[k], self.ways[k]) for k in (i, j))
            radius_m = _missing_radius_m(one, other, self.join_m)
            if radius_m is not None:
                radius = self.text.length(radius_m)
                return f"{words}, as if a bend of radius {radius} were missing", _DRAW_IT
        ends = self._ends(i, j)
        if {i, j} & self.facing or not self.risers.joins(i, j):
            return None
        if self.standing.keeps_apart(*ends, self.snap_m):
            return None
        off_m = self.risers.off_m(i, j)
        words = "one straight above the other"
        if off_m > joining_reach(self.join_m):
            words = f"one above the other ({self.text.length(off_m)} off in plan)"
        words += ", as if a riser were missing"
        between = self.standing.between(*ends, self.snap_m)
        words += f", with a closed curve ({between}) there" if between else ""
        return words, "If they are one run, draw the riser, or a box"


def _both(one: Chain, other: Chain) -> str:
    return f"{one.name} and {other.name}" if one.name and other.name else "two runs"


def _in_line(p: Floats, u: Vector, q: Floats, v: Vector, join_m: float) -> bool:
    """Whether two ends lie on one line, each pointing at the other."""
    gap = q - p
    size = float(np.linalg.norm(gap))
    near = join_m + _ARC_ALLOWANCE * size
    ahead, back = float(gap @ np.array(u)), -float(gap @ np.array(v))
    return min(ahead, back) > 0.0 and size * size - min(ahead, back) ** 2 <= near * near


def _vector(row: Floats) -> Vector:
    x, y, z = row.tolist()
    return (x, y, z)


def _missing_radius_m(
    one: tuple[Floats, Vector], other: tuple[Floats, Vector], join_m: float
) -> float | None:
    """Radius of the arc that goes on from one end into the other; None where none does. [m]"""
    (p, u), (q, v) = one, other
    turn = pi - angle_between(u, v)
    if not _STRAIGHT < turn <= _MOST_TURN:
        return None
    across = np.cross(u, v)
    square = float(across @ across)
    ahead = float(np.dot(np.cross(q - p, v), across)) / square
    back = float(np.dot(np.cross(q - p, u), across)) / square
    apart = abs(float((q - p) @ across)) / square**0.5
    near = join_m + _ARC_ALLOWANCE * ahead
    if ahead <= join_m or abs(ahead - back) > near or apart > near:
        return None
    return ahead / tan(0.5 * turn)
