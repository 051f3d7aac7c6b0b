"""The trainer's lesson: the same run with 0, 1, 2, ... boxes, in sums students can check by hand.

By hand a leg is summed up straight by straight and bend by bend: a straight adds
w L (sin p + k cos p), a bend multiplies by e^(k a), the capstan form, which leaves out the
weight of the conductors inside bends. The solver's figure, with that weight, stands beside it.
All at expected friction, each leg in the direction that counts for it; where the lubricant ends
on the way, straights and bends are cut there and k is that of the solver on either side.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from analyzer.job.settings import Job
from analyzer.pulling.groups import ConductorGroup, conductor_group
from analyzer.pulling.pulls import pull_through
from analyzer.pulling.results import Direction
from analyzer.pulling.sections import friction_along
from analyzer.pulling.string_model import CornerPiece, Piece, StraightPiece
from analyzer.route.run import Run
from analyzer.studies.boxes import BoxStudy
from analyzer.studies.boxes_placements import Placement, PulledLeg
from analyzer.studies.ways import way_of_leg

__all__ = ["HandLeg", "HandStep", "Lesson", "LessonRow", "hand_leg", "make_lesson"]


@dataclass(frozen=True, slots=True)
class HandStep:
    """One straight or one bend of a hand sum.

    Attributes
    ----------
    length_m, up : float
        Of a straight: its length, and the upward part of its direction of travel; length 0 for a
        bend. [m]
    angle_rad : float
        Of a bend; 0 for a straight. [rad]
    friction : float
        Effective friction k.
    before_n, after_n : float
        Tension before and after. [N]
    is_dry : bool
        Whether it lies beyond the reach of the lubricant.
    """

    length_m: float
    up: float
    angle_rad: float
    friction: float
    before_n: float
    after_n: float
    is_dry: bool = False


@dataclass(frozen=True, slots=True)
class HandLeg:
    """A leg summed up by hand, in the direction it is pulled.

    Attributes
    ----------
    name, feed_at, pull_at : str
        Leg and its ends.
    feed_n : float
        Tension it starts with. [N]
    steps : tuple of HandStep
        In the direction of travel.
    by_hand_n, by_solver_n : float
        Greatest tension by hand, and with the weight inside bends. [N]
    """

    name: str
    feed_at: str
    pull_at: str
    feed_n: float
    steps: tuple[HandStep, ...]
    by_hand_n: float
    by_solver_n: float


@dataclass(frozen=True, slots=True)
class LessonRow:
    """The run with so many boxes.

    Attributes
    ----------
    placement : Placement
        Boxes and legs.
    legs : tuple of HandLeg
        Every leg by hand.
    refed_n, through_n : float
        Greatest tension with the conductors taken out and fed again at every box, and with them
        passed straight through all of them, in the better direction. [N]
    ratio : float or None
        How many times smaller `refed_n` is than without added boxes; None where it is 0.
    """

    placement: Placement
    legs: tuple[HandLeg, ...]
    refed_n: float
    through_n: float
    ratio: float | None


@dataclass(frozen=True, slots=True)
class Lesson:
    """The lesson of one run.

    Attributes
    ----------
    study : BoxStudy
        Where the placements come from.
    rows : tuple of LessonRow
        With 0, 1, 2, ... boxes.
    weight_n_per_m, friction, weight_factor, friction_in_bends : float
        What the sums use; `friction` and `friction_in_bends` are effective. [N/m]
    dry, dry_in_bends : float or None
        Effective friction beyond the reach of the lubricant; None without a reach.
    """

    study: BoxStudy
    rows: tuple[LessonRow, ...]
    weight_n_per_m: float
    friction: float
    weight_factor: float
    friction_in_bends: float
    dry: float | None = None
    dry_in_bends: float | None = None


def make_lesson(study: BoxStudy) -> Lesson:
    """Return the lesson of a study of boxes."""
    job = study.job
    group = conductor_group(job)
    factor, plain = group.weight_factor, job.pull.friction.expected
    bend_factor = factor if job.pull.weight_factor_in_bends else 1.0
    rows: list[LessonRow] = []
    for placement in study.trade_off:
        legs = tuple(hand_leg(placement, item, job, group) for item in placement.legs)
        refed = max(item.pull.expected.max_tension_n for item in placement.legs)
        through = _through(placement.run, study)
        first = rows[0].refed_n if rows else refed
        rows.append(
            LessonRow(placement, legs, refed, through, first / refed if refed > 0.0 else None)
        )
    dry = job.pull.dry_friction if job.pull.lubricant_reach_m is not None else None
    worse = None if dry is None else max(plain, dry)
    return Lesson(
        study,
        tuple(rows),
        job.pulling_weight_n_per_m,
        plain * factor,
        factor,
        plain * bend_factor,
        None if worse is None else worse * factor,
        None if worse is None else worse * bend_factor,
    )


def hand_leg(placement: Placement, item: PulledLeg, job: Job, group: ConductorGroup) -> HandLeg:
    """Return a leg summed up by hand.

    Parameters
    ----------
    placement : Placement
        The run it belongs to, with its boxes.
    item : PulledLeg
        The leg and its pull.
    job, group : Job, ConductorGroup
        Weight, and friction along the way.
    """
    pull = item.pull
    legs = [other.leg for other in placement.legs]
    way = way_of_leg(placement.run, legs, item.leg, pull.direction, job, group)
    expected = [job.pull.friction.expected]
    pieces, k, dry = friction_along(way.section.pieces, job, group, expected, way.gone_m)
    weight = job.pulling_weight_n_per_m
    tension = greatest = pull.feed_tension_n
    steps: list[HandStep] = []
    for piece, friction, is_dry in zip(pieces, k[:, 0].tolist(), dry, strict=True):
        before = tension
        if isinstance(piece, StraightPiece):
            rate = weight * (piece.up + friction * piece.across)
            tension = max(before + rate * piece.length_m, 0.0)
            step = HandStep(piece.length_m, piece.up, 0.0, friction, before, tension, is_dry)
        else:
            angle = _angle(piece)
            tension = before * exp(friction * angle)
            step = HandStep(0.0, 0.0, angle, friction, before, tension, is_dry)
        greatest = max(greatest, tension)
        steps.append(step)
    return HandLeg(
        item.leg.name,
        pull.feed_at,
        pull.pull_at,
        pull.feed_tension_n,
        tuple(steps),
        greatest,
        pull.expected.max_tension_n,
    )


def _angle(piece: Piece) -> float:
    if isinstance(piece, CornerPiece):
        return piece.angle_rad
    assert not isinstance(piece, StraightPiece)
    return piece.shape.angle_rad


def _through(run: Run, study: BoxStudy) -> float:
    pulls = [pull_through(run, study.job, direction) for direction in Direction]
    fixed = study.job.boxes.direction
    if fixed != "better":
        pulls = [pull for pull in pulls if pull.direction.value == fixed]
    return min(pull.expected.max_tension_n for pull in pulls)
