"""Words for places of boxes and for what whole conductors reach with them."""

from __future__ import annotations

from collections.abc import Sequence

from analyzer.job.settings import Job
from analyzer.reports.joint_words import whole_share
from analyzer.studies.boxes_placements import PlacedBox, Placement
from analyzer.units import UnitSystem, show_number, show_share, to_ft

__all__ = ["box_station", "box_words", "placed_whole_share"]


def box_words(boxes: Sequence[PlacedBox], job: Job, between: str = ", ") -> str:
    """Return places of boxes in words: ``69.57 ft, 126.64 ft``, or ``none``.

    Parameters
    ----------
    boxes : sequence of PlacedBox
        In order of station.
    job : Job
        For its units.
    between : str
        What stands between two places.
    """
    words = []
    for box in boxes:
        if box.replaces_bend is None:
            words.append(box_station(box.station_m, job))
        else:
            words.append(
                f"{box_station(box.station_m, job)} (in place of bend {box.replaces_bend})"
            )
    return between.join(words) if words else "none"


def box_station(station_m: float, job: Job) -> str:
    """Return a place to the hundredth, finer than lengths are shown: it is to be laid out."""
    if job.units is UnitSystem.US:
        return f"{show_number(to_ft(station_m), 2)} ft"
    return f"{show_number(station_m, 3)} m"


def placed_whole_share(placement: Placement) -> str:
    """Return the largest share of limit of whole conductors, of a placement that takes no joint."""
    if placement.joints is not None:
        return whole_share(placement.joints.whole)
    return "not checked" if placement.governing is None else show_share(placement.governing.share)
