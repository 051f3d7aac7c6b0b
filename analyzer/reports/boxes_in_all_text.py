"""What a terminal shows of boxes below the answers of several runs: how many in all.

Every run is answered as a raceway of its own. Where two are drawn along each other and a box goes
onto the stretch they share, one box may do for both: each run counts its own, and that is said.
Joints that as many boxes elsewhere spare are not counted: none of them has to be made.
"""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

import numpy as np

from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, Floats
from analyzer.geometry.vectors import to_vector
from analyzer.reports.folding import LEAST_WIDTH
from analyzer.studies.boxes import BoxStudy
from analyzer.studies.boxes_whole import as_few_whole
from analyzer.units import inches, show_number

__all__ = ["boxes_in_all_text"]

_ON_LINE_M = inches(1)  # nearer than this to another run's line, a box stands on it too


def boxes_in_all_text(studies: Sequence[BoxStudy], *, width: int = 100) -> str:
    """Return how many boxes all runs need together, and at what cost where the job tells it.

    Parameters
    ----------
    studies : sequence of BoxStudy
        Of several runs under one job.
    width : int
        Columns to stay within; at least `LEAST_WIDTH` are used.
    """
    found = [study for study in studies if study.best is not None]
    lost = [study.analyzed.run.name for study in studies if study.best is None]
    total = sum(study.best.count for study in found if study.best is not None)
    runs = f"{len(studies)} runs" if not lost else f"{len(found)} of {len(studies)} runs"
    text = f"In all, {runs}: {total:,} {'box' if total == 1 else 'boxes'} to add"
    spared = [study for study in found if as_few_whole(study.best, study.whole) is not None]
    joints = sum(
        study.best.joint_count
        for study in found
        if study.best is not None and as_few_whole(study.best, study.whole) is None
    )
    if joints:
        text += f" and {joints:,} {'joint' if joints == 1 else 'joints'} to make"
    costs = [study.cheapest.cost for study in found if study.cheapest is not None]
    if costs:
        text += f"; the cheapest of each run cost {show_number(sum(costs), 0)} together"
    text += "."
    if spared:
        names = ", ".join(study.analyzed.run.name for study in spared)
        text += f" The boxes of {names} are counted at places that take no joint."
    if lost:
        text += f" No placement passes for {', '.join(lost)}."
    along = _drawn_along(found)
    if along:
        text += (
            f" Boxes of {' and '.join(along)} go where another of these runs is drawn too: each "
            "run counts its own. If that stretch is one raceway, one box there may serve both "
            "runs, at a place that suits both."
        )
    return "\n".join(wrap(text, max(width, LEAST_WIDTH))) + "\n"


def _drawn_along(studies: Sequence[BoxStudy]) -> list[str]:
    """Return the runs of which a box added stands on the line of another run."""
    names = []
    lines = [study.analyzed.run.centerline for study in studies]
    bounds = [_bounds(line) for line in lines]
    for index, study in enumerate(studies):
        placed = () if study.best is None else study.best.boxes
        points = lines[index].points_at([box.station_m for box in placed]) if placed else ()
        if any(
            other != index
            and bool(np.all((point >= low) & (point <= high)))
            and lines[other].nearest_station(to_vector(point))[1] <= _ON_LINE_M
            for point in points
            for other, (low, high) in enumerate(bounds)
        ):
            names.append(study.analyzed.run.name)
    return names


def _bounds(line: Centerline) -> tuple[Floats, Floats]:
    """Return corners of a box that holds a centerline and what counts as on it. [m]"""
    # no arc is more than half a turn, so none goes farther from its start than its diameter
    reach = [
        _ON_LINE_M + (2.0 * segment.radius_m if isinstance(segment, Arc) else 0.0)
        for segment in line.segments
    ]
    ends = np.array([(segment.start_m, segment.end_m) for segment in line.segments])
    wide = np.array(reach)[:, None, None]
    return (ends - wide).min(axis=(0, 1)), (ends + wide).max(axis=(0, 1))
