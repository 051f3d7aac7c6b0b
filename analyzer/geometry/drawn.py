"""What was drawn for one run, in travel order, before its bends are read."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from itertools import pairwise

import numpy as np

from analyzer.errors import InputError
from analyzer.geometry.segments import Floats, Segment, Vector, norm

__all__ = ["NOT_WRITTEN", "DrawnAs", "DrawnEdge", "DrawnPath", "WrittenEnds", "WrittenPlace"]


class DrawnAs(Enum):
    """How an edge stands in the file."""

    LINE = "line"
    ARC = "arc"
    SPLINE = "spline"


@dataclass(frozen=True, slots=True)
class WrittenPlace:
    """An end of a line by the numbers of the file, which tell how finely they were rounded.

    Attributes
    ----------
    place_m : (3,) float
        In the coordinates it was written in, such as those of a block or of a tilted plane. [m]
    scale : float
        Largest factor by which these are stretched where the line stands.
    frame : str
        Which coordinates these are: those of a block or of a tilted plane have a name of their
        own; empty for those of the drawing.
    """

    place_m: Vector
    scale: float = 1.0
    frame: str = ""


WrittenEnds = tuple[WrittenPlace | None, WrittenPlace | None]
"""Start and end of a line as written; None for what the file does not write."""

NOT_WRITTEN: WrittenEnds = (None, None)
"""Of a line that the file does not hold, such as one over a gap."""


@dataclass(frozen=True, slots=True)
class DrawnEdge:
    """One drawn piece: a line, a true arc, or one arc of a spline's arc-by-arc representation.

    Attributes
    ----------
    segment : Segment
        Its geometry. [m]
    drawn_as : DrawnAs
        Line edges may stand for chords; arc and spline edges are taken exactly.
    curve : int
        Number of the spline an edge came from, so that its arcs stay together; -1 otherwise.
    bridged_m : float
        Widest gap that was bridged at one of its ends, or in it: its ends are known no better.
        0 where all ends met. [m]
    written : pair of WrittenPlace or None
        Start and end as the file has them, None at an end that the file does not write; where
        there is no pair, the ends of the segment are as written.
    """

    segment: Segment
    drawn_as: DrawnAs = DrawnAs.LINE
    curve: int = -1
    bridged_m: float = 0.0
    written: WrittenEnds | None = None

    @property
    def written_ends(self) -> WrittenEnds:
        """Start and end as the file has them."""
        if self.written is not None:
            return self.written
        return WrittenPlace(self.segment.start_m), WrittenPlace(self.segment.end_m)

    def reversed(self) -> DrawnEdge:
        """Return the edge traveled the other way, no gap bridged."""
        written = self.written and (self.written[1], self.written[0])
        return DrawnEdge(self.segment.reversed(), self.drawn_as, self.curve, written=written)

    def moved_to(self, segment: Segment) -> DrawnEdge:
        """Return the edge with its ends moved, which stay as written; no gap bridged."""
        written = self.written_ends if self.drawn_as is DrawnAs.LINE else None
        return replace(self, segment=segment, bridged_m=0.0, written=written)


@dataclass(frozen=True, slots=True)
class DrawnPath:
    """One open path as drawn: edges joined end to end.

    Attributes
    ----------
    edges : tuple of DrawnEdge
        In order of travel.
    corner_radius_m : tuple of float or None
        Radius asked for at each vertex (one more than edges; the ends are ignored), from a
        CSV column; None where the file names none. Empty means none anywhere. [m]
    name : str
        Run name from the file; empty when it has none.
    where : str
        What a message should point at: rows of a CSV, layer and handles of a drawing.
    vertex_names : tuple of str
        Name of each vertex in the file, such as ``row 32``; empty where they have none.
    """

    edges: tuple[DrawnEdge, ...]
    corner_radius_m: tuple[float | None, ...] = ()
    name: str = ""
    where: str = ""
    vertex_names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not self.edges:
            raise InputError("a drawn path needs at least one edge")
        for index, (before, after) in enumerate(pairwise(self.edges)):
            end, start = before.segment.end_m, after.segment.start_m
            gap = norm((end[0] - start[0], end[1] - start[1], end[2] - start[2]))
            if gap > 1e-6:
                raise InputError(f"edges {index} and {index + 1} are {gap:.3g} m apart")
        if self.corner_radius_m and len(self.corner_radius_m) != len(self.edges) + 1:
            raise InputError("corner_radius_m holds one entry a vertex")
        if self.vertex_names and len(self.vertex_names) != len(self.edges) + 1:
            raise InputError("vertex_names holds one entry a vertex")

    @property
    def vertices_m(self) -> Floats:
        """Vertices between and at the ends of edges, shape (n + 1, 3). [m]"""
        starts: list[Vector] = [edge.segment.start_m for edge in self.edges]
        return np.array([*starts, self.edges[-1].segment.end_m], dtype=float)
