"""A run with boxes added, pulled leg by leg by the solver."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analyzer.checks.directions import counted_directions
from analyzer.checks.joints import JointNeed, joint_need
from analyzer.checks.situation import at_most
from analyzer.job.settings import Job
from analyzer.pulling.pulls import pull_legs
from analyzer.pulling.results import Direction, Pull, Share
from analyzer.route.legs import Leg, split_into_legs
from analyzer.route.run import Run
from analyzer.studies.boxes_places import Stop
from analyzer.studies.what_if import add_box, replace_bend
from analyzer.units import to_deg

__all__ = ["BOX_CHECKS", "PlacedBox", "Placement", "PulledLeg", "place_boxes", "placed_box"]

BOX_CHECKS = (
    "bend-total",
    "leg-length",
    "conductor-tension",
    "grip-tension",
    "line-tension",
    "puller-tension",
    "tension-braked",
    "sidewall",
    "sidewall-braked",
    "joint",
)
"""Codes of the checks that a box can change."""


@dataclass(frozen=True, slots=True)
class PlacedBox:
    """A box added: its station on the run as drawn, and the bend it replaces, if any."""

    station_m: float
    replaces_bend: int | None = None


@dataclass(frozen=True, slots=True)
class PulledLeg:
    """A leg and the pull that counts for it; stations are those of the changed run."""

    leg: Leg
    pull: Pull

    @property
    def max_tension_n(self) -> float:
        """The larger of pulled (high friction) and held back (low friction). [N]"""
        return max(self.pull.high.max_tension_n, self.pull.braked.max_tension_n)

    @property
    def max_sidewall_n_per_m(self) -> float:
        """The larger of pulled (high friction) and held back (low friction). [N/m]"""
        return max(self.pull.high.max_sidewall_n_per_m, self.pull.braked.max_sidewall_n_per_m)


@dataclass(frozen=True, slots=True)
class Placement:
    """A run with boxes added, pulled leg by leg by the solver.

    Attributes
    ----------
    boxes : tuple of PlacedBox
        In order of station.
    run : Run
        The run with them.
    legs : tuple of PulledLeg
        Every leg in the direction it is pulled.
    max_tension_n, max_sidewall_n_per_m : float
        Greatest over the legs. [N] [N/m]
    bend_total_deg : float
        Greatest bend total of a leg. [deg]
    governing : Share or None
        The largest share of limit; None where nothing could be checked.
    failing : tuple of str
        Codes of the checks that a box can change and that fail.
    proven_share : float
        No placement with as many boxes has a greatest share below this, degrees and length
        counted where this placement keeps them.
    joints : JointNeed or None
        Boxes where the heads of its legs meet, so that conductors are cut and joined there, and the
        best pulling without that; None where no heads meet.
    """

    boxes: tuple[PlacedBox, ...]
    run: Run
    legs: tuple[PulledLeg, ...]
    max_tension_n: float
    max_sidewall_n_per_m: float
    bend_total_deg: float
    governing: Share | None
    failing: tuple[str, ...]
    proven_share: float = 0.0
    joints: JointNeed | None = None

    @property
    def count(self) -> int:
        """Number of boxes added."""
        return len(self.boxes)

    @property
    def passes(self) -> bool:
        """Whether every leg keeps every limit that a box can change and that could be checked."""
        return not self.failing

    @property
    def joint_count(self) -> int:
        """Joints without which a limit is passed, where it passes."""
        return len(self.joints.places) if self.joints is not None and self.joints.is_needed else 0

    @property
    def share_of_limit(self) -> float | None:
        """Largest share of limit; None where nothing could be checked."""
        return None if self.governing is None else self.governing.share


def placed_box(stop: Stop) -> PlacedBox:
    """Return the box that is added at a stop."""
    bend = int(stop.name.removeprefix("bend ")) if stop.name.startswith("bend ") else None
    return PlacedBox(stop.station_m, bend)


def place_boxes(run: Run, job: Job, boxes: Sequence[PlacedBox]) -> Placement:
    """Return a run with boxes added, pulled by the solver.

    Parameters
    ----------
    run : Run
        The run as it is.
    job : Job
        Its job; `boxes.direction` may fix the direction.
    boxes : sequence of PlacedBox
        In order of station.
    """
    changed = run
    # from the far end, so that a bend replaced moves no station still to be used
    for number in range(len(boxes), 0, -1):
        box, name = boxes[number - 1], f"New box {number}"
        if box.replaces_bend is not None:
            changed = replace_bend(changed, box.replaces_bend, name)
        else:
            changed = add_box(changed, box.station_m, job, name)
    legs, joints = _pulled_legs(changed, job)
    return Placement(
        boxes=tuple(boxes),
        run=changed,
        legs=legs,
        max_tension_n=max(item.max_tension_n for item in legs),
        max_sidewall_n_per_m=max(item.max_sidewall_n_per_m for item in legs),
        bend_total_deg=max(round(to_deg(item.leg.bend_total_rad), 3) for item in legs),
        governing=max(
            (share for item in legs for share in item.pull.shares),
            key=lambda share: share.share,
            default=None,
        ),
        failing=_failing(legs, job),
        joints=joints,
    )


def _pulled_legs(run: Run, job: Job) -> tuple[tuple[PulledLeg, ...], JointNeed | None]:
    legs = split_into_legs(run)
    forward = pull_legs(run, legs, job, Direction.FORWARD)
    reverse = pull_legs(run, legs, job, Direction.REVERSE)
    if job.boxes.direction == "better":
        ways = counted_directions(legs, forward, reverse)
    else:
        ways = (Direction(job.boxes.direction),) * len(legs)
    pulled = tuple(
        PulledLeg(leg, ahead if way is Direction.FORWARD else back)
        for leg, ahead, back, way in zip(legs, forward, reverse, ways, strict=True)
    )
    return pulled, joint_need(run, legs, forward, reverse, ways, job)


def _failing(legs: Sequence[PulledLeg], job: Job) -> tuple[str, ...]:
    limits = job.limits
    failing = {
        share.code
        for item in legs
        for share in item.pull.shares
        if not at_most(share.value, share.limit)
    }
    most = round(limits.degrees_between_pull_points, 3)
    if any(round(to_deg(item.leg.bend_total_rad), 3) > most for item in legs):
        failing.add("bend-total")
    longest = limits.length_between_pull_points_m
    if longest is not None and any(not at_most(item.leg.length_m, longest) for item in legs):
        failing.add("leg-length")
    return tuple(code for code in BOX_CHECKS if code in failing)
