"""What a drawing holds, layer by layer, and what would be read of it and why.

The listing reads everything, hidden layers too, so that a person can choose.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from analyzer.errors import RouteError
from analyzer.findings import Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.importers.chaining.chain_curves import chain_curves
from analyzer.importers.chaining.chains import Chains
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.drawings.block_units import block_unit_findings
from analyzer.importers.drawings.blocks import open_layouts
from analyzer.importers.drawings.documents import guarded, named_version, open_drawing
from analyzer.importers.drawings.drawn_fittings import (
    fitting_boxes,
    fitting_sources,
    placed_fittings,
)
from analyzer.importers.drawings.edges import entity_edges
from analyzer.importers.drawings.entities import CURVE_ENTITIES
from analyzer.importers.drawings.fitting_symbols import FittingRule
from analyzer.importers.drawings.handles import handle_findings
from analyzer.importers.drawings.insunits import INSUNITS, named_unit_code
from analyzer.importers.drawings.layer_choice import LayerChoice, choose_layers, matches
from analyzer.importers.drawings.layer_contents import BlockContents, DrawingContents, LayerContents
from analyzer.importers.drawings.layer_findings import entity_findings, opened_as_read
from analyzer.importers.drawings.left_out import paper_space, unused_patterns
from analyzer.importers.drawings.left_out_curves import INVISIBLE
from analyzer.importers.drawings.opened_layout import OpenedLayout
from analyzer.importers.drawings.readable_text import readable, readable_finding
from analyzer.importers.drawings.reader import asked_layouts, drawn_curves
from analyzer.importers.drawings.route_pieces import with_route_pieces
from analyzer.importers.drawings.text_tags import is_binary_file
from analyzer.importers.drawings.units import (
    asked_or_named_unit,
    drawn_extents,
)
from analyzer.importers.extents import CANDIDATE_UNITS, drawn_size, extents_text
from analyzer.importers.reading import POINT_SUFFIXES
from analyzer.job.settings import DrawingSettings
from analyzer.units import LengthUnit

__all__ = ["survey_drawing"]


_NO_CURVE = "no line, arc or curve"


def survey_drawing(
    path: Path, settings: DrawingSettings | None = None, asked_from: str = "job"
) -> DrawingContents:
    """Return what a drawing holds and what would be read of it.

    Parameters
    ----------
    path : Path
        DXF file.
    settings : DrawingSettings, optional
        Layer patterns, fitting kinds, layouts and unit to judge by; by default every layer of
        model space, in the unit of the file.
    asked_from : str
        Where the unit of the settings comes from, ``job`` or ``option``.

    Raises
    ------
    RouteError
        If the file cannot be opened.
    """
    settings = settings or DrawingSettings()
    if path.suffix.lower() in POINT_SUFFIXES:
        raise RouteError(
            f"{path.name}: a file of points holds no layers; raceway check reads its points"
        )
    opened = open_drawing(path)
    document = opened.document
    with guarded(path, "reading the drawing"):
        choice = choose_layers(document, settings.layers)
        rule = FittingRule(settings.fitting_kinds)
        layouts = asked_layouts(document, settings.layouts)
        held = open_layouts(document, layouts, _everything(choice), rule, None)
        read = opened_as_read(document, held, choice, rule, settings)
        code = named_unit_code(opened.data)
        unit, unit_from, more = asked_or_named_unit(path, opened.data, settings.units, asked_from)
        read_in = unit or LengthUnit.INCH
        is_all = read is held
        if unit is not None:
            held = with_route_pieces(held, unit, settings)
            read = held if is_all else with_route_pieces(read, unit, settings)
        entities = read.entities
        held, curves, drawn = _curves(held, read_in, path)
        read, chosen, drawn = (held, curves, drawn) if is_all else _curves(read, read_in, path)
        if len(read.entities) == len(entities):  # none of them without a place
            more += block_unit_findings(tuple(read.unscaled.values()), entities, code)
        layers = _layers(held, read, curves, choice, read_in, settings)
        findings, strays = entity_findings(read, choice, chosen, drawn, settings, unit)
        lost = Counter(chain.layer for chain in strays)
        layers = tuple(_without_strays(layer, lost[layer.name]) for layer in layers)
        findings += unused_patterns(document, read, settings) + handle_findings(
            read, opened.data, path.name
        )
        pages = paper_space(document)
        extents = drawn_extents(held.entities) if held.entities else None
        return DrawingContents(
            file=path.name,
            version=_version(document, opened.data),
            is_binary=is_binary_file(opened.data),
            unit=unit,
            unit_from=unit_from,
            unit_text=_unit_text(code),
            extents=extents,
            extents_in=_sizes(extents, unit),
            layers=layers,
            blocks=_blocks(document, held, read),
            paper_space=pages,
            layouts_read=tuple(name for name, _ in pages if matches(name, settings.layouts)),
            findings=tuple(map(readable_finding, (*opened.findings, *more, *findings))),
        )


def _curves(
    layout: OpenedLayout, unit: LengthUnit, path: Path
) -> tuple[OpenedLayout, Sequence[DrawnCurve], Sequence[Finding]]:
    """Return a layout, its curves and what to know of them; what has no place is left out."""
    try:
        return (layout, *drawn_curves(layout.entities, unit, path))
    except RouteError:
        pass
    placed, lost = [], []
    for entity in layout.entities:
        try:
            entity_edges(entity, float(unit.factor), 0)
        except RouteError as error:
            where = f"layer {entity.layer}, handle {entity.handle}"
            text = f"{error}. raceway check stops at it where its layer is read"
            lost.append(Finding("entity-unreadable", Severity.ERROR, text, where))
        else:
            placed.append(entity)
    curves, findings = drawn_curves(placed, unit, path)
    return replace(layout, entities=placed), curves, [*lost, *findings]


def _everything(choice: LayerChoice) -> LayerChoice:
    """Read every layer, hidden or not."""
    states = {
        name: replace(state, is_off=False, is_frozen=False) for name, state in choice.states.items()
    }
    return LayerChoice((), states)


def _version(document: Any, data: bytes) -> str:
    return named_version(data) or str(getattr(document, "acad_release", document.dxfversion))


def _unit_text(code: int | None) -> str:
    if not code:
        return "none named" if code is None else "none named ($INSUNITS 0)"
    named = INSUNITS.get(code)
    return f"{named.name if named else 'unknown'} ($INSUNITS {code})"


def _sizes(
    extents: tuple[Vector, Vector] | None, unit: LengthUnit | None
) -> tuple[tuple[LengthUnit, str], ...]:
    if extents is None:
        return ()
    size = drawn_size(*extents)
    units = CANDIDATE_UNITS if unit is None else (unit,)
    return tuple((one, extents_text(size, one)) for one in units)


def _layers(
    held: OpenedLayout,
    read: OpenedLayout,
    curves: Sequence[DrawnCurve],
    choice: LayerChoice,
    read_in: LengthUnit,
    settings: DrawingSettings,
) -> tuple[LayerContents, ...]:
    factor = float(read_in.factor)
    by_layer: dict[str, list[DrawnCurve]] = defaultdict(list)
    for curve in curves:
        by_layer[curve.layer].append(curve)
    kinds: dict[str, Counter[str]] = defaultdict(Counter)
    for entity in held.entities:
        kinds[entity.layer][entity.kind] += 1
    for symbol in held.symbols:
        kinds[symbol.layer]["INSERT" if symbol.block else "POINT"] += 1
    for (kind, layer), count in held.not_read.items():
        kinds[layer][kind] += count
    marked = Counter(symbol.layer.lower() for symbol in read.symbols)
    texts = Counter(text.layer.lower() for text in read.texts)
    reached = Counter(entity.layer.lower() for entity in read.entities)
    drawn_on = Counter(entity.layer.lower() for entity in held.entities)
    fittings = placed_fittings(held.symbols, factor)
    boxes, sources = fitting_boxes(held.symbols, fittings, factor), fitting_sources(fittings)
    outside = Counter(layer.lower() for one in read.clipped for layer in one.layers)
    unseen: Counter[str] = Counter()
    for (why, layer), count in held.left_out.items():
        unseen[layer.lower()] += count if why == INVISIBLE else 0
    names = {state.name.lower(): state.name for state in choice.states.values()}
    for name in (*kinds, *(layer for _, layer in held.left_out)):
        names.setdefault(name.lower(), name)
    found = []
    for name in sorted(names.values(), key=str.lower):
        chains = chain_curves(
            by_layer[name], settings.join_m, settings.snap_m, boxes, sources=sources
        )
        one = _layer(name, kinds[name], by_layer[name], chains, choice, factor)
        if one.is_read and name.lower() not in reached:
            one = replace(one, is_read=False, reason="inside blocks on a hidden layer only")
        elif name.lower() in drawn_on and not by_layer[name] and one.reason == _NO_CURVE:
            one = replace(one, reason="nothing with a length")
        elif unseen[name.lower()] and one.reason == _NO_CURVE:
            one = replace(one, reason="no visible line, arc or curve")
        count = drawn_on[name.lower()] - reached[name.lower()]
        if one.is_read and count:
            one = replace(
                one, reason=f"{one.reason}; {count} not read, inside references on a frozen layer"
            )
        count = outside[name.lower()]
        if count:
            leave = "1 leaves" if count == 1 else f"{count} leave"
            one = replace(one, reason=f"{one.reason}; {leave} the window of a clipped reference")
        count = unseen[name.lower()]
        if count:
            one = replace(one, reason=f"{one.reason}; {count} {INVISIBLE}, not counted")
        count = marked[name.lower()]
        if count:
            fittings_text = "1 fitting is read" if count == 1 else f"{count} fittings are read"
            one = replace(one, reason=f"{one.reason}; {fittings_text}")
        count = texts[name.lower()]
        if count:
            names_text = "1 text may name a run" if count == 1 else f"{count} texts may name runs"
            one = replace(one, reason=f"{one.reason}; {names_text}")
        found.append(one)
    return tuple(found)


def _layer(
    name: str,
    kinds: Counter[str],
    curves: Sequence[DrawnCurve],
    chains: Chains,
    choice: LayerChoice,
    factor: float,
) -> LayerContents:
    state = choice.states.get(name.lower())
    is_read, reason = _verdict(name, bool(curves), len(chains.chains), choice)
    return LayerContents(
        name=name,
        is_off=bool(state and state.is_off),
        is_frozen=bool(state and state.is_frozen),
        entities=tuple(kinds.most_common()),
        curve_length=sum(curve.length_m for curve in curves) / factor,
        open_paths=len(chains.chains),
        closed_loops=len(chains.loops),
        stray_bits=len(chains.strays),
        is_read=is_read,
        reason=reason,
    )


def _without_strays(layer: LayerContents, count: int) -> LayerContents:
    """Return a layer of whose paths so many are stray beside those of all layers that are read."""
    if count <= layer.stray_bits:
        return layer
    paths = max(layer.open_paths + layer.stray_bits - count, 0)
    layer = replace(layer, open_paths=paths, stray_bits=count)
    if paths or not layer.is_read:
        return layer
    return replace(layer, is_read=False, reason="stray bits only, left out beside longer runs")


def _verdict(name: str, holds: bool, open_paths: int, choice: LayerChoice) -> tuple[bool, str]:
    if choice.is_frozen(name):
        return False, "frozen: name it outright to read it"
    if choice.is_off(name):
        return False, "off: name it outright to read it"
    if not choice.is_wanted(name):
        return False, "no layer pattern names it"
    if not holds:
        return False, _NO_CURVE
    if not open_paths:
        return False, "closed loops only"
    if choice.patterns:
        return True, "a layer pattern names it"
    return True, "visible, and no layer pattern given"


def _blocks(document: Any, held: OpenedLayout, read: OpenedLayout) -> tuple[BlockContents, ...]:
    taken = {symbol.reference for symbol in read.symbols}
    kinds = {symbol.reference: symbol for symbol in held.symbols if symbol.block}
    found = []
    for name in sorted(held.blocks, key=str.lower):
        symbol = kinds.get(name)
        if symbol is None:
            kind = None
            is_left_out = name not in read.blocks
            block = document.blocks.get(name)
            if block is None:
                reason = "not in the drawing"
            elif _holds_curves(document, block, {name}):
                reason = "opened for its lines and arcs"
            else:
                reason = "holds no lines or arcs"
        else:
            kind = symbol.kind
            by = {"": "under [drawing.fittings]", "block": "by its name", "layer": "by its layer"}
            reason = by[symbol.rule]
            is_left_out = name not in taken
        if is_left_out:
            reason += "; left out, its layer is hidden"
        found.append(BlockContents(readable(name), held.blocks[name], kind, reason))
    return tuple(found)


def _holds_curves(document: Any, block: Any, seen: set[str]) -> bool:
    """Whether a block, or one it refers to, draws lines or curves; `seen` are not looked at."""
    for entity in block:
        kind = str(entity.dxftype())
        if kind in CURVE_ENTITIES:
            return True
        name = str(entity.dxf.get("name", "")) if kind == "INSERT" else ""
        inner = document.blocks.get(name) if name and name not in seen else None
        if inner is not None:
            seen.add(name)
            if _holds_curves(document, inner, seen):
                return True
    return False
