"""Supports of conductors in risers: which parts are vertical, and where supports stand."""

from __future__ import annotations

from itertools import pairwise
from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest

from analyzer.catalog.conductors import find_conductor
from analyzer.checks.conductor_support import support_stations, vertical_parts
from analyzer.findings import Verdict
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.segments import Arc, Straight
from analyzer.job.settings import ConductorLine, Passage
from analyzer.units import ft

R = 9.5 / 12
NORTH, UP, DOWN = ((0, 1, 0), R), ((0, 0, 1), R), ((0, 0, -1), R)


@pytest.mark.parametrize(
    ("size", "metal", "rise_ft", "supports"),
    [
        ("4/0", "copper", 80.0, 0),
        ("4/0", "copper", 80.1, 2),
        ("4/0", "copper", 160.0, 2),
        ("4/0", "copper", 160.1, 3),
        ("4/0", "aluminum", 180.0, 0),
        ("4/0", "aluminum", 181.0, 2),
        ("750", "copper", 100.0, 3),
    ],
)
def test_riser_above_the_table_asks_for_supports(
    make_run, make_job, check, size: str, metal: str, rise_ft: float, supports: int
) -> None:
    """NEC Table 300.19(A): 4/0 AWG 80 ft copper, 180 ft aluminum; 750 kcmil copper 40 ft.

    The rise is that between the level parts, both bends included.
    """
    job = make_job([ConductorLine(3, find_conductor(size, "THHN", metal))], raceway=("EMT", "4"))
    run = make_run([10.0, UP, rise_ft - 2.0 * R, NORTH, 10.0])
    support = check(run, job).one("conductor-support")
    assert support.value == pytest.approx(ft(rise_ft))
    assert support.unit == "m"
    assert support.source == "NEC 2023 300.19(A), Table 300.19(A)"
    if not supports:
        assert support.verdict is Verdict.PASS
        return
    assert support.verdict is Verdict.CAUTION
    assert f"give {supports} supports, at or near the top (station " in support.message
    (part,) = vertical_parts(run.centerline)
    spacing = support.limit
    places = support_stations(run.centerline, part, spacing)
    heights = [float(p[2]) for p in run.centerline.points_at(places)]
    assert heights == pytest.approx([ft(rise_ft) - i * spacing for i in range(supports)])
    assert places[0] == pytest.approx(part.end_station_m)


def test_riser_above_the_table_by_less_than_is_shown_is_so_by_a_hair(
    make_run, make_job, check
) -> None:
    job = make_job(
        [ConductorLine(3, find_conductor("350", "THHN", "copper"))], raceway=("EMT", "4")
    )
    for rise_ft, words in (
        (60.02, "60.0 ft, a hair more than the 60.0 ft"),
        (60.2, "60.2 ft, more than the 60.0 ft"),
    ):
        run = make_run([10.0, UP, rise_ft - 2.0 * R, NORTH, 10.0])
        assert words in check(run, job).one("conductor-support").message


def test_supports_of_a_drop_start_at_its_upper_end(make_run) -> None:
    run = make_run([10.0, DOWN, 100.0 - 2.0 * R, NORTH, 10.0])
    (part,) = vertical_parts(run.centerline)
    assert part.rise_m == pytest.approx(-ft(100))
    places = support_stations(run.centerline, part, ft(80))
    heights = [float(p[2]) for p in run.centerline.points_at(places)]
    assert heights == pytest.approx([0.0, -ft(80)])


def test_return_bend_at_the_top_belongs_half_to_the_rise_and_half_to_the_fall(make_run) -> None:
    """Up 20 ft, over the top on a half circle drawn as one arc, down 5 ft."""
    up = make_run([10.0, UP, 20.0]).centerline
    radius, top = ft(2.0), up.segments[-1].end_m
    arc = Arc(top, (top[0] + radius, top[1], top[2]), (0.0, 1.0, 0.0), pi)
    down = Straight(arc.end_m, (*arc.end_m[:2], arc.end_m[2] - ft(5.0)))
    rise, fall = vertical_parts(Centerline((*up.segments, arc, down)))
    assert rise.rise_m == pytest.approx(ft(20.0 + R + 2.0))
    assert fall.rise_m == pytest.approx(-ft(7.0))
    assert rise.end_station_m == pytest.approx(fall.station_m)


def test_box_in_a_riser_does_not_end_it(make_run, make_job, make_box, check) -> None:
    job = make_job(
        [ConductorLine(3, find_conductor("4/0", "THHN", "copper"))], raceway=("EMT", "3")
    )
    moves = [10.0, UP, 100.0 - 2.0 * R, NORTH, 10.0]
    run = make_run(moves, [make_box("Box A", 60.0, Passage.REFEED)])
    assert check(run, job).one("conductor-support").value == pytest.approx(ft(100))


def _path(*heights_and_widths: tuple[float, float]) -> Centerline:
    """Straights in the x-z plane by (rise, run) in meters."""
    point = (0.0, 0.0, 0.0)
    segments = []
    for rise, width in heights_and_widths:
        end = (point[0] + width, 0.0, point[2] + rise)
        segments.append(Straight(point, end))
        point = end
    return Centerline(tuple(segments))


def test_jog_that_keeps_rising_does_not_end_a_vertical_part_unless_it_is_long() -> None:
    """Own rule: conductors are held by a deflection of 90 degrees, and a jog deflects by less."""
    for width in (0.5, 1.5, 2.5):
        (part,) = vertical_parts(_path((5.0, 0.0), (1.0, width), (5.0, 0.0)))
        assert part.rise_m == pytest.approx(11.0)
    below, above = vertical_parts(_path((5.0, 0.0), (1.0, 3.5), (5.0, 0.0)))
    assert (below.rise_m, above.rise_m) == pytest.approx((5.0, 5.0))


