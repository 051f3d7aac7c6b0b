"""Block references clipped to a window: what their blocks draw outside of it, which is read too.

Whether what does not show belongs to the route nobody knows, so it is read, and told. Sheets show
one block by several references at one place, each clipped to its part: out of sight is what none
of them shows.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from analyzer.findings import Concern, Finding, Severity
from analyzer.geometry.segments import Vector
from analyzer.geometry.vectors import times
from analyzer.importers.drawings.clip_windows import ON_EDGE, Clip, hidden_lengths, is_hidden
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.placements import Placement
from analyzer.importers.drawn_file import DrawnFitting
from analyzer.importers.told_places import UnitText, place_list
from analyzer.units import LengthUnit

__all__ = [
    "ClippedReference",
    "DrawnSymbol",
    "ReferencePlace",
    "clip_findings",
    "clipped_references",
]


@dataclass(frozen=True, slots=True)
class DrawnSymbol:
    """A fitting that a clipped reference draws.

    Attributes
    ----------
    name, where : str
        Its name, else that of its block; layer, block and handles.
    position : (3,) float
        Where it stands, in drawing units.
    pieces : tuple of str
        Handles of the curves it draws, should it be read as raceway.
    """

    name: str
    where: str
    position: Vector
    pieces: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReferencePlace:
    """A clipped reference at one place.

    Attributes
    ----------
    clip : Clip
        Its window.
    key : tuple of str, str, str, Placement
        Its block, layer, what it stands in (a layout, references) and its place, which references
        that draw the same share.
    block, where, handle : str
        Name of its block, its layer and handles, and its own handle.
    entities, fittings : tuples of DrawnEntity and DrawnSymbol
        What is read of it, in drawing units.
    """

    clip: Clip
    key: tuple[str, str, str, Placement]
    block: str
    where: str
    handle: str
    entities: tuple[DrawnEntity, ...]
    fittings: tuple[DrawnSymbol, ...]


@dataclass(frozen=True, slots=True)
class ClippedReference:
    """What a clipped reference draws out of sight, at one place.

    Attributes
    ----------
    block, where, handle : str
        Name of its block, its layer and handles, and its own handle.
    is_compared : bool
        Whether its window was compared with what it draws.
    hidden : float
        Length of its open curves that is out of sight, in drawing units; all of it where nothing
        was compared.
    entities, layers : tuple of str
        Handles of the curves that go out of sight, and the layer of each.
    fittings : tuple of DrawnSymbol
        The fittings out of sight.
    """

    block: str
    where: str
    handle: str
    is_compared: bool
    hidden: float
    entities: tuple[str, ...]
    layers: tuple[str, ...]
    fittings: tuple[DrawnSymbol, ...]


def clipped_references(
    references: Sequence[ReferencePlace], whole: Collection[tuple[str, str, str, Placement]]
) -> list[ClippedReference]:
    """Return what clipped references draw out of sight, without those that draw nothing there.

    Parameters
    ----------
    references : sequence of ReferencePlace
        The clipped references of a drawing.
    whole : collection of (str, str, str, Placement)
        Keys of the references that are not clipped: what one of them draws too does show.
    """
    alike: dict[tuple[str, str, str, Placement], list[ReferencePlace]] = defaultdict(list)
    for one in references:
        alike[one.key].append(one)
    found = []
    for one in references:
        if one.key not in whole:
            hidden = _clipped(one, [other.clip for other in alike[one.key]])
            found += [hidden] if hidden is not None else []
    return found


def _clipped(reference: ReferencePlace, clips: Sequence[Clip]) -> ClippedReference | None:
    """Return what a reference draws that none of some clips shows; None where that is nothing."""
    placement = reference.key[3]
    axes = placement.x_axis, placement.y_axis, placement.z_axis, placement.origin
    if not np.isfinite(np.array(axes)).all():
        clips = [Clip(None, np.eye(4))]
    compared = [(clip, clip.window) for clip in clips if clip.window is not None]
    drawn = [entity for entity in reference.entities if not entity.is_closed]
    with np.errstate(all="ignore"):  # of places that are none; they are told elsewhere
        lengths = hidden_lengths(compared, placement, drawn)
    sizes = [float(np.ptp(window, axis=0).max()) for _, window in compared]
    least = ON_EDGE * min(sizes, default=0.0)
    out = [(one, length) for one, length in zip(drawn, lengths, strict=True) if length > least]
    boxes = tuple(f for f in reference.fittings if is_hidden(compared, placement, f.position))
    if not out and not boxes:
        return None
    return ClippedReference(
        reference.block,
        reference.where,
        reference.handle,
        bool(compared) and reference.clip.window is not None,
        float(sum(length for _, length in out)),
        tuple(one.handle for one, _ in out),
        tuple(one.layer for one, _ in out),
        boxes,
    )


def clip_findings(
    clipped: Sequence[ClippedReference],
    unit: LengthUnit | None,
    read: tuple[Sequence[DrawnFitting], Collection[str]] | None = None,
) -> list[Finding]:
    """Return a caution for each clipped reference that draws something out of sight.

    Parameters
    ----------
    clipped : sequence of ClippedReference
        Places of an array, and of a reference inside a block, are told together.
    unit : LengthUnit or None
        Unit of the drawing; lengths are told in drawing units where it is not known.
    read : sequence of DrawnFitting and collection of str, or None
        The fittings that may stand on runs, and the handles of the curves that are read: a symbol
        out of sight that is neither is not told. None: all of them are.
    """
    factor = 1.0 if unit is None else float(unit.factor)
    standing = None if read is None else {(one.where, one.position_m) for one in read[0]}
    curves = () if read is None else read[1]

    def is_read(symbol: DrawnSymbol) -> bool:
        place = symbol.where, times(symbol.position, factor)
        return standing is None or place in standing or not set(symbol.pieces).isdisjoint(curves)

    by_handle: dict[str, list[ClippedReference]] = {}
    for one in clipped:
        by_handle.setdefault(one.handle, []).append(one)
    findings = []
    for alike in by_handle.values():
        first = alike[0]
        entities = tuple(dict.fromkeys(handle for one in alike for handle in one.entities))
        boxes = [symbol for one in alike for symbol in one.fittings if is_read(symbol)]
        if not entities and not boxes:
            continue
        hidden = sum(one.hidden for one in alike)
        parts = []
        if entities:
            length = (
                f"{hidden:.4g} drawing units"
                if unit is None
                else UnitText(unit).length(hidden * factor)
            )
            parts.append(f"{length} of its lines and arcs")
        if boxes:
            names = place_list([repr(name) for name in dict.fromkeys(s.name for s in boxes)], 3)
            parts.append(f"{len(boxes)} fitting{'' if len(boxes) == 1 else 's'} ({names})")
        what = " and ".join(parts)
        if first.is_compared:
            text = (
                f"block {first.block!r} is clipped to a window; what lies outside does not show "
                f"but is read: {what}. If that is no part of the route, explode the reference and "
                "trim it; if it is, turn the clip off so that it shows"
            )
        else:
            text = (
                f"block {first.block!r} is clipped in depth, seen not from above, or in a way "
                f"that cannot be read: some of it may not show, all of it is read, {what}. "
                "Check what the drawing program shows; explode the reference and trim it, or turn "
                "the clip off"
            )
        pieces = tuple(handle for symbol in boxes for handle in symbol.pieces)
        places = tuple(times(symbol.position, factor) for symbol in boxes)
        concern = Concern(entities=(*entities, *pieces), fittings_m=places)
        findings.append(Finding("reference-clipped", Severity.CAUTION, text, first.where, concern))
    return findings
