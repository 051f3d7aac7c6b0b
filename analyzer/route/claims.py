"""Fittings on their way to a run, and how messages name the entries of the job behind them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from analyzer.findings import Finding
from analyzer.geometry.segments import Vector
from analyzer.job.settings import FittingEntry, FittingKind
from analyzer.job.words import sentence_list
from analyzer.route.paths import Extents, FoundFitting

__all__ = [
    "END",
    "END_NAMES",
    "START",
    "TOUCHING_M",
    "Claim",
    "Claims",
    "drawn_claim",
    "entry_place",
    "named_end_message",
]

START = 0
"""First end of a run, as a claim names it."""

END = 1
"""Last end of a run, as a claim names it."""

END_NAMES = ("start", "end")
"""Names of ends that nothing else names."""

TOUCHING_M = 1e-6
"""A symbol nearer than this is drawn on the line. [m]"""


@dataclass(frozen=True, slots=True)
class Claim:
    """A fitting on its way to a run: by point, by vertex of the path, or by station.

    Attributes
    ----------
    name, where : str
        As drawn, or from the job.
    kind : FittingKind or None
        None where neither says.
    run : int
        Index of its run.
    point_m : (3,) float or None
        Where it stands; None for a station. [m]
    vertex : int or None
        Vertex of the drawn path it stands on.
    at_m : float or None
        Station the job asks for. [m]
    end : int or None
        0 or 1 where it names that end of the run.
    away_m : float
        Distance from that end. [m]
    entry : FittingEntry or None
        Settings of the job.
    extents_m : two (3,) float or None
        Corners of its drawn symbol. [m]
    by_symbol : bool
        It stands on the run by its symbol, its insertion point is too far off.
    numbered : str
        What it shares with others where its name is that and a number; else empty.
    """

    name: str
    kind: FittingKind | None
    run: int
    where: str
    point_m: Vector | None = None
    vertex: int | None = None
    at_m: float | None = None
    end: int | None = None
    away_m: float = 0.0
    entry: FittingEntry | None = None
    extents_m: Extents | None = None
    by_symbol: bool = False
    numbered: str = ""

    @property
    def place_m(self) -> Vector | None:
        """Where it stands: its insertion point, or the middle of its symbol. [m]"""
        if not self.by_symbol or self.extents_m is None:
            return self.point_m
        (x0, y0, z0), (x1, y1, z1) = self.extents_m
        return ((x0 + x1) / 2.0, (y0 + y1) / 2.0, (z0 + z1) / 2.0)


@dataclass(frozen=True, slots=True)
class Claims:
    """All claims of a file.

    Attributes
    ----------
    claims : list of Claim
        Every fitting with its run.
    end_entries : dict of (run, end) to FittingEntry
        Settings of ends that nothing names.
    findings : list of list of Finding
        For each run.
    """

    claims: list[Claim] = field(default_factory=list)
    end_entries: dict[tuple[int, int], FittingEntry] = field(default_factory=dict)
    findings: list[list[Finding]] = field(default_factory=list)


def drawn_claim(fitting: FoundFitting, run: int) -> Claim:
    """Return a fitting of the file as a claim on a run."""
    return Claim(
        fitting.name,
        fitting.kind,
        run,
        fitting.where,
        fitting.position_m,
        extents_m=fitting.extents_m,
        numbered=fitting.numbered,
    )


def entry_place(entry: FittingEntry) -> str:
    """Return how a message names an entry of the job."""
    return f'[[fittings]] "{entry.name}"'


def named_end_message(entry: FittingEntry, names: Sequence[str]) -> str:
    """Return what to say where an entry means an unnamed end that has a name."""
    return (
        f"{entry_place(entry)} means an end without a name, but that end is called "
        f"{sentence_list(dict.fromkeys(names))}: use this name"
    )
