"""A scene as a GLB file for other viewers: tube and boxes with their colors, no letters.

That format (glTF 2.0, from memory of the open standard) takes colors of corners as linear light and
a mesh without a material as bright metal. So the colors are handed over as linear light, and the
tube is unlit, so that light does not change what a color means; viewers without that extension take
it, like the boxes, as a matt surface.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from analyzer.errors import OutputError
from viewer.boxes import boxes_of
from viewer.meshes import Surface, box_surface, joined, tube_caps, tube_surface
from viewer.palette import LIGHT, linear, rgb
from viewer.scene import Scene
from viewer.solids import true_radius

__all__ = ["glb_bytes", "write_glb"]

_COLOR = "_LINEAR_COLOR"
"""Colors of a mesh on their way into the file, where they are named as the format names them."""

_UNLIT = "KHR_materials_unlit"
_MATT = {"metallicFactor": 0.0, "roughnessFactor": 1.0}
_RACEWAY = {"name": "raceway", "pbrMetallicRoughness": _MATT, "extensions": {_UNLIT: {}}}
_EQUIPMENT = {"name": "equipment", "pbrMetallicRoughness": _MATT}


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
    import trimesh

    radius = true_radius(scene) if radius_m is None else radius_m
    surfaces = []
    for leg in scene.legs:
        colors = scene.color_scale.colors(leg.values)
        tube = tube_surface(leg.points_m, leg.tangents, radius, colors)
        caps = tube_caps(leg.points_m, leg.tangents, radius, colors)
        surfaces.append((leg.name, joined((tube, caps))))
    tubes = len(surfaces)
    for box in boxes_of(scene, radius):
        color = rgb(LIGHT.equipment)
        solid = box_surface(box.center_m, box.axes, box.size_m, color, np.array([0.0, 0.0, 1.0]))
        # its own color without the shade of one view: viewers light it
        plain = np.tile(color, (len(solid.points_m), 1))
        surfaces.append((box.name, Surface(solid.points_m, solid.triangles, solid.normals, plain)))

    model = trimesh.Scene()
    for name, surface in surfaces:
        mesh = trimesh.Trimesh(
            vertices=_y_up(surface.points_m),
            faces=surface.triangles,
            vertex_normals=_y_up(surface.normals),
            vertex_attributes={_COLOR: _opaque(linear(surface.colors))},
            process=False,
        )
        model.add_geometry(mesh, geom_name=name, node_name=name)

    def with_materials(tree: dict[str, Any]) -> None:
        tree["materials"] = [_RACEWAY, _EQUIPMENT]
        tree["extensionsUsed"] = [_UNLIT]
        for number, mesh in enumerate(tree["meshes"]):
            (part,) = mesh["primitives"]
            part["attributes"]["COLOR_0"] = part["attributes"].pop(_COLOR)
            part["material"] = 0 if number < tubes else 1

    data: bytes = model.export(
        file_type="glb", include_normals=True, tree_postprocessor=with_materials
    )
    return data


def _opaque(light: np.ndarray) -> np.ndarray:
    colors = np.ones((len(light), 4), dtype=np.float32)
    colors[:, :3] = np.clip(light, 0.0, 1.0)
    return colors


def _y_up(vectors: np.ndarray) -> np.ndarray:
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
