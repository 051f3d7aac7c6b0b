"""What a drawing holds, as data: layers, blocks, unit, extents and findings."""

from __future__ import annotations

from dataclasses import dataclass

from analyzer.findings import Finding
from analyzer.geometry.segments import Vector
from analyzer.job.settings import FittingKind
from analyzer.units import LengthUnit

__all__ = ["BlockContents", "DrawingContents", "LayerContents"]


@dataclass(frozen=True, slots=True)
class LayerContents:
    """What a layer holds, block references opened.

    Attributes
    ----------
    name : str
        Its name.
    is_off, is_frozen : bool
        Its state.
    entities : tuple of (str, int)
        Entity types and their number, the most frequent first.
    curve_length : float
        Length of all lines, arcs, polylines and splines, in drawing units.
    open_paths, closed_loops, stray_bits : int
        What chaining the layer by itself makes of them.
    is_read : bool
        Whether it would be read with the settings given.
    reason : str
        Why it would be read, or why not.
    """

    name: str
    is_off: bool
    is_frozen: bool
    entities: tuple[tuple[str, int], ...]
    curve_length: float
    open_paths: int
    closed_loops: int
    stray_bits: int
    is_read: bool
    reason: str


@dataclass(frozen=True, slots=True)
class BlockContents:
    """A block, how often it stands in the drawing, and the fitting it would be read as.

    `kind` is None for a block that is opened for its lines; `reason` says why, and where every
    reference to it is left out with its layer.
    """

    name: str
    count: int
    kind: FittingKind | None
    reason: str


@dataclass(frozen=True, slots=True)
class DrawingContents:
    """What a drawing holds.

    Attributes
    ----------
    file : str
        File name.
    version : str
        DXF version, such as ``R2018``.
    is_binary : bool
        Whether it is a binary DXF file.
    unit : LengthUnit or None
        Unit that the file names, else the settings; None where neither names one that a raceway
        is drawn in.
    unit_from : str
        Who named it: ``file``, ``job`` or ``option``; empty where nobody did.
    unit_text : str
        The unit of the file in words, and the code of `$INSUNITS`.
    extents : two (3,) float or None
        Corners around all curves, in drawing units; None without a curve.
    extents_in : tuple of (LengthUnit, str)
        The size in each candidate unit; the unit alone where it is known.
    layers : tuple of LayerContents
        By name; layers of the layer table that hold nothing included.
    blocks : tuple of BlockContents
        Blocks that are referred to, by name.
    paper_space : tuple of (str, int)
        Layouts that hold something and the number of their entities.
    layouts_read : tuple of str
        Those of them that the settings name, and whose entities are listed with the others.
    findings : tuple of Finding
        Repairs and faults met on the way, and what reading would report of entities.
    """

    file: str
    version: str
    is_binary: bool
    unit: LengthUnit | None
    unit_from: str
    unit_text: str
    extents: tuple[Vector, Vector] | None
    extents_in: tuple[tuple[LengthUnit, str], ...]
    layers: tuple[LayerContents, ...]
    blocks: tuple[BlockContents, ...]
    paper_space: tuple[tuple[str, int], ...]
    layouts_read: tuple[str, ...]
    findings: tuple[Finding, ...]
