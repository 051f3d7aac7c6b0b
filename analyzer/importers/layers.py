"""What a drawing holds, layer by layer, and what would be read of it and why.

The listing reads everything, hidden layers too, so that a person can choose.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from analyzer.errors import RouteError
from analyzer.findings import Finding
from analyzer.geometry.segments import Vector
from analyzer.importers.blocks import OpenedLayout, open_layout
from analyzer.importers.chaining import chain_curves
from analyzer.importers.chains import Chains
from analyzer.importers.documents import guarded, older_version, open_drawing
from analyzer.importers.drawing import drawn_curves
from analyzer.importers.drawing_units import (
    CANDIDATE_UNITS,
    drawn_extents,
    drawn_size,
    extents_text,
)
from analyzer.importers.drawn_curves import DrawnCurve
from analyzer.importers.drawn_fittings import fitting_boxes, placed_fittings
from analyzer.importers.entities import CURVE_ENTITIES
from analyzer.importers.fitting_symbols import FittingRule
from analyzer.importers.insunits import INSUNITS, named_unit_code
from analyzer.importers.layer_choice import LayerChoice, choose_layers
from analyzer.importers.left_out import paper_space
from analyzer.importers.reading import POINT_SUFFIXES
from analyzer.job.settings import DrawingSettings, FittingKind
from analyzer.units import LengthUnit

__all__ = ["BlockContents", "DrawingContents", "LayerContents", "survey_drawing"]


@dataclass(frozen=True, slots=True)
class LayerContents:
    """What a layer holds, block references opened.

    Attributes
    ----------
    name : str
        Its name.
    is_off, is_frozen : bool
        Its state.
    entities : tuple of (str, int)
        Entity types and their number, the most frequent first.
    curve_length : float
        Length of all lines, arcs, polylines and splines, in drawing units.
    open_paths, closed_loops, stray_bits : int
        What chaining the layer by itself makes of them.
    longest_path : float
        Length of its longest open path, in drawing units.
    is_read : bool
        Whether it would be read with the settings given.
    reason : str
        Why it would be read, or why not.
    """

    name: str
    is_off: bool
    is_frozen: bool
    entities: tuple[tuple[str, int], ...]
    curve_length: float
    open_paths: int
    closed_loops: int
    stray_bits: int
    longest_path: float
    is_read: bool
    reason: str


@dataclass(frozen=True, slots=True)
class BlockContents:
    """A block, how often it stands in the drawing, and the fitting it would be read as.

    `kind` is None for a block that is opened for its lines; `reason` says why.
    """

    name: str
    count: int
    kind: FittingKind | None
    reason: str


@dataclass(frozen=True, slots=True)
class DrawingContents:
    """What a drawing holds.

    Attributes
    ----------
    file : str
        File name.
    version : str
        DXF version that the file names, such as ``R2018``.
    is_binary : bool
        Whether it is a binary DXF file.
    unit : LengthUnit or None
        Unit that the file names; None where it names none that a raceway is drawn in.
    unit_text : str
        The unit in words, and the code of `$INSUNITS`.
    extents : two (3,) float or None
        Corners around all curves, in drawing units; None without a curve.
    extents_in : tuple of (LengthUnit, str)
        The size in each candidate unit; the named unit alone where there is one.
    layers : tuple of LayerContents
        By name; layers of the layer table that hold nothing included.
    blocks : tuple of BlockContents
        Blocks that are referred to, by name.
    paper_space : tuple of (str, int)
        Layouts and the number of their entities; read only where the job names them.
    findings : tuple of Finding
        Repairs and faults met on the way.
    """

    file: str
    version: str
    is_binary: bool
    unit: LengthUnit | None
    unit_text: str
    extents: tuple[Vector, Vector] | None
    extents_in: tuple[tuple[LengthUnit, str], ...]
    layers: tuple[LayerContents, ...]
    blocks: tuple[BlockContents, ...]
    paper_space: tuple[tuple[str, int], ...]
    findings: tuple[Finding, ...]


def survey_drawing(path: Path, settings: DrawingSettings | None = None) -> DrawingContents:
    """Return what a drawing holds and what would be read of it.

    Parameters
    ----------
    path : Path
        DXF file.
    settings : DrawingSettings, optional
        Layer patterns and fitting kinds to judge by; every layer by default.

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
        held = open_layout(document, document.modelspace(), _everything(choice), rule, None)
        code = named_unit_code(opened.data)
        named = INSUNITS.get(code) if code else None
        unit = named.unit if named else None
        layers = _layers(held, choice, unit, settings, path)
        extents = drawn_extents(held.entities) if held.entities else None
        return DrawingContents(
            file=path.name,
            version=_version(document, opened.data),
            is_binary=opened.data.startswith(b"AutoCAD Binary DXF"),
            unit=unit,
            unit_text=_unit_text(code),
            extents=extents,
            extents_in=_sizes(extents, unit),
            layers=layers,
            blocks=_blocks(document, held, rule),
            paper_space=paper_space(document),
            findings=(*opened.findings, *held.findings),
        )


