"""Fittings that stand on lines left out by the layer patterns of the job, not on runs read.

Where one layer of a floor is read, the boxes of all others would each be too far from its runs.
Walls are left out by layer too, so a fitting goes with such a line only where it stands far from
every run seen from above as well: one that is drawn beside its run, or below it, stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.findings import Finding, Severity
from analyzer.geometry.segments import Floats, Straight, norm
from analyzer.geometry.vectors import minus
from analyzer.importers.chaining.chains import Chain
from analyzer.importers.drawings.edges import piece_points
from analyzer.importers.drawings.left_out_curves import NOT_NAMED, LeftOutCurve
from analyzer.importers.drawings.whole_entities import is_place
from analyzer.importers.drawn_file import DrawnFitting
from analyzer.importers.edge_touches import EdgeArrays, edge_touches
from analyzer.importers.near_points import COINCIDENT_M
from analyzer.importers.told_places import UnitText, place_list
from analyzer.job.words import sentence_list
from analyzer.units import LengthUnit, ft

__all__ = ["without_left_out"]

_APART_M = ft(5)  # no box is drawn so far beside its run (common practice)
_PARTS = 32  # of a curve, as straight pieces
_NAMED = 20


def without_left_out(
    fittings: Sequence[DrawnFitting],
    curves: Sequence[LeftOutCurve],
    chains: Sequence[Chain],
    snap_m: float,
    unit: LengthUnit,
) -> tuple[tuple[DrawnFitting, ...], tuple[str, ...], list[Finding]]:
    """Return the fittings that may stand on runs, the names of the others, and a note on these.

    Parameters
    ----------
    fittings : sequence of DrawnFitting
        Of the drawing. [m]
    curves : sequence of LeftOutCurve
        In drawing units.
    chains : sequence of Chain
        The runs. [m]
    snap_m : float
        How far from a line a fitting may stand. [m]
    unit : LengthUnit
        Unit of the drawing.
    """
    unnamed = [curve for curve in curves if curve.reason == NOT_NAMED]
    if not unnamed or not fittings:
        return tuple(fittings), (), []
    runs = [_Line(chain.layout, chain.layer, _chain_points(chain)) for chain in chains]
    apart_m = max(_APART_M, snap_m)
    beside = _lines_under(fittings, runs, apart_m, from_above=True)
    afar = [index for index in range(len(fittings)) if index not in beside]
    lines = _outlines(unnamed, float(unit.factor)) if afar else []
    found = _lines_under([fittings[index] for index in afar], lines, snap_m, from_above=False)
    under = {afar[place]: line for place, line in found.items()}
    if not under:
        return tuple(fittings), (), []
    names = tuple(dict.fromkeys(fittings[index].name for index in sorted(under)))
    more = "" if len(names) <= _NAMED else f" and {len(names) - _NAMED} more"
    what = "1 fitting stands" if len(under) == 1 else f"{len(under)} fittings stand"
    text = (
        f"{what} on lines left out by layers under [drawing], {UnitText(unit).length(apart_m)} or "
        f"more from every run that is read, and left out with them: "
        f"{sentence_list(names[:_NAMED])}{more}. Move what belongs to a run that is read onto it"
    )
    layers = dict.fromkeys(f"layer {under[index].layer}" for index in sorted(under))
    kept = tuple(one for index, one in enumerate(fittings) if index not in under)
    note = Finding("fitting-left-out", Severity.NOTE, text, place_list(list(layers)))
    return kept, names, [note]


@dataclass(frozen=True, slots=True)
class _Line:
    """A line as straight pieces between points. [m]"""

    layout: str
    layer: str
    points: Floats


def _lines_under(
    fittings: Sequence[DrawnFitting], lines: Sequence[_Line], reach_m: float, *, from_above: bool
) -> dict[int, _Line]:
    """Return a line of its layout within reach of each fitting that has one, by its index.

    Of its insertion point or the middle of its symbol, half of which reaches farther from above.
    Where lines are too dense to be compared, from above all fittings count as within reach, so that
    none is taken for far.
    """
    found: dict[int, _Line] = {}
    for layout in {fitting.layout for fitting in fittings}:
        mine = [line for line in lines if line.layout == layout]
        places, owners, reaches = [], [], []
        for index, fitting in enumerate(fittings):
            if fitting.layout != layout:
                continue
            for point, half_m in _points(fitting):
                places.append(point)
                owners.append(index)
                reaches.append(reach_m + (half_m if from_above else 0.0))
        if not mine:
            continue
        flat = np.array([1.0, 1.0, 0.0 if from_above else 1.0])
        edges, line_of = _edges(mine, flat)
        touches = edge_touches(edges, np.array(places) * flat, max(reaches))
        if touches is None:
            found |= dict.fromkeys(owners, mine[0]) if from_above else {}
            continue
        near = touches.only(touches.away_m <= np.array(reaches)[touches.point])
        for edge, point in zip(near.edge.tolist(), near.point.tolist(), strict=True):
            found.setdefault(owners[point], mine[line_of[edge]])
    return found


def _points(fitting: DrawnFitting) -> list[tuple[Floats, float]]:
    """Return where a fitting stands, and half the size of its symbol. [m]"""
    if fitting.extents_m is None:
        return [(np.array(fitting.position_m), 0.0)]
    low, high = fitting.extents_m
    half_m = norm(minus(high, low)) / 2.0
    middle = (np.array(low) + np.array(high)) / 2.0
    return [(np.array(fitting.position_m), half_m), (middle, half_m)]


def _edges(lines: Sequence[_Line], flat: Floats) -> tuple[EdgeArrays, list[int]]:
    """Return the pieces of lines, and the line each is of; a riser from above is a short piece."""
    starts = np.concatenate([line.points[:-1] for line in lines]) * flat
    chords = np.concatenate([np.diff(line.points, axis=0) for line in lines]) * flat
    counts = [len(line.points) - 1 for line in lines]
    line_of = np.repeat(np.arange(len(lines)), counts)
    chords[np.linalg.norm(chords, axis=1) < COINCIDENT_M] = (COINCIDENT_M, 0.0, 0.0)
    none, zeros = np.zeros(len(chords), dtype=bool), np.zeros(len(chords))
    rows = np.zeros((len(chords), 3))
    lengths = np.linalg.norm(chords, axis=1)
    edges = EdgeArrays(starts, lengths, chords, none, zeros, zeros, rows, rows)
    return edges, line_of.tolist()


def _chain_points(chain: Chain) -> Floats:
    """Return points along a run, curves in parts. [m]"""
    segments = [edge.segment for edge in chain.path.edges]
    rows = [np.array([segments[0].start_m])]
    for segment in segments:
        count = 1 if isinstance(segment, Straight) else _PARTS
        rows.append(segment.points_at(np.linspace(0.0, segment.length_m, count + 1)[1:]))
    return np.concatenate(rows)


def _outlines(curves: Sequence[LeftOutCurve], factor: float) -> list[_Line]:
    """Return left-out curves as lines in meters, without those that cannot be followed."""
    found = []
    for curve in curves:
        try:
            points = [point for piece in curve.pieces for point in piece_points(piece, _PARTS)]
        except Exception:  # what is left out may be damaged in any way: that stops nothing
            continue
        if points and all(map(is_place, points)):
            found.append(_Line(curve.layout, curve.layer, np.array(points) * factor))
    return found
