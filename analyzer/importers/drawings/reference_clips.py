"""Block references clipped to a window: what their blocks draw outside of it, which is read too.

A drawing program hides what lies outside the window (or inside it, where it is inverted); the file
holds all of it. Whether it belongs to the route nobody knows, so it is read, and told. The window
is a polygon seen along z in the coordinates the reference had when it was clipped (DXF reference,
SPATIAL_FILTER). Windows seen another way, and clips in depth, are told without comparing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from ezdxf.xclip import XClip

from analyzer.findings import EVERY_RUN, Concern, Finding, Severity
from analyzer.geometry.segments import Floats, Vector
from analyzer.importers.drawings.edges import piece_points
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.placements import Placement
from analyzer.importers.told_places import UnitText, place_list
from analyzer.units import LengthUnit

__all__ = ["Clip", "ClippedReference", "clip_findings", "clip_of", "clipped_reference"]

_SAMPLES = 64  # chords of a curve, whose length outside is told in four digits
_ON_EDGE = 1e-6  # share of the window's size within which a point lies on its edge
_AT_ONCE = 1_000_000  # pairs of chords and sides of the window compared at once


@dataclass(frozen=True, slots=True)
class Clip:
    """The window of a clipped reference.

    Attributes
    ----------
    window : (n, 2) float or None
        Its corners; None where it is not compared.
    from_block : (4, 4) float
        Takes rows of block coordinates (x, y, z, 1) to those of the window.
    hides_inside : bool
        Whether what lies inside is hidden.
    """

    window: Floats | None
    from_block: Floats
    hides_inside: bool = False


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
    fittings : tuple of str
        Names of the fittings out of sight.
    """

    block: str
    where: str
    handle: str
    is_compared: bool
    hidden: float
    entities: tuple[str, ...]
    layers: tuple[str, ...]
    fittings: tuple[str, ...]


def clip_of(insert: Any) -> Clip | None:
    """Return the clip of a block reference; None where it has none, or it is turned off."""
    if not insert.has_extension_dict:
        return None
    try:
        clip = XClip(insert)
        found = clip.get_spatial_filter()
        if found is None or not clip.is_clipping_enabled:
            return None
    except Exception:  # what stands in its place may be anything: no clip
        return None
    unknown = Clip(None, np.eye(4))
    try:
        depth = found.dxf.has_front_clipping_plane or found.dxf.has_back_clipping_plane
        turned = np.array(list(found.transform_matrix)).reshape(4, 4)
        seen = np.array(tuple(found.dxf.extrusion))
        if depth or not np.allclose(turned, np.eye(4)) or np.hypot(*seen[:2]) or seen[2] <= 0.0:
            return unknown
        to_block = np.array(list(found.inverse_insert_matrix)).reshape(4, 4)
        hides_inside = clip.is_inverted_clip
        corners = np.array([tuple(corner) for corner in found.boundary_vertices], dtype=float)
        from_block = np.linalg.inv(to_block)
        if hides_inside:
            inner = clip.get_block_clipping_path().inverted_clip
            corners, from_block = np.array([tuple(corner) for corner in inner]), np.eye(4)
        if len(corners) == 2:
            (left, low), (right, high) = corners
            corners = np.array([(left, low), (right, low), (right, high), (left, high)])
        is_window = len(corners) > 2 and np.isfinite(corners).all() and np.ptp(corners, 0).all()
        if not is_window or not np.isfinite(from_block).all():
            return unknown
    except Exception:  # odd data of a clip stops nothing: it is told as not compared
        return unknown
    return Clip(corners, from_block, hides_inside)


def clipped_reference(
    clip: Clip,
    placement: Placement,
    named: tuple[str, str, str],
    entities: Sequence[DrawnEntity],
    fittings: Iterable[tuple[str, Vector]],
) -> ClippedReference | None:
    """Return what a clipped reference draws out of sight; None where that is nothing.

    Parameters
    ----------
    clip : Clip
        Its window.
    placement : Placement
        Of its block in the world.
    named : three str
        Name of its block, its layer and handles, and its own handle.
    entities : sequence of DrawnEntity
        What is read of it, in drawing units.
    fittings : iterable of (str, (3,) float)
        Names and places of the fittings read of it, in drawing units.
    """
    axes = placement.x_axis, placement.y_axis, placement.z_axis, placement.origin
    if not np.isfinite(np.array(axes)).all():
        clip = Clip(None, np.eye(4))
    is_compared = clip.window is not None
    drawn = [entity for entity in entities if not entity.is_closed]
    with np.errstate(all="ignore"):  # of places that are none; they are told elsewhere
        lengths = _hidden_lengths(clip, placement, drawn)
    least = _ON_EDGE * float(np.ptp(clip.window, axis=0).max()) if clip.window is not None else 0.0
    out = [(one, length) for one, length in zip(drawn, lengths, strict=True) if length > least]
    boxes = tuple(name for name, at in fittings if _is_hidden(clip, placement, at))
    if not out and not boxes:
        return None
    return ClippedReference(
        *named,
        is_compared,
        float(sum(length for _, length in out)),
        tuple(one.handle for one, _ in out),
        tuple(one.layer for one, _ in out),
        boxes,
    )


