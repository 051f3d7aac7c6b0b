"""Every figure of the plan with what it hangs on.

A figure that hangs on friction, weight or bend radii says so; one that names none of them is
independent of it. A test changes each and compares.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analyzer.catalog.practice import find_practice
from analyzer.job.settings import Job
from analyzer.reports.plan_words import place_words
from analyzer.route.run import SAME_PLACE_M, Run
from analyzer.studies.call_outs import CallOut, PlaceKind
from analyzer.studies.margins import GREATEST_FRICTION
from analyzer.studies.plan import PlannedSetUp, PullPlan, RunPlan
from analyzer.studies.redrawn_bends import bend_to_redraw
from analyzer.studies.sensitivity import Sensitivity
from analyzer.units import lbf, to_ft

__all__ = ["PlanFigure", "plan_figures"]

_NOTHING_N = 1e-6
_ALL = ("friction", "weight", "radius")


@dataclass(frozen=True, slots=True)
class PlanFigure:
    """One figure of the plan.

    Attributes
    ----------
    run, set_up : str
        Name of the run; number of the set-up, empty for the whole run.
    item, place : str
        What it is, and where in words.
    value : float or None
        In `unit`; None where it is not known or not checked.
    unit : str
        SI unit, ``ratio``, ``count`` or ``min``.
    depends_on : tuple of str
        Those of friction, weight and radius that it changes with; of the rest it is independent.
        Numbers of people and listed lines follow a force only in steps.
    """

    run: str
    set_up: str
    item: str
    place: str
    value: float | None
    unit: str
    depends_on: tuple[str, ...]


def plan_figures(plan: PullPlan) -> tuple[PlanFigure, ...]:
    """Return every figure of a plan, in the order of its page."""
    job = plan.analysis.job
    return tuple(figure for run in plan.runs for figure in _run_figures(run, job))


def _run_figures(run: RunPlan, job: Job) -> Iterator[PlanFigure]:
    name = run.analyzed.run.name
    bends = ("radius",) if any(item.set_up.bends for item in run.set_ups) else ()
    pulled = ("friction", "weight", *bends)

    def figure(
        item: str, place: str, value: float | None, unit: str, on: tuple[str, ...]
    ) -> PlanFigure:
        return PlanFigure(name, "", item, place, value, unit, on)

    yield figure("run length", "", run.analyzed.run.centerline.length_m, "m", bends)
    yield figure("set-ups", "", float(len(run.set_ups)), "count", ())
    for length in run.lengths:
        conductor = length.line.conductor.full_name
        yield figure("conductors", conductor, float(length.line.count), "count", ())
        yield figure("cut length of each", conductor, length.each_m, "m", bends)
    yield figure("line tension", "", run.line.tension_n, "N", pulled)
    yield figure("line working load", "", run.line.working_load_n, "N", ())
    yield figure("line breaking strength", "", run.line.breaking_strength_n, "N", ())
    yield figure("line may carry", "", run.line.allowed_n, "N", ())
    yield figure("puller capacity", "", job.pull.puller_capacity_n, "N", ())
    yield figure("breaking strength for the puller", "", run.line.needed_strength_n, "N", ())
    for listed in (run.line.tape_line, run.line.rope_line):
        if listed is not None:
            breaks, works = listed.breaking_strength_n, listed.working_load_n
            yield figure("listed line breaks at", listed.kind, breaks, "N", pulled)
            yield figure("listed line working load", listed.kind, works, "N", pulled)
    for rule in ("hand force short", "hand force sustained"):
        yield figure(rule, "each", lbf(find_practice(rule).value), "N", ())
    for way in (run.analyzed.through_forward, run.analyzed.through_reverse):
        place = f"straight through from {way.feed_at}"
        yield figure("greatest tension", place, way.high.max_tension_n, "N", pulled)
    better = max(item.greatest_tension_n for item in run.feeding.each_better)
    yield figure("greatest tension", "each stretch from its better end", better, "N", pulled)
    for hanging in run.hanging:
        place = f"station {to_ft(hanging.part.station_m):.1f} ft"
        yield figure("hanging weight", place, hanging.weight_n, "N", ("weight",))
    for choice in run.feeding.places:
        place = f"reels at {choice.feed.name}"
        yield figure("greatest tension", place, choice.greatest_tension_n, "N", pulled)
        yield figure("share of limit", place, choice.share_of_limit, "ratio", pulled)
    for choice in run.feeding.fewest:
        place = f"best of {len(choice.set_ups)} set-ups, reels at {choice.feed.name}"
        yield figure("greatest tension", place, choice.greatest_tension_n, "N", pulled)
    if run.next_size is not None:
        larger = run.next_size.larger
        place = f"{larger.raceway.type} {larger.raceway.trade_size}"
        moved_by = pulled if larger.tension_n is not None else ()
        yield figure("greatest tension one size up", place, larger.tension_n, "N", moved_by)
        share = None if larger.governing is None else larger.governing.share
        moved_by = pulled if share is not None else ()
        yield figure("share of limit one size up", place, share, "ratio", moved_by)
        radius = run.next_size.smallest_radius_m
        yield figure("smallest radius one size up", place, radius, "m (radius)", ())
        yield figure("fill one size up", place, larger.fill_percent, "percent", ())
        yield figure("jam ratio one size up", place, larger.group.jam_ratio, "ratio", ())
        now = run.next_size.now
        yield figure("fill", "", now.fill_percent, "percent", ())
        yield figure("jam ratio", "", now.group.jam_ratio, "ratio", ())
    for row in sorted(run.sensitivity, key=_fixed_order):
        place = f"{row.quantity.value} changed"
        if row.bend is not None:
            place = f"{row.quantity.value} of bend {row.bend.number} changed"
        yield figure("greatest tension", place, row.tension_n, "N", pulled)
        yield figure("share of limit", place, row.share_of_limit, "ratio", pulled)
    for item in run.set_ups:
        yield from _set_up_figures(item, run.analyzed.run)


def _fixed_order(row: Sensitivity) -> tuple[str, int]:
    """Order that no change of the figures moves."""
    return row.quantity.value, 0 if row.bend is None else row.bend.number


def _set_up_figures(item: PlannedSetUp, line: Run) -> Iterator[PlanFigure]:
    set_up, margins, run = item.set_up, item.margins, line.name
    bends = ("radius",) if set_up.bends else ()
    pulled = ("friction", "weight", *bends)
    number = str(item.number)

    def figure(
        name: str, place: str, value: float | None, unit: str, on: tuple[str, ...]
    ) -> PlanFigure:
        return PlanFigure(run, number, name, place, value, unit, on)

    yield figure("length", "", set_up.length_m, "m", bends)
    yield figure("greatest tension", "", set_up.greatest_tension_n, "N", pulled)
    yield figure("share of limit", "", set_up.pull.share_of_limit, "ratio", pulled)
    other = item.reason.other.high.max_tension_n
    yield figure("greatest tension from the other end", "", other, "N", pulled)
    yield from _reason_figures(item, line)
    for row in item.call_outs:
        yield from _call_out_figures(row, item, run)
    yield from _limit_figures(item, run)
    highest = margins.highest_friction
    known = highest is not None and highest < GREATEST_FRICTION
    yield figure("highest friction that passes", "", highest, "ratio",
                 ("weight", *bends) if known else ())  # fmt: skip
    place = "" if margins.bend is None else f"bend {margins.bend.number}"
    # at its corner the radius that passes does not hang on the one drawn, but on those of others
    others = ("friction", "weight", *(("radius",) if len(set_up.bends) > 1 else ()))
    radius = margins.smallest_radius_m
    yield figure("smallest radius that passes", place, radius, "m (radius)",
                 others if radius else ())  # fmt: skip
    for over in margins.over:
        place = f"bend {over.bend.number}, above the limit"
        yield figure("sidewall pressure", place, over.n_per_m, "N/m", pulled)
        yield figure("smallest radius that passes", place, over.radius_m, "m (radius)",
                     others if over.radius_m else ())  # fmt: skip
    for bound in item.bounds:
        place = f"friction {bound.friction:g}"
        yield figure("all bends first", place, bound.lower_n, "N", pulled)
        yield figure("all bends last", place, bound.upper_n, "N", pulled)
    yield figure("lubricant", "once the formula", item.lubricant.low_m3, "m3", bends)
    yield figure("lubricant", "twice the formula", item.lubricant.high_m3, "m3", bends)
    crew = item.crew
    yield figure("people, short pull", "force screening", float(crew.short), "count", pulled)
    yield figure("people, sustained", "force screening", float(crew.sustained), "count", pulled)
    yield figure("posts", "", float(crew.posts), "count", ())
    yield figure("time", "at the slow speed", crew.slow_min, "min", bends)
    yield figure("time", "at the fast speed", crew.fast_min, "min", bends)
    for name, force in (("hold-back", item.drop.hold_back_n), ("run-back", item.drop.run_back_n)):
        yield figure(name, "", force, "N", pulled if force > 0.0 else ())


def _reason_figures(item: PlannedSetUp, line: Run) -> Iterator[PlanFigure]:
    """Yield what bends multiply and add, this way and the other, and the weight lifted."""
    number, reason, run = str(item.number), item.reason, line.name
    ends = (item.set_up.feed.station_m, item.set_up.pull_to.station_m)
    for load in sorted(reason.bends, key=lambda load: load.bend.number):
        place = f"bend {load.bend.number}"
        for name, force, feed in (
            ("arriving", load.arriving_n, ends[0]),
            ("arriving from the other end", load.other_arriving_n, ends[1]),
        ):
            way = min(abs(load.bend.station_m - feed), abs(load.bend.end_station_m - feed))
            # its own radius moves it too: the straight before it ends elsewhere
            moves = _ALL if force > 0.0 and way > SAME_PLACE_M else ()
            yield PlanFigure(run, number, name, place, force, "N", moves)
        for name, force in (
            ("adds", load.added_n),
            ("adds from the other end", load.other_added_n),
        ):
            moves = _ALL if abs(force) > _NOTHING_N else ()
            yield PlanFigure(run, number, name, place, force, "N", moves)
        times = reason.multiplier(load.bend)
        rubs = ("friction",) if times is not None else ()
        yield PlanFigure(run, number, "multiplies by", place, times, "ratio", rubs)
    lifted = reason.lifted_n if abs(reason.lifted_n) > _NOTHING_N else None
    # corners keep both ends of the set-up where they are; what lies behind a U moves with it
    drawn = [bend_to_redraw(line, bend) for bend in item.set_up.bends]
    moves_on = any(bend is not None and not bend.has_corner for bend in drawn)
    lifts = ("weight", *(("radius",) if moves_on else ()))
    yield PlanFigure(run, number, "weight lifted", "", lifted, "N", lifts if lifted else ())


def _limit_figures(item: PlannedSetUp, run: str) -> Iterator[PlanFigure]:
    """Every limit that is checked, with its value, and what is to spare."""
    bends = ("radius",) if item.set_up.bends else ()
    for share in item.set_up.pull.shares:
        unit = "N/m" if share.code.startswith("sidewall") else "N"
        on = ("friction", "weight", *bends) if share.value > 0.0 else ()
        number = str(item.number)
        yield PlanFigure(run, number, "value", share.name, share.value, unit, on)
        yield PlanFigure(run, number, "limit", share.name, share.limit, unit, ())
        spare = share.limit - share.value
        yield PlanFigure(run, number, "to spare", share.name, spare, unit, on)


def _call_out_figures(row: CallOut, item: PlannedSetUp, run: str) -> Iterator[PlanFigure]:
    number, place = str(item.number), place_words(row)
    feed, way = item.set_up.feed.station_m, abs(row.station_m - item.set_up.feed.station_m)
    is_bent = any(
        min(abs(bend.station_m - feed), abs(bend.end_station_m - feed)) < way - SAME_PLACE_M
        for bend in item.set_up.bends
    )
    bends = ("radius",) if is_bent else ()
    on = () if row.kind is PlaceKind.FEED else ("friction", "weight", *bends)
    moves = _ALL if row.kind is PlaceKind.GREATEST else bends
    yield PlanFigure(run, number, "call-out way", place, row.away_m, "m", moves)
    for name, tension in (
        ("low", row.tension.low_n),
        ("expected", row.tension.expected_n),
        ("high", row.tension.high_n),
    ):
        is_slack = tension <= 0.0
        yield PlanFigure(
            run, number, f"call-out {name}", place, tension, "N", () if is_slack else on
        )
    stop = row.stop
    stop_on: tuple[str, ...] = ("radius",) if stop.code == "sidewall" else ()
    if stop.is_carried:  # less what hangs, more what rubs, over a way that bends belong to
        stop_on = ("friction", "weight", "radius") if stop.is_rubbed else ("weight", "radius")
    yield PlanFigure(run, number, "stop value", place, stop.stop_n, "N", stop_on)
