"""Closed forms: equal to the solver inside their range, refused outside it."""

from __future__ import annotations

from math import cos, cosh, exp, pi, sin

import numpy as np
import pytest
from pull_routes import reference_ends, route

from analyzer.errors import InputError
from analyzer.pulling import closed_forms as forms
from analyzer.pulling.string_model import pieces_between, pull_string

AHEAD, UP, DOWN = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def solved(direction, part, feed: float, w: float, k: float) -> float:
    centerline = route(direction, [part])
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    return pull_string(pieces, w, [k], feed)[0].exit_tension_n


def integrated(direction, part, feed: float, w: float, k: float) -> float:
    return reference_ends(route(direction, [part]), w, k, feed)[-1]


def inclined(p: float) -> tuple[float, float, float]:
    return (cos(p), 0.0, sin(p))


def cases(count: int = 40):
    rng = np.random.default_rng(11)
    for _ in range(count):
        w, r = float(rng.uniform(0.5, 30.0)), float(rng.uniform(0.3, 30.0))
        yield (
            w,
            r,
            float(rng.uniform(0.05, pi / 2)),
            float(rng.uniform(0.0, 0.9)),
            float(rng.uniform(0.0, 4.0)) * w * r,
        )


def test_straight_on_any_slope() -> None:
    for w, length, p, k, feed in cases():
        slope = p - 0.3
        expected = feed + w * length * (sin(slope) + k * cos(slope))
        if expected < 0.0:
            with pytest.raises(InputError):
                forms.straight_tension_n(feed, w, length, slope, k)
            continue
        assert forms.straight_tension_n(feed, w, length, slope, k) == pytest.approx(expected)
        assert solved(inclined(slope), length, feed, w, k) == pytest.approx(expected, rel=1e-12)


def test_level_bend() -> None:
    for w, r, a, k, feed in cases():
        form = forms.level_bend_tension_n(feed, w, r, a, k)
        assert solved(AHEAD, (r, a, (0.0, 1.0, 0.0)), feed, w, k) == pytest.approx(form, rel=1e-12)


def test_capstan_without_weight() -> None:
    for _, r, a, k, feed in cases():
        form = forms.capstan_tension_n(feed, a, k)
        assert solved(AHEAD, (r, a, (0.0, 1.0, 0.0)), feed, 0.0, k) == pytest.approx(form)


def test_top_bend_from_rising_to_level_holds_for_any_tension() -> None:
    for w, r, a, k, feed in cases():
        form = forms.top_bend_rising_tension_n(feed, w, r, a, k)
        bend = (r, a, (sin(a), 0.0, -cos(a)))
        assert solved(inclined(a), bend, feed, w, k) == pytest.approx(form, rel=1e-12)
        # as printed in handbooks
        q, e = w * r / (1 + k * k), exp(k * a)
        long = feed * e + q * (2 * k * e * sin(a) + (1 - k * k) * (1 - e * cos(a)))
        assert form == pytest.approx(long, rel=1e-12)


def test_top_bend_from_level_to_falling_holds_until_the_tension_is_gone() -> None:
    checked = refused = 0
    for index, (w, r, a, k, feed) in enumerate(cases(160)):
        feed *= 0.01 if index % 2 else 1.0
        bend = (r, a, DOWN)
        q, e = w * r / (1 + k * k), exp(k * a)
        long = feed * e + q * (2 * k * sin(a) - (1 - k * k) * (e - cos(a)))
        try:
            form = forms.top_bend_falling_tension_n(feed, w, r, a, k)
        except InputError:
            refused += 1
            assert long < 0.0
            assert solved(AHEAD, bend, feed, w, k) == 0.0
            continue
        checked += 1
        assert form == pytest.approx(long, rel=1e-9, abs=1e-9 * w * r)
        assert solved(AHEAD, bend, feed, w, k) == pytest.approx(form, rel=1e-11, abs=1e-11 * w * r)
    assert checked > 20
    assert refused > 2


