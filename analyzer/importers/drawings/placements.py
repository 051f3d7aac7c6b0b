"""Where a drawn thing stands: object coordinates, block references, blocks within blocks.

A `Placement` is an affine map in exact floats. Everything drawn stays exact under it: a line is
a line, a circle becomes an ellipse (or stays a circle), a spline keeps its knots.
Object coordinates (OCS) follow the DXF reference's arbitrary axis rule.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin
from typing import Any

from analyzer.geometry.segments import Vector, cross, norm, unit

__all__ = ["WORLD", "Placement", "object_placement", "reference_placement", "vector_of"]


@dataclass(frozen=True, slots=True)
class Placement:
    """An affine map: images of the three axes and of the origin."""

    x_axis: Vector = (1.0, 0.0, 0.0)
    y_axis: Vector = (0.0, 1.0, 0.0)
    z_axis: Vector = (0.0, 0.0, 1.0)
    origin: Vector = (0.0, 0.0, 0.0)

    def direction(self, d: Vector) -> Vector:
        """Return the image of a direction."""
        x, y, z = self.x_axis, self.y_axis, self.z_axis
        return (
            x[0] * d[0] + y[0] * d[1] + z[0] * d[2],
            x[1] * d[0] + y[1] * d[1] + z[1] * d[2],
            x[2] * d[0] + y[2] * d[1] + z[2] * d[2],
        )

    def point(self, p: Vector) -> Vector:
        """Return the image of a point."""
        d, o = self.direction(p), self.origin
        return (d[0] + o[0], d[1] + o[1], d[2] + o[2])

    @property
    def stretch(self) -> float:
        """The largest factor by which lengths along an axis grow."""
        return max(norm(self.x_axis), norm(self.y_axis), norm(self.z_axis))

    def within(self, outer: Placement) -> Placement:
        """Return this placement followed by the outer one."""
        return Placement(
            outer.direction(self.x_axis),
            outer.direction(self.y_axis),
            outer.direction(self.z_axis),
            outer.point(self.origin),
        )


WORLD = Placement()
"""World coordinates."""


def vector_of(value: Any) -> Vector:
    """Return a point or direction of the drawing library as three plain floats."""
    x, y, z = value
    return (float(x), float(y), float(z))


def object_placement(extrusion: Vector) -> Placement:
    """Return object coordinates as a placement in world coordinates.

    Parameters
    ----------
    extrusion : (3,) float
        Normal of the entity; any length but zero.

    Raises
    ------
    InputError
        If the extrusion has no length.
    """
    if extrusion[0] == 0.0 and extrusion[1] == 0.0 and extrusion[2] > 0.0:
        return WORLD
    z = unit(extrusion)
    near_z = abs(z[0]) < 1.0 / 64.0 and abs(z[1]) < 1.0 / 64.0
    x = unit(cross((0.0, 1.0, 0.0) if near_z else (0.0, 0.0, 1.0), z))
    return Placement(x, unit(cross(z, x)), z)


def reference_placement(
    insert: Vector,
    scale: Vector,
    rotation_deg: float,
    extrusion: Vector,
    base: Vector,
    offset: tuple[float, float],
) -> Placement:
    """Return where a block reference puts the content of its block.

    Parameters
    ----------
    insert : (3,) float
        Insertion point in object coordinates.
    scale : (3,) float
        Scale along x, y and z of the block; negative mirrors.
    rotation_deg : float
        Turn about the extrusion. [deg]
    extrusion : (3,) float
        Normal of the reference.
    base : (3,) float
        Base point of the block.
    offset : (2,) float
        Column and row offset in an array, along the turned axes, not scaled.
    """
    c, s = _cos_sin(rotation_deg)
    x_axis = (c * scale[0], s * scale[0], 0.0)
    y_axis = (-s * scale[1], c * scale[1], 0.0)
    z_axis = (0.0, 0.0, scale[2])
    dx = c * offset[0] - s * offset[1]
    dy = s * offset[0] + c * offset[1]
    flat = Placement(x_axis, y_axis, z_axis)
    b = flat.direction(base)
    origin = (insert[0] + dx - b[0], insert[1] + dy - b[1], insert[2] - b[2])
    return Placement(x_axis, y_axis, z_axis, origin).within(object_placement(extrusion))


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine, exact at quarter turns."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    turned = angle_deg % 360.0
    return quarter.get(turned) or (cos(radians(turned)), sin(radians(turned)))
