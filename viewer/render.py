"""Lit geometry to pixels, off screen, by pyvista; no letters and no marks."""

from __future__ import annotations

from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from viewer.camera import Camera
from viewer.floor import edge_ramp
from viewer.graphics_probe import prepare_off_screen, require_graphics
from viewer.head import Head
from viewer.meshes import Surface
from viewer.palette import Theme, rgb
from viewer.scene import Scene
from viewer.solids import Solids, tube_of

__all__ = [
    "OVERSAMPLING",
    "add_moving",
    "add_solids",
    "aim",
    "clear_of",
    "recolor",
    "render_solids",
    "update_tube",
]

OVERSAMPLING = 2
"""Pixels rendered for each pixel of the picture, each way."""


def render_solids(
    solids: Solids,
    camera: Camera,
    unit_px: float,
    theme: Theme,
    fade_px: float = 0.0,
    oversampling: int = OVERSAMPLING,
) -> NDArray[np.uint8]:
    """Return the geometry as the camera sees it.

    Parameters
    ----------
    solids : Solids
        Surfaces and lines.
    camera : Camera
        Where it is seen from; gives the size of the picture.
    unit_px : float
        Pixels of one drawing unit, for widths of lines.
    theme : Theme
        Neutral colors.
    fade_px : float
        Width over which the edge of the picture fades to the ground. [px]
    oversampling : int
        Rendered pixels for each pixel, reduced by Lanczos.

    Returns
    -------
    (height, width, 3) uint8

    Raises
    ------
    GraphicsError
        If no graphics library is usable here.
    """
    require_graphics()
    prepare_off_screen()
    import pyvista

    size = (camera.width * oversampling, camera.height * oversampling)
    plotter = pyvista.Plotter(off_screen=True, window_size=size, lighting="none")
    try:
        plotter.set_background(theme.ground)
        add_solids(plotter, solids, unit_px * oversampling, theme)
        aim(plotter, camera)
        image = np.asarray(plotter.screenshot(None, return_img=True))[..., :3]
    finally:
        plotter.close()
    if oversampling > 1:
        small = Image.fromarray(image).resize(
            (camera.width, camera.height), Image.Resampling.LANCZOS
        )
        image = np.asarray(small)
    return _faded(image, fade_px, theme) if fade_px > 0 else image


def add_solids(plotter: Any, solids: Solids, line_px: float, theme: Theme) -> tuple[Any, list[Any]]:
    """Add everything to a plotter; return the mesh of the tube and all actors made.

    Parameters
    ----------
    plotter : pyvista Plotter
        Where it is added.
    solids : Solids
        The surfaces of a scene.
    line_px : float
        Pixels of one drawing unit, for the width of lines.
    theme : Theme
        Neutral colors.
    """
    tube, moving = add_moving(plotter, solids)
    actors = [*moving, _add_floor(plotter, solids)]
    actors.append(_add_surface(plotter, solids.outline, culling="front")[1])
    for surface in (solids.boxes, solids.dots):
        if surface is not None:
            actors.append(_add_surface(plotter, surface)[1])
    actors += _add_lines(plotter, solids.drops, theme.drop_line, 0.55 * line_px)
    actors += _add_lines(plotter, solids.edges, theme.equipment_edge, 0.85 * line_px)
    return tube, actors


def add_moving(plotter: Any, solids: Solids) -> tuple[Any, list[Any]]:
    """Add what changes as the head moves, tube and rings; return the tube's mesh and the actors."""
    tube, actor = _add_surface(plotter, solids.tube)
    actors = [actor]
    if solids.rings is not None:
        actors.append(_add_surface(plotter, solids.rings)[1])
    return tube, actors


def update_tube(
    mesh: Any, scene: Scene, camera: Camera, radius_m: float, theme: Theme, head: Head | None
) -> None:
    """Shade a tube that is in a plotter for another direction of view.

    Parameters
    ----------
    mesh : pyvista mesh
        The tube's, as `add_solids` returned it for the same scene.
    scene : Scene
        The run.
    camera : Camera
        The new direction.
    radius_m : float
        Radius of the tube. [m]
    theme : Theme
        Neutral colors.
    head : Head or None
        The pulling head: raceway it has not reached is neutral.
    """
    recolor(mesh, tube_of(scene, camera, radius_m, theme, head).colors)


def recolor(mesh: Any, colors: NDArray[np.float64]) -> None:
    """Give a mesh that is in a plotter other colors, shape (n, 3)."""
    mesh.point_data["rgb"][:] = np.clip(np.round(colors * 255), 0, 255).astype(np.uint8)
    mesh.Modified()


