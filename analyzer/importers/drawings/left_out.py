"""What of a drawing was left out, and why: as findings, or as the message that nothing is left."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from analyzer.findings import Finding, Severity
from analyzer.importers.chaining.chains import Chains
from analyzer.importers.chaining.doubled_loops import said_of_doubled
from analyzer.importers.chaining.drawn_curves import DrawnCurve
from analyzer.importers.drawings.drawn_texts import TEXT_ENTITIES
from analyzer.importers.drawings.layer_choice import LayerChoice, matches
from analyzer.importers.drawings.left_out_curves import INVISIBLE
from analyzer.importers.drawings.opened_layout import OpenedLayout
from analyzer.importers.drawings.readable_text import readable
from analyzer.importers.drawings.unread_entities import UnreadEntity
from analyzer.importers.places import FilePlaces, out_and_back
from analyzer.importers.told_places import UnitText, place_list
from analyzer.job.settings import DrawingSettings
from analyzer.units import LengthUnit

__all__ = [
    "left_out_findings",
    "no_open_path",
    "nothing_to_read",
    "paper_space",
    "paper_space_findings",
    "unused_patterns",
]

_LAYERS_NAMED = 3  # layers with texts that are listed

_ADVICE = {
    "on a layer no pattern names": "",
    INVISIBLE: "; make them visible in the drawing program to read them",
}


def left_out_findings(
    held: OpenedLayout, choice: LayerChoice, told: Sequence[UnreadEntity] = ()
) -> list[Finding]:
    """List what was not looked at, what draws no route, and patterns that match nothing.

    Entities that are `told` of by themselves are not counted again.
    """
    findings = []
    reasons: dict[str, Counter[str]] = defaultdict(Counter)
    for (reason, layer), count in held.left_out.items():
        reasons[reason][layer] += count
    for reason, layers in reasons.items():
        total = sum(layers.values())
        where = place_list([f"layer {name} ({count})" for name, count in layers.items()])
        message = f"{total} {'entity' if total == 1 else 'entities'} {reason} left out"
        message += _ADVICE.get(reason, "; name the layer itself under [drawing] layers to read it")
        findings.append(Finding("layers-left-out", Severity.NOTE, message, where))
    kinds: Counter[str] = Counter()
    for (kind, _), count in held.not_read.items():
        kinds[kind] += count
    kinds.subtract(entity.kind for entity in told)
    kinds = +kinds
    if kinds:
        text = ", ".join(f"{count} {kind}" for kind, count in kinds.items())
        message = f"entities that draw no route left out: {text}{_naming(held)}"
        findings.append(Finding("entities-not-read", Severity.NOTE, message, ""))
    read_on = {one.layer for one in held.entities} | {one.layer for one in held.symbols}
    for pattern in choice.patterns:
        if not any(matches(layer, (pattern,)) for layer in read_on):
            message = (
                f"the layer pattern {pattern!r} matches no layer with lines, arcs or fittings; "
                "`raceway layers FILE` lists them"
            )
            findings.append(
                Finding("layer-pattern-unused", Severity.CAUTION, message, "[drawing] layers")
            )
    return findings


def _naming(held: OpenedLayout) -> str:
    """Say how texts would name runs, where there are some and the job takes none."""
    layers = sorted({layer for kind, layer in held.not_read if kind in TEXT_ENTITIES})
    if held.texts or not layers:
        return ""
    names = ", ".join(f'"{name}"' for name in layers[:_LAYERS_NAMED])
    more = ", ..." if len(layers) > _LAYERS_NAMED else ""
    return f"; texts beside runs give them their names with [drawing] name_layers = [{names}{more}]"


def unused_patterns(document: Any, held: OpenedLayout, settings: DrawingSettings) -> list[Finding]:
    """List layouts, name layers and block patterns of the job that the drawing does not hold."""
    layouts = [readable(str(layout.name)) for layout in document.layouts]
    texts = [text.layer for text in held.texts]
    blocks = [symbol.block or symbol.layer for symbol in held.symbols]
    points = [layer for kind, layer in held.not_read if kind == "POINT"]
    asked = (
        ("layouts", "layout", settings.layouts, layouts, "its layouts"),
        ("name_layers", "layer with texts", settings.name_layers, texts, "layers with texts"),
        (
            "fittings",
            "block or layer of a point",
            tuple(pattern for pattern, _ in settings.fitting_kinds),
            [*blocks, *held.blocks, *points],
            "its blocks",
        ),
    )
    findings = []
    for key, what, patterns, names, those in asked:
        for pattern in patterns:
            if not any(matches(name, (pattern,)) for name in names):
                there = place_list(sorted(set(names))) or "none"
                message = f"{pattern!r} matches no {what} of the drawing; {those}: {there}"
                # a job that serves many drawings names blocks that not all of them hold
                own = key == "fittings"
                where = "[drawing.fittings]" if own else f"[drawing] {key}"
                severity = Severity.NOTE if own else Severity.CAUTION
                findings.append(Finding("pattern-unused", severity, message, where))
    return findings


def paper_space(document: Any) -> tuple[tuple[str, int], ...]:
    """Return the paper space layouts that hold something, and how many entities."""
    found = []
    for layout in document.layouts:
        count = 0 if layout.name == "Model" else sum(1 for e in layout if e.dxftype() != "VIEWPORT")
        if count:
            found.append((readable(str(layout.name)), count))
    return tuple(found)


def paper_space_findings(document: Any, patterns: tuple[str, ...]) -> list[Finding]:
    """List the paper space layouts that hold something and were not asked for."""
    places = [
        f"{name} ({count})" for name, count in paper_space(document) if not matches(name, patterns)
    ]
    if not places:
        return []
    message = (
        "entities in paper space left out: a route is drawn in model space; "
        "name the layout under [drawing] layouts to read it"
    )
    return [Finding("paper-space-left-out", Severity.NOTE, message, place_list(places))]


def nothing_to_read(path: Path, held: OpenedLayout, choice: LayerChoice, cut: str | None) -> str:
    """Say what a drawing holds instead of lines and arcs.

    Parameters
    ----------
    path : Path
        The drawing.
    held : OpenedLayout
        What it holds, without an entity that draws a curve.
    choice : LayerChoice
        Layers that were to be read.
    cut : str or None
        What `cut_short_told` returns; of a file cut short it is said what was lost.
    """
    layers: Counter[str] = Counter()
    for (reason, layer), count in held.left_out.items():
        layers[f"layer {layer} ({count}, {reason})"] += count
    kinds: Counter[str] = Counter()
    for (kind, _), count in held.not_read.items():
        kinds[kind] += count
    parts = []
    if choice.patterns:
        parts.append(f"the layer patterns {', '.join(choice.patterns)} match no lines or arcs")
    if layers:
        parts.append(f"left out: {place_list(list(layers))}")
    if kinds:
        parts.append("it holds " + ", ".join(f"{count} {kind}" for kind, count in kinds.items()))
    if held.symbols:
        parts.append(_fittings(held))
    parts += [finding.message for finding in held.findings[:5]]
    if cut is not None:
        read = f" ({cut})" if cut else ""
        told = f"; what is left of it: {'; '.join(parts)}" if parts else ""
        return (
            f"{path.name}: the file was cut short, and no line, arc, polyline or spline that may "
            f"be read is left in it{read}{told}. Get the file anew"
        )
    return (
        f"{path.name}: the drawing holds no open path: no line, arc, polyline or spline that may "
        f"be read ({'; '.join(parts) or 'model space is empty'}). "
        "Draw the centerline in model space, or name its layer under [drawing] layers"
    )


def _fittings(held: OpenedLayout) -> str:
    """Say which blocks and points were taken as fittings, and by what."""
    seen: Counter[str] = Counter()
    for symbol in held.symbols:
        what = f"block {symbol.block!r}" if symbol.block else "POINT"
        by = {"": "the job", "block": "its name"}.get(symbol.rule, "the name of its layer")
        seen[f"{what} on layer {symbol.layer} as {symbol.kind.value} by {by}"] += 1
    text = place_list([f"{name} ({count})" for name, count in seen.items()])
    return (
        f"{len(held.symbols)} blocks or points are fittings, whose lines are no raceway: {text}; "
        'a block that holds raceway must be exploded, or be called "route" under [drawing.fittings]'
    )


def no_open_path(
    path: Path,
    curves: Sequence[DrawnCurve],
    chains: Chains,
    findings: Sequence[Finding],
    unit: LengthUnit,
) -> str:
    """Say what a drawing holds whose curves are all closed or without length.

    Parameters
    ----------
    path : Path
        The drawing.
    curves : sequence of DrawnCurve
        Its curves with a length.
    chains : Chains
        What chaining made of them, without an open path.
    findings : sequence of Finding
        Those on its entities, of which the ones without length are told.
    unit : LengthUnit
        Unit that places are written in.
    """
    empty = "".join(
        f"; {one.message} ({one.where})" for one in findings if one.code == "zero-length"
    )
    if not curves:
        return (
            f"{path.name}: the drawing holds no open path: nothing with a length{empty}. Draw the "
            "centerline in model space, or name its layer under [drawing] layers"
        )
    kinds = Counter(curve.kind for curve in curves)
    layers = Counter(curve.layer for curve in curves)
    text = ", ".join(f"{count} {kind}" for kind, count in kinds.items())
    where = place_list([f"layer {name} ({count})" for name, count in layers.items()])
    for loop in chains.loops:
        folded = out_and_back(loop[0].edges) if len(loop) == 1 else None
        if folded is not None and folded.place_m is not None:
            place = FilePlaces(path.name, unit.value).place(folded.place_m)
            return (
                f"{path.name}: the drawing holds no open path: {loop[0].where} "
                f"{folded.said_at(place)}"
            )
        doubled = said_of_doubled(loop, UnitText(unit))
        if doubled is not None:
            return (
                f"{path.name}: the drawing holds no open path: {text} on {where}; "
                f"{len(loop)} {doubled}"
            )
    return (
        f"{path.name}: the drawing holds no open path: {text} on {where}; "
        f"{_loops(len(chains.loops))}{empty}. "
        "A run needs two ends: open the loop where the pull starts"
    )


def _loops(count: int) -> str:
    return "1 closed loop" if count == 1 else f"{count} closed loops"