def _everything(choice: LayerChoice) -> LayerChoice:
    """Read every layer, hidden or not."""
    states = {
        name: replace(state, is_off=False, is_frozen=False) for name, state in choice.states.items()
    }
    return LayerChoice((), states)


def _version(document: Any, data: bytes) -> str:
    return older_version(data) or str(getattr(document, "acad_release", document.dxfversion))


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
    choice: LayerChoice,
    unit: LengthUnit | None,
    settings: DrawingSettings,
    path: Path,
) -> tuple[LayerContents, ...]:
    read_in = unit or LengthUnit.INCH
    factor = float(read_in.factor)
    curves, _ = drawn_curves(held.entities, read_in, path)
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
    marked = Counter(symbol.layer.lower() for symbol in held.symbols)
    fittings = placed_fittings(held.symbols, factor)
    boxes = fitting_boxes(held.symbols, fittings, factor)
    names = {state.name.lower(): state.name for state in choice.states.values()}
    for name in kinds:
        names.setdefault(name.lower(), name)
    found = []
    for name in sorted(names.values(), key=str.lower):
        chains = chain_curves(by_layer[name], settings.join_m, settings.snap_m, boxes)
        one = _layer(name, kinds[name], by_layer[name], chains, choice, factor)
        count = marked[name.lower()]
        if count and not (one.is_off or one.is_frozen):
            fittings_text = "1 fitting is read" if count == 1 else f"{count} fittings are read"
            one = replace(one, reason=f"{one.reason}; {fittings_text}")
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
        longest_path=max((chain.length_m for chain in chains.chains), default=0.0) / factor,
        is_read=is_read,
        reason=reason,
    )


def _verdict(name: str, holds: bool, open_paths: int, choice: LayerChoice) -> tuple[bool, str]:
    if choice.is_frozen(name):
        return False, "frozen: name it outright to read it"
    if choice.is_off(name):
        return False, "off: name it outright to read it"
    if not choice.is_wanted(name):
        return False, "no layer pattern names it"
    if not holds:
        return False, "no line, arc or curve"
    if not open_paths:
        return False, "closed loops only"
    if choice.patterns:
        return True, "a layer pattern names it"
    return True, "visible, and no layer pattern given"


def _blocks(document: Any, held: OpenedLayout, rule: FittingRule) -> tuple[BlockContents, ...]:
    kinds = {symbol.reference: symbol for symbol in held.symbols if symbol.block}
    found = []
    for name in sorted(held.blocks, key=str.lower):
        symbol = kinds.get(name)
        if symbol is None:
            kind = None
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
            reason = f"{by[symbol.rule]}"
        found.append(BlockContents(name, held.blocks[name], kind, reason))
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
