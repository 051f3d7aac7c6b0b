"""The fewest boxes with which whole conductors pass, where the answer counts on a joint.

Fed outward from one place, every leg below it is pulled in reverse and every leg above it forward.
All places tried first are candidates for boxes, and every stop for the reels; nothing is refined
between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf

import numpy as np

from analyzer.errors import SolverError
from analyzer.geometry.segments import Floats
from analyzer.studies.boxes_choice import Layers, find_layers
from analyzer.studies.boxes_costs import LegCosts, LegPricing, passing_share
from analyzer.studies.boxes_placements import Placement, place_boxes, placed_box
from analyzer.studies.boxes_places import Stop

__all__ = ["as_few_whole", "fewest_whole", "whole_placement"]


def as_few_whole(best: Placement | None, whole: Placement | None) -> Placement | None:
    """Return the placement without a joint where it takes no more boxes than the answer does.

    The answer's joints then buy a smaller share of limit alone: none has to be made.

    Parameters
    ----------
    best, whole : Placement or None
        The answer, and the fewest boxes with which whole conductors pass.
    """
    return whole if best is not None and whole is not None and whole.count == best.count else None


def whole_placement(
    pricing: LegPricing,
    costs: LegCosts,
    trade_off: Sequence[Placement],
    fewest: int | None,
    most: int,
) -> Placement | None:
    """Return the fewest boxes with which whole conductors pass; None where the answer needs none.

    None too where no placement of up to so many boxes does.

    Parameters
    ----------
    pricing : LegPricing
        The run under its job.
    costs : LegCosts
        Of the legs between the places tried.
    trade_off, fewest : sequence of Placement, int or None
        The best placement with 0, 1, 2, ... boxes, each leg in its better direction, and which of
        them is the answer.
    most : int
        Greatest number of boxes.

    Raises
    ------
    SolverError
        If the pulls of the placement found do not confirm it.
    """
    if fewest is None or not trade_off[fewest].joint_count:
        return None
    stops = fewest_whole(pricing, costs, fewest, most)
    if stops is None:
        return None
    boxes = [placed_box(stop) for stop in stops if not stop.is_fixed]
    found = place_boxes(pricing.run, pricing.job, boxes)
    if not found.passes or found.joint_count:
        raise SolverError("the solver does not confirm the placement for whole conductors")
    return found


def fewest_whole(
    pricing: LegPricing, costs: LegCosts, least: int, most: int
) -> tuple[Stop, ...] | None:
    """Return the stops, ends included, of the fewest boxes with which whole conductors pass.

    Of placements with as many boxes that with the least greatest share of limit. None where none
    passes.

    Parameters
    ----------
    pricing : LegPricing
        The run under its job.
    costs : LegCosts
        Of the legs between the places tried.
    least, most : int
        Numbers of boxes to look at.
    """
    stops = costs.stops
    is_fixed = [stop.is_fixed for stop in stops]
    ahead, back = (np.where(costs.is_within, share, inf) for share in pricing.price_ways(stops))
    below = find_layers(back, is_fixed, most)
    above = find_layers(np.ascontiguousarray(ahead[::-1, ::-1].T), is_fixed[::-1], most)
    for count in range(least, most + 1):
        value, feed, own = _best_feed(below, above, is_fixed, count)
        if value <= passing_share():
            low = _path(back[: feed + 1, : feed + 1], [*is_fixed[:feed], True], own)
            rest = count - own - (0 if is_fixed[feed] else 1)
            high = _path(ahead[feed:, feed:], [True, *is_fixed[feed + 1 :]], rest)
            return tuple(stops[i] for i in (*low, *(feed + i for i in high[1:])))
    return None


def _best_feed(
    below: Layers, above: Layers, is_fixed: Sequence[bool], count: int
) -> tuple[float, int, int]:
    """Return the least value with so many boxes, the stop fed at, and how many lie below it."""
    fixed = np.asarray(is_fixed)
    best = (inf, 0, 0)
    for own in range(count + 1):
        for is_box in (False, True):
            other = count - own - is_box
            if other < 0:
                continue
            # a box that is fed at is counted by both sides
            low, high = below.values[own + is_box], above.values[other + is_box][::-1]
            whole = np.where(fixed == (not is_box), np.maximum(low, high), inf)
            at = int(np.argmin(whole))
            if whole[at] < best[0]:
                best = (float(whole[at]), at, own)
    return best


def _path(cost: Floats, is_fixed: Sequence[bool], count: int) -> tuple[int, ...]:
    """Return the stops of the best path with exactly so many boxes between its ends."""
    if cost.shape[0] == 1:
        return (0,)
    return find_layers(cost, is_fixed, count).path(count)
