"""Route files read: points from CSV, curves from DXF; units settled, repairs reported."""

from __future__ import annotations

from analyzer.importers.drawn_file import DrawnFile, DrawnFitting
from analyzer.importers.points.reader import read_points
from analyzer.importers.reading import open_route

__all__ = ["DrawnFile", "DrawnFitting", "open_route", "read_points"]
