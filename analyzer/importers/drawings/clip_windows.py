"""Windows that block references are clipped to, and what lies out of sight of them.

A drawing program hides what lies outside the window (or inside it, where it is inverted); the file
holds all of it. The window is a polygon seen along z in the coordinates the reference had when it
was clipped (DXF reference, SPATIAL_FILTER). Windows seen another way, and clips in depth, are not
compared.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from ezdxf.xclip import XClip

from analyzer.geometry.segments import Floats, Vector
from analyzer.importers.drawings.edges import piece_points
from analyzer.importers.drawings.entities import DrawnEntity
from analyzer.importers.drawings.placements import Placement

__all__ = ["ON_EDGE", "Clip", "clip_of", "hidden_lengths", "is_hidden"]

ON_EDGE = 1e-6
"""Share of the size of a window within which a point lies on its edge."""

_SAMPLES = 64  # chords of a curve, whose length outside is told in four digits
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


def hidden_lengths(
    clips: Sequence[tuple[Clip, Floats]], placement: Placement, drawn: Sequence[DrawnEntity]
) -> Floats:
    """Return the length of each entity that no window shows, in drawing units, (n,) float.

    Parameters
    ----------
    clips : sequence of Clip and (n, 2) float
        Those that are compared, and their windows; without any, all counts as out of sight.
    placement : Placement
        Of their block in the world.
    drawn : sequence of DrawnEntity
        In drawing units.
    """
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
    seen: list[tuple[Floats, Floats, Floats, bool]] = [
        (_in_window(clip, placement, a), _in_window(clip, placement, b), window, clip.hides_inside)
        for clip, window in clips
    ]
    shares = _hidden_shares(seen) if seen else np.ones(len(a))
    np.add.at(lengths, owners, shares * np.linalg.norm(b - a, axis=1))
    return lengths


def is_hidden(clips: Sequence[tuple[Clip, Floats]], placement: Placement, place: Vector) -> bool:
    """Return whether a place in the world is out of sight, or cannot be compared."""
    for clip, window in clips:
        (at,) = _in_window(clip, placement, np.array([place]))
        if not _is_out(at[None], window, clip.hides_inside)[0]:
            return False
    return True


def _in_window(clip: Clip, placement: Placement, points: Floats) -> Floats:
    """Return places in the world as x and y in the coordinates of the window, (n, 2)."""
    axes = np.array([placement.x_axis, placement.y_axis, placement.z_axis])
    # the pseudoinverse, since a reference may flatten its block
    in_block = (points - np.array(placement.origin)) @ np.linalg.pinv(axes)
    rows = np.column_stack([in_block, np.ones(len(points))]) @ clip.from_block
    found: Floats = rows[:, :2]
    return found


def _hidden_shares(seen: Sequence[tuple[Floats, Floats, Floats, bool]]) -> Floats:
    """Return how much of each chord no window shows, from 0 to 1.

    Of each window: where chords start and end in its coordinates, its corners, and whether it hides
    what lies inside.
    """
    count = len(seen[0][0])
    shares = np.zeros(count)
    step = max(_AT_ONCE // sum(len(window) for _, _, window, _ in seen), 1)
    for first in range(0, count, step):
        part = slice(first, first + step)
        each = [_crossings(a[part], b[part], window) for a, b, window, _ in seen]
        cuts = np.sort(np.concatenate(each, axis=1), axis=1)
        middles = 0.5 * (cuts[:, 1:] + cuts[:, :-1])
        size = np.diff(cuts, axis=1)
        for column in range(middles.shape[1]):
            hidden = size[:, column]
            for a, b, window, hides_inside in seen:
                at = a[part] + middles[:, column, None] * (b[part] - a[part])
                hidden = np.where(_is_out(at, window, hides_inside), hidden, 0.0)
            shares[part] += hidden
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
    hits = (across != 0.0) & (t > 0.0) & (t < 1.0) & (s >= -ON_EDGE) & (s <= 1.0 + ON_EDGE)
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
    out[out] = away > ON_EDGE * np.ptp(window, axis=0).max()
    return out


def _cross(u: Floats, v: Floats) -> Floats:
    found: Floats = u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]
    return found
