"""Blocks and points that a trade word takes for fittings although they belong to the route.

Elbows are often drawn as blocks, and layers of raceway are called after what they feed: motors,
panels. A block that draws one open curve between ends of the route is a piece of it. A panel or
equipment ends a run; so where the word stands in the name of a layer that draws raceway itself,
what stands along that raceway and at none of its ends is no such thing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from analyzer.errors import RouteError
from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.drawn import DrawnEdge
from analyzer.geometry.segments import Arc, Vector
from analyzer.geometry.vectors import times
from analyzer.importers.chaining.chains import Box, joining_reach
from analyzer.importers.drawings.edges import entity_edges
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.opened_layout import FittingSymbol, OpenedLayout
from analyzer.importers.near_points import COINCIDENT_M, near_pairs
from analyzer.importers.told_places import place_list
from analyzer.job.settings import SOURCE_KINDS, DrawingSettings
from analyzer.units import LengthUnit

__all__ = ["standing_symbols", "with_route_pieces"]


@dataclass(frozen=True, slots=True)
class _Curve:
    """The open curve that a symbol draws: its two ends, and whether it turns. [m]"""

    symbol: FittingSymbol
    ends_m: tuple[Vector, Vector]
    turns: bool


def with_route_pieces(
    layout: OpenedLayout, unit: LengthUnit, settings: DrawingSettings
) -> OpenedLayout:
    """Return a layout whose symbols are fittings only, and what was found.

    Parameters
    ----------
    layout : OpenedLayout
        Symbols told by a trade word are looked at; what the job says stands.
    unit : LengthUnit
        Unit of the drawing.
    settings : DrawingSettings
        How near ends are joined, and how near a fitting stands to its run.
    """
    if not any(s.rule and (s.pieces or s.kind in SOURCE_KINDS) for s in layout.symbols):
        return layout
    factor, reach_m = float(unit.factor), joining_reach(settings.join_m)
    curves = [curve for s in layout.symbols if (curve := _curve(s, factor, reach_m)) is not None]
    taken, touching, loose = _meeting_by_layout(curves, layout.entities, factor, reach_m)
    pieces = [curve.symbol for curve in taken]
    layers = {entity.layer.lower() for entity in layout.entities}
    layers |= {symbol.layer.lower() for symbol in pieces}
    others = _without(layout.symbols, pieces)
    passing = [
        symbol
        for symbol in others
        if symbol.rule == "layer"
        and symbol.kind in SOURCE_KINDS
        and symbol.layer.lower() in layers
        and not _stands_at(symbol, loose[symbol.layout], factor, settings.snap_m)
    ]
    left_out = {id(symbol) for symbol in passing}
    doubtful = [curve for curve in touching if curve.turns and id(curve.symbol) not in left_out]
    return replace(
        layout,
        entities=[*layout.entities, *(piece for s in pieces for piece in s.pieces)],
        symbols=_without(others, passing),
        findings=[
            *layout.findings,
            *_taken_findings(pieces),
            *_passing_findings(passing),
            *_doubtful_findings(doubtful, reach_m),
        ],
    )


def _without(
    symbols: Sequence[FittingSymbol], left_out: Sequence[FittingSymbol]
) -> list[FittingSymbol]:
    """Return symbols without some of these very ones."""
    gone = {id(symbol) for symbol in left_out}
    return [symbol for symbol in symbols if id(symbol) not in gone]


def _edges(entity: DrawnEntity, factor: float) -> tuple[DrawnEdge, ...]:
    """Edges of an entity; none of a closed one, or of one that reading will refuse."""
    if entity.is_closed:
        return ()
    try:
        return entity_edges(entity, factor, 0)
    except RouteError:
        return ()


def _ends(edges: Sequence[DrawnEdge]) -> tuple[Vector, ...]:
    return (edges[0].segment.start_m, edges[-1].segment.end_m) if edges else ()


def _curve(symbol: FittingSymbol, factor: float, reach_m: float) -> _Curve | None:
    """Return the one open curve that a symbol draws, None where it draws none, more or a loop.

    A body or box by its own name is no curve, however it is drawn: conductors pass through it.
    """
    if not symbol.rule or not symbol.pieces:
        return None
    if symbol.rule != "layer" and symbol.kind not in SOURCE_KINDS:
        return None
    edges = [_edges(piece, factor) for piece in symbol.pieces]
    ends = [end for group in edges for end in _ends(group)]
    if len(ends) != 2 * len(symbol.pieces):
        return None
    pairs = list(near_pairs(np.array(ends), reach_m))
    met = [i for pair in pairs for i in pair[:2]]
    free = [i for i in range(len(ends)) if i not in met]
    if len(set(met)) != len(met) or len(pairs) != len(edges) - 1 or len(free) != 2:
        return None
    turns = any(isinstance(edge.segment, Arc) for group in edges for edge in group)
    return _Curve(symbol, (ends[free[0]], ends[free[1]]), turns)


def _draws_loose_ends(symbol: FittingSymbol, factor: float) -> bool:
    """Whether an end of the open curves of a symbol meets no other of them."""
    ends = [end for piece in symbol.pieces for end in _ends(_edges(piece, factor))]
    met = {i for pair in near_pairs(np.array(ends), COINCIDENT_M) for i in pair[:2]} if ends else ()
    return len(met) < len(ends)


def _meeting_by_layout(
    curves: Sequence[_Curve], entities: Sequence[DrawnEntity], factor: float, reach_m: float
) -> tuple[list[_Curve], list[_Curve], dict[str, np.ndarray]]:
    """Return what `_meeting` does, each layout by itself, and the loose ends of each. [m]"""
    ends: dict[str, list[Vector]] = defaultdict(list)
    own: dict[str, list[_Curve]] = defaultdict(list)
    for entity in entities:
        ends[entity.layout] += _ends(_edges(entity, factor))
    for curve in curves:
        own[curve.symbol.layout].append(curve)
    taken, touching = [], []
    loose: dict[str, np.ndarray] = defaultdict(lambda: np.empty((0, 3)))
    for name in dict.fromkeys([*ends, *own]):
        found, touched, loose[name] = _meeting(own[name], ends[name], reach_m)
        taken += found
        touching += touched
    return taken, touching, loose


def _meeting(
    curves: Sequence[_Curve], ends: Sequence[Vector], reach_m: float
) -> tuple[list[_Curve], list[_Curve], np.ndarray]:
    """Return the curves whose both ends meet ends, those of which one does, and loose ends. [m]

    Curves may meet each other in a row, as long as the row begins and ends at the route.
    """
    own = [end for curve in curves for end in curve.ends_m]
    points = np.array([*own, *ends]).reshape(-1, 3)
    near: dict[int, set[int]] = defaultdict(set)
    for i, j, _ in near_pairs(points, reach_m) if len(points) > 1 else ():
        if i // 2 != j // 2 or i >= len(own):
            near[i].add(j)
            near[j].add(i)
    alive = set(range(len(curves)))

    def meets(end: int) -> bool:
        return any(other >= len(own) or other // 2 in alive for other in near[end])

    while dropped := {c for c in alive if not (meets(2 * c) and meets(2 * c + 1))}:
        alive -= dropped
    touching = [
        curve
        for c, curve in enumerate(curves)
        if c not in alive and (meets(2 * c) or meets(2 * c + 1))
    ]
    gone = {end for c in range(len(curves)) if c not in alive for end in (2 * c, 2 * c + 1)}
    loose = [i for i in range(len(points)) if i not in gone and not near[i] - gone]
    return [curves[c] for c in sorted(alive)], touching, points[loose]


def _stands_at(symbol: FittingSymbol, ends_m: np.ndarray, factor: float, snap_m: float) -> bool:
    """Whether a symbol, or its insertion point, lies within the snap of one of some ends."""
    low, high = np.array(symbol.low) * factor, np.array(symbol.high) * factor
    away = np.linalg.norm(np.maximum(np.maximum(low - ends_m, ends_m - high), 0.0), axis=1)
    return bool((away <= snap_m).any())


# --- what is said ------------------------------------------------------------------------------


def _grouped(
    symbols: Sequence[FittingSymbol],
) -> list[tuple[str, str, FittingSymbol, str]]:
    """Group symbols: what they are, by what a kind was given, one of them, where they stand."""
    groups: dict[tuple[str, str, str], list[FittingSymbol]] = defaultdict(list)
    for symbol in symbols:
        groups[symbol.block, symbol.kind.value, symbol.told_by].append(symbol)
    found = []
    for (block, _, by), group in groups.items():
        times = "once" if len(group) == 1 else f"{len(group)} times"
        what = f"block {block!r} ({times})" if block else f"POINT on it ({times})"
        where = place_list([f"layer {s.layer}, handle {s.handle}" for s in group])
        found.append((what, by, group[0], where))
    return found


def _taken_findings(pieces: Sequence[FittingSymbol]) -> list[Finding]:
    found = []
    for what, by, symbol, where in _grouped(pieces):
        message = (
            f"{what} is read as raceway, not as {symbol.kind.value} by {by}: it draws one open "
            f"curve between ends of the route. Say what it is under [drawing.fittings]: "
            f'"{symbol.block}" = "route"'
        )
        found.append(Finding("fitting-read-as-route", Severity.NOTE, message, where))
    return found


def _passing_findings(passing: Sequence[FittingSymbol]) -> list[Finding]:
    found = []
    for what, by, symbol, where in _grouped(passing):
        kind, key = symbol.kind.value, symbol.block or symbol.layer
        message = (
            f"{what} is no {kind}, in spite of {by}: that layer draws raceway, and no end of a "
            f"run stands there. It is left out; say what it is under [drawing.fittings], such as "
            f'"{key}" = "{kind}"'
        )
        if symbol.block:
            message += ', or "route" where it draws raceway'
        found.append(Finding("layer-word-not-used", Severity.NOTE, message, where))
    return found


def _doubtful_findings(doubtful: Sequence[_Curve], reach_m: float) -> list[Finding]:
    found = []
    for what, by, symbol, where in _grouped([curve.symbol for curve in doubtful]):
        alike = [
            c for c in doubtful if (c.symbol.block, c.symbol.kind) == (symbol.block, symbol.kind)
        ]
        ends = tuple((end, end) for curve in alike for end in curve.ends_m)
        concern = Concern(boxes_m=ends, reach_m=reach_m)
        message = (
            f"{what} is taken as {symbol.kind.value} by {by}, and what it draws is left out, but "
            "it draws an open curve that goes on from an end of a run. If it is raceway, write "
            f'"{symbol.block}" = "route" under [drawing.fittings], else '
            f'"{symbol.block}" = "{symbol.kind.value}"'
        )
        found.append(Finding("fitting-may-be-route", Severity.CAUTION, message, where, concern))
    return found


def standing_symbols(
    symbols: Sequence[FittingSymbol], entities: Sequence[DrawnEntity], factor: float
) -> list[Box]:
    """Return the blocks that may be raceway, in meters, with what to say of one in a gap.

    Those are taken for panels or equipment, but draw curves with loose ends, or are told by the
    name of a layer that draws raceway.
    """
    layers = {entity.layer.lower() for entity in entities}
    found = []
    for symbol in symbols:
        if not symbol.block or symbol.kind not in SOURCE_KINDS:
            continue
        is_told_by_route = symbol.rule == "layer" and symbol.layer.lower() in layers
        if is_told_by_route or _draws_loose_ends(symbol, factor):
            said = (
                f"block {symbol.block!r} stands there, taken as {symbol.kind.value} by "
                f'{symbol.told_by}: if it draws the missing piece, write "{symbol.block}" = '
                '"route" under [drawing.fittings]'
            )
            corners = times(symbol.low, factor), times(symbol.high, factor)
            found.append(Box(said, *corners, symbol.layout))
    return found
