"""What stands beside each leg is what the whole analysis gives when it is asked again.

One long file, because all tests share the analyses made here and the ways of asking again.
"""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from math import cosh, exp, pi, radians, sinh, sqrt
from pathlib import Path
from re import findall

import jsonschema
import numpy as np
import pytest
from plan_routes import (
    at_corner,
    bent_run,
    heavy_job,
    level_bent,
    random_boxed_run,
    three_like_job,
    without_tension_limit,
)
from pull_routes import route

from analyzer.analysis import Analysis, LegAnalysis, analyze
from analyzer.importers.reading import open_route
from analyzer.job.reading import read_job
from analyzer.job.settings import Friction, Job, Limits, Passage
from analyzer.pulling.results import Direction, Pull
from analyzer.reports.analysis_file import analysis_schema, analysis_values
from analyzer.reports.content import content_of
from analyzer.reports.csv_tables import csv_texts
from analyzer.reports.leg_words import (
    better_end_words,
    greatest_words,
    level_words,
    passing_words,
    reason_words,
)
from analyzer.reports.sheet import sheet_html
from analyzer.reports.terminal import terminal_text
from analyzer.studies.bend_radii import BendRadius
from analyzer.studies.changed_routes import with_radius
from analyzer.studies.feeding_reasons import DirectionReason
from analyzer.studies.leg_study import leg_reason, refed_pulls, study_leg, through_reason
from analyzer.studies.margins import GREATEST_FRICTION
from analyzer.units import UnitSystem, inches, lbf, lbf_per_ft, show_force, to_lbf

FORWARD, REVERSE = Direction.FORWARD, Direction.REVERSE


def random_analysis(seed: int, **pull: object) -> Analysis:
    run = random_boxed_run(np.random.default_rng(seed))
    job = three_like_job(feed_tension_n=lbf(10.0), line_working_load_n=lbf(700.0), **pull)
    limits = Limits(sidewall_pressure_n_per_m=lbf_per_ft(400.0), sidewall_from="job")
    return analyze([run], replace(job, limits=limits))


def pulled(item: LegAnalysis, direction: Direction) -> Pull:
    return item.forward if direction is FORWARD else item.reverse


def at_friction(analysis: Analysis, friction: float) -> Analysis:
    band = Friction(friction, friction, friction)
    job = replace(analysis.job, pull=replace(analysis.job.pull, friction=band))
    return analyze([analysis.runs[0].run], job)


def largest(pull: Pull) -> float:
    return max(share.share for share in pull.shares if "braked" not in share.code)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("direction", Direction)
def test_analyzed_again_at_the_highest_friction_a_limit_is_just_reached(
    seed: int, direction: Direction
) -> None:
    dry = {"lubricant_reach_m": 12.0, "dry_friction": 0.4} if seed % 2 else {}
    analysis = random_analysis(seed, **dry)
    for index, item in enumerate(analysis.runs[0].legs):
        margins = study_leg(analysis.runs[0], item, direction, analysis).margins
        friction = margins.highest_friction
        if friction is None:
            least = at_friction(analysis, 0.001).runs[0].legs[index]
            assert largest(pulled(least, direction)) > 1.0
            continue
        again = at_friction(analysis, friction).runs[0].legs[index]
        share = largest(pulled(again, direction))
        if friction == GREATEST_FRICTION:
            assert share <= 1.0
        else:
            assert share == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("direction", Direction)
def test_run_with_the_smallest_radius_just_reaches_the_sidewall_limit(
    seed: int, direction: Direction
) -> None:
    dry = {"lubricant_reach_m": 12.0, "dry_friction": 0.4} if seed % 2 else {}
    analysis = random_analysis(seed, **dry)
    limit = analysis.job.limits.sidewall_pressure_n_per_m
    for index, item in enumerate(analysis.runs[0].legs):
        margins = study_leg(analysis.runs[0], item, direction, analysis).margins
        if margins.bend is None or margins.smallest_radius_m is None:
            continue
        assert margins.bend.radius_m is not None
        factor = margins.smallest_radius_m / margins.bend.radius_m
        run, bend = analysis.runs[0].run, margins.bend
        assert margins.radius.keeps_straights == (bend.angle_rad > radians(175.0))
        changed = (
            with_radius(run, bend, factor)
            if margins.radius.keeps_straights
            else at_corner(run, bend, margins.smallest_radius_m)
        )
        pull = pulled(analyze([changed], analysis.job).runs[0].legs[index], direction)
        pressures = []
        for figures in (pull.high, pull.braked):
            station = figures.max_sidewall_station_m
            assert station is not None
            pressures.append(figures.max_sidewall_n_per_m)
        # where the bend still presses most, the leg's figure is that of the bend
        if factor <= 1.0:
            assert max(pressures) == pytest.approx(limit, rel=1e-8)
        else:
            assert max(pressures) >= limit * (1.0 - 1e-8)


