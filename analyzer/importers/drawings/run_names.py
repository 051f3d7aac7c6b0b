"""Names of the runs of a drawing: text beside a line where asked for, else the layer."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from analyzer.findings import Finding, Severity
from analyzer.geometry.drawn import DrawnPath
from analyzer.geometry.segments import Floats, Vector
from analyzer.importers.chaining.chains import Chain, UnitText
from analyzer.importers.drawings.drawn_texts import DrawnText
from analyzer.units import LengthUnit

__all__ = ["named_by_text", "run_names"]

_REACH_HEIGHTS = 4.0  # a label stands within a few letters of its line (common practice)


def named_by_text(
    chains: Sequence[Chain], texts: Sequence[DrawnText], unit: LengthUnit, snap_m: float
) -> tuple[dict[int, str], list[Finding]]:
    """Return names for chains from the texts beside them, and what was done with each text.

    A text names the nearest chain if it stands within four of its own heights or the snap
    distance of it, whichever is more; each chain takes the nearest of its texts.

    Parameters
    ----------
    chains : sequence of Chain
        Runs. [m]
    texts : sequence of DrawnText
        In drawing units.
    unit : LengthUnit
        Unit of the drawing.
    snap_m : float
        Snap distance of the job. [m]
    """
    if not texts:
        return {}, []
    factor, shown = float(unit.factor), UnitText(unit)
    beside: dict[int, list[tuple[float, DrawnText]]] = defaultdict(list)
    findings = []
    outlines = [_outline(chain) for chain in chains]
    for text in texts:
        p = text.position
        at = (p[0] * factor, p[1] * factor, p[2] * factor)
        away = [_away(outline, at) for outline in outlines]
        index = int(np.argmin(away))
        reach = max(snap_m, _REACH_HEIGHTS * text.height * factor)
        where = f"layer {text.layer}, handle {text.handle}"
        if away[index] > reach:
            message = (
                f"the text {text.text!r} names no run: the nearest is "
                f"{shown.length(away[index])} away, more than {shown.length(reach)}"
            )
            findings.append(Finding("run-name-too-far", Severity.NOTE, message, where))
            continue
        beside[index].append((away[index], text))
    best = {index: min(found, key=lambda one: one[0]) for index, found in beside.items()}
    for index, found in beside.items():
        for text in (text for _, text in found if text is not best[index][1]):
            message = (
                f"the text {text.text!r} names no run: {best[index][1].text!r} stands nearer to "
                "the same run"
            )
            where = f"layer {text.layer}, handle {text.handle}"
            findings.append(Finding("run-name-unused", Severity.NOTE, message, where))
    for distance, text in best.values():
        message = f"a run is named {text.text!r} after the text {shown.length(distance)} beside it"
        where = f"layer {text.layer}, handle {text.handle}"
        findings.append(Finding("run-named-by-text", Severity.NOTE, message, where))
    return {index: text.text for index, (_, text) in best.items()}, findings


def _outline(chain: Chain) -> Floats:
    """Points along a chain, arcs at eight places."""
    rows = [np.asarray(chain.path.edges[0].segment.start_m)[None, :]]
    for edge in chain.path.edges:
        segment = edge.segment
        count = 8 if hasattr(segment, "center_m") else 1
        rows.append(segment.points_at([segment.length_m * (i + 1) / count for i in range(count)]))
    return np.concatenate(rows)


def _away(outline: Floats, p: Vector) -> float:
    """Distance of a point from a polyline. [m]"""
    start, way = outline[:-1], np.diff(outline, axis=0)
    square = np.maximum((way * way).sum(axis=1), 1e-300)
    share = np.clip(((np.asarray(p) - start) * way).sum(axis=1) / square, 0.0, 1.0)
    foot = start + share[:, None] * way
    return float(np.min(np.linalg.norm(foot - np.asarray(p), axis=1)))


def run_names(chains: Sequence[Chain], texts: dict[int, str]) -> tuple[DrawnPath, ...]:
    """Return the paths of chains with their names.

    A run takes the text beside it; without one the name of its layer where the drawing holds
    runs on several layers, with a number where a layer holds several. A run alone in its
    drawing stays unnamed.
    """
    layers = Counter(chain.layer for chain in chains)
    numbers: Counter[str] = Counter()
    taken: set[str] = set(texts.values())
    paths = []
    for index, chain in enumerate(chains):
        layer = chain.layer
        numbers[layer] += 1
        name = texts.get(index, "")
        if not name and len(layers) > 1:
            name = layer if layers[layer] == 1 else f"{layer} {numbers[layer]}"
            if name in taken:
                name = f"{name} (layer)"
        paths.append(replace(chain.path, name=name))
    return tuple(paths)