def clip_findings(clipped: Sequence[ClippedReference], unit: LengthUnit | None) -> list[Finding]:
    """Return a caution for each clipped reference that draws something out of sight.

    Parameters
    ----------
    clipped : sequence of ClippedReference
        Places of an array, and of a reference inside a block, are told together.
    unit : LengthUnit or None
        Unit of the drawing; lengths are told in drawing units where it is not known.
    """
    by_handle: dict[str, list[ClippedReference]] = {}
    for one in clipped:
        by_handle.setdefault(one.handle, []).append(one)
    findings = []
    for alike in by_handle.values():
        first = alike[0]
        entities = tuple(dict.fromkeys(handle for one in alike for handle in one.entities))
        boxes = [name for one in alike for name in one.fittings]
        hidden = sum(one.hidden for one in alike)
        parts = []
        if entities:
            length = (
                f"{hidden:.4g} drawing units"
                if unit is None
                else UnitText(unit).length(hidden * float(unit.factor))
            )
            parts.append(f"{length} of its lines and arcs")
        if boxes:
            names = place_list([repr(name) for name in dict.fromkeys(boxes)], 3)
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
        concern = EVERY_RUN if boxes else Concern(entities=entities)
        findings.append(Finding("reference-clipped", Severity.CAUTION, text, first.where, concern))
    return findings


def _hidden_lengths(clip: Clip, placement: Placement, drawn: Sequence[DrawnEntity]) -> Floats:
    """Return the length of each entity that is out of sight; all of it if nothing is compared."""
    starts: list[Vector] = []
    ends: list[Vector] = []
    owners: list[int] = []
    for index, entity in enumerate(drawn):
        for piece in entity.pieces:
            try:
                points = piece_points(piece, _SAMPLES)
            except (ValueError, ArithmeticError, LookupError):  # told where edges are made of it
                continue
            starts += points[:-1]
            ends += points[1:]
            owners += [index] * (len(points) - 1)
    lengths = np.zeros(len(drawn))
    if not starts:
        return lengths
    a, b = np.array(starts), np.array(ends)
    shares = np.ones(len(a))
    if clip.window is not None:
        ends_in = _in_window(clip, placement, a), _in_window(clip, placement, b)
        shares = _hidden_shares(*ends_in, clip.window, clip.hides_inside)
    np.add.at(lengths, owners, shares * np.linalg.norm(b - a, axis=1))
    return lengths


def _is_hidden(clip: Clip, placement: Placement, place: Vector) -> bool:
    """Return whether a place in the world is out of sight, or cannot be compared."""
    if clip.window is None:
        return True
    (at,) = _in_window(clip, placement, np.array([place]))
    return bool(_is_out(at[None], clip.window, clip.hides_inside)[0])


def _in_window(clip: Clip, placement: Placement, points: Floats) -> Floats:
    """Return places in the world as x and y in the coordinates of the window, (n, 2)."""
    axes = np.array([placement.x_axis, placement.y_axis, placement.z_axis])
    # the pseudoinverse, since a reference may flatten its block
    in_block = (points - np.array(placement.origin)) @ np.linalg.pinv(axes)
    rows = np.column_stack([in_block, np.ones(len(points))]) @ clip.from_block
    found: Floats = rows[:, :2]
    return found


def _hidden_shares(a: Floats, b: Floats, window: Floats, hides_inside: bool) -> Floats:
    """Return how much of each chord from a to b is out of sight, from 0 to 1."""
    shares = np.zeros(len(a))
    step = max(_AT_ONCE // len(window), 1)
    for first in range(0, len(a), step):
        part = slice(first, first + step)
        cuts = _crossings(a[part], b[part], window)
        middles = 0.5 * (cuts[:, 1:] + cuts[:, :-1])
        size = np.diff(cuts, axis=1)
        for column in range(middles.shape[1]):
            at = a[part] + middles[:, column, None] * (b[part] - a[part])
            out = _is_out(at, window, hides_inside)
            shares[part] += np.where(out, size[:, column], 0.0)
    return shares


def _crossings(a: Floats, b: Floats, window: Floats) -> Floats:
    """Return 0, the shares at which chords cross sides of the window in order, and 1, by chord."""
    sides = np.roll(window, -1, axis=0) - window
    along = (b - a)[:, None]
    to_side = window[None] - a[:, None]
    across = _cross(along, sides[None])
    with np.errstate(divide="ignore", invalid="ignore"):
        t = _cross(to_side, sides[None]) / across
        s = _cross(to_side, along) / across
    hits = (across != 0.0) & (t > 0.0) & (t < 1.0) & (s >= -_ON_EDGE) & (s <= 1.0 + _ON_EDGE)
    most = int(hits.sum(axis=1).max())
    cuts = np.sort(np.where(hits, t, 0.0), axis=1)[:, len(window) - most :]
    ends = np.zeros(len(a)), np.ones(len(a))
    return np.column_stack([ends[0], cuts, ends[1]])


def _is_out(points: Floats, window: Floats, hides_inside: bool) -> Floats:
    """Return which points are out of sight; those on the edge of the window are not."""
    nexts = np.roll(window, -1, axis=0)
    x, y = points[:, 0, None], points[:, 1, None]
    straddles = (window[:, 1] > y) != (nexts[:, 1] > y)
    rise = np.where(nexts[:, 1] == window[:, 1], 1.0, nexts[:, 1] - window[:, 1])
    at_x = window[:, 0] + (y - window[:, 1]) / rise * (nexts[:, 0] - window[:, 0])
    inside = np.sum(straddles & (x < at_x), axis=1) % 2 == 1
    out: Floats = inside if hides_inside else ~inside
    far = points[out]
    sides = nexts - window
    squares = np.maximum(np.sum(sides**2, axis=1), 1e-300)
    share = np.clip(np.sum((far[:, None] - window) * sides, axis=2) / squares, 0.0, 1.0)
    away = np.linalg.norm(window + share[..., None] * sides - far[:, None], axis=2).min(axis=1)
    out[out] = away > _ON_EDGE * np.ptp(window, axis=0).max()
    return out


def _cross(u: Floats, v: Floats) -> Floats:
    found: Floats = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return found
