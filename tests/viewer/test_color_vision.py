"""What a reader with another color vision sees: scale, limit, verdicts and contrast.

Dichromats are simulated by the construction of Vienot, Brettel and Mollon, *Digital video
colourmaps for checking the legibility of displays by dichromats*, 1999: a color moves along the
axis of the cone that is missing until it lies in the plane of white and one primary (blue for
protan and deutan; red for tritan, the usual extension of it). Nothing of it is copied from a table
of results. Cones: the Hunt-Pointer-Estevez matrix of CIECAM02; primaries and white of sRGB:
IEC 61966-2-1. These coefficients are from memory; the cone matrix, and the Machado matrices of
`color_vision`, equal those of the open library colorspacious 1.1.2 to the last digit.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from color_vision import _HPE, encoded, linear, seen_by

from analyzer import analyze, open_route, read_job
from viewer.page import page_html
from viewer.page_data import page_values
from viewer.palette import DARK, LIGHT, MAP_TOP, lightness, rgb, share_colors
from viewer.scene import build_scene
from viewer.wording import verdict_line

EXAMPLES = Path(__file__).resolve().parents[2] / "example_paths"
TEMPLATES = Path(__file__).resolve().parents[2] / "viewer" / "templates"
MISSING = {"protan": 0, "deutan": 1, "tritan": 2}
CHROMATICITIES = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
WHITE = np.array([0.3127, 0.3290])


def _tristimulus(chromaticity):
    x, y = chromaticity
    return np.array([x / y, 1.0, (1 - x - y) / y])


def _to_xyz():
    """Linear sRGB to XYZ, from the primaries and the white."""
    primaries = np.stack([_tristimulus(each) for each in CHROMATICITIES], axis=1)
    return primaries * np.linalg.solve(primaries, _tristimulus(WHITE))


def dichromat(kind):
    """The matrix of linear sRGB to what a reader without that cone sees."""
    to_cones = _HPE @ _to_xyz()
    missing = MISSING[kind]
    kept = [cone for cone in range(3) if cone != missing]
    primary = np.eye(3)[0 if kind == "tritan" else 2]
    plane = np.stack([to_cones @ np.ones(3), to_cones @ primary])
    move = np.eye(3)
    move[missing] = 0.0
    move[missing, kept] = np.linalg.solve(plane[:, kept], plane[:, missing])
    return np.linalg.inv(to_cones) @ move @ to_cones


def seen(colors, vision):
    """Colors as seen by the dichromat constructed above, or unchanged for normal vision."""
    if vision == "normal":
        return np.asarray(colors, dtype=float)
    return encoded(linear(colors) @ dichromat(vision).T)


def lab(colors):
    """CIELAB (CIE 1976) of sRGB colors, white of sRGB."""
    t = linear(colors) @ _to_xyz().T / _tristimulus(WHITE)
    f = np.where(t > (6 / 29) ** 3, np.cbrt(t), t / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.stack(
        [116 * f[:, 1] - 16, 500 * (f[:, 0] - f[:, 1]), 200 * (f[:, 1] - f[:, 2])], axis=-1
    )


def contrast(one, other):
    """Contrast of two hex colors by WCAG 2.1, from 1 to 21."""
    y = linear(np.array([rgb(one), rgb(other)])) @ np.array([0.2126, 0.7152, 0.0722])
    return float((y.max() + 0.05) / (y.min() + 0.05))


@cache
def judged(name):
    path = EXAMPLES / name
    job = read_job(path.with_suffix(".toml"))
    route = open_route(path, job)
    return analyze(route.runs, job, route.findings)


visions = pytest.mark.parametrize("vision", ["normal", *MISSING])
halves = pytest.mark.parametrize(
    ("low", "high"), [(0.0, 1.0), (1.0001, MAP_TOP)], ids=["up to the limit", "over the limit"]
)
themes = pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda theme: theme.name)


@pytest.mark.parametrize("kind", MISSING)
def test_the_simulation_leaves_grays_and_moves_along_the_missing_cone_only(kind):
    matrix = dichromat(kind)
    assert matrix @ np.ones(3) == pytest.approx(np.ones(3))
    assert matrix @ matrix == pytest.approx(matrix)
    cones = _HPE @ _to_xyz()
    moved = cones @ (matrix - np.eye(3))
    kept = [cone for cone in range(3) if cone != MISSING[kind]]
    assert moved[kept] == pytest.approx(np.zeros((2, 3)), abs=1e-12)
    assert np.abs(moved[MISSING[kind]]).max() > 0.01


def test_red_and_green_alike_would_fail_here():
    # the pair that must never carry a meaning alone is told apart by normal vision only
    pair = np.array([rgb("#B86A4A"), rgb("#8A8A46")])
    normal, deutan = (np.diff(lab(seen(pair, v)), axis=0)[0] for v in ("normal", "deutan"))
    assert np.linalg.norm(normal) > 25 > 12 > np.linalg.norm(deutan)


@visions
@halves
def test_the_scale_darkens_toward_the_larger_value(vision, low, high):
    values = lightness(seen(share_colors(np.linspace(low, high, 201)), vision))
    assert (np.diff(values) < 0).all()
    # a tenth of the range of paper to ink tells a step of a quarter of the half
    quarters = values[::50]
    assert (-np.diff(quarters)).min() >= 5.0


@visions
def test_the_limit_is_a_jump_that_dwarfs_the_steps_of_the_scale(vision):
    below, above = share_colors([1.0]), share_colors([1.0 + 1e-9])
    jump = np.linalg.norm(lab(seen(above, vision)) - lab(seen(below, vision)))
    # CIELAB: 2.3 is just seen side by side (Mahy, Van Eycken and Oosterlinck, 1994, from memory)
    assert jump >= 50.0
    inside = lab(seen(share_colors(np.linspace(0.0, 1.0, 9)), vision))
    assert jump > 3 * np.linalg.norm(np.diff(inside, axis=0), axis=1).max()


@visions
def test_no_color_within_the_limit_is_taken_for_one_over_it(vision):
    cool = lab(seen(share_colors(np.linspace(0.0, 1.0, 101)), vision))
    hot = lab(seen(share_colors(np.linspace(1.0001, MAP_TOP, 101)), vision))
    assert np.linalg.norm(cool[:, None] - hot[None, :], axis=-1).min() >= 20.0


@pytest.mark.parametrize("kind", MISSING)
def test_two_published_simulations_agree_on_the_jump_at_the_limit(kind):
    # two models of the same reader: a tenth apart at most, and both above what is asked
    pair = share_colors([1.0, 1.0 + 1e-9])
    one, other = (np.linalg.norm(np.diff(lab(by(pair, kind)), axis=0)) for by in (seen, seen_by))
    assert one == pytest.approx(other, rel=0.1)
    assert min(one, other) >= 50.0


@themes
@visions
def test_what_could_not_be_checked_is_no_color_of_the_scale(theme, vision):
    scale = lab(seen(share_colors(np.linspace(0.0, MAP_TOP, 301)), vision))
    one = lab(seen(rgb(theme.unchecked)[None, :], vision))
    assert np.linalg.norm(scale - one, axis=-1).min() >= 20.0


@pytest.mark.parametrize(
    ("name", "verdict"),
    [
        ("overhead_feeder.dxf", "pass"),
        ("riser.csv", "caution"),
        ("training_yard.csv", "fail"),
    ],
)
def test_a_picture_says_its_verdict_in_a_word(name, verdict):
    analysis = judged(name)
    scene = build_scene(analysis.runs[0], analysis.job, "better")
    assert f"verdict: {verdict}" in verdict_line(scene)


def test_the_page_gives_every_verdict_a_sign_of_its_own():
    values = page_values(judged("riser.csv"), LIGHT)
    marks = values["marks"]
    assert set(marks) >= {"pass", "caution", "fail", "not checked"}
    assert all(marks.values())
    assert len(set(marks.values())) == len(marks)


PAIRS = [
    ("ink", "ground", 4.5),
    ("ink", "chip", 4.5),
    ("ink", "floor", 4.5),
    ("ink", "band", 4.5),
    ("muted", "ground", 4.5),
    ("muted", "chip", 4.5),
    ("muted", "floor", 4.5),
    ("muted", "band", 4.5),
    ("inverted-ink", "inverted", 4.5),
    ("inverted-muted", "inverted", 4.5),
    ("inverted", "ground", 3.0),
    ("outline", "ground", 3.0),
]


@cache
def page_colors(dark):
    text = page_html(judged("riser.csv"), theme=DARK if dark else LIGHT)
    root = re.search(r":root \{(.*?)\}", text, re.DOTALL)[1]
    return dict(re.findall(r"--([a-z-]+): (#[0-9A-F]{6});", root))


@themes
@pytest.mark.parametrize(("front", "back", "least"), PAIRS)
def test_letters_of_the_page_stand_off_their_ground(theme, front, back, least):
    colors = page_colors(theme is DARK)
    assert contrast(colors[front], colors[back]) >= least


@themes
def test_the_pages_style_uses_no_color_beside_its_theme_but_the_mark_of_focus(theme):
    style = (TEMPLATES / "page.css").read_text("utf-8")
    own = set(re.findall(r"(?<![\w&])#[0-9A-Fa-f]{6}\b(?=[;\s])", style))
    assert own == {"#5B85D5"}
    assert contrast("#5B85D5", page_colors(theme is DARK)["ground"]) >= 3.0
    used = set(re.findall(r"var\(--([a-z-]+)\)", style))
    assert used <= set(page_colors(theme is DARK))


@themes
def test_contrast_by_the_formula_of_wcag_holds_at_its_ends(theme):
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast(theme.ink, theme.ink) == 1.0
    assert contrast(theme.ink, theme.ground) > 15.0