def test_smallest_radius_of_a_bend_beyond_the_lubricant_counts_its_dry_friction() -> None:
    """The lubricant ends in the leg before it: 15 m at 0.2, 5 + 5 m at 0.6, then the bend.

    At R 0.25 instead of 0.6 m the straight reaches 0.35 m farther toward the corner.
    """
    line = level_bent([20.0, 5.0, (0.6, pi / 2), 1.0])
    run = bent_run(line, [(20.0, Passage.THROUGH)])
    job = heavy_job(0.2, lubricant_reach_m=15.0, dry_friction=0.6)
    weight = job.pulling_weight_n_per_m
    entry = weight * (0.2 * 15.0 + 0.6 * 10.35)

    def pressure(radius: float) -> float:
        k_a = 0.6 * pi / 2
        return (entry * cosh(k_a) + sqrt(entry**2 + (weight * radius) ** 2) * sinh(k_a)) / radius

    limits = Limits(sidewall_pressure_n_per_m=pressure(0.25), sidewall_from="job")
    analysis = analyze([run], replace(job, limits=limits))
    (leg,) = [item for item in analysis.runs[0].legs if item.leg.bends]
    margins = study_leg(analysis.runs[0], leg, FORWARD, analysis).margins
    assert margins.smallest_radius_m == pytest.approx(0.25, rel=1e-6)


DROP_JOB = """
units = "metric"
[raceway]
type = "RMC"
trade_size = "3"
bend_radius = "400 mm"
[[conductors]]
count = 3
size = "350"
insulation = "XHHW-2"
metal = "copper"
[[conductors]]
count = 1
size = "1/0"
insulation = "THHN"
metal = "copper"
[pull]
friction = { low = 0.15, expected = 0.30, high = 0.45 }
feed_tension = "200 N"
[limits]
sidewall_pressure = "7.3 kN/m"
"""


def drop_analysis(folder: Path, radius_mm: float) -> Analysis:
    """A run down a shaft, the bend at its foot of a radius entered in the file."""
    (folder / "drop.toml").write_text(DROP_JOB)
    (folder / "drop.csv").write_text(
        f"x_m,y_m,z_m,radius_mm\n0,0,5,\n13,0,5,900\n13,6,5,900\n13,6,-17,{radius_mm}\n13,11,-17,\n"
    )
    job = read_job(folder / "drop.toml")
    return analyze(open_route(folder / "drop.csv", job).runs, job)


@pytest.mark.parametrize("drawn_mm", [400, 1200, 1600])
def test_radius_shown_passes_when_it_is_entered_in_the_file(tmp_path: Path, drawn_mm: int) -> None:
    """The same radius whatever is drawn now; a millimeter less fails."""
    analysis = drop_analysis(tmp_path, drawn_mm)
    item = analysis.runs[0].legs[0]
    text = passing_words(study_leg(analysis.runs[0], item, FORWARD, analysis).margins, analysis.job)
    word = "needs" if drawn_mm < 1400 else "could have"
    assert f"{word} R 1,426 mm" in text
    limit = analysis.job.limits.sidewall_pressure_n_per_m
    assert limit is not None
    for radius_mm, holds in ((1426, True), (1425, False)):
        again = drop_analysis(tmp_path, radius_mm).runs[0].legs[0].forward
        pressed = max(again.high.max_sidewall_n_per_m, again.braked.max_sidewall_n_per_m)
        assert (pressed <= limit) == holds


def test_radius_that_does_not_fit_at_its_corner_is_not_asked_for() -> None:
    """Straights of 8 m and 1.5 m beside a bend of R 0.5 m: 2 m at most."""
    line = level_bent([80.0, (0.5, pi / 2), 8.0, (0.5, pi / 2), 1.5])
    job = replace(
        heavy_job(0.5, feed_tension_n=lbf(500.0)),
        limits=Limits(sidewall_pressure_n_per_m=lbf_per_ft(100.0), sidewall_from="job"),
        units=UnitSystem.METRIC,
    )
    analysis = analyze([bent_run(line)], job)
    margins = study_leg(analysis.runs[0], analysis.runs[0].legs[0], FORWARD, analysis).margins
    assert margins.smallest_radius_m is None
    assert margins.radius.largest_m == pytest.approx(2.0)
    text = passing_words(margins, analysis.job)
    assert "bend 2" in text
    assert "no radius that fits at its corner passes (R 2,000 mm at most)" in text


