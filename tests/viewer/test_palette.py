"""The map of value over limit: jumps at the limit for every kind of color vision."""

from __future__ import annotations

import numpy as np
import pytest
from color_vision import distance, seen_by, ucs

from viewer.palette import (
    COOL,
    DARK,
    HOT,
    LIGHT,
    MAP_TOP,
    PLAIN,
    hex_color,
    lightness,
    plain_colors,
    rgb,
    share_colors,
)

VISIONS = ("normal", "deutan", "protan", "tritan")


def test_the_ends_of_both_parts_are_the_stops():
    colors = share_colors([0.0, 1.0, np.nextafter(1.0, 2.0), MAP_TOP])
    assert [hex_color(color) for color in colors] == [COOL[0], COOL[-1], HOT[0], HOT[-1]]


def test_a_value_equal_to_the_limit_is_inside_it():
    assert hex_color(share_colors([1.0])[0]) == COOL[-1]


def test_the_color_stays_above_three_times_the_limit():
    assert np.array_equal(share_colors([3.0]), share_colors([300.0]))


@pytest.mark.parametrize("vision", VISIONS)
def test_color_jumps_at_the_limit(vision):
    below = seen_by(share_colors([1.0]), vision)
    above = seen_by(share_colors([1.0 + 1e-9]), vision)
    assert distance(below, above)[0] >= 40


@pytest.mark.parametrize("vision", VISIONS)
def test_no_color_below_the_limit_is_near_one_above(vision):
    cool = ucs(seen_by(share_colors(np.linspace(0, 1, 101)), vision))
    hot = ucs(seen_by(share_colors(np.linspace(1.0001, 3, 101)), vision))
    assert np.linalg.norm(cool[:, None] - hot[None, :], axis=-1).min() >= 20


@pytest.mark.parametrize(
    ("vision", "jump"), [("normal", 70), ("deutan", 74), ("protan", 73), ("tritan", 52)]
)
def test_simulated_jump_agrees_with_an_independent_study_of_the_map(vision, jump):
    # printed as whole numbers; 1 more for coefficients from memory
    pair = seen_by(share_colors([1.0, 1.0 + 1e-9]), vision)
    assert distance(pair[:1], pair[1:])[0] == pytest.approx(jump, abs=1.5)


def test_lightness_falls_all_the_way_in_each_part():
    for low, high in ((0.0, 1.0), (1.0001, 3.0)):
        values = lightness(share_colors(np.linspace(low, high, 201)))
        assert (np.diff(values) < 0).all()


def test_steps_up_to_the_limit_are_even():
    points = ucs(share_colors(np.linspace(0, 1, 9)))
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    assert steps.max() / steps.min() < 1.15


def test_the_plain_map_falls_in_lightness_and_holds_no_color_of_the_hot_part():
    values = plain_colors(np.linspace(0, 1, 51))
    assert (np.diff(lightness(values)) < 0).all()
    hot = ucs(share_colors(np.linspace(1.0001, 3, 51)))
    assert np.linalg.norm(ucs(values)[:, None] - hot[None, :], axis=-1).min() > 20


@pytest.mark.parametrize("vision", VISIONS)
@pytest.mark.parametrize("stops", [COOL, HOT, PLAIN], ids=["cool", "hot", "plain"])
def test_every_stop_is_told_from_the_next_and_darker_for_every_vision(vision, stops):
    points = ucs(seen_by(np.array([rgb(color) for color in stops]), vision))
    # twice the distance that is just seen side by side, about 1 in CAM02-UCS, and then half more
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).min() >= 3.0
    assert (np.diff(points[:, 0]) < 0).all()


@pytest.mark.parametrize("vision", VISIONS)
@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
def test_marks_of_state_are_told_from_the_map_for_every_vision(vision, theme):
    def gap(color, others):
        one = ucs(seen_by(rgb(color)[None, :], vision))
        return np.linalg.norm(ucs(seen_by(others, vision)) - one, axis=-1).min()

    whole = share_colors(np.linspace(0.0, MAP_TOP, 301))
    # a run that could not be checked never looks like one that is well within its limit
    assert gap(theme.unchecked, whole) >= 20
    # rings on what is over the limit; the chip of the worst place beside all other chips
    assert gap(theme.ring, share_colors(np.linspace(1.001, MAP_TOP, 101))) >= 30
    assert gap(theme.inverted, rgb(theme.chip)[None, :]) >= 60
    assert gap(theme.inverted, rgb(theme.inverted_ink)[None, :]) >= 60


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)
@pytest.mark.parametrize(
    ("front", "back", "least"),
    [
        ("ink", "ground", 4.5),
        ("muted", "ground", 4.5),
        ("ink", "chip", 4.5),
        ("muted", "chip", 4.5),
        ("ink", "floor", 4.5),
        ("muted", "floor", 4.5),
        ("inverted_ink", "inverted", 4.5),
        ("inverted_muted", "inverted", 4.5),
        ("outline", "floor", 3.0),
    ],
)
def test_letters_and_outlines_stand_off_their_ground(theme, front, back, least):
    def luminance(color):
        values = rgb(color)
        linear = np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)
        return float(linear @ np.array([0.2126, 0.7152, 0.0722]))

    # contrast of WCAG 2.1, 1.4.3 (letters) and 1.4.11 (parts that carry meaning)
    pair = sorted((luminance(getattr(theme, front)), luminance(getattr(theme, back))))
    assert (pair[1] + 0.05) / (pair[0] + 0.05) >= least
