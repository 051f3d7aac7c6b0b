"""A scene as a GLB file for other viewers: tube and boxes with their colors, no letters.

Written as glTF 2.0 asks (from memory of that open format): one JSON chunk and one binary chunk,
meters, y up, colors of corners as linear light. The tube is unlit, so that light does not change
what a color means; viewers without that extension take it, like the boxes, as a matt surface.
"""

from __future__ import annotations

import json
import struct
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analyzer.errors import OutputError
from viewer.boxes import boxes_of
from viewer.meshes import Surface, box_surface, joined, tube_caps, tube_surface
from viewer.palette import LIGHT, linear, rgb
from viewer.scene import Scene
from viewer.solids import true_radius

__all__ = ["glb_bytes", "write_glb"]

_UNSIGNED_SHORT, _UNSIGNED_INT, _FLOAT = 5123, 5125, 5126
_CORNERS, _INDICES = 34962, 34963
_UNLIT = "KHR_materials_unlit"
_MATT = {"metallicFactor": 0.0, "roughnessFactor": 1.0}
_TUBE, _BOX = 0, 1
_MATERIALS = [
    {"name": "raceway", "pbrMetallicRoughness": _MATT, "extensions": {_UNLIT: {}}},
    {"name": "equipment", "pbrMetallicRoughness": _MATT},
]


def glb_bytes(scene: Scene, radius_m: float | None = None) -> bytes:
    """Return the scene as binary glTF 2.0, in meters, y up as that format wants it.

    Parameters
    ----------
    scene : Scene
        What to export.
    radius_m : float, optional
        Radius of the tube; by default the raceway's true outside radius, or where the job names
        no raceway a tenth of the smallest bend radius. [m]
    """
    radius = true_radius(scene) if radius_m is None else radius_m
    boxes = boxes_of(scene, radius)
    model = _Model()
    for leg in scene.legs:
        colors = scene.color_scale.colors(leg.values)
        tube = tube_surface(leg.points_m, leg.tangents, radius, colors)
        caps = tube_caps(leg.points_m, leg.tangents, radius, colors)
        model.add(leg.name, joined((tube, caps)), tube_colors=True)
    for box in boxes:
        color = rgb(LIGHT.equipment)
        solid = box_surface(box.center_m, box.axes, box.size_m, color, np.array([0.0, 0.0, 1.0]))
        # its own color without the shade of one view: viewers light it
        plain = np.tile(color, (len(solid.points_m), 1))
        model.add(box.name, Surface(solid.points_m, solid.triangles, solid.normals, plain), False)
    return model.packed()


class _Model:
    """Meshes gathered into the two chunks of the file."""

    def __init__(self) -> None:
        self._data = bytearray()
        self._views: list[dict[str, Any]] = []
        self._accessors: list[dict[str, Any]] = []
        self._meshes: list[dict[str, Any]] = []

    def add(self, name: str, surface: Surface, tube_colors: bool) -> None:
        """Add one surface as a mesh and its node."""
        light = np.concatenate([linear(surface.colors), np.ones((len(surface.colors), 1))], axis=1)
        shorts = np.round(np.clip(light, 0.0, 1.0) * 65535).astype("<u2")
        points = _y_up(surface.points_m).astype("<f4")
        ends = {"min": points.min(axis=0).tolist(), "max": points.max(axis=0).tolist()}
        attributes = {
            "POSITION": self._rows(points, _FLOAT, "VEC3", _CORNERS, **ends),
            "NORMAL": self._rows(_y_up(surface.normals).astype("<f4"), _FLOAT, "VEC3", _CORNERS),
            "COLOR_0": self._rows(shorts, _UNSIGNED_SHORT, "VEC4", _CORNERS, normalized=True),
        }
        faces = surface.triangles.reshape(-1, 1).astype("<u4")
        part = {
            "attributes": attributes,
            "indices": self._rows(faces, _UNSIGNED_INT, "SCALAR", _INDICES),
            "material": _TUBE if tube_colors else _BOX,
        }
        self._meshes.append({"name": name, "primitives": [part]})

    def _rows(self, rows: NDArray[Any], number: int, kind: str, target: int, **more: object) -> int:
        raw = rows.tobytes()
        self._views.append(
            {"buffer": 0, "byteOffset": len(self._data), "byteLength": len(raw), "target": target}
        )
        self._data += raw
        accessor = {"bufferView": len(self._views) - 1, "componentType": number, "type": kind}
        self._accessors.append({**accessor, "count": len(rows), **more})
        return len(self._accessors) - 1

    def packed(self) -> bytes:
        """Return the whole file; all rows are multiples of four bytes, so all stand aligned."""
        count = len(self._meshes)
        header = {
            "asset": {"version": "2.0", "generator": "raceway path analyzer"},
            "extensionsUsed": [_UNLIT],
            "scene": 0,
            "scenes": [{"nodes": list(range(count))}],
            "nodes": [{"name": m["name"], "mesh": n} for n, m in enumerate(self._meshes)],
            "meshes": self._meshes,
            "materials": _MATERIALS,
            "accessors": self._accessors,
            "bufferViews": self._views,
            "buffers": [{"byteLength": len(self._data)}],
        }
        text = json.dumps(header, allow_nan=False, separators=(",", ":")).encode("ascii")
        text += b" " * (-len(text) % 4)
        data = bytes(self._data)
        size = 12 + 8 + len(text) + 8 + len(data)
        return b"".join(
            (
                struct.pack("<4sII", b"glTF", 2, size),
                struct.pack("<I4s", len(text), b"JSON") + text,
                struct.pack("<I4s", len(data), b"BIN\0") + data,
            )
        )


def _y_up(vectors: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.stack([vectors[:, 0], vectors[:, 2], -vectors[:, 1]], axis=-1)


def write_glb(scene: Scene, file: Path) -> None:
    """Write a scene as GLB, whole or not at all.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    data = glb_bytes(scene)
    part = file.with_name(file.name + ".part")
    try:
        part.write_bytes(data)
        part.replace(file)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise OutputError(f"cannot write {file}: {error.strerror or error}") from error
