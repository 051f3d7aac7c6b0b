"""Every figure of the plan follows the analysis: what it says it hangs on moves it, no more.

Friction, weight and one radius are changed one at a time. A figure that names the change must
move; one that does not must stay. Whole numbers and listed sizes follow a force in steps: they may
stay.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace
from functools import cache
from math import pi

import pytest
from plan_routes import bent_run, example, level_bent, three_like_job

from analyzer.analysis import analyze
from analyzer.job.settings import Friction, Job, Limits, Passage
from analyzer.reports.plan_content import plan_content
from analyzer.reports.plan_csv import plan_csv
from analyzer.reports.plan_figures import PlanFigure, plan_figures
from analyzer.reports.plan_terminal import plan_text
from analyzer.route.run import Run
from analyzer.studies.changed_routes import with_radius
from analyzer.studies.plan import PullPlan, plan_pull
from analyzer.units import (
    UnitSystem,
    lbf,
    lbf_per_ft,
    show_force,
    show_pressure,
    show_share,
    show_stop,
    show_weight,
)

IN_STEPS = {
    "listed line breaks at",
    "listed line working load",
    "people, short pull",
    "people, sustained",
}

# One bend stands before every other place of the run, so that its radius moves what lies behind.
LINE = level_bent([6.0, (0.6, pi / 2), 14.0, (0.5, pi / 3), 5.0, 11.0, (0.7, 1.0), 9.0])
BOX_M = 6.0 + 0.3 * pi + 14.0 + 0.5 * pi / 3 + 5.0


def base_job() -> Job:
    job = three_like_job(
        (0.2, 0.35, 0.5),
        feed_tension_n=lbf(25.0),
        line_working_load_n=lbf(2500.0),
        puller_capacity_n=lbf(4000.0),
    )
    limits = Limits(sidewall_pressure_n_per_m=lbf_per_ft(400.0), sidewall_from="job")
    return replace(job, limits=limits, plan=replace(job.plan, feed_at="start"))


def base_run() -> Run:
    return bent_run(LINE, [(BOX_M, Passage.REFEED)])


def heavier(job: Job) -> Job:
    (line,) = job.conductors
    conductor = replace(line.conductor, weight_n_per_m=line.conductor.weight_n_per_m * 1.07)
    return replace(job, conductors=(replace(line, conductor=conductor),))


def rougher(job: Job) -> Job:
    band = job.pull.friction
    raised = Friction(band.low * 1.05, band.expected * 1.05, band.high * 1.05)
    return replace(job, pull=replace(job.pull, friction=raised))


def all_wider(run: Run) -> Run:
    for bend in run.bends:
        run = with_radius(run, bend, 1.1)
    return run


@cache
def plan_of(change: str) -> PullPlan:
    run, job = base_run(), base_job()
    if change == "friction":
        job = rougher(job)
    elif change == "weight":
        job = heavier(job)
    elif change == "radius":
        run = all_wider(run)
    elif change == "first radius":
        run = with_radius(run, run.bends[0], 1.1)
    return plan_pull(analyze([run], job))


def key(figure: PlanFigure) -> tuple[str, str, str]:
    place = figure.place if not figure.place.startswith("friction") else "friction"
    return figure.set_up, figure.item, place


def figures(change: str) -> list[PlanFigure]:
    return [figure for figure in plan_figures(plan_of(change)) if figure.value is not None]


@pytest.mark.parametrize("change", ["friction", "weight", "radius"])
def test_every_figure_moves_with_what_it_names_and_with_nothing_else(change: str) -> None:
    before, after = figures("none"), figures(change)
    assert [key(f) for f in before] == [key(f) for f in after]
    moved = 0
    for old, new in zip(before, after, strict=True):
        is_moved = abs(old.value - new.value) > 1e-9 * max(abs(old.value), 1e-9)
        if old.item in IN_STEPS:
            assert change in old.depends_on or not is_moved, key(old)
            continue
        assert is_moved == (change in old.depends_on), (key(old), old.value, new.value)
        moved += is_moved
    assert moved > 20


@pytest.mark.parametrize("name", ["overhead_feeder.dxf", "riser.csv", "training_yard.csv"])
def test_every_force_on_the_page_is_a_listed_figure(name: str) -> None:
    plan = plan_pull(example(name))
    listed = [figure for figure in plan_figures(plan) if figure.value is not None]
    forces = {show_force(abs(f.value), UnitSystem.US) for f in listed if f.unit == "N"}
    forces |= {show_stop(f.value, UnitSystem.US) for f in listed if f.item == "stop value"}
    pressures = {show_pressure(abs(f.value), UnitSystem.US) for f in listed if f.unit == "N/m"}
    text = " ".join(plan_text(plan_content(plan), width=160).split())
    shown = re.findall(r"(?<![\d,.])[\d,]+(?:\.\d+)? lbf\b(?!/)", text)
    assert len(set(shown)) > 15
    assert set(shown) <= forces
    stated = re.findall(r"(?<![\d,.])[\d,]+(?:\.\d+)? lbf/ft", text)
    weights = {show_weight(plan.analysis.job.pulling_weight_n_per_m, UnitSystem.US)}
    assert set(stated) <= pressures | weights


@pytest.mark.parametrize("system", UnitSystem)
def test_no_stop_value_is_shown_above_its_source(system: UnitSystem) -> None:
    unit_n = {"N": 1.0, "kN": 1000.0, "lbf": lbf(1.0)}
    for name in ("overhead_feeder.dxf", "riser.csv", "training_yard.csv"):
        analysis = example(name)
        plan = plan_pull(replace(analysis, job=replace(analysis.job, units=system)))
        for told, run in zip(plan_content(plan).runs, plan.runs, strict=True):
            for item, planned in zip(told.set_ups, run.set_ups, strict=True):
                shown = [row[-1] for row in item.call_outs.rows]
                stops = [row.stop.stop_n for row in planned.call_outs]
                for text, stop in zip(shown, stops, strict=True):
                    number, unit = text.replace(",", "").split()
                    step = (0.01 if unit == "kN" else 1.0) * unit_n[unit]
                    read = float(number) * unit_n[unit]
                    assert stop is not None
                    assert stop - step < read <= stop * (1.0 + 1e-9), (text, stop)


@pytest.mark.parametrize("name", ["overhead_feeder.dxf", "riser.csv", "training_yard.csv"])
def test_every_share_on_the_page_is_a_listed_figure(name: str) -> None:
    plan = plan_pull(example(name))
    listed = {
        show_share(figure.value)
        for figure in plan_figures(plan)
        if figure.value is not None and figure.unit == "ratio"
    }
    values = {
        show_share(share.share)
        for item in plan.runs[0].set_ups
        for share in item.set_up.pull.shares
    }
    text = " ".join(plan_text(plan_content(plan), width=160).split())
    shares = re.findall(r"([\d,]+ %) of limit", text)
    assert shares
    for shown in shares:
        others = {
            show_share(item.reason.other.share_of_limit or 0.0) for item in plan.runs[0].set_ups
        }
        assert shown in listed | values | others


def test_one_radius_moves_what_lies_behind_it() -> None:
    before, after = figures("none"), figures("first radius")
    moved = {
        key(old)
        for old, new in zip(before, after, strict=True)
        if abs(old.value - new.value) > 1e-9 * max(abs(old.value), 1e-9)
    }
    assert ("", "cut length of each", "test conductor") in moved
    assert ("", "run length", "") in moved
    assert ("1", "greatest tension", "") in moved
    assert not any(set_up == "2" for set_up, *_ in moved)


def test_whole_numbers_follow_the_force_they_name() -> None:
    found = {key(figure): figure.value for figure in figures("none")}
    for number in ("1", "2"):
        tension = found[number, "greatest tension", ""]
        assert found[number, "people, short pull", "force screening"] == max(
            2, -(-tension // lbf(50.0))
        )


def test_stop_values_that_are_no_sidewall_limit_are_independent() -> None:
    first = next(f for f in figures("none") if f.item == "stop value")
    assert first.depends_on == ()


def test_unknown_figures_are_written_as_not_checked() -> None:
    plan = plan_pull(example("training_yard.csv"))
    rows = list(csv.DictReader(io.StringIO(plan_csv(plan))))
    row = next(row for row in rows if row["item"] == "line working load")
    assert row["value"] == "not checked"
    assert row["us_value"] == ""


def test_csv_holds_both_units_and_what_a_figure_hangs_on() -> None:
    plan = plan_of("none")
    rows = [row for row in csv.DictReader(io.StringIO(plan_csv(plan))) if not row["text"]]
    assert len(rows) == len(plan_figures(plan))
    for row in rows:
        if row["unit"] == "N" and row["value"] != "not checked":
            assert float(row["us_value"]) == pytest.approx(float(row["value"]) / 4.4482216152605)
    assert {"independent", "friction weight radius"} <= {row["depends_on"] for row in rows}


def test_stop_value_less_the_weight_below_hangs_on_all_that_lies_between() -> None:
    """On the riser the pressed bend lies above the head: what hangs there counts against it."""
    riser = example("riser.csv")
    run, job = riser.runs[0].run, riser.job
    plans = {
        "none": plan_pull(analyze([run], job)),
        "weight": plan_pull(analyze([run], heavier(job))),
        "radius": plan_pull(analyze([all_wider(run)], job)),
        "friction": plan_pull(analyze([run], rougher(job))),
    }
    stops = {
        change: [f for f in plan_figures(plan) if f.item == "stop value"]
        for change, plan in plans.items()
    }
    for change in ("weight", "radius", "friction"):
        for old, new in zip(stops["none"], stops[change], strict=True):
            is_moved = abs(old.value - new.value) > 1e-9 * old.value
            assert is_moved == (change in old.depends_on), (change, old.place)
    found = {figure.depends_on for figure in stops["none"]}
    assert {(), ("radius",), ("weight", "radius"), ("friction", "weight", "radius")} == found


def test_change_too_small_to_show_has_no_minus_sign() -> None:
    run = bent_run(level_bent([6.0, (0.6, pi / 2), 5.0, (0.5, pi / 2), 0.5]), [])
    job = replace(three_like_job((0.2, 0.35, 0.5)), limits=base_job().limits)
    for system, unit in ((UnitSystem.US, "lbf"), (UnitSystem.METRIC, "N")):
        plan = plan_pull(analyze([run], replace(job, units=system)))
        least = replace(plan.runs[0].sensitivity[0], tension_change_n=-1e-9)
        shown = plan_content(replace(plan, runs=(replace(plan.runs[0], sensitivity=(least,)),)))
        (row,) = shown.runs[0].sensitivity.rows
        assert re.fullmatch(rf"\+0(\.0)? {unit}", row[2])


def test_metric_plan_tells_when_to_lubricate_in_metric_with_the_figure_of_the_source() -> None:
    for system, expected in (
        (UnitSystem.US, "Needed: over 5 ft or 90° (IEEE 1185-1994); from trade size 1.5 up"),
        (
            UnitSystem.METRIC,
            "Needed: over 1.52 m (5 ft in the source) or 90° (IEEE 1185-1994); from trade size "
            "1.5 up",
        ),
    ):
        text = plan_text(
            plan_content(plan_pull(analyze([base_run()], replace(base_job(), units=system))))
        )
        assert expected in " ".join(text.split())


@pytest.mark.parametrize(
    ("system", "rope", "pulled_by"),
    [
        (UnitSystem.US, "or 5/8 in double-braided polyester", "; 0.375 to 0.75 in double-braided"),
        (
            UnitSystem.METRIC,
            "or 15.88 mm (5/8 in) double-braided polyester",
            "; 9.52 mm to 19.05 mm (0.375 to 0.75 in in the source) double-braided",
        ),
    ],
)
def test_metric_plan_tells_sizes_of_ropes_in_millimeters_with_the_inches_listed(
    system: UnitSystem, rope: str, pulled_by: str
) -> None:
    job = replace(base_job(), units=system)
    assert job.pull.line_working_load_n is not None
    job = replace(job, existing=job.conductors, pull=replace(job.pull, line_working_load_n=None))
    text = " ".join(plan_text(plan_content(plan_pull(analyze([base_run()], job)))).split())
    text = text.replace("- ", "-")  # words broken at their hyphens
    assert rope in text
    assert pulled_by in text
