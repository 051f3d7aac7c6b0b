"""One straight of a chain of bends: its length, held or free, and when it might be none.

Source: own derivation.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import FREE, TOUCHING, Chain, Frames, frames
from analyzer.geometry.survey.springs import end_gradient, slack_gradients

__all__ = ["StraightPlace", "longest_doubtful"]

_SHORT, _SHORT_OF_ARC = 0.7, 4.0
"""Straight beside a bend, over its radius and over its arc, that might be none.

The radius of a gentle bend may come out as large as a room: the arc stays where the points are.
"""


@dataclass(frozen=True, slots=True)
class StraightPlace:
    """One straight of a chain: before bend `before`, from 0 to as many as there are bends."""

    before: int
    bends: int

    @property
    def at_start(self) -> bool:
        """Whether it begins the chain."""
        return self.before == 0

    @property
    def at_end(self) -> bool:
        """Whether it ends the chain."""
        return self.before == self.bends

    def length(self, chain: Chain) -> float:
        """Its length; at an end from the outer node. [m]"""
        f, k = frames(chain), self.before
        if self.at_start:
            return float(f.l1[0] - f.tangent[0])
        if self.at_end:
            return float(f.l2[-1] - f.tangent[-1])
        return float(f.l1[k] - f.tangent[k - 1] - f.tangent[k])

    def held(self, chain: Chain, length_m: float | None) -> Chain:
        """Return the chain with this straight held at a length; None: free, overlaps too."""
        if self.at_start:
            return replace(chain, lead_m=length_m)
        if self.at_end:
            return replace(chain, tail_m=length_m)
        k = self.before - 1
        joints = chain.joints.copy()
        gaps = np.zeros(joints.size - 1) if chain.gaps_m is None else chain.gaps_m.copy()
        joints[k] = FREE if length_m is None else TOUCHING
        gaps[k] = -np.inf if length_m is None else length_m
        return replace(chain, joints=joints, gaps_m=gaps)

    def gradient(self, chain: Chain, unknowns: int) -> Floats:
        """Return its derivatives by all unknowns of a chain."""
        f = frames(chain)
        if self.at_start or self.at_end:
            row, column = end_gradient(chain, f, 0 if self.at_start else 1)
        else:
            column = 4 * (self.before - 1)
            row = slack_gradients(chain, f, np.array([self.before - 1]))[0]
        out = np.zeros(unknowns)
        out[column : column + 16] = row[: unknowns - column]
        return out


def longest_doubtful(chain: Chain, f: Frames, before: int) -> float:
    """Return the longest straight before a bend, or after the last, that might be none. [m]

    Parameters
    ----------
    chain : Chain
        The chain of m bends.
    f : Frames
        Its frames.
    before : int
        The bend after it; m for the straight that ends the chain.
    """
    beside = slice(max(before - 1, 0), before + 1)
    radii = chain.radii_m[beside]
    return float((radii * np.minimum(_SHORT, _SHORT_OF_ARC * f.angle[beside])).max())
