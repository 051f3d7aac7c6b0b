"""Legs: a run split between neighboring pull points."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from analyzer.geometry.readings import Bend
from analyzer.route.run import Fitting, Run

__all__ = ["Leg", "split_into_legs"]


@dataclass(frozen=True, slots=True)
class Leg:
    """The stretch between two neighboring pull points.

    Attributes
    ----------
    name : str
        ``Leg 1``, ``Leg 2``, ... along the run.
    start, end : Fitting
        Pull points at its lower and upper station.
    length_m, rise_m : float
        Length along the centerline; end elevation minus start elevation. [m]
    bends : tuple of Bend
        Bends of its raceway, in order; corners in fittings are left out.
    """

    name: str
    start: Fitting
    end: Fitting
    length_m: float
    rise_m: float
    bends: tuple[Bend, ...]

    @property
    def bend_total_rad(self) -> float:
        """Sum of the angles of its bends. [rad]"""
        return sum(bend.angle_rad for bend in self.bends)


def split_into_legs(run: Run) -> tuple[Leg, ...]:
    """Return the legs of a run in order of station.

    A bend belongs to the leg that holds its middle; bends are split at pull points when the
    run is placed, so none straddles one.
    """
    stops = [fitting for fitting in run.fittings if fitting.pull_point]
    legs = []
    for index, (start, end) in enumerate(pairwise(stops), start=1):
        bends = tuple(
            bend
            for bend in run.bends
            if not bend.in_fitting
            and start.station_m <= (bend.station_m + bend.end_station_m) / 2 < end.station_m
        )
        legs.append(
            Leg(
                name=f"Leg {index}",
                start=start,
                end=end,
                length_m=end.station_m - start.station_m,
                rise_m=end.position_m[2] - start.position_m[2],
                bends=bends,
            )
        )
    return tuple(legs)
