"""How finely coordinates were rounded, found from the numbers themselves.

Coordinates that all lie on one decimal or fractional grid of a length unit were rounded to it.
Others were written with a fixed number of significant digits, or held in single precision (IEEE
754: 24 bits), as numbers or as the shortest text that tells them: their spacing goes with their
size, and the largest ones set the grid of the points. Where a drawing was rounded first and turned
afterwards no coordinate shows it; but squares of lengths, and products of neighboring legs, stay
whole numbers of the grid's square, whichever way it was turned.

Elevations are often written with other digits than x and y. A point then stands no better than its
coarsest coordinate says; but a few round heights, or rows of columns at whole feet, are places
meant. So one axis tells a grid of its own only by points whose place along it somebody computed:
neither level with a neighbor, nor straight above one, nor in line with both, nor at a corner.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import groupby
from math import radians, tan

import numpy as np

from analyzer.geometry.drawn import WrittenPlace
from analyzer.geometry.grids import COARSEST_MEASURED_M
from analyzer.geometry.polyline import MOST_OFF_ROUNDINGS, cross_rows
from analyzer.geometry.segments import Floats
from analyzer.units import LengthUnit

__all__ = [
    "coordinate_precision",
    "least_rounding",
    "rounding",
    "rounding_as_written",
    "turned_rounding",
]

_LEAST_ROUNDING_M = 1e-11
"""Rounding that coordinates have at least, wherever they lie. [m] Own choice."""

_INCH_M, _FOOT_M = float(LengthUnit.INCH.factor), float(LengthUnit.FOOT.factor)

_HALVES = (0.05, 0.02, 0.005, 0.002, 0.0005, 0.0002)
"""Grids between the powers of ten that are looked for, in feet, and the finer ones in meters. Own
choice."""

_GRIDS_BEFORE: tuple[float, ...] = tuple(
    sorted(
        [
            *(_INCH_M / 2**k for k in range(2, 7)),
            *_HALVES[2:],
            *(part * _FOOT_M for part in _HALVES),
        ],
        reverse=True,
    )
)
_FEWEST_TELLING, _CLEARLY = 12, 4.0
"""Numbers, and digits in the coarser grid, from which its rounding is no chance: they lie within
half a digit of it by one in four each."""

_UNITS_M = (1.0, _FOOT_M, _INCH_M, 0.01, 0.001)
_DIGITS = range(5, 11)
"""Significant digits that are looked for: fewer are no drawing, more are as good as exact."""

_TURNED_LOSS, _TELLING_LOSS, _FEWEST_PRODUCTS = 4.0, 0.05, 12
"""Spacings of doubles that turning costs a coordinate; how far off a whole number that may put a
product that still tells; and how many different ones tell a grid: each is whole by one in ten."""

_SAME = 8e-16
"""Share by which a number differs from itself once brought to meters and back."""

_FEWEST_USED = 3
"""Numbers of one size that use their last digit, from which the digits are no chance."""

_FEWEST_ALONG, _NO_CHANCE = 4, 1e-6
"""Computed numbers of one axis that tell a grid of its own, and the chance at which all of its
numbers, taken from the finer one, lie on it: six tell of ten times the grid, twenty of twice. Own
choice."""

_MOST_CHORD_SLOPE = tan(radians(25.0))
"""Tangent of the turn above which a vertex is a corner, at a place somebody chose, and none between
two chords. Own choice."""

_SINGLE_BITS, _LAST_BITS = 24, 4
_SINGLE_DIGITS = 7
"""Digits that a number has at least whose text tells that it was held in single precision."""


def coordinate_precision(points_m: Floats) -> float:
    """Return the spacing of double precision numbers at the largest coordinate. [m]"""
    return float(np.spacing(np.abs(points_m).max(initial=0.0)))


def least_rounding(points_m: Floats) -> float:
    """Return the rounding that double precision alone leaves in coordinates. [m]"""
    return max(_LEAST_ROUNDING_M, 8.0 * coordinate_precision(points_m))


def rounding_as_written(rows: Sequence[Sequence[WrittenPlace]], floor_m: float) -> float:
    """Return the grid of places that may be written in several coordinates. [m]

    Those of one frame, such as a block, and one scale tell one grid; frames of one scale with too
    few numbers for that tell one together. The coarsest that is a rounding at all counts, from
    those that hold numbers enough to tell one: where a finer block meets what was rounded, points
    lie no better than that. What is exact on a coarse grid is read as exactly (`rounded_arcs`).

    Parameters
    ----------
    rows : sequence of sequence of WrittenPlace
        Neighbors along drawn lines; at least one place in all.
    floor_m : float
        What is returned at least: what doubles leave where the places stand. [m]
    """
    by_frame: dict[tuple[str, float], list[Floats]] = defaultdict(list)
    for row in rows:
        for own, alike in groupby(row, lambda place: (place.frame, float(f"{place.scale:.9g}"))):
            by_frame[own].append(np.array([place.place_m for place in alike]))
    by_scale: dict[tuple[str | None, float], list[Floats]] = defaultdict(list)
    for (frame, scale), parts in by_frame.items():
        tells = np.unique(np.abs(np.concatenate(parts))).size >= _FEWEST_TELLING
        by_scale[frame if tells else None, scale] += parts
    grids: list[tuple[bool, float]] = []
    for (_, scale), parts in by_scale.items():
        points = np.concatenate(parts)
        tells = np.unique(np.abs(points)).size >= _FEWEST_TELLING
        floor = least_rounding(points)
        grid = _grid_of(points, floor)
        if grid <= floor:
            grid = max(grid, turned_rounding(parts))
        grid = _coarsest_along(parts, grid, floor)
        grids.append((tells, max(scale * grid, floor_m)))
    if len(grids) == 1:
        return grids[0][1]
    telling = [grid for tells, grid in grids if tells] or [grid for _, grid in grids]
    return max((g for g in telling if g <= COARSEST_MEASURED_M), default=min(telling))


def rounding(points_m: Floats) -> float:
    """Return the grid that the coordinates were rounded to; at least what doubles can hold. [m]

    Whole and decimal steps (1 to 1e-9) of meter, foot and inch, and binary fractions of an inch
    down to 1/64, are tried from coarse to fine; then significant digits and single precision,
    whose spacing counts where it is coarser. Numbers rounded to a fraction of an inch, or to
    twos or fives, and then written with few decimals show the coarser grid within half a digit.
    The coarsest axis counts where enough of its numbers tell a grid of its own.

    Parameters
    ----------
    points_m : (n, 3) float
        Neighbors along a line, in the coordinates of the file, not shifted. [m]
    """
    floor = least_rounding(points_m)
    return _coarsest_along([points_m], _grid_of(points_m, floor), floor)


def _grid_of(coordinates_m: Floats, floor: float) -> float:
    """Return the grid that holds all of some coordinates, of any shape; at least the floor. [m]"""
    values = np.unique(np.abs(coordinates_m))
    values = values[values > floor]  # less is zero but for what doubles leave
    if not values.size:
        return floor
    fixed = _fixed_grid(values, floor)
    floating = _floating_grid(values)
    digit = max(fixed, floating)
    return digit if digit <= floor else _rounded_before(values, digit)


def _coarsest_along(rows: Sequence[Floats], grid: float, floor: float) -> float:
    """Return the coarsest grid that the numbers of one axis tell; that of all where none does. [m]

    Parameters
    ----------
    rows : sequence of (n, 3) float
        Neighbors along drawn lines. [m]
    grid, floor : float
        Grid of all their coordinates, and what doubles leave. [m]
    """
    found = [grid]
    for axis in range(3):
        along = np.concatenate([row[:, axis] for row in rows])
        own = _grid_of(along, floor)
        if not grid < own <= COARSEST_MEASURED_M:
            continue
        computed = np.concatenate([_computed_along(row, axis, grid, floor) for row in rows])
        by_chance = (grid / own) ** _different(along, own)
        if _different(computed, own) >= _FEWEST_ALONG and by_chance <= _NO_CHANCE:
            found.append(own)
    return max(found)


def _different(values: Floats, grid: float) -> int:
    """Count the different numbers on a grid but zero, without sign."""
    steps = np.unique(np.round(np.abs(values) / grid))
    return int(np.count_nonzero(steps))


def _computed_along(row: Floats, axis: int, grid: float, floor: float) -> Floats:
    """Return the numbers along an axis that nobody chose: (n,) [m].

    Both lines there slope against the axis; the point is off the line of its neighbors by more
    than the grid of all coordinates explains, yet turns by no more than chords do.
    """
    moves = np.abs(np.diff(row, axis=0)) > floor
    kept = row[np.concatenate([[True], moves.any(axis=1)])]
    legs = np.diff(kept, axis=0)
    moves = np.abs(legs) > floor
    slopes = moves[:, axis] & np.delete(moves, axis, axis=1).any(axis=1)
    before, after = legs[:-1], legs[1:]
    off = np.linalg.norm(cross_rows(before, after), axis=1)
    allowed = MOST_OFF_ROUNDINGS * grid * np.linalg.norm(before + after, axis=1)
    turns_little = off <= _MOST_CHORD_SLOPE * np.sum(before * after, axis=1)
    told = slopes[:-1] & slopes[1:] & (off > allowed) & turns_little
    values: Floats = kept[1:-1, axis][told]
    return values


def turned_rounding(rows: Sequence[Floats]) -> float:
    """Return the grid of points that were rounded first and turned or moved since; 0 for none. [m]

    Parameters
    ----------
    rows : sequence of (n, 3) float
        Neighbors along drawn lines. [m]
    """
    legs = [np.diff(row, axis=0) for row in rows if len(row) > 1]
    if not legs:
        return 0.0
    sizes = [np.linalg.norm(leg, axis=1) for leg in legs]
    products = np.concatenate(
        [size**2 for size in sizes] + [np.sum(leg[:-1] * leg[1:], axis=1) for leg in legs]
    )
    # how much a product changes with its two ends
    slope = 2.0 * np.concatenate(sizes + [np.maximum(size[:-1], size[1:]) for size in sizes])
    loss = _TURNED_LOSS * max(coordinate_precision(row) for row in rows) * slope
    loss += 4.0 * _SAME * np.abs(products)
    for grid in _grids():
        if grid > COARSEST_MEASURED_M:
            continue
        tells = loss <= _TELLING_LOSS * grid**2
        steps = np.abs(products[tells]) / grid**2
        whole = np.round(steps)
        several = np.unique(whole[whole > 0.0]).size >= _FEWEST_PRODUCTS
        if several and np.all(np.abs(steps - whole) <= loss[tells] / grid**2):
            return grid
    return 0.0


def _fixed_grid(values: Floats, floor: float) -> float:
    """Return the coarsest grid that holds all numbers; the floor where none does. [m]"""
    for grid in _grids():
        if grid <= floor:
            break
        steps = values / grid
        loss = 1e-6 + 4e-16 * steps
        if np.all(np.abs(steps - np.round(steps)) <= loss):
            return grid
    return floor


def _floating_grid(values: Floats) -> float:
    """Return the spacing of numbers with a fixed count of digits or bits; 0 where none has. [m]"""
    if values.size < 2 * _FEWEST_USED:
        return 0.0
    found = [0.0]
    for unit in _UNITS_M:
        numbers = values / unit
        spacings = (_single_spacing(numbers), _text_spacing(numbers), _digit_spacing(numbers))
        found.append(unit * max(spacings))
    return max(found)


def _single_spacing(numbers: Floats) -> float:
    """Return the spacing of numbers that single precision holds as they are; else 0.

    Whole numbers and halves of halves are no sign of it: some must use their last bits.
    """
    single = numbers.astype(np.float32).astype(float)
    if not np.all(np.abs(numbers - single) <= _SAME * numbers):
        return 0.0
    mantissa = np.round(np.ldexp(np.frexp(single)[0], _SINGLE_BITS)).astype(np.int64)
    return _at_largest(mantissa % 2**_LAST_BITS != 0, _single_steps(single))


def _text_spacing(numbers: Floats) -> float:
    """Return the spacing of numbers that are the shortest text of single precision ones; else 0."""
    used: list[bool] = []
    for number in numbers:
        text = str(np.float32(number))
        if abs(number - float(text)) > _SAME * number:
            return 0.0
        used.append(_digit_count(text) >= _SINGLE_DIGITS)
    return _at_largest(np.array(used), _single_steps(numbers))


def _single_steps(numbers: Floats) -> Floats:
    return np.spacing(numbers.astype(np.float32)).astype(float)


def _digit_count(text: str) -> int:
    """Count the significant digits of a number as text."""
    return len(text.split("e")[0].replace(".", "").strip("0"))


def _digit_spacing(numbers: Floats) -> float:
    """Return the spacing of numbers that all have a fixed count of significant digits; else 0."""
    for count in _DIGITS:
        # the step is a power of ten, which a negative one is not in doubles: so it divides
        power = count - 1 - np.floor(np.log10(numbers) + 1e-15).astype(int)
        scaled = numbers * 10.0 ** np.maximum(power, 0) / 10.0 ** np.maximum(-power, 0)
        whole = np.round(scaled)
        if np.all(np.abs(scaled - whole) <= 2.0 * _SAME * whole):
            return _at_largest(whole % 5.0 != 0.0, 10.0**-power)
    return 0.0


def _at_largest(used: np.ndarray, steps: Floats) -> float:
    """Return the largest step that several numbers use the last digit of; 0 where none has."""
    for step in np.unique(steps[used])[::-1]:
        if np.sum(steps[used] == step) >= _FEWEST_USED:
            return float(step)
    return 0.0


def _rounded_before(values: Floats, digit: float) -> float:
    """Return the grid that numbers were rounded to before they were written to a digit. [m]"""
    if values.size < _FEWEST_TELLING:
        return digit
    for grid in _GRIDS_BEFORE:
        if not _CLEARLY * digit <= grid:
            continue
        off = np.abs(values - grid * np.round(values / grid))
        if np.all(off <= 0.5 * digit * (1.0 + 1e-6) + 1e-9):
            return grid
    return digit


def _grids() -> list[float]:
    decimal = [unit * 10.0**-k for unit in (1.0, _FOOT_M, _INCH_M) for k in range(10)]
    binary = [_INCH_M / 2**k for k in range(1, 7)]
    return sorted(decimal + binary, reverse=True)
