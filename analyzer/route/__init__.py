"""Runs with their fittings on them, and the legs between pull points."""

from __future__ import annotations

from analyzer.route.legs import Leg, split_into_legs
from analyzer.route.paths import PathToPlace
from analyzer.route.placing import PlacedRun, place_fittings
from analyzer.route.run import Fitting, Route, Run, RunInput

__all__ = [
    "Fitting",
    "Leg",
    "PathToPlace",
    "PlacedRun",
    "Route",
    "Run",
    "RunInput",
    "place_fittings",
    "split_into_legs",
]