def test_no_friction_that_passes_is_not_read_as_friction_of_zero() -> None:
    line = route((0, 0, 1), [150.0])
    analysis = analyze([bent_run(line)], heavy_job(0.35))
    margins = study_leg(analysis.runs[0], analysis.runs[0].legs[0], FORWARD, analysis).margins
    assert margins.highest_friction is None
    assert "Pulled, it fails at any friction, however low." in passing_words(margins, analysis.job)
    reach = replace(analysis.job.pull, lubricant_reach_m=10.0, dry_friction=0.5)
    words = passing_words(margins, replace(analysis.job, pull=reach))
    assert "fails at any friction within the lubricant's reach, however low." in words


def test_radius_that_passes_is_shown_rounded_up() -> None:
    analysis = random_analysis(3)
    (found,) = [
        margins
        for item in analysis.runs[0].legs
        if (margins := study_leg(analysis.runs[0], item, FORWARD, analysis).margins).bend
    ][:1]
    shown = passing_words(replace(found, radius=BendRadius(inches(5.301)), over=()), analysis.job)
    assert "R 5.31 in" in shown


@pytest.mark.parametrize("seed", range(6))
def test_bend_tensions_are_those_of_the_profile(seed: int) -> None:
    friction = 0.4
    analysis = at_friction(random_analysis(seed), friction)
    run = analysis.runs[0]
    for item in run.legs:
        for direction in Direction:
            study = study_leg(run, item, direction, analysis)
            assert [t.bend.number for t in study.bends] == [
                bend.number
                for bend in (item.leg.bends if direction is FORWARD else item.leg.bends[::-1])
            ]
            profile = study.pull.profile
            scale = study.pull.expected.max_tension_n + 1.0
            for found in study.bends:
                ends = (found.bend.station_m, found.bend.end_station_m)
                start, end = ends if direction is FORWARD else ends[::-1]
                for place, value in ((start, found.arriving_n), (end, found.leaving_n)):
                    near = min(
                        abs(t - value)
                        for s, t in zip(profile.station_m, profile.tension_n, strict=True)
                        if abs(s - place) < 1e-6
                    )
                    assert near < 1e-9 * scale


def test_better_end_is_told_by_the_bend_that_multiplies_less() -> None:
    # 60 ft and a 90 at the far end: fed there the bend meets nothing
    line = level_bent([60.0, (0.5, pi / 2), 1.0])
    analysis = analyze([bent_run(line)], heavy_job(0.4))
    (run,) = analysis.runs
    reason = leg_reason(run, run.legs[0], analysis)
    assert reason.pull.direction is REVERSE
    (load,) = reason.bends
    weight = analysis.job.pulling_weight_n_per_m
    assert load.arriving_n == pytest.approx(0.4 * weight * 1.0)
    assert load.other_arriving_n == pytest.approx(0.4 * weight * 60.0)
    text = better_end_words(reason, analysis.job)
    times = exp(0.4 * pi / 2)
    ours, theirs = to_lbf(0.4 * weight * 1.0), to_lbf(0.4 * weight * 60.0)
    assert f"multiplies {ours:.1f} lbf instead of {theirs:.0f} lbf, by about {times:.2f}" in text
    assert text.startswith("feed at end; at high friction")


def test_better_end_names_what_a_bend_adds_where_more_arrives_at_it_that_way(tmp_path) -> None:
    """Fed at the top of a drop k w 9.8 m arrive at its bend, fed below w 2.8 m, which are less."""
    file = tmp_path / "over.csv"
    file.write_text("x_m,y_m,z_m\n0,0,3\n10,0,3\n10,0,0\n", encoding="utf-8")
    job = replace(heavy_job(0.3), bend_radius_m=0.24)
    analysis = analyze(open_route(file, job).runs, job)
    (run,) = analysis.runs
    reason = leg_reason(run, run.legs[0], analysis)
    (load,) = reason.bends
    assert reason.pull.direction is FORWARD
    assert load.arriving_n > load.other_arriving_n
    assert load.saved_n > 0.0
    ours, theirs = (show_force(n, job.units) for n in (load.added_n, load.other_added_n))
    for text in (better_end_words(reason, job), reason_words(reason, job)):
        assert f") adds {ours} instead of {theirs}, the weight in it included." in text
        assert "multiplies" not in text
    off = replace(load, leaving_n=load.arriving_n - 20.0, other_leaving_n=load.other_arriving_n)
    text = better_end_words(replace(reason, bends=(off,)), job)
    assert f") takes {show_force(20.0, job.units)} off instead of adding 0.0 lbf, " in text


