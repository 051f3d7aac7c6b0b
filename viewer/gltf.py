"""A scene as a GLB file for other viewers: tube, rings and boxes with their colors, no letters."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from analyzer.errors import OutputError
from viewer.boxes import boxes_of
from viewer.meshes import joined, tube_caps, tube_surface
from viewer.palette import LIGHT, rgb
from viewer.scene import Scene
from viewer.solids import true_radius

__all__ = ["glb_bytes", "write_glb"]


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
    model = trimesh.Scene()
    for leg in scene.legs:
        colors = scene.color_scale.colors(leg.values)
        tube = joined(
            (
                tube_surface(leg.points_m, leg.tangents, radius, colors),
                tube_caps(leg.points_m, leg.tangents, radius, colors),
            )
        )
        model.add_geometry(
            trimesh.Trimesh(
                vertices=_y_up(tube.points_m),
                faces=tube.triangles,
                vertex_normals=_y_up(tube.normals),
                vertex_colors=_rgba(tube.colors),
                process=False,
            ),
            geom_name=leg.name,
            node_name=leg.name,
        )
    for box in boxes_of(scene, radius):
        mesh = trimesh.creation.box(extents=box.size_m)
        mesh.vertices = _y_up(box.center_m + mesh.vertices @ box.axes)
        mesh.visual.vertex_colors = _rgba(np.tile(rgb(LIGHT.equipment), (len(mesh.vertices), 1)))
        model.add_geometry(mesh, geom_name=box.name, node_name=box.name)
    data: bytes = model.export(file_type="glb")
    return data


def _y_up(vectors: np.ndarray) -> np.ndarray:
    return np.stack([vectors[:, 0], vectors[:, 2], -vectors[:, 1]], axis=-1)


def _rgba(colors: np.ndarray) -> np.ndarray:
    bytes_ = np.clip(np.round(colors * 255), 0, 255).astype(np.uint8)
    return np.concatenate([bytes_, np.full((len(bytes_), 1), 255, dtype=np.uint8)], axis=1)


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
