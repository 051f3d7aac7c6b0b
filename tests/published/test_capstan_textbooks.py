"""Capstan values of textbooks and courses, through the closed form and through the solver.

Sources stand beside each example in examples.json: Baker and Haynes, *Engineering Statics*, ch. 9;
Beer and Johnston, *Vector Mechanics for Engineers: Statics*, problem 8.104; FOSSEE Scilab Textbook
Companion no. 3886, ch. 5; Wikipedia, *Capstan equation*; and course notes.
The heavy rope over a rough half cylinder: *Rope On Cylinder*, 2016, on a problem site (stored
copy). The quadrant with both ends free is a classic known from memory: derived, not a check value.
"""

from __future__ import annotations

from math import cos, exp, log, pi, radians, sin

import pytest
from published_routes import scalar_examples
from pull_routes import route
from scipy.optimize import brentq

from analyzer.geometry.centerline import Centerline
from analyzer.pulling.closed_forms import capstan_tension_n, vertical_arc_tension_n
from analyzer.pulling.string_model import StringPull, pieces_between, pull_string

# tension in, turn, friction (negative where the printed value is the slack side)
PULLS = {
    "cap-harvard-rope": (100.0, 9.0 * pi, -0.23),
    "cap-3-4-turn": (981.0, 1.5 * pi, 0.2),
    "cap-two-bollards": (50.0, 10.0 * pi / 3.0, 0.2),
    "cap-drum-250": (1.0, radians(250.0), 0.3),
    "cap-wiki-5turns": (1.0, 10.0 * pi, 0.6),
    "cap-1.5-turns": (100.0, 3.0 * pi, 0.25),
    "cap-khurmi-ratio": (1.0, pi, 0.24),
    "cap-khurmi-T2": (2250.0, pi, -0.24),
    "cap-1-turn": (1.0, 2.0 * pi, 0.3),
    "cap-2-turns": (1.0, 4.0 * pi, 0.3),
}


def coil(turn: float) -> Centerline:
    """A level coil that turns left, in arcs of at most half a turn."""
    count = int(turn // pi) + 1
    parts = []
    for number in range(count):
        heading = number * turn / count
        parts.append((1.0, turn / count, (-sin(heading), cos(heading), 0.0)))
    return route((1.0, 0.0, 0.0), parts)


def solve(centerline: Centerline, weight: float, k: float, feed: float) -> StringPull:
    pieces = pieces_between(centerline, 0.0, centerline.length_m)
    return pull_string(pieces, weight, [k], feed)[0]


@pytest.mark.parametrize("name", PULLS)
def test_printed_value(name: str) -> None:
    (example,) = scalar_examples(name)
    entry, turn, k = PULLS[name]
    # "cap-3-4-turn" holds a load: the tight side is the load's own weight over e^(1.5 pi mu)
    k = -k if name == "cap-3-4-turn" else k
    printed = example["printed"]
    assert capstan_tension_n(entry, turn, k) == pytest.approx(printed, abs=example["tolerance"])
    solved = solve(coil(turn), 0.0, k, entry).exit_tension_n
    assert solved == pytest.approx(printed, abs=example["tolerance"])
    assert solved == pytest.approx(capstan_tension_n(entry, turn, k), rel=1e-13)


def test_friction_and_turns_of_a_hawser() -> None:
    friction, turns = scalar_examples("cap-hawser-mu", "cap-hawser-turns")
    found = brentq(lambda mu: capstan_tension_n(80.0, 4.0 * pi, mu) - 5000.0, 0.01, 1.0)
    assert found == pytest.approx(friction["printed"], abs=0.0005)
    needed = brentq(lambda n: capstan_tension_n(80.0, 2.0 * pi * n, found) - 20000.0, 1.0, 5.0)
    assert needed == pytest.approx(turns["printed"], abs=0.005)


def test_band_brake() -> None:
    (example,) = scalar_examples("cap-drum-250-P")
    ratio = capstan_tension_n(1.0, radians(250.0), 0.3)
    slack_side = 300.0 * 1000.0 / (250.0 * (ratio - 1.0))
    assert slack_side * ratio * 50.0 / 300.0 == pytest.approx(example["printed"], abs=0.05)


def test_two_blocks_joined_over_half_a_turn() -> None:
    (example,) = scalar_examples("cap-blocks")
    ratio = capstan_tension_n(1.0, pi, 0.3)
    pull = (1000.0 * 0.6 - 0.3 * 800.0) / (0.24 + 0.24 + 0.84 * ratio)
    # the source rounds 0.84 e^(0.3 pi) to 2.156: 0.03 of 136.57
    assert pull == pytest.approx(example["printed"], abs=example["tolerance"])


def test_heavy_rope_slips_over_a_half_cylinder_at_the_printed_ratio() -> None:
    # radius 1, friction 0.5, rope 10 long, half a turn of it on the cylinder; printed 17.03
    hanging = 10.0 - pi

    def left_over(short: float) -> float:
        centerline = route((0.0, 0.0, 1.0), [short, (1.0, pi, (1.0, 0.0, 0.0))])
        return solve(centerline, 1.0, 0.5, 0.0).exit_tension_n - (hanging - short)

    short = brentq(left_over, 0.01, hanging / 2.0, xtol=1e-14)
    assert (hanging - short) / short == pytest.approx(17.03, abs=0.005)


def test_rope_on_a_quadrant_slips_below_the_root_of_its_equation() -> None:
    root = brentq(lambda mu: exp(mu * pi / 2.0) * (1.0 - mu * mu) - 2.0 * mu, 0.1, 0.99, xtol=1e-15)
    assert root == pytest.approx(0.732393, abs=5e-7)
    assert vertical_arc_tension_n(0.0, 1.0, 1.0, 0.0, -pi / 2.0, root) == pytest.approx(
        0, abs=1e-14
    )
    quadrant = route((1.0, 0.0, 0.0), [(1.0, pi / 2.0, (0.0, 0.0, -1.0))])
    assert solve(quadrant, 1.0, root + 1e-6, 0.0).exit_tension_n > 0.0
    assert solve(quadrant, 1.0, root - 1e-6, 0.0).exit_tension_n == 0.0
    assert log(solve(quadrant, 0.0, root, 1.0).exit_tension_n) == pytest.approx(root * pi / 2.0)