@pytest.mark.parametrize("seed", range(12))
def test_a_bend_said_to_multiply_meets_less_the_better_way(seed: int) -> None:
    analysis = random_analysis(seed)
    (run,) = analysis.runs
    for item in run.legs:
        reason = leg_reason(run, item, analysis)
        text = better_end_words(reason, analysis.job)
        told = findall(r"(multiplies|adds) ([\d.,]+) lbf instead of ([\d.,]+) lbf", text)
        for _, *forces in told:
            ours, theirs = (float(force.replace(",", "")) for force in forces)
            assert ours < theirs


def nearly_alike(here: float, there: float, more_tension: float) -> tuple[DirectionReason, Job]:
    """A leg's better end at a share, the other end at another; the better may need more tension."""
    line = level_bent([60.0, (0.5, pi / 2), 1.0])
    analysis = analyze([bent_run(line)], three_like_job((0.2, 0.35, 0.5)))
    (run,) = analysis.runs
    reason = leg_reason(run, run.legs[0], analysis)
    share = reason.pull.governing
    assert share is not None
    ours, theirs = (replace(share, value=part * share.limit) for part in (here, there))
    high = replace(reason.pull.high, max_tension_n=reason.other.high.max_tension_n * more_tension)
    pull = replace(reason.pull, shares=(ours,), high=high)
    return replace(reason, pull=pull, other=replace(reason.other, shares=(theirs,))), analysis.job


def test_ends_whose_shares_agree_as_shown_are_about_equal() -> None:
    reason, job = nearly_alike(0.47706, 0.47741, 1.08)
    leg, set_up = better_end_words(reason, job), reason_words(reason, job)
    assert leg.startswith("either end, about equal; at high friction feeding at end ")
    assert set_up.startswith("Both ends are about equal: at high friction ")
    assert leg.count("48 % of limit") == set_up.count("48 % of limit") == 2
    assert "instead of" not in leg + set_up


def test_end_of_less_share_as_shown_or_of_less_tension_too_is_the_better_one() -> None:
    for here, there, more_tension in ((0.46, 0.48, 1.08), (0.47706, 0.47741, 0.9)):
        reason, job = nearly_alike(here, there, more_tension)
        assert better_end_words(reason, job).startswith("feed at end; at high friction ")
        assert reason_words(reason, job).startswith("This end is better: ")


def test_weight_lifted_is_part_of_the_reason() -> None:
    analysis = analyze([bent_run(route((0, 0, 1), [30.0]))], heavy_job((0.2, 0.3, 0.4)))
    (run,) = analysis.runs
    text = better_end_words(leg_reason(run, run.legs[0], analysis), analysis.job)
    weight = to_lbf(analysis.job.pulling_weight_n_per_m * 30.0)
    assert text.startswith("feed at end")
    assert f"{weight:,.0f} lbf of weight helps this way, and must be held back" in text


def dropped_behind_a_box(level_m: float) -> Analysis:
    """Level, a box passed through, 1 m, a bend down and a drop of 20 m."""
    line = route((1, 0, 0), [level_m + 1.0, (0.5, pi / 2, (0, 0, -1)), 20.0])
    job: Job = three_like_job(line_working_load_n=lbf(900.0))
    low = replace(job, pull=replace(job.pull, friction=Friction(0.2, 0.25, 0.3)))
    return analyze([bent_run(line, [(level_m, Passage.THROUGH)])], low)