@pytest.mark.parametrize("rise", [0.0, -0.2])
def test_jog_that_is_level_or_falls_ends_a_vertical_part(rise) -> None:
    below, above = vertical_parts(_path((5.0, 0.0), (rise, 1.0), (5.0, 0.0)))
    assert (below.rise_m, above.rise_m) == pytest.approx((5.0, 5.0))


@pytest.mark.parametrize("degrees", [0, 10, 20, 25, 50, 80])
def test_riser_with_an_offset_of_45_degrees_is_one_part_whatever_its_plan_angle(degrees) -> None:
    """62 ft up, 2 ft over at 45 degrees, 62 ft up; coordinates to 4 decimals."""
    along = np.array([cos(radians(degrees)), sin(radians(degrees)), 0.0])
    up = np.array([0.0, 0.0, 1.0])
    corners = [0 * up, 62 * up, 64 * up + 2 * along, 126 * up + 2 * along]
    points = [tuple(np.round(ft(1.0) * corner, 4).tolist()) for corner in corners]
    line = Centerline(tuple(Straight(a, b) for a, b in pairwise(points)))
    (part,) = vertical_parts(line)
    assert part.rise_m == pytest.approx(ft(126.0), abs=1e-4)


def test_slope_of_45_degrees_is_vertical_and_a_flatter_one_is_not() -> None:
    assert len(vertical_parts(_path((5.0, 5.0)))) == 1
    assert len(vertical_parts(_path((5.0, 5.0 + 1e-9)))) == 1
    assert vertical_parts(_path((5.0, 5.2))) == ()


def test_up_and_down_are_two_vertical_parts() -> None:
    up, down = vertical_parts(_path((5.0, 0.1), (-3.0, 0.1)))
    assert (up.rise_m, down.rise_m) == pytest.approx((5.0, -3.0))


def test_support_stations_follow_height_not_length() -> None:
    """On a slope of 60° from level a height of 2 m lies 2/sin 60° along the run."""
    line = _path((10.0, 10.0 / sqrt(3.0)))
    (part,) = vertical_parts(line)
    places = support_stations(line, part, 4.0)
    length = 10.0 / (sqrt(3.0) / 2)
    assert places == pytest.approx([length - i * 4.0 / (sqrt(3.0) / 2) for i in range(3)])


def test_of_very_many_supports_the_first_ones_and_the_last_are_told(
    make_run, make_job, check
) -> None:
    """A drop of 800,000 ft, 80 ft between supports: one in a wrong unit, told in little time."""
    job = make_job(
        [ConductorLine(3, find_conductor("4/0", "THHN", "copper"))], raceway=("EMT", "3")
    )
    message = check(make_run([DOWN, 800_000.0]), job).one("conductor-support").message
    assert "give 10,001 supports, at or near the top" in message
    assert message.count(", at station ") == 49
    assert "and so on at every 80.0 ft of height down to station 800,00" in message
    few = check(make_run([DOWN, 3950.0]), job).one("conductor-support").message
    assert "give 50 supports" in few and "so on" not in few


def test_level_run_needs_no_supports(make_run, make_job, check) -> None:
    support = check(make_run([500.0]), make_job()).one("conductor-support")
    assert support.verdict is Verdict.PASS
    assert "No part of the run is vertical" in support.message


def test_stated_cable_in_a_riser_is_not_checked_for_supports(make_run, make_job, check) -> None:
    support = check(make_run([10.0, UP, 50.0]), make_job()).one("conductor-support")
    assert support.verdict is Verdict.NOT_CHECKED
    assert "state size and metal of control cable" in support.message


def test_smallest_spacing_among_the_conductors_governs(make_run, make_job, check) -> None:
    """NEC Table 300.19(A): 4/0 copper 80 ft, 6 AWG copper 100 ft."""
    lines = [
        ConductorLine(3, find_conductor("4/0", "THHN", "copper")),
        ConductorLine(1, find_conductor("6", "THHN", "copper")),
    ]
    support = check(make_run([5.0, UP, 90.0]), make_job(lines, raceway=("EMT", "3"))).one(
        "conductor-support"
    )
    assert support.verdict is Verdict.CAUTION
    assert support.limit == pytest.approx(ft(80))


def test_spacing_read_once_makes_a_pass_a_caution(make_run, make_job, check) -> None:
    job = make_job([ConductorLine(1, find_conductor("10", "THHN", "aluminum"))])
    support = check(make_run([5.0, UP, 50.0]), job).one("conductor-support")
    assert support.verdict is Verdict.CAUTION
    assert "not confirmed" in support.message


@pytest.mark.parametrize(("end_deg", "parts"), [(30.0, 0), (44.0, 0), (44.6, 1), (60.0, 1)])
@pytest.mark.parametrize("backward", [False, True])
def test_bend_that_stops_short_of_45_degrees_is_not_vertical(
    end_deg: float, parts: int, backward: bool
) -> None:
    """Half a degree short counts as 45, as in a drawing's straights."""
    line = Centerline((Arc((0.0, 0.0, 0.0), (0.0, 0.0, 2.0), (0.0, -1.0, 0.0), radians(end_deg)),))
    found = vertical_parts(line.reversed() if backward else line)
    rise = 2.0 * (1.0 - cos(radians(end_deg))) * (-1.0 if backward else 1.0)
    assert [part.rise_m for part in found] == pytest.approx([rise] * parts)
