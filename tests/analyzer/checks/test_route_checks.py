"""Checks of the route alone: bend total, leg length, bend radius."""

from __future__ import annotations

from dataclasses import replace
from math import pi, radians

import pytest

from analyzer.findings import Verdict
from analyzer.geometry.readings import RadiusFrom, ReadAs
from analyzer.job.settings import Limits, Passage
from analyzer.units import UnitSystem, ft, inches, lbf_per_ft, to_ft

R = 9.5 / 12
LEVEL_TURNS = [((0, 1, 0), R), 5.0, ((-1, 0, 0), R), 5.0, ((0, -1, 0), R), 5.0, ((1, 0, 0), R)]
NORTH, UP, DOWN = ((0, 1, 0), R), ((0, 0, 1), R), ((0, 0, -1), R)


def _limits(**values: object) -> Limits:
    return Limits(sidewall_pressure_n_per_m=lbf_per_ft(1e6), sidewall_from="job", **values)


def test_four_quarter_bends_are_360_degrees_and_pass(make_run, make_job, check) -> None:
    result = check(make_run([5.0, *LEVEL_TURNS, 5.0]), make_job())
    total = result.one("bend-total", "Leg 1")
    assert (total.verdict, total.value, total.limit, total.unit) == (
        Verdict.PASS,
        360.0,
        360.0,
        "deg",
    )
    assert total.source == "NEC 2023 358.24(B)"
    assert total.message == (
        "Leg 1, Panel P1 to Chiller: bends add up to 360°, within the 360° allowed between pull "
        "points."
    )


@pytest.mark.parametrize(
    ("extra_deg", "verdict"),
    [(0.0004, Verdict.PASS), (0.0006, Verdict.FAIL), (-0.0006, Verdict.PASS)],
)
def test_bend_sums_are_compared_after_rounding_to_a_thousandth(
    make_run, make_job, check, extra_deg: float, verdict: Verdict
) -> None:
    run = make_run([5.0, *LEVEL_TURNS, 5.0])
    last = run.bends[-1]
    bends = (*run.bends[:-1], replace(last, angle_rad=last.angle_rad + radians(extra_deg)))
    result = check(replace(run, bends=bends), make_job())
    assert result.one("bend-total", "Leg 1").verdict is verdict


@pytest.mark.parametrize(
    ("extra_deg", "deviation_deg", "verdict", "open_sum"),
    [
        (-0.002, 0.035, Verdict.CAUTION, True),
        (0.085, 0.035, Verdict.FAIL, True),
        (-0.3, 0.035, Verdict.PASS, False),
        (0.3, 0.035, Verdict.FAIL, False),
    ],
)
def test_a_measured_bend_sum_says_where_its_deviation_reaches_the_limit(
    make_run, make_job, check, extra_deg, deviation_deg, verdict, open_sum
) -> None:
    run = make_run([5.0, *LEVEL_TURNS, 5.0])
    bends = [replace(one, angle_sd_rad=radians(deviation_deg)) for one in run.bends]
    bends[-1] = replace(bends[-1], angle_rad=bends[-1].angle_rad + radians(extra_deg))
    total = check(replace(run, bends=tuple(bends)), make_job()).one("bend-total", "Leg 1")
    assert total.verdict is verdict
    # four deviations of 0.035 degrees, as if independent
    assert ("± 0.07°" in total.message) is open_sum


def test_fifth_bend_fails_unless_a_box_restarts_the_count(
    make_run, make_job, make_box, check
) -> None:
    moves = [5.0, *LEVEL_TURNS, 10.0, NORTH, 5.0]
    total = check(make_run(moves), make_job()).one("bend-total", "Leg 1")
    assert (total.verdict, total.value) == (Verdict.FAIL, 450.0)
    assert "above the 360° allowed" in total.message
    run = make_run(moves)
    box = make_box("Box A", to_ft(run.bends[4].station_m) - 5.0)
    boxed = check(make_run(moves, [box]), make_job())
    assert [c.value for c in boxed.of("bend-total")] == [360.0, 90.0]
    assert {c.verdict for c in boxed.of("bend-total")} == {Verdict.PASS}


def test_bend_count_restarts_at_a_box_passed_through(make_run, make_job, make_box, check) -> None:
    run = make_run([10.0, NORTH, 20.0, DOWN, 10.0], [make_box("Box A", 20.0, Passage.THROUGH)])
    assert [c.value for c in check(run, make_job()).of("bend-total")] == [90.0, 90.0]


