"""Limits: by metal and temper, sharing, grip, line, puller, cap, sidewall; what is not checked."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pull_jobs import job_with, raceway_of, stated_conductor

from analyzer.catalog.conductors import find_conductor
from analyzer.catalog.tables import read_table
from analyzer.job.settings import Attachment, Job, Limits, PlanSettings
from analyzer.pulling.groups import conductor_group
from analyzer.pulling.limits import (
    PullLimit,
    braked_limit,
    conductor_limit_n,
    shares,
    sidewall_limit,
    tension_limits,
)
from analyzer.pulling.results import BrakedState, PullFigures
from analyzer.units import lbf, lbf_per_ft, to_lbf, to_lbf_per_ft

WIDE = raceway_of(0.15)


def limits_of(job: Job) -> dict[str, PullLimit]:
    return {limit.code: limit for limit in tension_limits(job, conductor_group(job))}


def conductor_limit(*conductors, **settings) -> PullLimit:
    job = job_with(conductors=list(conductors), raceway=WIDE, **settings)
    return limits_of(job)["conductor-tension"]


# 0.008 lbf/cmil copper; 4/0 is 211,600 cmil
@pytest.mark.parametrize(("count", "pounds"), [(1, 1692.8), (3, 5078.4), (4, 5416.96)])
def test_copper_by_circular_mils_and_sharing(count: int, pounds: float) -> None:
    found = conductor_limit((count, find_conductor("4/0", "THHN", "copper")))
    assert found.limit is not None
    assert to_lbf(found.limit) == pytest.approx(pounds, rel=1e-12)
    assert found.cautions == ()
    assert "0.008" in found.source
    assert ("80%" in found.source.replace(" ", "")) == (count > 3)


@pytest.mark.parametrize(
    ("temper", "stress"),
    [
        ("hard", 0.008),
        ("3/4 hard", 0.006),
        ("AA-8000", 0.006),
        ("1/2 hard", 0.003),
        ("soft", 0.002),
    ],
)
def test_aluminum_by_temper(temper: str, stress: float) -> None:
    single = conductor_limit_n(find_conductor("4/0", "XHHW", "aluminum", temper))
    assert single is not None
    assert to_lbf(single) == pytest.approx(stress * 211600.0, rel=1e-12)


def test_catalog_aluminum_without_temper_is_aa_8000_with_a_caution() -> None:
    found = conductor_limit((1, find_conductor("4/0", "XHHW", "aluminum")))
    assert found.limit == pytest.approx(lbf(0.006 * 211600.0))
    assert any("AA-8000 assumed" in text for text in found.cautions)


def test_stated_aluminum_without_temper_is_not_checked() -> None:
    stated = stated_conductor(metal="aluminum", metal_area_cmil=211600.0, max_tension_n=None)
    found = conductor_limit((1, stated))
    assert found.limit is None
    assert "temper" in found.reason


def test_stated_conductor_without_metal_is_not_checked() -> None:
    found = conductor_limit((1, stated_conductor(max_tension_n=None)))
    assert found.limit is None
    assert "max_tension" in found.reason


def test_stated_value_overrides_the_table() -> None:
    stated = stated_conductor(
        metal="copper", metal_area_cmil=211600.0, max_tension_n=lbf(190.0), diameter_m=0.01
    )
    found = conductor_limit((2, stated))
    assert found.limit == pytest.approx(lbf(380.0))
    assert "job: max_tension" in found.source


def test_mixed_sizes_do_not_share_by_area() -> None:
    large, small = find_conductor("4/0", "THHN", "copper"), find_conductor("6", "THHN", "copper")
    found = conductor_limit((2, large), (1, small))
    assert found.limit == pytest.approx(lbf(3 * 0.008 * 26240.0))
    assert "weakest" in found.source
    four = conductor_limit((3, large), (1, small))
    assert four.limit == pytest.approx(lbf(0.8 * 4 * 0.008 * 26240.0))


def test_one_unknown_conductor_leaves_the_group_unchecked() -> None:
    known = find_conductor("4/0", "THHN", "copper")
    found = conductor_limit((2, known), (1, stated_conductor(max_tension_n=None)))
    assert found.limit is None


def test_overall_cap() -> None:
    found = conductor_limit((3, find_conductor("750", "THHN", "copper")))
    # 3 x 0.008 x 750,000 = 18,000 lbf
    assert found.limit == pytest.approx(lbf(10000.0))
    assert "overall cap" in found.source
    assert found.cautions


def test_grip_line_and_puller() -> None:
    plain = limits_of(job_with())
    assert [plain[c].limit for c in ("grip-tension", "line-tension", "puller-tension")] == [
        None
    ] * 3
    assert all(plain[c].reason for c in ("grip-tension", "line-tension", "puller-tension"))
    full = limits_of(
        job_with(
            attachment=Attachment.BASKET_GRIP,
            line_working_load_n=lbf(900.0),
            puller_capacity_n=lbf(2000.0),
        )
    )
    assert to_lbf(full["grip-tension"].limit) == pytest.approx(1000.0)
    assert to_lbf(full["line-tension"].limit) == pytest.approx(900.0)
    assert to_lbf(full["puller-tension"].limit) == pytest.approx(2000.0)
    eye = limits_of(job_with(attachment=Attachment.PULLING_EYE))
    assert eye["grip-tension"].limit is None


def breaking_at(pounds: float, **pull: object) -> PullLimit:
    plan = PlanSettings(line_breaking_strength_n=lbf(pounds))
    return limits_of(replace(job_with(**pull), plan=plan))["line-tension"]


def test_line_of_known_breaking_strength_carries_a_fifth_with_a_caution() -> None:
    found = breaking_at(6000.0)
    assert found.limit is not None
    assert to_lbf(found.limit) == pytest.approx(1200.0)
    assert found.name == "20 % of the line's breaking strength"
    assert found.source == "rope maker's page: 20 % of line_breaking_strength"
    assert [text for text in found.cautions if "state line_working_load" in text]


def test_stated_working_load_stands_before_a_part_of_the_breaking_strength() -> None:
    found = breaking_at(6000.0, line_working_load_n=lbf(500.0))
    assert (to_lbf(found.limit), found.cautions) == (pytest.approx(500.0), ())
    assert found.source == "job: line_working_load"


def test_braked_tension_is_held_by_the_conductors() -> None:
    job = job_with(attachment=Attachment.BASKET_GRIP, line_working_load_n=lbf(10.0))
    group = conductor_group(job)
    limit = braked_limit(job, group)
    assert limit.code == "tension-braked"
    assert limit.limit == limits_of(job)["conductor-tension"].limit


def test_sidewall_limit_says_where_it_comes_from() -> None:
    assumed = sidewall_limit(job_with())
    assert to_lbf_per_ft(assumed.limit) == pytest.approx(300.0)
    assert assumed.cautions
    stated = Limits(sidewall_pressure_n_per_m=lbf_per_ft(700.0), sidewall_from="job")
    found = sidewall_limit(job_with(limits=stated), is_braked=True)
    assert (found.code, found.cautions) == ("sidewall-braked", ())
    assert found.limit == lbf_per_ft(700.0)
    classes = Limits(sidewall_pressure_n_per_m=lbf_per_ft(500.0), sidewall_from="insulation class")
    conductors = [
        (1, stated_conductor(insulation_class="300 V")),
        (1, stated_conductor(insulation_class="600 V power")),
    ]
    by_class = sidewall_limit(job_with(conductors=conductors, raceway=WIDE, limits=classes))
    assert "insulation class" in by_class.source
    assert by_class.cautions == (
        "sidewall pressure limit of class 300 V rests on one text only: compare it with the cable "
        "maker's value",
    )


def figures(tension: float, pressed: float | None) -> PullFigures:
    where = None if pressed is None else 2.0
    return PullFigures(0.5, tension, tension, 1.0, pressed or 0.0, where)


def test_shares_hold_only_what_could_be_checked() -> None:
    job = job_with(conductors=[(1, stated_conductor(max_tension_n=None))])
    group = conductor_group(job)
    none = shares(job, group, figures(10.0, None), BrakedState(0.0, 0.0, 0.0, 0.0, None))
    assert none == ()
    bend = shares(job, group, figures(10.0, 5.0), BrakedState(0.0, 1.0, 0.0, 2.0, 3.0))
    assert [share.code for share in bend] == ["sidewall", "sidewall-braked"]
    assert bend[0].station_m == 2.0


def test_sources_are_short_kinds_and_not_titles() -> None:
    job = job_with(
        conductors=[(3, find_conductor("4/0", "THHN", "copper"))], raceway=WIDE,
        attachment=Attachment.BASKET_GRIP,
    )  # fmt: skip
    heads = (line.partition(": ") for line in read_table("pull_limits").header)
    titles = [title for code, _, title in heads if code in ("L1", "L2", "L3", "L4", "L5", "L6")]
    limits = (*tension_limits(job, conductor_group(job)), sidewall_limit(job))
    known = [limit for limit in limits if limit.limit is not None]
    assert len(titles) == 6
    assert [limit.code for limit in known] == ["conductor-tension", "grip-tension", "sidewall"]
    assert all(limit.source for limit in known)
    for limit in limits:
        assert not any(title in limit.source for title in (*titles, "Pulling Tensions", "TG10"))
