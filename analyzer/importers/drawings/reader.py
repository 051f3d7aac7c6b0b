"""Reads a DXF drawing: open paths in meters, fittings, and everything worth knowing about them.

Assumes nothing about units: the file's own unit, else the job's, else an error that says what to
add. Sources: the DXF reference for the meaning of entities and variables.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from analyzer.errors import RouteError
from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.curves import smallest_radius
from analyzer.geometry.drawn import DrawnAs, DrawnEdge
from analyzer.geometry.segments import Arc, Vector
from analyzer.importers.chaining.chain_curves import chain_curves
from analyzer.importers.chaining.chains import Chain
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.drawings.block_units import block_unit_findings
from analyzer.importers.drawings.blocks import open_layouts
from analyzer.importers.drawings.cut_short import cut_short_told
from analyzer.importers.drawings.damaged_entities import damaged_entity_findings
from analyzer.importers.drawings.documents import OpenedDrawing, guarded, open_drawing
from analyzer.importers.drawings.drawn_fittings import (
    fitting_boxes,
    fitting_sources,
    fitting_stops,
    in_layouts_with_runs,
    kind_findings,
    placed_fittings,
    repeated_names,
    without_stacked,
)
from analyzer.importers.drawings.edges import entity_edges
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.fitting_symbols import FittingRule
from analyzer.importers.drawings.handles import handle_findings
from analyzer.importers.drawings.insunits import named_unit_code
from analyzer.importers.drawings.layer_choice import LayerChoice, choose_layers, matches
from analyzer.importers.drawings.left_out import (
    left_out_findings,
    no_open_path,
    nothing_to_read,
    paper_space_findings,
    unused_patterns,
)
from analyzer.importers.drawings.left_out_curves import left_out_between
from analyzer.importers.drawings.left_out_fittings import without_left_out
from analyzer.importers.drawings.pieces import EllipsePiece, is_circular
from analyzer.importers.drawings.readable_text import readable, readable_finding
from analyzer.importers.drawings.reference_clips import clip_findings
from analyzer.importers.drawings.repairs import LostRouteError, telling_damage
from analyzer.importers.drawings.route_pieces import standing_symbols, with_route_pieces
from analyzer.importers.drawings.run_labels import RunLabels, labeled_runs
from analyzer.importers.drawings.run_names import numbered_by_layer, run_names
from analyzer.importers.drawings.units import settled_unit
from analyzer.importers.drawings.unread_entities import unread_findings
from analyzer.importers.drawn_file import DrawnFile, PathSource
from analyzer.importers.places import Mark, curve_marks
from analyzer.importers.told_places import UnitText, place_list
from analyzer.job.settings import Job
from analyzer.units import LengthUnit

__all__ = ["asked_layouts", "drawn_curves", "read_drawing"]

_NOTED = frozenset({"spline-frame-read", "spline-frame-skipped"})
"""Remarks on an entity that change nothing about what it draws."""


def read_drawing(path: Path, job: Job) -> DrawnFile:
    """Read the routes of a DXF drawing.

    Parameters
    ----------
    path : Path
        DXF file, any version from R12 on, ASCII or binary.
    job : Job
        Its drawing settings choose layers, unit, fitting kinds and the joining distance.

    Returns
    -------
    DrawnFile
        One path a run. Fittings are looked for on every layer that is not hidden, whatever the
        layer patterns say.

    Raises
    ------
    RouteError
        If the file cannot be read, names no unit where the job names none either, or holds no
        open path.
    """
    opened = open_drawing(path)
    with telling_damage(opened.findings):
        return _read_opened(opened, path, job)


def _read_opened(opened: OpenedDrawing, path: Path, job: Job) -> DrawnFile:
    settings = job.drawing
    findings = list(opened.findings)
    with guarded(path, "reading the drawing"):
        choice = choose_layers(opened.document, settings.layers)
        text_layers = (
            LayerChoice(settings.name_layers, choice.states) if settings.name_layers else None
        )
        rule = FittingRule(settings.fitting_kinds)
        layouts = list(asked_layouts(opened.document, settings.layouts))
        held = open_layouts(opened.document, layouts, choice, rule, text_layers)
        findings += paper_space_findings(opened.document, settings.layouts)
        findings += unused_patterns(opened.document, held, settings) + handle_findings(
            held, opened.data, path.name
        )
        blocks = {str(layout.block_record_name) for _, layout in layouts}
        blocks = {name.lower() for name in (*blocks, *held.blocks)}
        findings += damaged_entity_findings(
            opened.data,
            opened.document.encoding,
            choice.is_wanted,
            lambda name: name.lower() in blocks,
            opened.is_recovered,
        )
    if not held.entities:
        cut = cut_short_told(opened.findings)
        error = RouteError if cut is None else LostRouteError
        raise error(nothing_to_read(path, held, choice, cut))
    unit, unit_from, more = settled_unit(path, opened.data, held.entities, job)
    held = with_route_pieces(held, unit, settings)
    findings += [*held.findings, *more]
    curves, drawn = drawn_curves(held.entities, unit, path)
    findings += drawn
    code = named_unit_code(opened.data)
    findings += block_unit_findings(tuple(held.unscaled.values()), held.entities, code)
    symbols, more = without_stacked(held.symbols)
    findings += more
    fittings = placed_fittings(symbols, float(unit.factor))
    boxes = fitting_boxes(symbols, fittings, float(unit.factor), job.fittings)
    stops = fitting_stops(fittings, job.fittings)
    labels = RunLabels({}, (), ())

    def names_of(chains: Sequence[Chain]) -> Sequence[str]:
        nonlocal labels
        labels = labeled_runs(chains, held.texts, unit, settings.snap_m, path.stem)
        return labels.shown

    with guarded(path, "joining the lines and arcs"):
        chains = chain_curves(
            curves,
            settings.join_m,
            settings.snap_m,
            boxes,
            unit,
            stops=stops,
            sources=fitting_sources(fittings, job.fittings),
            symbols=standing_symbols(symbols, held.entities, float(unit.factor)),
            names_of=names_of,
        )
    unread, told = unread_findings(held.unread, chains.chains, settings.join_m, unit)
    findings += [*chains.findings, *unread, *left_out_findings(held, choice, told)]
    reaches = settings.join_m, settings.snap_m
    findings += left_out_between(
        held.left_out_curves, chains.chains, (*boxes, *stops), *reaches, unit
    )
    if not chains.chains:
        raise RouteError(no_open_path(path, curves, chains, drawn, unit))
    fittings, more = in_layouts_with_runs(fittings, chains.chains)
    fittings, left_out, told_once = without_left_out(
        fittings, held.left_out_curves, chains.chains, settings.snap_m, unit
    )
    findings += told_once
    read = fittings, {entity.handle for entity in held.entities}
    findings += clip_findings(held.clipped, unit, read)
    findings += [*labels.findings, *kind_findings(symbols, unit), *repeated_names(fittings), *more]
    paths = run_names(chains.chains, labels.texts)
    extents = _extents(chains.chains)
    return DrawnFile(
        reader="dxf",
        length_unit=unit.value,
        length_unit_from=unit_from,
        extents_m=extents,
        paths=paths,
        fittings=fittings,
        findings=tuple(map(readable_finding, findings)),
        ordered=tuple(chain.is_ordered for chain in chains.chains),
        marks=tuple(_marks(chain) for chain in chains.chains),
        sources=tuple(_source(chain) for chain in chains.chains),
        numbered=numbered_by_layer(chains.chains, labels.texts),
        left_out=left_out,
    )


def drawn_curves(
    entities: Sequence[DrawnEntity], unit: LengthUnit, path: Path
) -> tuple[list[DrawnCurve], list[Finding]]:
    """Return entities as curves in meters, and what a person should know about them.

    Parameters
    ----------
    entities : sequence of DrawnEntity
        In drawing units.
    unit : LengthUnit
        The unit they are drawn in.
    path : Path
        The drawing, for messages.

    Raises
    ------
    RouteError
        If an entity cannot be followed, such as a spline with a cusp.
    """
    curves, empty, findings = [], [], []
    number = 0
    for entity in entities:
        where = f"layer {entity.layer}, {entity.kind} {entity.handle}"
        try:
            edges = entity_edges(entity, float(unit.factor), number)
        except RouteError as error:
            raise RouteError(f"{path.name}: {error}") from error
        number = max([number, *(edge.curve + 1 for edge in edges)])
        for code, text in entity.remarks:
            severity = Severity.NOTE if code in _NOTED else Severity.CAUTION
            findings.append(Finding(code, severity, text, where, _of(entity)))
        if not edges:
            empty.append(where)
            continue
        findings += _not_circular(entity, where) + _followed(entity, edges, unit, where)
        place = entity.kind, entity.layer, entity.handle
        curves.append(DrawnCurve(edges, *place, entity.is_closed, layout=entity.layout))
    if empty:
        one = len(empty) == 1
        message = (
            f"{len(empty)} {'entity' if one else 'entities'} without length left out; "
            f"delete {'it' if one else 'them'}"
        )
        findings.append(Finding("zero-length", Severity.NOTE, message, place_list(empty)))
    return curves, findings


def _not_circular(entity: DrawnEntity, where: str) -> list[Finding]:
    ellipses = [p for p in entity.pieces if isinstance(p, EllipsePiece) and not is_circular(p)]
    if not ellipses or entity.is_closed:
        return []
    if entity.kind == "ELLIPSE":
        text = "an elliptical arc: no bender makes it; represented by circular arcs"
    else:
        text = (
            "a block reference scaled unequally makes its arcs elliptical, no longer circular; "
            "represented by circular arcs. Scale the block equally, or draw the bend anew"
        )
    return [Finding("not-circular", Severity.CAUTION, text, where, _of(entity))]


def _of(entity: DrawnEntity) -> Concern:
    return Concern(entities=(entity.handle,))


def _followed(
    entity: DrawnEntity, edges: Sequence[DrawnEdge], unit: LengthUnit, where: str
) -> list[Finding]:
    """Say how a spline or ellipse is represented, and how tight it gets."""
    segments = [edge.segment for edge in edges if edge.drawn_as is DrawnAs.SPLINE]
    radius_m = smallest_radius(segments)
    if not segments or entity.is_closed or radius_m is None:
        return []
    message = (
        f"{entity.kind} followed by {len(segments)} arcs and straights, turning within 0.05° and "
        f"length within 1e-5 of the curve; smallest radius {UnitText(unit).length(radius_m)}"
    )
    return [Finding("curve-as-arcs", Severity.NOTE, message, where)]


def asked_layouts(document: Any, patterns: tuple[str, ...]) -> Iterator[tuple[str, Any]]:
    """Yield model space under an empty name and the paper space layouts that the job names."""
    yield "", document.modelspace()
    for layout in document.layouts:
        name = readable(str(layout.name))
        if layout.name != "Model" and matches(name, patterns):
            yield name, layout


def _marks(chain: Chain) -> tuple[Mark, ...]:
    return tuple(mark for curve in chain.curves for mark in curve_marks(curve.edges, curve.where))


def _source(chain: Chain) -> PathSource:
    handles = {curve.handle for curve in chain.curves}
    parts = {part for handle in handles for part in handle.split(" > ")}
    layers = frozenset(c.layer for c in chain.curves)
    return PathSource(frozenset(handles | parts), layers, chain.layout)


def _extents(chains: Sequence[Chain]) -> tuple[Vector, Vector]:
    """Corners of the box around all paths, arcs at every sixteenth of their length. [m]"""
    rows = []
    for chain in chains:
        for edge in chain.path.edges:
            segment = edge.segment
            rows.append(np.array([segment.start_m, segment.end_m]))
            if isinstance(segment, Arc):
                rows.append(segment.points_at(np.linspace(0.0, segment.length_m, 17)))
    points = np.concatenate(rows)
    low, high = points.min(axis=0).tolist(), points.max(axis=0).tolist()
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])
