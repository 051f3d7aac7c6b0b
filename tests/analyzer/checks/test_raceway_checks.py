"""Checks of the conductors in the raceway: fill, jam ratio, clearance."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analyzer.catalog.conductors import find_conductor
from analyzer.catalog.raceways import find_raceway
from analyzer.findings import Verdict
from analyzer.job.settings import ConductorLine, FittingKind, Limits
from analyzer.units import UnitSystem, inches, lbf_per_ft


def _lines(count: int, size: str = "4/0", insulation: str = "THHN") -> list[ConductorLine]:
    return [ConductorLine(count, find_conductor(size, insulation, "copper"))]


@pytest.fixture
def straight(make_run):
    """Return a plain straight run."""
    return make_run([50.0])


@pytest.mark.parametrize(
    ("count", "verdict"), [(3, Verdict.PASS), (4, Verdict.PASS), (5, Verdict.FAIL)]
)
def test_equal_conductors_are_held_to_the_published_count(
    straight, make_job, check, count: int, verdict: Verdict
) -> None:
    """NEC Annex C.1: four 4/0 AWG THHN in EMT 2."""
    fill = check(straight, make_job(_lines(count))).one("fill")
    assert (fill.verdict, fill.value, fill.limit, fill.unit) == (verdict, count, 4.0, "count")
    assert "Note 7" in fill.source


def test_count_that_rounds_up_past_40_percent_says_so(straight, make_job, check) -> None:
    """EMT 1/2 with 12 AWG THHN: 0.40 x 0.304 / 0.0133 = 9.14; with 14 AWG RHH: 4.15.

    EMT 1 with 6 AWG THHN: 0.40 x 0.864 / 0.0507 = 6.82, published 7, which fill 41.1 %.
    """
    fill = check(straight, make_job(_lines(7, "6"), raceway=("EMT", "1"))).one("fill")
    assert (fill.verdict, fill.limit) == (Verdict.PASS, 7.0)
    assert "41.1 % of the inside area" in fill.message
    assert "above the 40 % of Table 1" in fill.message
    plain = check(straight, make_job(_lines(6, "6"), raceway=("EMT", "1"))).one("fill")
    assert "Table 1" not in plain.message


def test_mixed_conductors_are_held_to_the_percentage(straight, make_job, check) -> None:
    """EC&M Code Calculations, 24 Aug 2004: 3 x 500, 1 x 250 and 1 x 3 THHN take 2.6162 in²."""
    lines = [*_lines(3, "500"), *_lines(1, "250"), *_lines(1, "3")]
    fill = check(straight, make_job(lines, raceway=("PVC 40", "3"))).one("fill")
    area = find_raceway("PVC 40", "3").area_in2
    assert fill.value == pytest.approx(100 * 2.6162 / area, abs=0.005)
    assert (fill.verdict, fill.limit, fill.unit) == (Verdict.PASS, 40.0, "percent")
    smaller = check(straight, make_job(lines, raceway=("PVC 40", "2-1/2"))).one("fill")
    assert smaller.verdict is Verdict.FAIL


def _between(run, first: FittingKind, last: FittingKind):
    """The run between two kinds of fitting."""
    ends = (replace(run.fittings[0], kind=first), replace(run.fittings[-1], kind=last))
    return replace(run, fittings=ends)


@pytest.mark.parametrize(
    ("feet", "last", "limit", "verdict"),
    [
        (2.0, FittingKind.PULL_BOX, 60.0, Verdict.PASS),
        (2.001, FittingKind.PULL_BOX, 4.0, Verdict.FAIL),
        (2.0, FittingKind.CONDUIT_BODY, 4.0, Verdict.FAIL),
        (2.0, FittingKind.END, 4.0, Verdict.FAIL),
    ],
)
def test_nipple_between_enclosures_may_be_filled_to_60_percent(
    make_run, make_job, check, feet: float, last: FittingKind, limit: float, verdict: Verdict
) -> None:
    """NEC Chapter 9 Note 4: 24 in or less between boxes, cabinets or similar enclosures.

    Six 4/0 AWG THHN take 6 x 0.3237 in² of the 3.356 in² of EMT 2: 57.9 %.
    """
    run = _between(make_run([feet]), FittingKind.PANEL, last)
    fill = check(run, make_job(_lines(6))).one("fill")
    assert (fill.verdict, fill.limit) == (verdict, limit)
    if limit == 60.0:
        assert fill.value == pytest.approx(100 * 6 * 0.3237 / 3.356, abs=0.01)
        assert "Note 4" in fill.source
        assert "nipple" in fill.message


def test_nipple_filled_beyond_60_percent_fails(make_run, make_job, check) -> None:
    run = _between(make_run([1.5]), FittingKind.PANEL, FittingKind.JUNCTION_BOX)
    fill = check(run, make_job(_lines(7))).one("fill")
    assert fill.verdict is Verdict.FAIL
    assert "above the 60 % allowed" in fill.message


def test_older_table_of_ent_is_named(straight, make_job, check) -> None:
    fill = check(straight, make_job(_lines(3, "6"), raceway=("ENT", "1"))).one("fill")
    assert "Areas of the older table of ENT" in fill.message
    other = check(straight, make_job(_lines(3, "6"))).one("fill")
    assert "older table" not in other.message


@pytest.mark.parametrize(("first", "second", "limit"), [(1, 1, 31.0), (1, 2, 40.0)])
def test_percentage_follows_the_number_of_conductors(
    straight, make_job, check, first: int, second: int, limit: float
) -> None:
    lines = [*_lines(first), *_lines(second, "6")]
    assert check(straight, make_job(lines)).one("fill").limit == limit


def test_existing_conductors_take_their_room(straight, make_job, check) -> None:
    equal = check(straight, make_job(_lines(3), existing=_lines(2))).one("fill")
    assert (equal.verdict, equal.value) == (Verdict.FAIL, 5.0)
    mixed = check(straight, make_job(_lines(1), existing=_lines(1, "6"))).one("fill")
    assert mixed.limit == 31.0
    area = find_raceway("EMT", 2).area_in2
    assert mixed.value == pytest.approx(100 * (0.3237 + 0.0507) / area)


def test_fill_of_an_unconfirmed_raceway_is_a_caution(straight, make_job, check) -> None:
    fill = check(straight, make_job(_lines(3), raceway=("IMC", "4"))).one("fill")
    assert fill.verdict is Verdict.CAUTION
    assert "the table row of IMC 4 is not confirmed" in fill.message
    full = check(straight, make_job(_lines(30), raceway=("IMC", "4"))).one("fill")
    assert full.verdict is Verdict.FAIL


def test_fill_without_a_raceway_is_not_checked(straight, make_job, check) -> None:
    fill = check(straight, make_job(raceway=None)).one("fill")
    assert fill.verdict is Verdict.NOT_CHECKED
    assert "name the raceway" in fill.message


@pytest.mark.parametrize(
    ("ratio", "verdict"),
    [
        (2.60, Verdict.PASS),
        (2.67, Verdict.CAUTION),
        (2.80, Verdict.CAUTION),
        (3.00, Verdict.CAUTION),
        (3.20, Verdict.CAUTION),
        (3.21, Verdict.PASS),
    ],
)
def test_jam_band_is_a_caution_and_never_fails(
    straight, make_job, make_cable, check, ratio: float, verdict: Verdict
) -> None:
    """Band: from 2.8/1.05 to 3.2, the union of the published rules. EMT 2: D 2.067 in."""
    cable = make_cable(1.0, 1000.0, 2.067 / ratio)
    jam = check(straight, make_job([ConductorLine(3, cable)])).one("jam")
    assert jam.verdict is verdict
    assert jam.value == pytest.approx(ratio)
    assert jam.unit == "ratio"
    assert f"D/d {ratio:.2f}, 1.05 D/d {1.05 * ratio:.2f}" in jam.message


@pytest.mark.parametrize("count", [1, 2, 4, 5])
def test_jam_ratio_is_for_three(straight, make_job, check, count: int) -> None:
    jam = check(straight, make_job(_lines(count), raceway=("EMT", "3"))).one("jam")
    assert jam.verdict is Verdict.NOT_CHECKED
    assert "the rule is for three like conductors" in jam.message


def test_jam_ratio_beside_existing_conductors_is_not_checked(straight, make_job, check) -> None:
    job = make_job(_lines(3), existing=_lines(1), raceway=("EMT", "3"))
    assert check(straight, job).one("jam").verdict is Verdict.NOT_CHECKED


@pytest.mark.parametrize(
    ("new", "old", "other"), [(2, 1, 0), (3, 0, 1), (2, 1, 1), (1, 2, 0)], ids=str
)
def test_three_like_conductors_in_the_band_are_a_caution_existing_ones_counted(
    straight, make_job, make_cable, check, new: int, old: int, other: int
) -> None:
    cable, thin = make_cable(1.0, 1000.0, 2.067 / 2.9), make_cable(1.0, 1000.0, 0.2)
    existing = [ConductorLine(n, item) for n, item in ((old, cable), (other, thin)) if n]
    jam = check(straight, make_job([ConductorLine(new, cable)], existing=existing)).one("jam")
    assert jam.verdict is Verdict.CAUTION
    assert jam.value == pytest.approx(2.9)
    assert "wedge" in jam.message


@pytest.mark.parametrize(
    ("minimum_in", "verdict"),
    [(0.25, Verdict.PASS), (1.467, Verdict.PASS), (1.468, Verdict.FAIL)],
)
def test_clearance_of_a_single_cable_is_a_minimum(
    straight, make_job, check, minimum_in: float, verdict: Verdict
) -> None:
    """D - d, EMT 2 and a cable of 0.6 in: 1.467 in."""
    limits = Limits(
        sidewall_pressure_n_per_m=lbf_per_ft(1000),
        sidewall_from="job",
        clearance_m=inches(minimum_in),
        clearance_from="job",
    )
    clearance = check(straight, make_job(limits=limits)).one("clearance")
    assert clearance.verdict is verdict
    assert clearance.value == pytest.approx(inches(1.467))
    assert clearance.source.startswith("job")


@pytest.mark.parametrize(("diameter_in", "is_told"), [(1.9, True), (1.8, False)])
def test_clearance_that_only_the_job_allows_is_a_caution(
    straight, make_job, make_cable, check, diameter_in: float, is_told: bool
) -> None:
    """EMT 2, 2.067 in inside: 0.167 in and 0.267 in are left above the cable."""
    limits = Limits(
        sidewall_pressure_n_per_m=lbf_per_ft(1000), sidewall_from="job",
        clearance_m=inches(0.125), clearance_from="job",
    )  # fmt: skip
    lines = [ConductorLine(1, make_cable(1.0, 1000.0, diameter_in))]
    clearance = check(straight, make_job(lines, limits=limits)).one("clearance")
    doubt = "the job allows 0.12 in, below the 0.25 in of a cable distributor's tips"
    assert clearance.doubts == ((doubt,) if is_told else ())
    assert clearance.verdict is (Verdict.CAUTION if is_told else Verdict.PASS)
    limits = replace(limits, clearance_m=0.006, clearance_from="job")
    cable = make_cable(1.0, 1000.0, 2.067 - 0.0061 / 0.0254)
    job = make_job([ConductorLine(1, cable)], limits=limits, units=UnitSystem.METRIC)
    assert check(straight, job).one("clearance").doubts == ()  # 6 mm is 1/4 in, rounded


def test_cradle_states_both_heights_and_compares_the_smaller(straight, make_job, check) -> None:
    """Crown (D - d)(1 - r²), straight above a side conductor (D - d)(1 - 2 r²), r = d/(D - d)."""
    d, D = 0.642, 2.067
    r2 = (d / (D - d)) ** 2
    clearance = check(straight, make_job(_lines(3))).one("clearance")
    assert clearance.value == pytest.approx(inches((D - d) * (1 - 2 * r2)))
    assert f"{(D - d) * (1 - r2):.2f} in crown" in clearance.message


def test_clearance_of_a_bunched_group_is_not_checked(straight, make_job, check) -> None:
    clearance = check(straight, make_job(_lines(5), raceway=("EMT", "3"))).one("clearance")
    assert clearance.verdict is Verdict.NOT_CHECKED
    assert "no rule for a bunched group" in clearance.message


@pytest.mark.parametrize(
    ("minimum_in", "verdict"),
    [(0.867, Verdict.PASS), (0.868, Verdict.CAUTION), (1.467, Verdict.CAUTION),
     (1.468, Verdict.FAIL)],
)  # fmt: skip
def test_clearance_beside_an_existing_cable_hangs_on_where_it_lies(
    straight, make_job, make_cable, check, minimum_in: float, verdict: Verdict
) -> None:
    """EMT 2, two cables of 0.6 in: one over the other 0.867 in are left, with one aside 1.467."""
    limits = Limits(
        sidewall_pressure_n_per_m=lbf_per_ft(1000),
        sidewall_from="job",
        clearance_m=inches(minimum_in),
        clearance_from="job",
    )
    existing = [ConductorLine(1, make_cable(1.0, 1000.0, 0.6))]
    clearance = check(straight, make_job(limits=limits, existing=existing)).one("clearance")
    assert clearance.verdict is verdict
    assert clearance.value == pytest.approx(inches(0.867))
    assert "existing" in clearance.message
    told = [text for text in clearance.doubts if "as little as 0.87 in" in text]
    assert len(told) == (verdict is Verdict.CAUTION), clearance.doubts


def test_clearance_of_a_bunched_group_beside_others_passes_only_with_room_for_both_bundles(
    straight, make_job, check
) -> None:
    job = make_job(_lines(5), existing=_lines(1), raceway=("EMT", "3"))
    assert check(straight, job).one("clearance").verdict is Verdict.PASS
    tight = make_job(_lines(5), existing=_lines(3), raceway=("EMT", "3"))
    assert check(straight, tight).one("clearance").verdict is Verdict.CAUTION
