"""Geometry: drawn paths read as centerlines with bends; features that bends make."""

from __future__ import annotations

from analyzer.geometry.bends import read_bends
from analyzer.geometry.centerline import Centerline, Corner
from analyzer.geometry.curves import arcs_along, smallest_radius
from analyzer.geometry.drawn import DrawnAs, DrawnEdge, DrawnPath
from analyzer.geometry.features.feature import Feature, TradeFigures
from analyzer.geometry.features.finder import find_features
from analyzer.geometry.readings import Attitude, Bend, RadiusFrom, ReadAs, Reading
from analyzer.geometry.segments import Arc, Segment, Straight
from analyzer.geometry.split_bends import split_bend

__all__ = [
    "Arc",
    "Attitude",
    "Bend",
    "Centerline",
    "Corner",
    "DrawnAs",
    "DrawnEdge",
    "DrawnPath",
    "Feature",
    "RadiusFrom",
    "ReadAs",
    "Reading",
    "Segment",
    "Straight",
    "TradeFigures",
    "arcs_along",
    "find_features",
    "read_bends",
    "smallest_radius",
    "split_bend",
]