def test_brake_of_a_leg_entered_through_a_box_is_said_to_stand_where_the_pull_starts() -> None:
    analysis = dropped_behind_a_box(10.0)
    (run,) = analysis.runs
    first, second = (item.forward for item in run.legs)
    force = show_force(first.braked.hold_back_n, UnitSystem.US)
    carried = show_force(second.braked.hold_back_n, UnitSystem.US)
    assert force != carried
    text = " ".join(terminal_text(content_of(analysis)).split())
    leg = text[text.index("Leg 2 ") : text.index("Compare: ")]
    assert f"brake {force} at {first.feed_at}, braked tension " in leg
    assert "brake at the feed" not in leg
    said = reason_words(leg_reason(run, run.legs[1], analysis), analysis.job)
    held = f"must be held back: {force} at {first.feed_at} ({carried} arrives at {second.feed_at})"
    assert f"{held}, at low friction" in said
    assert (
        greatest_words([only_braked(second)], UnitSystem.US)
        .split("; ")[0]
        .endswith(f", brake at {first.feed_at} {force}")
    )


def only_braked(pull: Pull) -> Pull:
    return replace(pull, shares=tuple(s for s in pull.shares if s.code.endswith("braked")))


def test_leg_entered_through_a_box_whose_weight_friction_holds_before_it_asks_no_brake() -> None:
    analysis = dropped_behind_a_box(80.0)
    (run,) = analysis.runs
    first, second = (item.forward for item in run.legs)
    assert first.braked.hold_back_n == 0.0 < second.braked.hold_back_n
    said = reason_words(leg_reason(run, run.legs[1], analysis), analysis.job)
    assert "must be held back" not in said
    assert f"no brake is needed at {first.feed_at}" in said


def test_shown_friction_and_radius_hold_when_typed_again() -> None:
    for seed in range(6):
        analysis = random_analysis(seed)
        for index, item in enumerate(analysis.runs[0].legs):
            study = study_leg(analysis.runs[0], item, item.best.direction, analysis)
            text = passing_words(study.margins, analysis.job)
            if "up to friction" not in text:
                continue
            shown = float(text.split("up to friction ")[1].split(". ")[0].rstrip("."))
            again = at_friction(analysis, shown).runs[0].legs[index]
            assert largest(pulled(again, item.best.direction)) <= 1.0


def test_level_leg_lies_between_its_bounds_worked_out_by_hand() -> None:
    # 20 m, 90 degrees R 0.5 m, 30 m, one conductor: k 0.4 in straights and bends, fed at 100 N
    line = level_bent([20.0, (0.5, pi / 2), 30.0])
    analysis = analyze([bent_run(line)], heavy_job(0.4, feed_tension_n=100.0))
    (run,) = analysis.runs
    (bound, *_) = study_leg(run, run.legs[0], FORWARD, analysis).bounds
    w, length, grown = analysis.job.pulling_weight_n_per_m, 50.0 + 0.25 * pi, exp(0.2 * pi)
    assert bound.upper_n == pytest.approx((100.0 + 0.4 * w * length) * grown, rel=1e-12)
    assert bound.lower_n == pytest.approx(100.0 * grown + 0.4 * w * 50.0, rel=1e-12)
    entry, heavy = 100.0 + 0.4 * w * 20.0, w * 0.5
    bend = entry * cosh(0.2 * pi) + sqrt(entry**2 + heavy**2) * sinh(0.2 * pi)
    assert bound.exit_n == pytest.approx(bend + 0.4 * w * 30.0, rel=1e-12)
    assert bound.hold
    words = level_words((bound,), UnitSystem.US)
    assert "by the capstan equation" in words
    assert "chart equation of IEEE 1185-2019, annex C, the feed tension added" in words


def boxed_level(passage: Passage) -> Analysis:
    line = level_bent([20.0, (0.5, pi / 2), 20.0, (0.5, pi / 2), 10.0])
    job: Job = three_like_job(line_working_load_n=lbf(900.0))
    return analyze([bent_run(line, [(25.0, passage)])], job)


def test_bounds_of_a_leg_passed_into_start_from_what_is_carried_in() -> None:
    analysis = boxed_level(Passage.THROUGH)
    (run,) = analysis.runs
    second = study_leg(run, run.legs[1], FORWARD, analysis)
    first = run.legs[0].forward
    for bound, before in zip(second.bounds, (first.low, first.expected, first.high), strict=True):
        assert bound.hold
        assert bound.lower_n > before.exit_tension_n
        assert bound.is_fed