@pytest.mark.parametrize(
    ("rules", "source"),
    [
        ("nec-2020", "NEC 2020 358.26"),
        ("nec-2023", "NEC 2023 358.24(B)"),
        ("telecom", "TIA-569 practice as quoted by practitioners (secondary)"),
    ],
)
def test_bend_total_cites_the_clause_of_its_rule_set(
    make_run, make_job, check, rules: str, source: str
) -> None:
    job = make_job(limits=_limits(rules=rules))
    assert check(make_run([10.0, NORTH, 10.0]), job).one("bend-total", "Leg 1").source == source


def test_rule_set_read_once_makes_a_pass_a_caution(make_run, make_job, check) -> None:
    limits = _limits(
        rules="telecom", degrees_between_pull_points=180.0, length_between_pull_points_m=ft(100)
    )
    result = check(make_run([10.0, NORTH, 10.0]), make_job(limits=limits))
    for code in ("bend-total", "leg-length"):
        assert result.one(code, "Leg 1").verdict is Verdict.CAUTION
        assert "the rule set is not confirmed" in result.one(code, "Leg 1").message


def test_looser_limit_of_the_job_names_the_code_it_passes(make_run, make_job, check) -> None:
    limits = _limits(degrees_between_pull_points=450.0, degrees_from="job")
    total = check(make_run([10.0, NORTH, 10.0]), make_job(limits=limits)).one("bend-total", "Leg 1")
    assert total.source == "job, above the 360° of NEC 2023 358.24(B)"
    assert total.verdict is Verdict.PASS


def test_sum_that_only_the_job_allows_is_a_caution(make_run, make_job, check) -> None:
    run = make_run([5.0, *LEVEL_TURNS, 5.0, NORTH, 5.0])
    for allowed in (450.0, 36000.0):
        limits = _limits(degrees_between_pull_points=allowed, degrees_from="job")
        result = check(run, make_job(limits=limits))
        total = result.one("bend-total", "Leg 1")
        assert (total.verdict, total.limit) == (Verdict.CAUTION, allowed)
        (doubt,) = total.doubts
        assert doubt == f"the job allows {allowed:,.0f}°, above the 360° of NEC 2023 358.24(B)"
        assert total.message.endswith(f"Caution: {doubt}.")
        assert result.verdict is Verdict.CAUTION


def test_limits_looser_than_a_named_rule_set_cite_the_set_and_not_the_code(
    make_run, make_job, check
) -> None:
    limits = _limits(
        rules="telecom", degrees_between_pull_points=360.0, degrees_from="job",
        length_between_pull_points_m=ft(300), length_from="job",
    )  # fmt: skip
    result = check(make_run([10.0, *LEVEL_TURNS, 200.0]), make_job(limits=limits))
    total, length = (result.one(code, "Leg 1") for code in ("bend-total", "leg-length"))
    assert total.source == "job, above the 180° of rule set telecom"
    assert total.doubts == ("the job allows 360°, above the 180° of rule set telecom",)
    assert length.doubts == ("the job allows 300.0 ft, above the 100.0 ft of rule set telecom",)
    assert (total.verdict, length.verdict) == (Verdict.CAUTION, Verdict.CAUTION)
    assert length.message.endswith(f"Caution: {length.doubts[0]}.")


def test_stricter_job_and_a_failing_leg_are_told_of_no_looser_rule(
    make_run, make_job, check
) -> None:
    strict = _limits(degrees_between_pull_points=270.0, degrees_from="job")
    run = make_run([5.0, *LEVEL_TURNS, 5.0])
    assert check(run, make_job(limits=strict)).one("bend-total", "Leg 1").doubts == ()
    loose = _limits(degrees_between_pull_points=400.0, degrees_from="job")
    longer = make_run([5.0, *LEVEL_TURNS, 5.0, NORTH, 5.0])
    failing = check(longer, make_job(limits=loose)).one("bend-total", "Leg 1")
    assert (failing.verdict, failing.doubts) == (Verdict.FAIL, ())


