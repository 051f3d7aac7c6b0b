"""What chaining makes of loose curves: open paths, loops, strays, and boxes they pass."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import dist

from analyzer.findings import Finding
from analyzer.geometry.drawn import DrawnEdge, DrawnPath
from analyzer.geometry.segments import Vector, norm
from analyzer.importers.chaining.drawn_curves import DrawnCurve, reversed_edges
from analyzer.route.held_corners import OWN_REACH_M

__all__ = [
    "Box",
    "Chain",
    "Chains",
    "OpenPath",
    "chain_ends",
    "joining_reach",
    "turned",
]

_JUST = 1e-6
"""Share by which a gap may pass the distance that is bridged: a gap of just that is bridged."""


def joining_reach(join_m: float) -> float:
    """Return up to which gap ends are joined where `join_m` is what people are told. [m]"""
    return join_m * (1.0 + _JUST)


@dataclass(frozen=True, slots=True)
class Box:
    """A fitting that conductors pass, with the corners of its symbol. [m]

    `layout` is the paper space layout it stands in; empty in model space, None for all of them.
    `point_m` is where its symbol is inserted, if that is known; `half_size_m` is half of its
    longest side where that is stated.
    """

    name: str
    low_m: Vector
    high_m: Vector
    layout: str | None = None
    point_m: Vector | None = None
    half_size_m: float = 0.0

    def short_m(self, p: Vector) -> float:
        """Return how far a point is from the symbol and from what the stated size reaches. [m]"""
        return min(self.away_m(p), max(self._point_away_m(p) - self.half_size_m, 0.0))

    def away_m(self, p: Vector) -> float:
        """Return how far a point is from the symbol; zero inside. [m]"""
        return norm(
            (
                max(self.low_m[0] - p[0], 0.0, p[0] - self.high_m[0]),
                max(self.low_m[1] - p[1], 0.0, p[1] - self.high_m[1]),
                max(self.low_m[2] - p[2], 0.0, p[2] - self.high_m[2]),
            )
        )

    def holds_end(self, p: Vector, snap_m: float) -> bool:
        """Return whether what ends at a point ends in the fitting.

        In or near its symbol, or where its stated size reaches. How far a fitting may stand off a
        line says nothing of how large it is, so a wider snap holds no more ends, as it holds no
        more corners; a narrower one holds fewer.
        """
        away_m = self.away_m(p)
        if away_m <= min(snap_m, OWN_REACH_M):
            return True
        return away_m <= snap_m and self._point_away_m(p) <= self.half_size_m

    def holds_middle(self, p: Vector, snap_m: float) -> bool:
        """Return the same of a point on a line that passes, for which its middle counts."""
        return self.middle_away_m(p) <= min(snap_m, OWN_REACH_M) or (
            self.middle_away_m(p) <= snap_m
            and (self.away_m(p) <= 0.0 or self._point_away_m(p) <= self.half_size_m)
        )

    def _point_away_m(self, p: Vector) -> float:
        return self.middle_away_m(p) if self.point_m is None else dist(self.point_m, p)

    def middle_away_m(self, p: Vector) -> float:
        """Return how far a point is from the middle of the symbol. [m]"""
        (a, b, c), (d, e, f) = self.low_m, self.high_m
        return norm(((a + d) / 2.0 - p[0], (b + e) / 2.0 - p[1], (c + f) / 2.0 - p[2]))


@dataclass(frozen=True, slots=True)
class Chain:
    """A path, the curves it is made of in order of travel, and whether the file orders it.

    `name` is what people see the run under, empty where that is not known.
    """

    path: DrawnPath
    curves: tuple[DrawnCurve, ...]
    is_ordered: bool
    name: str = ""

    @property
    def length_m(self) -> float:
        """Length. [m]"""
        return sum(edge.segment.length_m for edge in self.path.edges)

    @property
    def told(self) -> str:
        """How a message names it."""
        return self.name or "a run"

    @property
    def layout(self) -> str:
        """Paper space layout it stands in; empty in model space."""
        return self.curves[0].layout

    @property
    def layer(self) -> str:
        """Layer that most of its length stands on."""
        lengths: dict[str, float] = defaultdict(float)
        for curve in self.curves:
            lengths[curve.layer] += curve.length_m
        return max(lengths, key=lambda name: lengths[name])


@dataclass(frozen=True, slots=True)
class Chains:
    """Open paths, loops and strays of a drawing.

    Attributes
    ----------
    chains : tuple of Chain
        Open paths, in the order in which they first appear in the file.
    loops : tuple of tuple of DrawnCurve
        Closed curves, and closed chains of curves.
    strays : tuple of Chain
        Separate bits too short to be a run; not among the chains.
    findings : tuple of Finding
        Everything that was joined, split or left out.
    """

    chains: tuple[Chain, ...]
    loops: tuple[tuple[DrawnCurve, ...], ...]
    strays: tuple[Chain, ...]
    findings: tuple[Finding, ...]


@dataclass(slots=True)
class OpenPath:
    """A path being put together: edges in groups that move as one, and what it is made of. [m]"""

    groups: list[list[DrawnEdge]]
    curves: list[DrawnCurve]

    @property
    def start_m(self) -> Vector:
        """First point. [m]"""
        return self.groups[0][0].segment.start_m

    @property
    def end_m(self) -> Vector:
        """Last point. [m]"""
        return self.groups[-1][-1].segment.end_m


def turned(path: OpenPath) -> OpenPath:
    """Return the same path traveled the other way."""
    groups = [list(reversed_edges(tuple(group))) for group in reversed(path.groups)]
    return OpenPath(groups, path.curves[::-1])


def chain_ends(chain: Chain) -> tuple[Vector, Vector]:
    """Return the first and the last point of a chain. [m]"""
    return chain.path.edges[0].segment.start_m, chain.path.edges[-1].segment.end_m
