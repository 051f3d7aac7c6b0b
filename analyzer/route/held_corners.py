"""Which drawn corners lie inside a fitting, and what of that is in doubt.

A fitting holds corners within six inches of its place, those in its drawn symbol, and those that
its stated size reaches: up to half the longest side, since nobody states which way a box is turned.
How far a fitting may stand off the line says nothing of how large it is, so a wider snap holds no
more corners; a narrower one holds fewer, because whoever states it places fittings exactly.

A corner held is no bend, so one held wrongly makes a pull look easier than it is. What a box does
not do as a rule is therefore told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.geometry.segments import Vector
from analyzer.geometry.vectors import distance
from analyzer.job.settings import FittingKind
from analyzer.route.claims import TOUCHING_M
from analyzer.route.paths import Extents, extents_distance
from analyzer.units import UnitSystem, ft, inches, show_length, show_radius

__all__ = ["OWN_REACH_M", "Held", "corner_doubts", "sure_reach_m"]

OWN_REACH_M = inches(6)
"""How far what a fitting holds may be drawn off its place or symbol; common practice. [m]"""

_BOX_M = ft(6)  # longest side of boxes, conduit bodies and panels; own estimate
_ROOM_M = ft(20)  # longest side of manholes, vaults and equipment; own estimate
_ROOMS = (FittingKind.MANHOLE, FittingKind.HANDHOLE, FittingKind.EQUIPMENT)


@dataclass(frozen=True, slots=True)
class Held:
    """What one fitting can hold: lengths in meters.

    Attributes
    ----------
    point_m : (3,) float
        Where it stands. [m]
    snap_m : float
        How far from the line a fitting may stand. [m]
    size_m : tuple of float or None
        Its sides where stated, one to three. [m]
    extents_m : two (3,) float or None
        Corners of its drawn symbol. [m]
    """

    point_m: Vector
    snap_m: float
    size_m: tuple[float, ...] | None = None
    extents_m: Extents | None = None

    def holds(self, corner_m: Vector) -> bool:
        """Whether a corner lies inside."""
        by_size = distance(self.point_m, corner_m) <= _half_longest_m(self.size_m)
        return by_size or self._is_held_unsized(corner_m)

    def away_m(self, corner_m: Vector) -> float:
        """Return how far a corner is from the middle: of the symbol, where it lies in that. [m]"""
        if self._is_drawn_inside(corner_m) and self.extents_m is not None:
            low, high = self.extents_m
            return distance(corner_m, _middle(low, high))
        return distance(self.point_m, corner_m)

    def hangs_on_way(self, corner_m: Vector) -> bool:
        """Whether a corner is inside only if the longest side lies along the way to it.

        Boxes are flat as a rule, with raceway in the plane of their cover: either of the two
        longer sides may lie along it (common practice).
        """
        if self.size_m is None or self._is_held_unsized(corner_m):
            return False
        sides = sorted(self.size_m, reverse=True)
        return distance(self.point_m, corner_m) > sides[min(1, len(sides) - 1)] / 2.0

    def is_by_size(self, corner_m: Vector) -> bool:
        """Whether nothing but the stated size holds a corner."""
        return self.size_m is not None and not self._is_held_unsized(corner_m)

    def _is_held_unsized(self, corner_m: Vector) -> bool:
        near = distance(self.point_m, corner_m) <= min(self.snap_m, OWN_REACH_M)
        return near or self._is_drawn_inside(corner_m)

    def _is_drawn_inside(self, corner_m: Vector) -> bool:
        extents = self.extents_m
        return extents is not None and extents_distance(corner_m, extents) <= TOUCHING_M


def _half_longest_m(size_m: tuple[float, ...] | None) -> float:
    """Return how far a stated size reaches from the middle: half its longest side. [m]"""
    return max(size_m) / 2.0 if size_m else 0.0


def sure_reach_m(size_m: tuple[float, ...] | None, kind: FittingKind | None) -> float:
    """Return how far a stated size reaches; zero where it is larger than its kind is taken for. [m]

    Parameters
    ----------
    size_m : tuple of float or None
        Its sides where stated. [m]
    kind : FittingKind or None
        What it is; None counts as a box.
    """
    half_m = _half_longest_m(size_m)
    return half_m if 2.0 * half_m <= _longest_m(kind) else 0.0


def corner_doubts(
    held: Held, corners_m: Sequence[Vector], kind: FittingKind | None, units: UnitSystem
) -> list[str]:
    """Return why the corners that a fitting holds may not all lie inside it; mostly nothing.

    Parameters
    ----------
    held : Held
        The fitting.
    corners_m : sequence of (3,) float
        Corners that count as inside it. [m]
    kind : FittingKind or None
        What it is; None counts as a box.
    units : UnitSystem
        In which people see results.
    """
    if not corners_m:
        return []
    doubts = []
    if len(corners_m) > 1:
        doubts.append("a fitting holds one corner as a rule")
    longest_m = _longest_m(kind)
    farthest_m = max(held.away_m(corner) for corner in corners_m)
    by_size = [corner for corner in corners_m if held.is_by_size(corner)]
    if by_size and held.size_m is not None and max(held.size_m) > longest_m:
        doubts.append(
            f"its stated size, {show_length(max(held.size_m), units)}, is more than the "
            f"{show_length(longest_m, units)} taken for the largest of its kind"
        )
    elif farthest_m > longest_m / 2.0:
        doubts.append(
            f"{show_length(farthest_m, units)} from its middle is more than half of the "
            f"{show_length(longest_m, units)} taken for the largest of its kind"
        )
    elif held.size_m is not None and any(map(held.hangs_on_way, corners_m)):
        doubts.append(
            f"only its longest side, {show_radius(max(held.size_m), units)}, reaches that far, if "
            "it lies along the straight to the corner"
        )
    return doubts


def _longest_m(kind: FittingKind | None) -> float:
    return _ROOM_M if kind in _ROOMS else _BOX_M


def _middle(low: Vector, high: Vector) -> Vector:
    return ((low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0, (low[2] + high[2]) / 2.0)