@pytest.mark.parametrize(
    ("origin", "source", "verdict"),
    [
        ("job", "job", Verdict.PASS),
        (
            "rule set",
            "TIA-569 practice as quoted by practitioners (secondary)",
            Verdict.CAUTION,
        ),
    ],
)
def test_leg_length_cites_who_set_the_limit_though_both_say_the_same(
    make_run, make_job, check, origin: str, source: str, verdict: Verdict
) -> None:
    """The telecom rules say 100 ft; a job that says so too stands for it itself."""
    limits = _limits(rules="telecom", length_between_pull_points_m=ft(100), length_from=origin)
    length = check(make_run([60.0]), make_job(limits=limits)).one("leg-length", "Leg 1")
    assert (length.source, length.verdict) == (source, verdict)


def test_leg_length_is_not_listed_where_nothing_limits_it(make_run, make_job, check) -> None:
    assert check(make_run([500.0]), make_job()).of("leg-length") == []


@pytest.mark.parametrize(
    ("feet", "verdict"),
    [(100.0, Verdict.PASS), (100.00005, Verdict.PASS), (100.001, Verdict.FAIL)],
)
def test_leg_length_is_compared_with_a_relative_millionth(
    make_run, make_job, check, feet: float, verdict: Verdict
) -> None:
    limits = _limits(length_between_pull_points_m=ft(100), length_from="job")
    length = check(make_run([feet]), make_job(limits=limits)).one("leg-length", "Leg 1")
    assert length.verdict is verdict
    assert length.unit == "m"
    assert length.source == "job"


def test_long_leg_says_how_much_too_long(make_run, make_job, check) -> None:
    limits = _limits(length_between_pull_points_m=ft(100))
    message = check(make_run([130.0]), make_job(limits=limits)).one("leg-length", "Leg 1").message
    assert "130.0 ft long, above the 100.0 ft allowed" in message
    assert "30.0 ft too long" in message


@pytest.mark.parametrize(
    ("radius_in", "verdict"),
    [
        (9.5, Verdict.PASS),
        (9.5 * (1 - 0.9e-6), Verdict.PASS),
        (9.5 * (1 - 1.2e-6), Verdict.FAIL),
        (9.4, Verdict.FAIL),
        (12.0, Verdict.PASS),
    ],
)
def test_bend_radius_is_held_to_the_table(
    make_run, make_job, check, radius_in: float, verdict: Verdict
) -> None:
    """NEC Chapter 9 Table 2, one-shot, trade size 2: 9.5 in."""
    result = check(make_run([10.0, ((0, 1, 0), radius_in / 12), 10.0]), make_job())
    radius = result.one("bend-radius", "Leg 1")
    assert radius.verdict is verdict
    assert radius.limit == pytest.approx(inches(9.5))
    assert radius.source == "NEC 2023 358.24(A), Chapter 9 Table 2"
    assert radius.station_m == pytest.approx(ft(10))


def test_bend_radius_follows_the_bender(make_run, make_job, check) -> None:
    job = replace(make_job(), bender="other")
    radius = check(make_run([10.0, NORTH, 10.0]), job).one("bend-radius", "Leg 1")
    assert radius.verdict is Verdict.FAIL
    assert "less than the 12 in that EMT 2 needs at least with other bends" in radius.message


def test_hdpe_is_held_to_its_own_table(make_run, make_job, check) -> None:
    radius = check(make_run([10.0, NORTH, 10.0]), make_job(raceway=("HDPE", "2"))).one(
        "bend-radius", "Leg 1"
    )
    assert radius.limit == pytest.approx(inches(26))
    assert radius.source == "NEC 2023 353.24(A), Table 354.24"


@pytest.mark.parametrize(
    ("origin", "short_in", "is_open"),
    [
        # points within 0.001 in of the arc leave 0.001 / (sec 45 - 1) = 0.0024 in of the radius
        (RadiusFrom.FIT, 0.0020, True),
        (RadiusFrom.FIT, 0.0030, False),
        (RadiusFrom.DRAWING, 0.0020, False),
    ],
)
def test_fitted_radius_a_hair_short_fails_and_says_what_its_points_leave_open(
    make_run, make_job, check, origin: RadiusFrom, short_in: float, is_open: bool
) -> None:
    run = make_run([10.0, ((0, 1, 0), (9.5 - short_in) / 12), 10.0])
    bends = tuple(replace(bend, radius_from=origin) for bend in run.bends)
    run = replace(run, bends=bends, deviation_m=inches(0.001))
    radius = check(run, make_job()).one("bend-radius", "Leg 1")
    assert radius.verdict is Verdict.FAIL
    assert ("leave the radius open by about 0.0024 in" in radius.message) == is_open


