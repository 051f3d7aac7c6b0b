"""Independent bounds of a level pull, printed beside it.

All bends at the pull end give more than any order of bends can, all bends at the feed end less.
They rest on closed forms, not on the string model.
"""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.pulling.closed_forms import all_bends_first_tension_n, all_bends_last_tension_n
from analyzer.pulling.results import Pull
from analyzer.pulling.string_model import ArcPiece, Piece, StraightPiece
from analyzer.studies.ways import Way

__all__ = ["LevelBounds", "level_bounds"]

_LEVEL = 1e-6


@dataclass(frozen=True, slots=True)
class LevelBounds:
    """Exit tension between `lower_n` and `upper_n` at one friction. [N]

    `is_fed` tells that a feed tension is in both, which the published equation leaves out.
    """

    friction: float
    lower_n: float
    exit_n: float
    upper_n: float
    is_fed: bool

    @property
    def hold(self) -> bool:
        """Whether the exit tension lies between its bounds."""
        room = 1e-9 * self.upper_n
        return self.lower_n - room <= self.exit_n <= self.upper_n + room


def level_bounds(way: Way, pull: Pull) -> tuple[LevelBounds, ...]:
    """Return the bounds at low, expected and high friction; empty where they do not hold.

    They hold on level pulls with one friction all along: not where a segment rises or falls, nor
    where the lubricant ends on the way or friction falls in hard pressing bends.

    Parameters
    ----------
    way : Way
        A leg or set-up in one direction.
    pull : Pull
        Its figures.

    References
    ----------
    IEEE Std 1185-2019, Annex C, Eq. C.1 (all bends at the pull end, without feed tension).
    """
    job, section = way.job, way.section
    reach = job.pull.lubricant_reach_m
    if reach is not None and reach < way.gone_m + section.length_m:
        return ()
    if job.pull.friction_by_sidewall is not None or not all(map(_is_level, section.pieces)):
        return ()
    turning = sum(_turning(piece) for piece in section.pieces)
    straight = sum(p.length_m for p in section.pieces if isinstance(p, StraightPiece))
    weight, factor = job.pulling_weight_n_per_m, way.group.weight_factor
    all_figures = (pull.low, pull.expected, pull.high)
    strings = way.strings([figures.friction for figures in all_figures])
    bounds = []
    for figures, string in zip(all_figures, strings, strict=True):
        feed = string.feed_tension_n
        k = figures.friction * factor
        in_bends = k if job.pull.weight_factor_in_bends else figures.friction
        # a closed form takes one k: weight times k over that of bends gives straights their own
        heavier = weight * k / in_bends if in_bends > 0.0 else weight
        upper = all_bends_last_tension_n(feed, heavier, section.length_m, turning, in_bends)
        lower = all_bends_first_tension_n(feed, heavier, straight, turning, in_bends)
        bounds.append(
            LevelBounds(figures.friction, lower, figures.exit_tension_n, upper, feed > 0.0)
        )
    return tuple(bounds)


def _is_level(piece: Piece) -> bool:
    if isinstance(piece, ArcPiece):
        return piece.shape.in_plane < _LEVEL
    return not isinstance(piece, StraightPiece) or abs(piece.up) < _LEVEL


def _turning(piece: Piece) -> float:
    if isinstance(piece, StraightPiece):
        return 0.0
    return piece.shape.angle_rad if isinstance(piece, ArcPiece) else piece.angle_rad
