"""Fittings of a drawing in meters, and what a person should know about how they were found."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from itertools import count
from math import dist

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.geometry.vectors import times
from analyzer.importers.chaining.chains import Box, Chain
from analyzer.importers.drawings.opened_layout import FittingSymbol
from analyzer.importers.drawn_file import DrawnFitting
from analyzer.importers.numbering_order import order_by_place
from analyzer.importers.told_places import UnitText, place_list
from analyzer.job.settings import SOURCE_KINDS, FittingEntry, FittingKind
from analyzer.job.words import run_name_key
from analyzer.route.held_corners import sure_reach_m
from analyzer.units import LengthUnit, ft

__all__ = [
    "fitting_boxes",
    "fitting_sources",
    "fitting_stops",
    "in_layouts_with_runs",
    "kind_findings",
    "placed_fittings",
    "repeated_names",
    "without_stacked",
]

_PASSED = frozenset(
    {
        FittingKind.PULL_BOX,
        FittingKind.JUNCTION_BOX,
        FittingKind.CONDUIT_BODY,
        FittingKind.HANDHOLE,
        FittingKind.MANHOLE,
    }
)

_LARGE_SYMBOL_M = ft(10)  # larger than boxes are drawn: the block may hold raceway


def without_stacked(
    symbols: Sequence[FittingSymbol],
) -> tuple[list[FittingSymbol], list[Finding]]:
    """Leave out references to the same block at the same place; the first of each stays."""
    kept: dict[tuple[str, str, str, str, Vector], FittingSymbol] = {}
    stacked = []
    for symbol in symbols:
        x, y, z = (round(value, 9) + 0.0 for value in symbol.position)
        layer = "" if symbol.block else symbol.layer
        key = (symbol.layout, symbol.reference, layer, symbol.name, (x, y, z))
        first = kept.setdefault(key, symbol)
        if first is not symbol:
            stacked.append(symbol.where)
    if not stacked:
        return list(kept.values()), []
    message = (
        f"{len(stacked)} block references or points lie exactly on others of the same block or "
        "layer and are left out; delete them"
    )
    finding = Finding("duplicate-entity", Severity.NOTE, message, place_list(stacked))
    return list(kept.values()), [finding]


def placed_fittings(symbols: Sequence[FittingSymbol], factor: float) -> tuple[DrawnFitting, ...]:
    """Return the fittings of symbols in meters, unnamed ones numbered by kind.

    Several that bear the label of their block only are numbered too. Numbers go by where fittings
    stand, those of one kind with a name counted, so that a name changes the number of no other.
    """
    names = _names(symbols, factor)
    fittings = []
    for symbol, (name, numbered) in zip(symbols, names, strict=True):
        drawn = (times(symbol.low, factor), times(symbol.high, factor))
        extents = drawn if 0.0 < dist(*drawn) <= _LARGE_SYMBOL_M else None
        position = times(symbol.position, factor)
        drawn_fitting = DrawnFitting(
            name,
            symbol.kind,
            position,
            symbol.where,
            extents_m=extents,
            layout=symbol.layout,
            numbered=numbered,
        )
        fittings.append(drawn_fitting)
    return tuple(fittings)


def _names(symbols: Sequence[FittingSymbol], factor: float) -> list[tuple[str, str]]:
    """Return the name of each symbol, and what it is numbered among, empty for a name of its own.

    By insertion point, then by the corners of what is drawn; model space before other layouts.
    Numbers skip names that are taken.
    """
    layouts = sorted({symbol.layout for symbol in symbols})
    rows = [
        [
            *(value * factor for value in (*one.position, *one.low, *one.high)),
            float(layouts.index(one.layout)),
        ]
        for one in symbols
    ]
    shares = [(one.block_label, one.kind.value.capitalize()) for one in symbols]
    alike = Counter(share for both in shares for share in set(both))
    numbers: Counter[str] = Counter()
    own = [
        one.name or (label if alike[label] == 1 else "")
        for one, (label, _) in zip(symbols, shares, strict=True)
    ]
    taken = {run_name_key(name) for name in own if name}
    names = [(name, "") for name in own]
    for index in order_by_place(rows):
        label, kind = shares[index]
        numbers.update({label, kind})
        if not own[index]:
            shared = label or kind
            name = _numbered(shared, numbers[shared], taken)
            names[index] = name, shared if alike[shared] > 1 else ""
    return names


def _numbered(words: str, number: int, taken: set[str]) -> str:
    """Return words with the first number from this one that no fitting bears, and take it."""
    name = next(
        name
        for name in (f"{words} {one}" for one in count(number))
        if run_name_key(name) not in taken
    )
    taken.add(run_name_key(name))
    return name


def fitting_boxes(
    symbols: Sequence[FittingSymbol],
    fittings: Sequence[DrawnFitting],
    factor: float,
    told: Sequence[FittingEntry] = (),
) -> list[Box]:
    """Return the symbols of fittings that conductors pass, in meters; kinds and sizes told count.

    A panel or equipment is none of them, even where the job tells its passage.

    Parameters
    ----------
    symbols : sequence of FittingSymbol
        As drawn, in drawing units.
    fittings : sequence of DrawnFitting
        The same in meters, in the same order.
    factor : float
        Length of a drawing unit. [m]
    told : sequence of FittingEntry
        What the job tells of fittings, matched by name.
    """
    kinds = _told_kinds(told)
    sizes = {run_name_key(entry.name): entry.size_m for entry in told}
    boxes = []
    for symbol, fitting in zip(symbols, fittings, strict=True):
        name = run_name_key(fitting.name)
        kind = kinds.get(name, fitting.kind)
        if kind in _PASSED:
            box = Box(
                *(fitting.name, times(symbol.low, factor), times(symbol.high, factor)),
                symbol.layout,
                point_m=fitting.position_m,
                half_size_m=sure_reach_m(sizes.get(name), kind),
            )
            boxes.append(box)
    return boxes


def fitting_sources(
    fittings: Sequence[DrawnFitting], told: Sequence[FittingEntry] = ()
) -> list[Box]:
    """Return panels and equipment that conductors end at, drawn or placed by point, as boxes. [m]

    A kind that the job tells counts; where it tells the passage, conductors go on there.
    """
    kinds = _told_kinds(told)
    passed = {run_name_key(entry.name) for entry in told if entry.passage is not None}
    drawn = [one for one in fittings if kinds.get(run_name_key(one.name), one.kind) in SOURCE_KINDS]
    placed = [entry for entry in told if entry.kind in SOURCE_KINDS]
    return [box for box in fitting_stops(drawn, placed) if run_name_key(box.name) not in passed]


def _told_kinds(told: Sequence[FittingEntry]) -> dict[str, FittingKind]:
    return {run_name_key(entry.name): entry.kind for entry in told if entry.kind is not None}


def fitting_stops(fittings: Sequence[DrawnFitting], told: Sequence[FittingEntry] = ()) -> list[Box]:
    """Return all fittings of a drawing and those the job places by point, as boxes. [m]

    With half the longest side where the job states their size.
    """
    half_m = {run_name_key(e.name): max(e.size_m) / 2.0 for e in told if e.size_m}
    drawn = [
        Box(
            *(one.name, *(one.extents_m or (one.position_m, one.position_m)), one.layout),
            point_m=one.position_m,
            half_size_m=half_m.get(run_name_key(one.name), 0.0),
        )
        for one in fittings
    ]
    by_point = [
        Box(
            *(e.name, e.position_m, e.position_m),
            half_size_m=half_m.get(run_name_key(e.name), 0.0),
        )
        for e in told
        if e.position_m is not None
    ]
    return [*drawn, *by_point]


def in_layouts_with_runs(
    fittings: Sequence[DrawnFitting], chains: Sequence[Chain]
) -> tuple[tuple[DrawnFitting, ...], list[Finding]]:
    """Leave out the fittings of layouts that hold no run, and say so."""
    held = {chain.layout for chain in chains}
    lost = [one for one in fittings if one.layout not in held]
    if not lost:
        return tuple(fittings), []
    places = [f"{one.name} in {one.layout or 'model space'}, {one.where}" for one in lost]
    message = (
        f"{len(lost)} fitting{'s' if len(lost) > 1 else ''} left out: no run is drawn in the same "
        "layout"
    )
    kept = tuple(one for one in fittings if one.layout in held)
    return kept, [Finding("fitting-without-run", Severity.NOTE, message, place_list(places))]


def kind_findings(symbols: Sequence[FittingSymbol], unit: LengthUnit) -> list[Finding]:
    """Say which blocks were taken for fittings by a trade word alone, and which are very large."""
    used: dict[tuple[str, str, str], list[FittingSymbol]] = defaultdict(list)
    for symbol in symbols:
        if symbol.rule:
            layer = symbol.layer if symbol.rule == "layer" else ""
            used[(symbol.block, symbol.kind.value, layer)].append(symbol)
    findings = []
    for (block, kind, layer), group in used.items():
        by = f"the name of its layer {layer!r}" if layer else "its name"
        what = f"block {block!r} ({_times(len(group))})"
        if not block:
            what = f"POINT on layer {layer!r} ({_times(len(group))})"
            by = "the name of that layer"
        message = (
            f"{what} is taken as {kind} by {by}; "
            f'say what it is under [drawing.fittings]: "{block or layer}" = "{kind}"'
        )
        if block:
            message += ', or "route" where it draws raceway'
        places = place_list([f"layer {s.layer}, handle {s.handle}" for s in group])
        findings.append(Finding("fitting-kind-from-name", Severity.NOTE, message, places))
        size_m = max(dist(s.low, s.high) for s in group) * float(unit.factor)
        if size_m > _LARGE_SYMBOL_M:
            message = (
                f"block {block!r}, taken as {kind} by {by}, is {UnitText(unit).length(size_m)} "
                "large: what it draws is not read as raceway. If it holds raceway, write "
                f'"{block}" = "route" under [drawing.fittings]'
            )
            factor = float(unit.factor)
            corners = ((times(s.low, factor), times(s.high, factor)) for s in group)
            concern = Concern(boxes_m=tuple(corners))
            findings.append(
                Finding("fitting-symbol-large", Severity.CAUTION, message, places, concern)
            )
    return findings


def repeated_names(fittings: Sequence[DrawnFitting]) -> list[Finding]:
    """List fittings that share a name."""
    places: dict[str, list[str]] = defaultdict(list)
    for fitting in fittings:
        places[fitting.name].append(fitting.where)
    return [
        Finding(
            "fitting-name-repeated",
            Severity.CAUTION,
            f"{len(where)} fittings are called {name!r}; give each a name of its own",
            place_list(where),
        )
        for name, where in places.items()
        if len(where) > 1
    ]


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