@pytest.mark.parametrize(
    ("read_as", "short_in", "grid_in", "open_in"),
    [
        # two ends on a grid of 0.001 in leave sqrt(2) of it to a chord of sqrt(2) R
        (ReadAs.ARCS, 0.0009, 0.001, "0.001"),
        (ReadAs.ARCS, 0.0011, 0.001, ""),
        # control points 0.001 in off move the middle by as much
        (ReadAs.SPLINE, 0.0020, 0.001, "0.0024"),
        (ReadAs.SPLINE, 0.0030, 0.001, ""),
        # a radius of a table's column is stated, and whole sixteenths of an inch are meant
        (ReadAs.CORNERS, 0.0009, 0.001, ""),
        (ReadAs.ARCS, 0.05, 0.0625, ""),
        (ReadAs.ARCS, 0.0009, 0.0, ""),
    ],
)
def test_drawn_radius_a_hair_short_fails_and_says_what_rounding_leaves_open(
    make_run, make_job, check, read_as: ReadAs, short_in: float, grid_in: float, open_in: str
) -> None:
    run = make_run([10.0, ((0, 1, 0), (9.5 - short_in) / 12), 10.0])
    bends = tuple(
        replace(bend, radius_from=RadiusFrom.DRAWING, read_as=read_as) for bend in run.bends
    )
    run = replace(run, bends=bends, rounding_m=inches(grid_in))
    radius = check(run, make_job()).one("bend-radius", "Leg 1")
    assert radius.verdict is Verdict.FAIL
    said = f"rounds coordinates to {grid_in:g} in, which leaves the radius open by about {open_in}"
    assert (said in radius.message) == bool(open_in)
    assert ("leaves the radius open" in radius.message) == bool(open_in)


def test_survey_radius_short_by_less_than_two_deviations_says_so(make_run, make_job, check) -> None:
    run = make_run([10.0, ((0, 1, 0), 9.4 / 12), 10.0])
    fit = {"radius_from": RadiusFrom.FIT, "radius_sd_m": inches(0.06), "radius_determined": True}
    run = replace(run, bends=tuple(replace(bend, **fit) for bend in run.bends))
    radius = check(run, make_job()).one("bend-radius", "Leg 1")
    assert radius.verdict is Verdict.FAIL
    assert "leave the radius open by about 0.12 in" in radius.message


def test_bend_radius_without_a_raceway_is_not_checked_once(make_run, make_job, check) -> None:
    run = make_run([10.0, NORTH, 10.0, DOWN, 10.0])
    radius = check(run, make_job(raceway=None)).one("bend-radius")
    assert radius.verdict is Verdict.NOT_CHECKED
    assert "name the raceway type and trade size" in radius.message


def test_size_without_a_table_radius_is_not_checked(make_run, make_job, check) -> None:
    radius = check(make_run([10.0, NORTH, 10.0]), make_job(raceway=("HDPE", "5"))).one(
        "bend-radius"
    )
    assert radius.verdict is Verdict.NOT_CHECKED
    assert "no smallest radius for HDPE 5" in radius.message


def test_undetermined_survey_radius_is_not_checked(make_run, make_job, check) -> None:
    run = make_run([10.0, NORTH, 10.0])
    bend = replace(run.bends[0], radius_determined=False, radius_sd_m=0.1)
    radius = check(replace(run, bends=(bend,)), make_job()).one("bend-radius", "Leg 1")
    assert radius.verdict is Verdict.NOT_CHECKED
    assert radius.value is None
    assert "do not determine the radius of bend 1" in radius.message


def test_corner_in_a_fitting_has_no_radius_to_check(make_run, make_job, check) -> None:
    run = make_run([10.0, NORTH, 10.0])
    corner = replace(run.bends[0], in_fitting=True, radius_m=None, radius_from=None)
    result = check(replace(run, bends=(corner,)), make_job())
    assert result.of("bend-radius") == []
    assert result.one("bend-total", "Leg 1").value == 0.0


def test_metric_job_reads_in_metric(make_run, make_job, check) -> None:
    limits = _limits(length_between_pull_points_m=30.0)
    result = check(make_run([10.0, NORTH, 10.0]), make_job(limits=limits, units=UnitSystem.METRIC))
    length = ft(20) + inches(9.5) * pi / 2
    assert f"{length:.2f} m long" in result.one("leg-length", "Leg 1").message
    assert "radius 241 mm" in result.one("bend-radius", "Leg 1").message