def test_bottom_bend_from_level_to_rising_inside_and_below_its_range() -> None:
    below = 0
    for w, r, a, k, feed in cases(80):
        q, e = w * r / (1 + k * k), exp(k * a)
        long = feed * e - q * (2 * k * sin(a) - (1 - k * k) * (e - cos(a)))
        bend = (r, a, UP)
        true = solved(AHEAD, bend, feed, w, k)
        if feed >= w * r:
            form = forms.bottom_bend_rising_tension_n(feed, w, r, a, k)
            assert form == pytest.approx(long, rel=1e-9)
            assert form == pytest.approx(true, rel=1e-12)
        else:
            below += 1
            assert long <= true * (1.0 + 1e-12)
            assert true == pytest.approx(integrated(AHEAD, bend, feed, w, k), rel=1e-10)
            with pytest.raises(InputError, match="reads low"):
                forms.bottom_bend_rising_tension_n(feed, w, r, a, k)
    assert below > 10


def test_bottom_bend_from_falling_to_level_inside_and_below_its_range() -> None:
    below = 0
    for w, r, a, k, feed in cases(80):
        q, e = w * r / (1 + k * k), exp(k * a)
        long = feed * e - q * (2 * k * e * sin(a) + (1 - k * k) * (1 - e * cos(a)))
        bend = (r, a, (sin(a), 0.0, cos(a)))
        true = solved(inclined(-a), bend, feed, w, k)
        if long >= w * r:
            form = forms.bottom_bend_falling_tension_n(feed, w, r, a, k)
            assert form == pytest.approx(long, rel=1e-9)
            assert form == pytest.approx(true, rel=1e-11)
        else:
            below += 1
            assert long <= true * (1.0 + 1e-12) + 1e-12
            expected = integrated(inclined(-a), bend, feed, w, k)
            assert true == pytest.approx(expected, rel=1e-10, abs=1e-10 * w * r)
            with pytest.raises(InputError, match="reads low"):
                forms.bottom_bend_falling_tension_n(feed, w, r, a, k)
    assert below > 10


@pytest.mark.parametrize("short", [0.05, 0.01, 1e-4, 1e-6])
def test_a_feed_a_little_short_of_the_inner_wall_rubs_on_the_outer_one_first(short: float) -> None:
    w, r, k = 30.0, 2.0, 0.5
    bend, feed = (r, pi / 2, UP), w * r * (1.0 - short)
    expected = integrated(AHEAD, bend, feed, w, k)
    assert solved(AHEAD, bend, feed, w, k) == pytest.approx(expected, rel=1e-10)


# Check values of the project's mechanics: k 0.35, 90 degrees, in units of w R, three decimals.
@pytest.mark.parametrize(("feed", "form", "true"), [(0.0, 0.731, 1.334), (0.5, 1.597, 1.828)])
def test_size_of_the_unsafe_side(feed: float, form: float, true: float) -> None:
    value = forms.vertical_arc_tension_n(feed, 1.0, 1.0, 0.0, pi / 2, 0.35)
    assert value == pytest.approx(form, abs=5e-4)
    assert solved(AHEAD, (1.0, pi / 2, UP), feed, 1.0, 0.35) == pytest.approx(true, abs=5e-4)


def test_bounds_of_a_level_run() -> None:
    assert forms.all_bends_last_tension_n(0.0, 3.0, 200.0, 2 * pi, 0.35) == pytest.approx(
        1894.0, abs=0.5
    )
    assert forms.all_bends_first_tension_n(0.0, 3.0, 200.0, 2 * pi, 0.35) == pytest.approx(210.0)
    assert forms.all_bends_last_tension_n(10.0, 3.0, 0.0, 1.0, 0.2) == pytest.approx(
        10.0 * exp(0.2)
    )
    assert forms.all_bends_first_tension_n(10.0, 3.0, 0.0, 1.0, 0.2) == pytest.approx(
        10.0 * exp(0.2)
    )


def test_longest_straight_is_pulled_at_its_limit() -> None:
    length = forms.longest_straight_m(340.0, 0.144, 0.5)
    assert forms.straight_tension_n(0.0, 0.144, length, 0.0, 0.5) == pytest.approx(340.0)
    with pytest.raises(InputError):
        forms.longest_straight_m(340.0, 0.0, 0.5)


def test_level_bend_between_a_capstan_and_a_capstan_of_all_its_weight() -> None:
    for w, r, a, k, feed in cases():
        form = forms.level_bend_tension_n(feed, w, r, a, k)
        assert forms.capstan_tension_n(feed, a, k) <= form
        assert form <= (feed + w * r) * cosh(k * a) * 2.0 + 1e-9