def _add_surface(plotter: Any, surface: Surface, culling: str | None = None) -> tuple[Any, Any]:
    import pyvista

    count = len(surface.triangles)
    faces = np.concatenate([np.full((count, 1), 3), surface.triangles], axis=1)
    mesh = pyvista.PolyData(surface.points_m, faces.ravel())
    mesh.point_data["rgb"] = np.clip(np.round(surface.colors * 255), 0, 255).astype(np.uint8)
    actor = plotter.add_mesh(
        mesh,
        scalars="rgb",
        rgb=True,
        lighting=False,
        culling=culling,
        copy_mesh=False,
        reset_camera=False,
        render=False,
    )
    return mesh, actor


def _add_lines(plotter: Any, pairs: NDArray[np.float64], color: str, width: float) -> list[Any]:
    import pyvista

    if not len(pairs):
        return []
    count = len(pairs)
    index = np.arange(2 * count).reshape(count, 2)
    cells = np.concatenate([np.full((count, 1), 2), index], axis=1)
    mesh = pyvista.PolyData(pairs.reshape(-1, 3), lines=cells.ravel())
    actor = plotter.add_mesh(
        mesh,
        color=color,
        line_width=width,
        lighting=False,
        copy_mesh=False,
        reset_camera=False,
        render=False,
    )
    return [actor]


def _add_floor(plotter: Any, solids: Solids) -> Any:
    import pyvista

    floor = solids.floor
    (x0, y0), (x1, y1), z = floor.low_m, floor.high_m, floor.elevation_m
    mesh = pyvista.PolyData(
        np.array([[x0, y0, z], [x1, y0, z], [x1, y1, z], [x0, y1, z]]), [4, 0, 1, 2, 3]
    )
    mesh.active_texture_coordinates = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=float)
    texture = pyvista.Texture(floor.image)
    texture.mipmap = True
    texture.interpolate = True
    texture.SetMaximumAnisotropicFiltering(8)
    return plotter.add_mesh(
        mesh,
        texture=texture,
        lighting=False,
        copy_mesh=False,
        reset_camera=False,
        render=False,
    )


def aim(plotter: Any, camera: Camera) -> None:
    """Set vtk's camera to ours, with clipping planes round everything."""
    view = plotter.camera
    focus = np.asarray(camera.focus_m)
    reach = clear_of(plotter.renderer, camera, 4.0 * camera.m_per_px)
    view.parallel_projection = True
    view.focal_point = tuple(focus)
    view.position = tuple(focus + reach * camera.toward)
    view.up = tuple(camera.up)
    view.parallel_scale = camera.height / 2 * camera.m_per_px
    plotter.renderer.ResetCameraClippingRange()


def clear_of(renderer: Any, camera: Camera, m_per_px: float) -> float:
    """Return how far from its focus a camera stands clear of everything in a renderer. [m]

    What stands behind a camera is not drawn: a riser in plan may be far higher than it is wide.

    Parameters
    ----------
    renderer : vtkRenderer
        With everything added that is seen.
    camera : Camera
        Its focus and the size of its picture.
    m_per_px : float
        Length per pixel of its diagonal that it stands away at least. [m]
    """
    bounds = np.array(renderer.ComputeVisiblePropBounds()).reshape(3, 2)
    least = m_per_px * float(np.hypot(camera.width, camera.height))
    if (bounds[:, 0] > bounds[:, 1]).any():
        return least
    farthest = np.abs(bounds - np.asarray(camera.focus_m)[:, None]).max(axis=1)
    return max(least, 1.1 * float(np.linalg.norm(farthest)))


def _faded(image: NDArray[np.uint8], fade_px: float, theme: Theme) -> NDArray[np.uint8]:
    height, width = image.shape[:2]
    rows, columns = edge_ramp(height, fade_px), edge_ramp(width, fade_px)
    ground = rgb(theme.ground) * 255
    edge = ceil(fade_px)
    result = image.copy()
    # only the rim changes: the mask is one inside it
    top, bottom = min(edge, height), max(height - edge, 0)
    for down, across in (
        (slice(0, top), slice(None)),
        (slice(max(bottom, top), height), slice(None)),
        (slice(top, bottom), slice(0, min(edge, width))),
        (slice(top, bottom), slice(max(width - edge, edge), width)),
    ):
        mask = (rows[down, None] * columns[None, across])[..., None]
        mixed = image[down, across] * mask + ground * (1 - mask)
        result[down, across] = np.clip(np.round(mixed), 0, 255).astype(np.uint8)
    return result
