"""A run: one raceway from end to end with its fittings placed; a route: the runs of a file."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.findings import Finding
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import Bend, ReadAs
from analyzer.geometry.segments import Vector
from analyzer.job.settings import FittingKind, Passage

__all__ = ["SAME_PLACE_M", "Fitting", "Route", "Run", "RunInput"]

SAME_PLACE_M = 1e-6
"""Stations nearer than this are one place on a run. [m]"""


@dataclass(frozen=True, slots=True)
class RunInput:
    """The file a run was read from.

    `length_unit` may name several where columns differ, such as ``ft, in``.
    `length_unit_from` says who named the unit: ``file``, ``header``, ``job`` or ``option``.
    `extents_m` is the lower and the upper corner of everything read. [m]
    """

    file: str
    sha256: str
    reader: str
    length_unit: str
    length_unit_from: str
    extents_m: tuple[Vector, Vector]


@dataclass(frozen=True, slots=True)
class Fitting:
    """A fitting on the centerline; the first and last of a run are its ends.

    Attributes
    ----------
    name : str
        Name people see; an unnamed end is ``start`` or ``end``.
    kind : FittingKind
        What it is.
    station_m : float
        Where it stands along the run. [m]
    position_m : (3,) float
        Its place on the centerline. [m]
    pull_point : bool
        Whether it ends a leg.
    passage : Passage
        How conductors pass; of no meaning at an end.
    passage_stated : bool
        False where refeed is only the default.
    feed_tension_n : float or None
        Its own feed tension; None: the job's. [N]
    size_m : tuple of float or None
        Outside dimensions where stated. [m]
    """

    name: str
    kind: FittingKind
    station_m: float
    position_m: Vector
    pull_point: bool
    passage: Passage
    passage_stated: bool
    feed_tension_n: float | None = None
    size_m: tuple[float, ...] | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """One raceway from end to end.

    Attributes
    ----------
    name : str
        Run name, unique in an analysis.
    input : RunInput
        The file it came from.
    centerline : Centerline
        Straights and arcs.
    bends : tuple of Bend
        In order, corners in fittings included.
    fittings : tuple of Fitting
        In order of station; both ends are always there.
    read_as : ReadAs
        How it was read.
    deviation_m : float
        Greatest distance to the drawn points. [m]
    findings : tuple of Finding
        Everything found while reading this run.
    rounding_m : float
        Grid that the file rounds coordinates to. [m]
    """

    name: str
    input: RunInput
    centerline: Centerline
    bends: tuple[Bend, ...]
    fittings: tuple[Fitting, ...]
    read_as: ReadAs
    deviation_m: float
    findings: tuple[Finding, ...] = ()
    rounding_m: float = 0.0

    def turned_inside_rad(self, fitting: Fitting) -> float:
        """Return how much a fitting's own corner turns; 0 where it holds none. [rad]"""
        return sum(
            bend.angle_rad
            for bend in self.bends
            if bend.in_fitting and abs(bend.station_m - fitting.station_m) < SAME_PLACE_M
        )

    def corners_passed(self) -> tuple[tuple[Fitting, float], ...]:
        """Return the fittings that conductors pass through on a corner, and its turn. [rad]"""
        return tuple(
            (fitting, turned)
            for fitting, turned in self.corners_inside()
            if not (fitting.pull_point and fitting.passage is Passage.REFEED)
        )

    def corners_inside(self) -> tuple[tuple[Fitting, float], ...]:
        """Return the fittings on the way that hold a corner, and its turn. [rad]"""
        return tuple(
            (fitting, turned)
            for fitting in self.fittings[1:-1]
            if (turned := self.turned_inside_rad(fitting)) > 0.0
        )


@dataclass(frozen=True, slots=True)
class Route:
    """What one file gives.

    Attributes
    ----------
    input : RunInput
        The file.
    runs : tuple of Run
        Its runs, in the order of the file.
    findings : tuple of Finding
        Findings of the file that belong to no single run; those that may concern any of several
        runs stand on each of them too.
    """

    input: RunInput
    runs: tuple[Run, ...]
    findings: tuple[Finding, ...] = ()
