"""Quantities in color: each is what the analysis says at every station, and the words agree."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import rink_analyses as rink

from analyzer.analysis import analyze
from analyzer.errors import InputError
from analyzer.job.settings import Friction
from analyzer.pulling.results import PullFigures, Share, loads_between
from analyzer.units import UnitSystem, ft, lbf, lbf_per_ft
from viewer.camera import Camera
from viewer.cases import friction_of, scene_at
from viewer.chart import ChartFrame
from viewer.chips import chips_of
from viewer.head import head_at
from viewer.headlines import headline
from viewer.legend import legend_colors
from viewer.palette import hex_color, plain_colors, share_colors
from viewer.quantities import Quantity, limit_of_code, peak_of
from viewer.scene import build_scene
from viewer.shown_values import force_number, scale_numbers, value_number
from viewer.wording import verdict_line

BAND = Friction(0.20, 0.35, 0.50)


@pytest.fixture(scope="module")
def analysis():
    """The feeder with one box through the analyzer, with a limit of sidewall pressure."""
    made = rink.analysis_of(boxes=(("Box A", 64.0),))
    limits = replace(made.job.limits, sidewall_pressure_n_per_m=lbf_per_ft(500))
    pull = replace(made.job.pull, line_working_load_n=lbf(900))
    return analyze([made.runs[0].run], replace(made.job, limits=limits, pull=pull))


def shown(analysis, quantity, **options):
    return build_scene(analysis.runs[0], analysis.job, "forward", quantity=quantity, **options)


def test_sidewall_pressure_is_the_profiles_at_each_of_its_entries(analysis):
    scene = shown(analysis, Quantity.SIDEWALL)
    for item, leg in zip(analysis.runs[0].legs, scene.legs, strict=True):
        profile = item.forward.profile
        for station, side in zip(profile.station_m, profile.sidewall_n_per_m, strict=True):
            assert np.isclose(leg.values[leg.station_m == station], side, rtol=1e-9).any()


@pytest.mark.parametrize("friction", [0.35, 6.0])
def test_sidewall_pressure_is_nothing_between_the_bends(analysis, friction):
    """At a friction of 6 the last bend takes more than a thousand million times the first."""
    job = analysis.job
    if friction > 1.0:
        pull = replace(job.pull, friction=Friction(friction, friction, friction))
        analysis = analyze([analysis.runs[0].run], replace(job, pull=pull))
    scene = shown(analysis, Quantity.SIDEWALL)
    pressed = [leg.values[leg.values > 0.0] for leg in scene.legs]
    assert friction < 1.0 or max(v.max() / v.min() for v in pressed) > 1e10
    for leg in scene.legs:
        straight = np.ones(len(leg.station_m), dtype=bool)
        for bend in scene.bends:
            straight &= (leg.station_m < bend.station_m - 1e-6) | (
                leg.station_m > bend.end_station_m + 1e-6
            )
        assert straight.any()
        assert (leg.values[straight] == 0.0).all()


def test_the_share_is_the_larger_of_tension_and_sidewall_over_their_limits(analysis):
    scene = shown(analysis, Quantity.SHARE)
    side = shown(analysis, Quantity.SIDEWALL)
    station = np.linspace(0.5, scene.length_m - 0.5, 60)
    for leg, other in zip(scene.legs, side.legs, strict=True):
        at = station[(station > leg.start_m + 0.1) & (station < leg.end_m - 0.1)]
        tension = np.interp(at, leg.station_m, leg.tension_n) / scene.scale.limit_n
        pressure = np.interp(at, other.station_m, other.values) / side.color_scale.limit
        expected = np.maximum(tension, pressure)
        # linear between samples a hundredth of the limit apart, which may differ in place
        assert np.allclose(np.interp(at, leg.station_m, leg.values), expected, atol=0.011)


@pytest.mark.parametrize(
    ("tension_limit", "sidewall_limit", "expected"),
    [
        (400.0, 2000.0, (0.5, 3.0)),  # 100 of 400 N at 5 m, 1,000 of 2,000 N/m at 3 m
        (125.0, 2000.0, (0.8, 5.0)),
        (400.0, None, (0.25, 5.0)),
        (None, 2000.0, (0.5, 3.0)),
    ],
)
def test_greatest_share_is_that_of_the_limit_it_comes_nearest(
    tension_limit, sidewall_limit, expected
):
    figures = PullFigures(0.35, 100.0, 100.0, 5.0, 1000.0, 3.0)
    found = peak_of(Quantity.SHARE, figures, tension_limit, sidewall_limit)
    assert found == pytest.approx(expected)
    assert peak_of(Quantity.SIDEWALL, figures, None, None) == (1000.0, 3.0)
    assert peak_of(Quantity.TENSION, figures, None, None) == (100.0, 5.0)


def test_limit_of_several_pulls_is_the_smallest(analysis):
    pull = analysis.runs[0].legs[0].forward
    pulls = [replace(pull, shares=(Share("sidewall", "", 1.0, n, 0.0),)) for n in (900.0, 700.0)]
    assert limit_of_code(pulls, "sidewall") == 700.0
    assert limit_of_code(pulls, "grip-tension") is None


def test_metric_pictures_count_in_kilonewtons():
    # 1,234 N; 500 lbf/ft are 7,297 N/m
    assert force_number(1234.0, UnitSystem.METRIC) == "1.23"
    assert value_number(lbf_per_ft(500.0), Quantity.SIDEWALL, UnitSystem.METRIC) == "7.3"
    assert value_number(lbf_per_ft(500.0), Quantity.SIDEWALL, UnitSystem.US) == "500"
    assert value_number(30.48, Quantity.STATION, UnitSystem.US) == "100"


def test_numbers_too_long_to_read_are_written_short():
    # 2.5 million million lbf, and below a million in full
    far = [n * lbf(2.5e12) for n in range(3)]
    assert scale_numbers(far, Quantity.TENSION, UnitSystem.US) == ["0", "2.5e12", "5e12"]
    near = [0.0, lbf(999_000.0)]
    assert scale_numbers(near, Quantity.TENSION, UnitSystem.US) == ["0", "999,000"]
    # 96,000 of 2,000,000: each number of a scale by its own size
    mixed = [0.0, lbf(96_000.0), lbf(2e6)]
    assert scale_numbers(mixed, Quantity.TENSION, UnitSystem.US) == ["0", "96,000", "2e6"]


@pytest.mark.parametrize(
    ("limit", "quantity", "units", "numbers"),
    [
        (4448.0, Quantity.TENSION, UnitSystem.METRIC, ["0", "1.48", "2.97", "8.90", "13.34"]),
        (lbf(25.0), Quantity.TENSION, UnitSystem.US, ["0", "8.3", "16.7", "50.0", "75.0"]),
        (lbf(900.0), Quantity.TENSION, UnitSystem.US, ["0", "300", "600", "1,800", "2,700"]),
        (6000.0, Quantity.SIDEWALL, UnitSystem.METRIC, ["0", "2", "4", "12", "18"]),
        (4378.0, Quantity.SIDEWALL, UnitSystem.METRIC, ["0", "1.46", "2.92", "8.76", "13.13"]),
        (1.0, Quantity.SHARE, UnitSystem.US, ["0", "33", "67", "200", "300"]),
    ],
)
def test_numbers_of_one_scale_have_one_number_of_decimals(limit, quantity, units, numbers):
    values = [share * limit for share in (0.0, 1 / 3, 2 / 3, 2.0, 3.0)]
    assert scale_numbers(values, quantity, units) == numbers


@pytest.mark.parametrize("quantity", [Quantity.SIDEWALL, Quantity.SHARE])
def test_bends_smaller_than_their_dot_wear_their_color(analysis, quantity):
    """Far off an arc is hidden under its dot, which tells its value and whether it is over."""
    limits = replace(analysis.job.limits, sidewall_pressure_n_per_m=lbf_per_ft(60))
    pull = replace(analysis.job.pull, line_working_load_n=lbf(9000))
    run = analysis.runs[0].run
    low = analyze([run], replace(analysis.job, limits=limits, pull=pull))
    scene = shown(low, quantity)
    far, near = (Camera(-70, 30, (15.0, 10.0, 2.0), scale, 900, 500) for scale in (0.3, 0.002))
    dots = {chip.key: chip for chip in chips_of(scene, far, 1.0) if chip.kind == "bend"}
    assert len(dots) == len(scene.bends) > 4
    for bend in scene.bends:
        arcs = [
            arc
            for leg in low.runs[0].legs
            for arc in loads_between(leg.forward.expected.arcs, bend.station_m, bend.end_station_m)
        ]
        share = max(arc.n_per_m for arc in arcs) / lbf_per_ft(60)
        if quantity is Quantity.SHARE:
            share = max(share, *(arc.tension_n / scene.scale.limit_n for arc in arcs))
        chip = dots[f"bend {bend.number}"]
        assert chip.dot == hex_color(share_colors([share])[0])
        assert chip.over == (share > 1.0)
    assert {chip.over for chip in dots.values()} == {True, False}
    assert all(chip.dot is None for chip in chips_of(scene, near, 1.0))
    assert all(chip.dot is None for chip in chips_of(shown(low, Quantity.TENSION), far, 1.0))
    # what the head has not reached is drawn without color
    walked = head_at(scene, 0.0)
    assert all(chip.dot is None for chip in chips_of(scene, far, 1.0, head=walked))


@pytest.mark.parametrize("flipped", [False, True])
def test_chart_counts_from_the_feed_at_its_left(flipped):
    frame = ChartFrame(100.0, 50.0, 500.0, 250.0, 80.0, 0.0, 10.0, flipped)
    ends = [500.0, 400.0, 100.0] if flipped else [100.0, 200.0, 500.0]
    assert frame.x(np.array([0.0, 20.0, 80.0])).tolist() == ends
    assert frame.y(np.array([0.0, 2.5, 10.0])).tolist() == [250.0, 200.0, 50.0]


def test_limit_stands_where_the_legend_says_so(analysis, monkeypatch):
    """The bar ends at three times the limit: its mark stands at a third."""
    from viewer.canvas import Canvas
    from viewer.legend import draw_legend
    from viewer.palette import LIGHT

    drawn = []
    monkeypatch.setattr(
        Canvas, "line", lambda self, points, width, *rest, **more: drawn.append((width, points))
    )
    canvas = Canvas(900, 200, LIGHT, 1.0, 1.0)
    draw_legend(canvas, shown(analysis, Quantity.TENSION), 800.0, 20.0, 300.0)
    (mark,) = [points for width, points in drawn if width == 2.2]
    assert mark[0][0] == pytest.approx(800.0 - 200.0 * canvas.text_unit, abs=1e-9)


def test_station_and_elevation_are_those_of_the_centerline(analysis):
    for quantity in (Quantity.STATION, Quantity.ELEVATION):
        scene = shown(analysis, quantity)
        assert scene.color_scale.limit is None
        for leg in scene.legs:
            place = leg.station_m if quantity is Quantity.STATION else leg.points_m[:, 2]
            assert np.allclose(leg.values, place, atol=1e-9)
            assert np.array_equal(leg.curve(quantity), leg.tension_n)


@pytest.mark.parametrize("quantity", list(Quantity))
def test_friction_of_the_tensions_is_named_once_where_they_stand(analysis, quantity, monkeypatch):
    """Beside the scale of what hangs on it; else below the headline and over the curve."""
    from viewer.canvas import Canvas
    from viewer.chart import draw_tension
    from viewer.legend import draw_legend
    from viewer.palette import LIGHT

    scene = shown(analysis, quantity)
    friction = f"{scene.friction_name} friction {scene.friction:g}"
    texts = []
    draw = Canvas.text
    monkeypatch.setattr(
        Canvas,
        "text",
        lambda self, x, y, text, *a, **k: (texts.append(text), draw(self, x, y, text, *a, **k)),
    )
    canvas = Canvas(900, 400, LIGHT, 1.0, 1.0)
    draw_legend(canvas, scene, 800.0, 20.0, 300.0)
    in_legend = any(friction in text for text in texts)
    texts.clear()
    frame = ChartFrame(100.0, 150.0, 800.0, 350.0, scene.length_m, 0.0, 1.0, False)
    draw_tension(canvas, scene, frame, axis_text=True)
    in_title = any(friction in text for text in texts)
    in_line = friction in verdict_line(scene)
    assert (in_legend, in_title, in_line) == (
        (True, False, False) if quantity.has_curve else (False, True, True)
    )


def test_colors_go_by_the_limit_or_from_end_to_end(analysis):
    side = shown(analysis, Quantity.SIDEWALL).color_scale
    assert np.array_equal(side.colors([side.limit]), share_colors([1.0]))
    place = shown(analysis, Quantity.ELEVATION).color_scale
    assert np.array_equal(place.colors(place.ends), plain_colors([0.0, 1.0]))
    assert len(legend_colors(place, 7)) == 7


@pytest.mark.parametrize("quantity", [Quantity.TENSION, Quantity.SIDEWALL])
def test_the_share_at_high_friction_is_that_of_the_analysis(analysis, quantity):
    scene = shown(analysis, quantity)
    code = {"tension": scene.scale.limit_n, "sidewall": scene.color_scale.limit}[quantity.value]
    shares = [
        share.share
        for item in analysis.runs[0].legs
        for share in item.forward.shares
        if share.limit == code
        and ("sidewall" in share.code) is (quantity is Quantity.SIDEWALL)
        and "braked" not in share.code
    ]
    high = max(leg.high_peak for leg in scene.legs) / code
    assert high == pytest.approx(max(shares), rel=1e-9)


def test_every_leg_label_tells_the_share_at_high_friction_too(analysis):
    from viewer.camera import Camera

    scene = shown(analysis, Quantity.TENSION)
    camera = Camera(-70.0, 30.0, (15.0, 10.0, 2.0), 0.03, 1200, 500)
    legs = [chip for chip in chips_of(scene, camera, 1.0) if chip.kind == "leg"]
    assert len(legs) == 2
    assert all("(high: " in chip.detail for chip in legs)
    assert not any("limit" in chip.detail.split("(high: ")[1] for chip in legs)
    assert "at high friction" in verdict_line(scene)


@pytest.mark.parametrize(
    ("quantity", "limit"),
    [
        (Quantity.TENSION, "tension limit"),
        (Quantity.ELEVATION, "tension limit"),
        (Quantity.SIDEWALL, "sidewall limit"),
        (Quantity.SHARE, "limit"),
    ],
)
def test_labels_of_legs_name_the_limit_that_their_share_is_of(analysis, quantity, limit):
    from viewer.camera import Camera

    scene = shown(analysis, quantity)
    camera = Camera(-70.0, 30.0, (15.0, 10.0, 2.0), 0.03, 1200, 500)
    legs = [chip for chip in chips_of(scene, camera, 1.0) if chip.kind == "leg"]
    assert len(legs) == 2
    for chip in legs:
        told = chip.detail.split(" · ")[-1].split(" (high: ")[0]
        assert re.fullmatch(rf"[\d.]+ (% of|×) {limit}", told), chip.detail


@pytest.mark.parametrize("quantity", list(Quantity))
def test_the_headline_never_tells_less_than_high_friction(analysis, quantity):
    scene = shown(analysis, quantity)
    text = headline(scene)
    scale = scene.chart_scale
    high = max(leg.high_peak for leg in scene.legs) / scale.limit
    if scene.peak.peak > scale.limit:
        assert "times its limit" in text
    elif high > 1.0:
        assert text.startswith("At high friction 0.5")
    else:
        told = float(next(word for word in text.split() if word.replace(".", "").isdigit()))
        assert told >= 100 * high


def test_without_any_limit_there_is_no_share(analysis):
    made = rink.without_limit()
    with pytest.raises(InputError, match="no limit is known"):
        build_scene(made.runs[0], made.job, "forward", quantity=Quantity.SHARE)


@pytest.mark.parametrize(
    ("top", "quantity", "units", "numbers"),
    [
        (0.45, Quantity.STATION, UnitSystem.METRIC, ["0", "0.225", "0.450"]),
        (ft(1.5), Quantity.STATION, UnitSystem.US, ["0", "0.75", "1.50"]),
        (40.0, Quantity.TENSION, UnitSystem.METRIC, ["0", "0.02", "0.04"]),
        (ft(210.0), Quantity.STATION, UnitSystem.US, ["0", "105", "210"]),
    ],
)
def test_the_numbers_of_a_short_scale_read_as_even_steps(top, quantity, units, numbers):
    assert scale_numbers([0.0, top / 2, top], quantity, units) == numbers


def test_a_friction_outside_the_band_is_refused():
    assert friction_of(BAND, 0.35) == ("expected", 0.35)
    assert friction_of(BAND, 0.41) == ("chosen", 0.41)
    for asked in (0.1, 0.6, float("nan"), "medium"):
        with pytest.raises(InputError, match="friction"):
            friction_of(BAND, asked)


def test_a_chosen_friction_is_analyzed_anew(analysis):
    scene = scene_at(analysis, analysis.runs[0], "forward", 0.42)
    one = Friction(0.42, 0.42, 0.42, BAND.stated)
    job = replace(analysis.job, pull=replace(analysis.job.pull, friction=one))
    fresh = analyze([analysis.runs[0].run], job).runs[0]
    for leg, item in zip(scene.legs, fresh.legs, strict=True):
        assert leg.max_tension_n == item.forward.expected.max_tension_n
    assert scene.friction == 0.42