def test_refed_and_passed_through_stand_side_by_side_where_they_differ() -> None:
    through, refed = boxed_level(Passage.THROUGH), boxed_level(Passage.REFEED)
    assert refed_pulls(refed.runs[0], refed) is None
    pulls = refed_pulls(through.runs[0], through)
    assert pulls is not None
    for found, item in zip(pulls[0], refed.runs[0].legs, strict=True):
        assert found.high == item.forward.high
    for found, item in zip(pulls[1], refed.runs[0].legs, strict=True):
        assert found.high == item.reverse.high
    text = terminal_text(content_of(through), width=120)
    assert "the same legs with the conductors taken out and fed again at every box" in text
    assert "Whole run passed through" in text
    other = terminal_text(content_of(refed), width=120)
    assert "the same legs with" not in other


def test_whole_run_passed_through_names_its_easier_end() -> None:
    line = level_bent([5.0, (0.5, pi / 2), 60.0, (0.5, pi / 2), 40.0])
    analysis = analyze([bent_run(line, [(30.0, Passage.REFEED)])], three_like_job())
    (run,) = analysis.runs
    reason = through_reason(run, analysis)
    forward, reverse = run.through_forward, run.through_reverse
    assert (forward.share_of_limit < reverse.share_of_limit) == (reason.pull is forward)
    text = terminal_text(content_of(analysis), width=140)
    assert "Run better from: start, all legs pulled the same way" in text


def test_bounds_and_margins_stand_in_the_terminal_report() -> None:
    text = " ".join(terminal_text(content_of(boxed_level(Passage.REFEED)), width=120).split())
    assert text.count("better: feed at") >= 2
    assert text.count("bounds: Independent bounds of this level pull at high friction") == 2
    assert text.count("margin: Pulled, it would still pass up to friction") == 2
    assert "which presses most, could have R" in text


@pytest.mark.parametrize("more", [[], [(0.5, pi / 3), 3.0]])
def test_a_smaller_radius_that_would_pass_keeps_the_other_bends_as_they_are(more) -> None:
    line = level_bent([5.0, (0.5, pi / 2), 6.0, *more])
    text = " ".join(terminal_text(content_of(analyze([bent_run(line)], three_like_job()))).split())
    told = "same corner, the other bends as they are; the code's own" in text
    assert ("could have R" in text, told) == (True, bool(more))


def test_nothing_is_said_to_pass_where_nothing_could_be_checked() -> None:
    job = without_tension_limit(heavy_job(0.35))
    analysis = analyze([bent_run(level_bent([50.0]))], job)
    study = study_leg(analysis.runs[0], analysis.runs[0].legs[0], FORWARD, analysis)
    assert study.margins.governing is None
    assert study.margins.highest_friction is None
    assert "margin:" not in terminal_text(content_of(analysis))


def test_analysis_file_and_tables_hold_what_stands_beside_a_leg() -> None:
    analysis = boxed_level(Passage.THROUGH)
    values = json.loads(json.dumps(analysis_values(analysis), allow_nan=False))
    values["inputs"][0]["sha256"] = "0" * 64  # the run was made without a file
    jsonschema.validate(values, json.loads(analysis_schema()))
    (run,) = values["runs"]
    rows = list(csv.DictReader(io.StringIO(csv_texts(values)["pulls.csv"])))
    for leg, item in zip(run["legs"], analysis.runs[0].legs, strict=True):
        for direction in Direction:
            study = study_leg(analysis.runs[0], item, direction, analysis)
            margins = leg["margins"][direction.value]
            assert margins["highest_friction"] == study.margins.highest_friction
            assert margins["smallest_radius_m"] == study.margins.smallest_radius_m
            assert [b["upper_n"] for b in margins["level_bounds"]] == [
                bound.upper_n for bound in study.bounds
            ]
            assert [b["leaving_n"] for b in margins["bends"]] == [b.leaving_n for b in study.bends]
            row = next(
                r for r in rows if (r["leg"], r["direction"]) == (leg["name"], direction.value)
            )
            assert float(row["highest_friction"]) == margins["highest_friction"]
            assert float(row["upper_bound_n"]) == study.bounds[-1].upper_n
    assert [leg["name"] for leg in run["refed"]] == [leg["name"] for leg in run["legs"]]
    again = {r["leg"] for r in rows if r["leg"].endswith("fed again at every box")}
    assert len(again) == 2
    assert analysis_values(boxed_level(Passage.REFEED))["runs"][0]["refed"] is None


def test_sheet_holds_better_end_margin_and_bounds() -> None:
    page = sheet_html(boxed_level(Passage.THROUGH))
    assert page.count("Margin: Pulled, it") == 2
    assert page.count("Independent bounds of this level pull at high friction") == 2
    assert "fed again at every box" in page
    assert "Run better from" in page
