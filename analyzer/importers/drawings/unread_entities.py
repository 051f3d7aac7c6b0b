"""Entities that are not read, but may draw part of a route: multilines, proxies, unknown types.

Where one has a point at the end of a run, it may carry the run on. Where nothing is known of what
it draws, it may be part of any run that its layer holds.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.importers.chaining.chains import Chain, chain_ends, joining_reach
from analyzer.importers.drawings.edges import piece_points
from analyzer.importers.drawings.entities import CURVE_ENTITIES, read_entity
from analyzer.importers.drawings.placements import Placement
from analyzer.importers.told_places import UnitText, place_list
from analyzer.units import LengthUnit

__all__ = ["UnreadEntity", "may_be_route", "unread_entity", "unread_findings"]

_PROXIES = ("ACAD_PROXY_ENTITY", "ACAD_PROXY_OBJECT")
_SAMPLES = 8  # places on each curve of the picture that a proxy carries of itself


@dataclass(frozen=True, slots=True)
class UnreadEntity:
    """An entity that is not read and may draw part of a route, in drawing units.

    `points` are those it goes through; empty where what it draws is not known. `layout` is the
    paper space layout it stands in; empty in model space.
    """

    kind: str
    layer: str
    handle: str
    points: tuple[Vector, ...]
    layout: str = ""

    @property
    def where(self) -> str:
        """Layer, entity type and handle."""
        return f"layer {self.layer}, {self.kind} {self.handle}"


def may_be_route(entity: Any) -> bool:
    """Return whether an entity that is not read may draw part of a route.

    Texts, dimensions, hatches, solids and the like are drawn beside one.
    """
    from ezdxf.entities import DXFTagStorage

    return entity.dxftype() in ("MLINE", *_PROXIES) or isinstance(entity, DXFTagStorage)


def unread_entity(entity: Any, placement: Placement, layer: str, handle: str) -> UnreadEntity:
    """Return what is known of an entity that is not read.

    Parameters
    ----------
    entity : ezdxf entity
        One that `may_be_route`.
    placement : Placement
        Of the block it stands in.
    layer, handle : str
        Layer it counts for, and what a message should point at.
    """
    kind = str(entity.dxftype())
    try:
        points = tuple(_points(entity, placement))
    except Exception:  # the library fails in many ways on pictures of objects it does not know
        points = ()
    return UnreadEntity(kind, layer, handle, points)


def _points(entity: Any, placement: Placement) -> list[Vector]:
    if entity.dxftype() == "MLINE":
        places = (vertex.location for vertex in entity.vertices)
        return [placement.point((float(p[0]), float(p[1]), float(p[2]))) for p in places]
    points: list[Vector] = []
    for part in entity.virtual_entities():
        if part.dxftype() in CURVE_ENTITIES:
            drawn = read_entity(part, placement, "", "")
            for piece in drawn.pieces if drawn is not None else ():
                points += piece_points(piece, _SAMPLES)
    return points


def unread_findings(
    unread: Sequence[UnreadEntity], chains: Sequence[Chain], join_m: float, unit: LengthUnit
) -> tuple[list[Finding], list[UnreadEntity]]:
    """Return cautions on the entities that may be part of a run, and these entities.

    Parameters
    ----------
    unread : sequence of UnreadEntity
        In drawing units.
    chains : sequence of Chain
        The runs. [m]
    join_m : float
        Largest gap that is bridged: how near to an end a point has to be. [m]
    unit : LengthUnit
        Unit of the drawing.
    """
    factor, reach_m, text = float(unit.factor), joining_reach(join_m), UnitText(unit)
    tips_m: dict[str, list[Vector]] = defaultdict(list)
    for chain in chains:
        tips_m[chain.layout] += chain_ends(chain)
    held = {curve.layer for chain in chains for curve in chain.curves}
    findings, told = [], []
    unknown: dict[tuple[str, str], list[UnreadEntity]] = defaultdict(list)
    for entity in unread:
        if not entity.points:
            if entity.layer in held:
                unknown[(entity.kind, entity.layer)].append(entity)
            continue
        points = np.array(entity.points) * factor
        low, high = points.min(axis=0) - reach_m, points.max(axis=0) + reach_m
        tips = np.array(tips_m[entity.layout]).reshape(-1, 3)
        near = tips[np.all((tips >= low) & (tips <= high), axis=1)]
        at = [tip for tip in near if np.linalg.norm(points - tip, axis=1).min() <= reach_m]
        if not at:
            continue
        ends = [(float(x), float(y), float(z)) for x, y, z in at]
        message = (
            f"{_named(entity.kind)} has a point at the end of a run, {text.place(ends[0])}, and "
            "is not read. If it carries the run on, draw it as a line or a polyline"
        )
        concern = Concern(boxes_m=tuple((end, end) for end in ends), reach_m=reach_m)
        findings.append(
            Finding("entity-may-be-route", Severity.CAUTION, message, entity.where, concern)
        )
        told.append(entity)
    for (kind, layer), alike in unknown.items():
        one = len(alike) == 1
        message = (
            f"{_named(kind) if one else f'{len(alike)} {kind}'} on layer {layer}, where runs are "
            f"drawn, {'is' if one else 'are'} not read: what {'it draws' if one else 'they draw'} "
            "is not known. If that is part of a run, draw it as lines, arcs or polylines"
        )
        where = place_list([entity.where for entity in alike])
        concern = Concern(layers=(layer,))
        findings.append(Finding("entity-may-be-route", Severity.CAUTION, message, where, concern))
        told += alike
    return findings, told


def _named(kind: str) -> str:
    return f"{'an' if kind[:1] in 'AEIO' or kind == 'MLINE' else 'a'} {kind}"
