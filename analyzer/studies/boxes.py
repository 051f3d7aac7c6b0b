"""Where the boxes go: the fewest, the best places, and what every box more or less would do.

Among placements with the fewest boxes for which every leg keeps every limit that a box can
change, the one with the least greatest share of limit is taken; of equals the one with the least
greatest tension, then the one whose boxes stand nearest to the middle of their straights (least
sum of distances). Every leg is pulled in its better direction, or in the one the job fixes. Pull
points of the run stay; boxes added are refed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from analyzer.analysis import Analysis, RunAnalysis
from analyzer.checks.check import Check
from analyzer.errors import InputError, JobError, SolverError
from analyzer.findings import Finding, Severity
from analyzer.job.settings import Job
from analyzer.pulling.limits import sidewall_limit
from analyzer.route.run import Run
from analyzer.studies.boxes_blocked import Blocked, find_blocked
from analyzer.studies.boxes_checks import caution_checks, other_checks
from analyzer.studies.boxes_choice import find_layers, least_counts, useful_stops
from analyzer.studies.boxes_cost import Cheapest, cost_of, find_cheapest
from analyzer.studies.boxes_costs import LegCosts, LegPricing, passing_share
from analyzer.studies.boxes_placements import Placement, place_boxes, placed_box
from analyzer.studies.boxes_places import (
    Room,
    Stop,
    corner_stops,
    find_rooms,
    first_stops,
    fixed_stops,
    named_stops,
)
from analyzer.studies.boxes_refinement import (
    MOST_CELLS,
    Aim,
    Cell,
    Found,
    center_boxes,
    lower_costs,
    refine,
)
from analyzer.studies.boxes_whole import whole_placement
from analyzer.studies.named_run import job_naming_run, named_run
from analyzer.studies.what_if import remove_box
from analyzer.units import show_length, show_radius

__all__ = [
    "BoxStudy",
    "LeftOut",
    "find_boxes",
]

_PASSING = passing_share()
_EQUAL = 1.0 + 1e-9
_MORE_ROWS = 2
_MOST_CENTERED = 500
_FEW_CELLS = 150
_REFINE_EVERY_ROW = 600  # places: on longer runs a foot is fine enough for rows beside the answer


@dataclass(frozen=True, slots=True)
class LeftOut:
    """An existing pull point, and the run without it."""

    name: str
    placement: Placement


@dataclass(frozen=True, slots=True)
class BoxStudy:
    """Where the boxes of one run go.

    Attributes
    ----------
    analyzed : RunAnalysis
        The run as it is.
    job : Job
        Its job.
    fewest : int or None
        Fewest boxes to add so that every check that a box can change passes; None where no
        placement does.
    trade_off : tuple of Placement
        The best placement with 0, 1, 2, ... boxes. On a run of more than 600 places the rows
        beside the answer and the single best box stand at places tried, a foot apart or less,
        and no bound is worked out for them: their `proven_share` is 0.
    left_out : LeftOut or None
        The existing pull point that is missed least.
    blocked : tuple of Blocked
        Legs that cannot be made to pass; empty where a placement passes.
    needed : int or None
        Where the job allows too few boxes: how many would pass.
    cheapest : Cheapest or None
        Cheapest passing placement by the costs of the job.
    other_checks : tuple of Check
        Checks that no box can change and that do not pass, and limits that could not be checked.
    caution_checks : tuple of Check
        Cautions that count among the checks that a box can change, with the answer's boxes.
    cautions : tuple of Finding
        What the answer rests on.
    places : int
        Number of places tried first.
    whole : Placement or None
        Where the answer passes only with conductors cut and joined: the fewest boxes of those
        places with which whole conductors pass, no fewer than the answer's; None where no joint is
        needed, and where none of up to as many boxes as the job allows passes.
    """

    analyzed: RunAnalysis
    job: Job
    fewest: int | None
    trade_off: tuple[Placement, ...]
    left_out: LeftOut | None
    blocked: tuple[Blocked, ...]
    needed: int | None
    cheapest: Cheapest | None
    other_checks: tuple[Check, ...]
    caution_checks: tuple[Check, ...]
    cautions: tuple[Finding, ...]
    places: int
    whole: Placement | None = None

    @property
    def best(self) -> Placement | None:
        """The best placement with the fewest boxes."""
        return None if self.fewest is None else self.trade_off[self.fewest]

    @property
    def best_extra_m(self) -> float | None:
        """Station of the single best box to add; None where none can be added. [m]"""
        return self.trade_off[1].boxes[0].station_m if len(self.trade_off) > 1 else None


def find_boxes(analysis: Analysis, run_name: str | None = None) -> BoxStudy:
    """Return where boxes go on a run.

    Parameters
    ----------
    analysis : Analysis
        The run analyzed as it is, with its job.
    run_name : str, optional
        Which run; may be left out where there is one.

    Raises
    ------
    InputError
        If the run is not named and there are several, or the spacing gives too many places.
    JobError
        If the job names a station outside the run or a run that several are like, or lets friction
        fall in hard pressing bends.
    """
    if analysis.job.pull.friction_by_sidewall is not None:
        raise JobError(
            f"{analysis.job.at('pull', 'friction_by_sidewall')}"
            "friction_by_sidewall in [pull]: the search for boxes takes one friction in every "
            "bend; leave the table out for this study, which is the safe side for tension"
        )
    analyzed = named_run(analysis, run_name)
    job = _job_for(analysis, analyzed.run)
    return _Search(analyzed, job).study()


class _Search:
    """One run under its job, with everything computed once."""

    def __init__(self, analyzed: RunAnalysis, job: Job) -> None:
        self.analyzed, self.run, self.job = analyzed, analyzed.run, job
        self.pricing = LegPricing(self.run, job)
        rooms = find_rooms(self.run, job)
        self.refused: tuple[float, ...] = ()
        points = corner_stops(self.run, job) if job.boxes.at_corners else ()
        grid: tuple[Stop, ...]
        if job.boxes.candidates_m:
            grid, self.refused = named_stops(rooms, job)
            points, rooms = (*points, *grid), ()
            grid = points
        else:
            grid = (*first_stops(rooms, job), *points)
        self.rooms: tuple[Room, ...] = rooms
        self.points: tuple[Stop, ...] = points
        self.stops = tuple(
            sorted((*fixed_stops(self.run, job), *grid), key=lambda stop: stop.station_m)
        )
        self.is_fixed = [stop.is_fixed for stop in self.stops]
        self.most = min(job.boxes.most, len(grid))
        self.costs: LegCosts = self.pricing.price(self.stops)
        within = np.where(self.costs.is_within, self.costs.share, inf)
        self.any = find_layers(self.costs.share, self.is_fixed, self.most)
        self.within = find_layers(within, self.is_fixed, self.most)
        self._bounds: dict[bool, _Bounds] = {}

    def study(self) -> BoxStudy:
        """Return the whole answer."""
        fewest = self._fewest()
        top = self.most if fewest is None else min(self.most, max(fewest + _MORE_ROWS, 3))
        rows = []
        for count in range(top + 1):
            row = self._row(count, fewest)
            if row is None:
                break
            rows.append(row)
        if fewest is not None and not rows[fewest].passes:
            raise SolverError("the solver does not confirm the placement found")
        blocked, needed = self._why_not() if fewest is None else ((), None)
        best = None if fewest is None else rows[fewest]
        whole = whole_placement(self.pricing, self.costs, rows, fewest, self.most)
        return BoxStudy(
            analyzed=self.analyzed,
            job=self.job,
            fewest=fewest,
            trade_off=tuple(rows),
            left_out=self._left_out(),
            blocked=blocked,
            needed=needed,
            cheapest=self._cheapest(rows, fewest),
            other_checks=other_checks(self.analyzed),
            caution_checks=caution_checks(self.analyzed, best, whole, self.job),
            cautions=self._cautions(),
            places=len(self.stops) - sum(self.is_fixed),
            whole=whole,
        )

    def _cheapest(self, rows: Sequence[Placement], fewest: int | None) -> Cheapest | None:
        """Cheapest passing placement with no more boxes than the job allows."""
        if fewest is None:
            return None
        found = find_cheapest(self.pricing, self.stops, self.costs)
        refed = rows[fewest]
        cost = cost_of(self.pricing, fewest)
        if cost is None:
            return None
        if found is not None and found.cost <= cost:
            boxes = [placed_box(stop) for stop in self.stops if stop.station_m in found.refed_m]
            return replace(found, joints=place_boxes(self.run, self.job, boxes).joint_count)
        places = tuple(box.station_m for box in refed.boxes)
        setups = fewest + len(self.pricing.fixed) - 1
        return Cheapest(cost, setups, places, (), refed.joint_count)

    def _fewest(self) -> int | None:
        """Fewest boxes with which a placement passes, anywhere in the rooms."""
        on_grid = next((c for c in range(self.most + 1) if self.within.best(c) <= _PASSING), None)
        if on_grid is None:
            if self._can_pass(self.most):
                on_grid = self.most
            else:
                return None
        while on_grid > 0 and self._can_pass(on_grid - 1):
            on_grid -= 1
        return on_grid

    def _can_pass(self, count: int) -> bool:
        if self.within.best(count) <= _PASSING:
            return True
        if not self.rooms or count == 0:
            return False
        start = self._start(count, is_within=True)
        if start.bound > _PASSING:
            return False
        aim = Aim(is_within=True)
        found = refine(self.pricing, self.rooms, self.points, count, aim, start, _PASSING)
        return found.value <= _PASSING

    def _can_pass_anew(self, count: int) -> bool:
        """Whether so many boxes can pass, more than the layers hold."""
        if not self.rooms:
            return False
        aim, start = Aim(is_within=True), Found(inf, 0.0, ())
        found = refine(self.pricing, self.rooms, self.points, count, aim, start, _PASSING)
        return found.value <= _PASSING

    def _start(self, count: int, *, is_within: bool, is_bounded: bool = True) -> Found:
        """Return the best placement of the places tried first, and cells that may hold a better.

        Without `is_bounded` neither a bound nor cells are worked out.
        """
        layers = self.within if is_within else self.any
        stops = tuple(self.stops[i] for i in layers.path(count))
        value = layers.best(count)
        if not self.rooms or count == 0 or not self.pricing.is_monotone or not is_bounded:
            return Found(value, 0.0, stops)
        if is_within not in self._bounds:
            self._bounds[is_within] = _Bounds(self, is_within=is_within)
        bounds = self._bounds[is_within]
        return Found(value, bounds.best(count), stops, bounds.cells_for(count, value))

    def _row(self, count: int, fewest: int | None) -> Placement | None:
        """Best placement with so many boxes, None where there is no room for them."""
        is_within = fewest is not None and count >= fewest
        is_short = len(self.stops) <= _REFINE_EVERY_ROW
        is_refined = is_short or count in (1, fewest)
        start = self._start(count, is_within=is_within, is_bounded=is_refined)
        if self.rooms and count and is_refined:
            aim = Aim(is_within=is_within)
            most_cells = MOST_CELLS if count == fewest else _FEW_CELLS
            start = refine(
                self.pricing, self.rooms, self.points, count, aim, start, most_cells=most_cells
            )
        if not start.stops:
            return None
        stops = start.stops
        if count and (is_short or count == fewest):
            stops = self._least_tension(start, count, is_within, count == fewest)
        placed = place_boxes(self.run, self.job, [placed_box(s) for s in stops if not s.is_fixed])
        proven = start.bound if self.rooms and count else start.value
        return replace(placed, proven_share=proven)

    def _least_tension(
        self, found: Found, count: int, is_within: bool, is_answer: bool
    ) -> tuple[Stop, ...]:
        """Of placements with the same share, that of least tension, nearest to the middles.

        Only for the answer itself are ties of share settled between the places tried, too.
        """
        aim = Aim(is_tension=True, is_within=is_within, most_share=_up_to(found.value))
        some = self._useful(found, count, is_within)
        costs = self.pricing.price_in_detail(some)
        is_fixed = [stop.is_fixed for stop in some]
        layers = find_layers(aim.costs(costs), is_fixed, count)
        best = Found(
            layers.best(count), 0.0, tuple(some[i] for i in layers.path(count)), found.cells
        )
        if is_answer and self.rooms and not self.pricing.is_all_tension(best.value, found.value):
            best = refine(self.pricing, self.rooms, self.points, count, aim, best)
        if not best.stops:
            return found.stops
        aim = replace(aim, most_tension_n=best.value * _EQUAL)
        some = _merged(some, best.stops)
        allowed = aim.costs(self.pricing.price_in_detail(some))
        away = np.array([stop.away_m for stop in some])
        distances = np.where(allowed < inf, away[None, :], inf)
        middle = find_layers(distances, [stop.is_fixed for stop in some], count, sums=True)
        chosen = tuple(some[i] for i in middle.path(count)) or best.stops
        return center_boxes(self.pricing, self.rooms, chosen, aim) if self.rooms else chosen

    def _useful(self, found: Found, count: int, is_within: bool) -> tuple[Stop, ...]:
        """Return stops tried first that may stand in a placement as good, and those found."""
        layers = self.within if is_within else self.any
        limit = max(layers.best(count), found.value) * _EQUAL
        backward = find_layers(layers.cost[::-1, ::-1].T, self.is_fixed[::-1], count)
        useful = useful_stops(layers, backward, count, limit)
        kept = [stop for stop, use in zip(self.stops, useful, strict=True) if use or stop.is_fixed]
        step = -(-len(kept) // _MOST_CENTERED)
        kept = [s for i, s in enumerate(kept) if s.is_fixed or i % step == 0]
        return _merged(kept, found.stops)

    def _left_out(self) -> LeftOut | None:
        found: list[LeftOut] = []
        for fitting in self.run.fittings[1:-1]:
            if not fitting.pull_point:
                continue
            try:
                without = remove_box(self.run, fitting.name)
            except InputError:  # it holds a corner: the run needs it
                continue
            found.append(LeftOut(fitting.name, place_boxes(without, self.job, ())))
        return min(
            found,
            key=lambda item: (
                len(item.placement.failing) > 0,
                item.placement.share_of_limit or 0.0,
                item.placement.max_tension_n,
            ),
            default=None,
        )

    def _why_not(self) -> tuple[tuple[Blocked, ...], int | None]:
        allowed = self.costs.is_within & (self.costs.share <= _PASSING)
        counts = least_counts(allowed, self.is_fixed)
        if counts[-1] >= 0:
            needed = int(counts[-1])
            while needed > self.most + 1 and self._can_pass_anew(needed - 1):
                needed -= 1
            return (), needed
        return find_blocked(self.pricing, self.stops, allowed, counts), None

    def _cautions(self) -> tuple[Finding, ...]:
        job, cautions = self.job, []
        where = "boxes"
        if self.refused:
            cautions.append(_refused(self.refused, job))
        if job.boxes.need_from == "assumed":
            cautions.append(_need_assumed(job))
        limits = (*self.pricing.limits, sidewall_limit(job))
        texts = dict.fromkeys(text for limit in limits for text in limit.cautions)
        cautions += [Finding("limit-assumed", Severity.CAUTION, text, where) for text in texts]
        if not self.pricing.is_monotone and job.pull.lubricant_reach_m is not None:
            cautions.append(
                Finding(
                    "bound-estimated",
                    Severity.NOTE,
                    "with feed tension and a lubricant reach, the proof that no better place "
                    "stands between those tried is an estimate",
                    where,
                )
            )
        return tuple(cautions)


def _up_to(value: float) -> float:
    """Return what counts as equal to a share, yet not above what passes."""
    return min(value * _EQUAL, max(value, _PASSING))


class _Bounds:
    """Lower bounds of all placements, by the cells between the places tried first."""

    def __init__(self, search: _Search, *, is_within: bool) -> None:
        stops = search.stops
        low, high = [], []
        for index, stop in enumerate(stops):
            after = stops[index + 1] if index + 1 < len(stops) else None
            if stop.room is not None and after is not None and after.room == stop.room:
                low.append(index)
                high.append(index + 1)
            elif stop.room is None or index == 0 or stops[index - 1].room != stop.room:
                low.append(index)
                high.append(index)
        self.cells = [Cell(stops[a], stops[b]) for a, b in zip(low, high, strict=True)]
        lower = lower_costs(search.costs, np.array(low), np.array(high), Aim(is_within=is_within))
        is_fixed = [cell.low.is_fixed for cell in self.cells]
        self.forward = find_layers(lower, is_fixed, search.most)
        self.backward = find_layers(
            np.ascontiguousarray(lower[::-1, ::-1].T), is_fixed[::-1], search.most
        )

    def best(self, count: int) -> float:
        """Lower bound of every placement with so many boxes."""
        return self.forward.best(count)

    def cells_for(self, count: int, value: float) -> tuple[Cell, ...]:
        """Cells that may hold a box of a placement as good as a value."""
        useful = useful_stops(self.forward, self.backward, count, value)
        return tuple(cell for cell, use in zip(self.cells, useful, strict=True) if use)


def _job_for(analysis: Analysis, run: Run) -> Job:
    """Return the job, its places left out where they belong to another run."""
    job = job_naming_run(analysis.job, [item.run.name for item in analysis.runs])
    boxes = job.boxes
    has_places = bool(boxes.candidates_m or boxes.keep_out_m or boxes.allowed_m)
    if not has_places or boxes.run == run.name or (boxes.run is None and len(analysis.runs) == 1):
        return job
    if boxes.run is None:
        raise InputError(
            "[boxes] names stations and the route holds several runs: add run = "
            f'"{run.name}" there to say whose they are'
        )
    others = replace(boxes, candidates_m=(), keep_out_m=(), allowed_m=())
    return replace(job, boxes=others)


def _merged(some: Sequence[Stop], others: Sequence[Stop]) -> tuple[Stop, ...]:
    found = {stop.station_m: stop for stop in (*some, *others)}
    return tuple(found[station] for station in sorted(found))


def _refused(stations: Sequence[float], job: Job) -> Finding:
    words = ", ".join(show_length(station, job.units) for station in stations)
    need = show_length(job.boxes.need_m, job.units)
    return Finding(
        "candidate-refused",
        Severity.CAUTION,
        f"no box can stand at {words}: inside a bend, in a keep-out stretch, or nearer than {need} "
        "to a bend, an end or a fitting",
        "boxes.candidates",
    )


def _need_assumed(job: Job) -> Finding:
    need = show_radius(job.boxes.need_m, job.units)
    return Finding(
        "need-assumed",
        Severity.NOTE,
        f"a box is taken to need {need} of straight on either side of its middle, common practice: "
        "state need in [boxes]",
        "boxes.need",
    )
