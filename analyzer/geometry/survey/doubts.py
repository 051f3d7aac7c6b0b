"""What stays open beside a fit: models that explain the points about as well."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analyzer.geometry.segments import Floats
from analyzer.geometry.survey.chain import frames, turn_at
from analyzer.geometry.survey.fit import ChainFit

__all__ = ["Doubts", "add_doubts", "bare_ends", "no_doubts", "reported_angles"]


@dataclass(frozen=True, slots=True)
class Doubts:
    """What other lengths of straights add to the variances of a chain, by its corners.

    Attributes
    ----------
    angles_rad2, radii_m2 : (m,) float
        Added to the variance of every angle and radius. [rad2] [m2]
    open_m : (m + 1, 2) float
        The shortest and the longest straight before every bend, and after the last, that the
        points do not rule out; zero where its length is told. [m]
    open_rad : (m + 1,) float
        How far the angles beside it move with them. [rad]
    shared_rad : (m + 1, 2) float
        Least and greatest angle of the bend before it where it and the next share their turn in
        a way that the points hardly tell; zero elsewhere. [rad]
    """

    angles_rad2: Floats
    radii_m2: Floats
    open_m: Floats
    open_rad: Floats
    shared_rad: Floats


def bare_ends(fit: ChainFit) -> tuple[bool, bool]:
    """Return whether the first and the last bend have no points on their outer straight."""
    side, cuts = fit.side, fit.chain.cuts
    first, last = side[: cuts[1]], side[cuts[-2] :]
    return bool(first.size and not (first < 0).any()), bool(last.size and not (last > 0).any())


def reported_angles(points: Floats, fit: ChainFit) -> Floats:
    """Return the angle of every corner; at an end without a straight up to the end point's foot."""
    chain = fit.chain
    angles = frames(chain).angle.copy()
    whole = angles[-1]
    start, end = bare_ends(fit)
    if start:
        angles[0] -= turn_at(points[0], chain, 0)[0]
    if end:
        angles[-1] -= whole - turn_at(points[-1], chain, angles.size - 1)[0]
    return np.asarray(angles)


def no_doubts(bends: int) -> Doubts:
    """Return doubts that add nothing to so many corners."""
    lengths, shares = np.zeros((2, bends + 1, 2))
    return Doubts(np.zeros(bends), np.zeros(bends), lengths, np.zeros(bends + 1), shares)


def add_doubts(doubts: Doubts, more: Doubts) -> None:
    """Add what one straight or share leaves open to what is open already."""
    for field in ("angles_rad2", "radii_m2", "open_m", "open_rad", "shared_rad"):
        getattr(doubts, field)[...] += getattr(more, field)
