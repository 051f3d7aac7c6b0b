"""Up to which grid coordinates are taken for rounded, told once for every reader of a drawing.

Coordinates lie on some grid. A fine one is a rounding: what was drawn may stand half a grid off in
each coordinate. On a coarse one the places were meant as they are. Where the one ends and the other
starts goes with what the coordinates say, so there are a few limits, each with its reason here.

Source: common practice of writing coordinates; the numbers are own estimates.
"""

from __future__ import annotations

__all__ = [
    "COARSEST_CONTROL_POINTS_M",
    "COARSEST_GRID_M",
    "COARSEST_MEASURED_M",
    "COARSEST_OF_RADII_M",
    "COARSE_GRID_M",
]

COARSEST_GRID_M = 0.031
"""Coarsest grid that is a rounding of vertices of drawn lines: a tenth of a foot, a little more
than an inch. Nobody rounds a raceway to more; whole decimeters and feet are places meant. [m]"""

COARSEST_MEASURED_M = 0.02
"""Coarsest grid of measured points, and of numbers of which only some were rounded or that were
turned since: nobody writes shots to more than a centimeter or two, and inches in one block of a
drawing are places meant. [m]"""

COARSE_GRID_M = 0.0031
"""Grid from which rounding moves a straight's own vertices as far as a bend would: an eighth of an
inch. From here on they are looked for, and the grid is too loose a tolerance to read arcs with.
[m]"""

COARSEST_OF_RADII_M = 1e-3
"""Coarsest grid that excuses a radius a hair short: elbows of a table's radius are written to the
millimeter at worst. [m]"""

COARSEST_CONTROL_POINTS_M = 3.1e-4
"""Coarsest grid that is a rounding of control points of a spline: they stand close together, and a
grid from 1/64 in on would straighten gentle sweeps. [m]"""
