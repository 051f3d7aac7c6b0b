"""What a route file holds, in meters, before bends are read and fittings are placed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import compress

from analyzer.findings import Finding
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.segments import Vector
from analyzer.job.settings import FittingKind

__all__ = ["FARTHEST_M", "DrawnFile", "DrawnFitting", "PathSource"]

FARTHEST_M = 1e8
"""Coordinates beyond this are none: those of grids on the earth stay below 5e7. [m]"""


@dataclass(frozen=True, slots=True)
class DrawnFitting:
    """A fitting found in the file: a block reference, or a CSV row with a fitting kind.

    Attributes
    ----------
    name : str
        Its label; made from kind and number where the file has none.
    kind : FittingKind
        Its kind.
    position_m : (3,) float
        Where it stands. [m]
    where : str
        Layer and handle, or row.
    path : int or None
        Index of the path it belongs to where the file says so (CSV), else None.
    vertex : int or None
        Index of its vertex on that path where it stands on one (CSV), else None.
    extents_m : two (3,) float or None
        Lower and upper corner of its drawn symbol; None where it draws nothing, or more than a
        box or panel would. [m]
    layout : str
        Paper space layout it stands in; empty in model space and in a file of points.
    numbered : str
        What it shares with others where its name is that and a number; else empty.
    """

    name: str
    kind: FittingKind
    position_m: Vector
    where: str
    path: int | None = None
    vertex: int | None = None
    extents_m: tuple[Vector, Vector] | None = None
    layout: str = ""
    numbered: str = ""


@dataclass(frozen=True, slots=True)
class PathSource:
    """What a path was made of, by which findings on the file are told to concern it.

    Attributes
    ----------
    entities : frozenset of str
        Handles of its entities and of the block references they stand in; rows such as ``row 12``.
    layers : frozenset of str
        Layers of its entities; none in a file of points.
    layout : str
        Paper space layout it stands in; empty in model space and in a file of points.
    """

    entities: frozenset[str]
    layers: frozenset[str] = frozenset()
    layout: str = ""


@dataclass(frozen=True, slots=True)
class DrawnFile:
    """Everything read from one file, unit settled.

    Attributes
    ----------
    reader : str
        ``dxf`` or ``csv``.
    length_unit, length_unit_from : str
        Unit, and who named it: ``file``, ``header``, ``job`` or ``option``.
    extents_m : two (3,) float
        Lower and upper corner of the paths. [m]
    paths : tuple of DrawnPath
        Open paths in travel order, one a run.
    fittings : tuple of DrawnFitting
        All fittings found.
    findings : tuple of Finding
        Repairs, gaps, branches, loops, and whatever else a person should know.
    ordered : tuple of bool
        For each path, whether the file itself gives its order of travel (CSV, one polyline).
    marks : tuple of tuple of ((3,) float, str)
        For each path, its drawn points and what stands there: a row, or layer and handle. [m]
    sources : tuple of PathSource
        For each path, what it was made of; empty where nothing of the findings needs it.
    numbered : tuple of int
        Indices of the paths whose name is that of several and a number.
    left_out : tuple of str
        Names of fittings that were left out with the lines they stand on.
    """

    reader: str
    length_unit: str
    length_unit_from: str
    extents_m: tuple[Vector, Vector]
    paths: tuple[DrawnPath, ...]
    fittings: tuple[DrawnFitting, ...]
    findings: tuple[Finding, ...]
    ordered: tuple[bool, ...]
    marks: tuple[tuple[tuple[Vector, str], ...], ...] = ()
    sources: tuple[PathSource, ...] = ()
    numbered: tuple[int, ...] = ()
    left_out: tuple[str, ...] = ()

    @property
    def layouts(self) -> list[str]:
        """The layout that each path is drawn in."""
        return [source.layout for source in self.sources] or [""] * len(self.paths)

    def keeping(self, keep: Sequence[bool]) -> DrawnFile:
        """Return the file with some of its paths only, and without the fittings on the others.

        What is told of the file as a whole stays: extents, findings, names left out.

        Parameters
        ----------
        keep : sequence of bool
            For each path, whether it stays.
        """
        now = {old: new for new, old in enumerate(compress(range(len(keep)), keep))}
        return replace(
            self,
            paths=tuple(compress(self.paths, keep)),
            fittings=tuple(
                one if one.path is None else replace(one, path=now[one.path])
                for one in self.fittings
                if one.path is None or one.path in now
            ),
            ordered=tuple(compress(self.ordered, keep)),
            marks=tuple(compress(self.marks, keep)),
            sources=tuple(compress(self.sources, keep)),
            numbered=tuple(now[index] for index in self.numbered if index in now),
        )
