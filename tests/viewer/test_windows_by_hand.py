"""Every window under a real mouse on a virtual screen: clicks, drags, wheel and keys."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from shown_window import RUNS, SIZE, feeder, yard

from viewer.cases import scene_at
from viewer.compared_cases import box_cases
from viewer.head import head_at
from viewer.many import build_many
from viewer.palette import share_colors
from viewer.quantities import Quantity

pytestmark = pytest.mark.window


def near(glass, place, color):
    """Whether a color of the map stands on the screen at a place."""
    x, y = (round(value) for value in place)
    patch = glass[y - 2 : y + 3, x - 2 : x + 3].reshape(-1, 3).astype(int)
    return np.abs(patch - np.asarray(color) * 255).max(axis=1).min() < 14


def color_of(scene, station_m):
    """The color of a place of a run, by its tension."""
    leg = next(leg for leg in scene.legs if leg.start_m <= station_m <= leg.end_m)
    tension = np.interp(station_m, leg.station_m, leg.tension_n)
    return share_colors([tension / scene.scale.limit_n])[0]


def test_a_hand_drives_the_window_of_one_run(screen):
    hand = screen("run")
    analysis = feeder()
    run = analysis.runs[0]

    def expected(direction, friction):
        return scene_at(analysis, run, direction, friction, Quantity.TENSION)

    def tension(scene):
        return pytest.approx([leg.max_tension_n for leg in scene.legs])

    told = hand.settled()
    assert told["tension"] == tension(expected("forward", "expected"))
    assert hand.press("Pull", "Reverse")["direction"] == "reverse"
    told = hand.press("Pull", "Forward")

    # the friction slider: colors, labels and the screen follow while it is held
    before = told
    held = hand.slide("Friction", 1.0)
    scene = expected("forward", 0.5)
    assert held["friction"] == 0.5
    assert held["tension"] == tension(scene)
    assert held["tubes"] != before["tubes"]
    assert held["labels"] != before["labels"]
    hand.until_glass(lambda g: near(g, held["place"], color_of(scene, 14.0)), "high friction")
    hand.release()
    held = hand.slide("Friction", 0.0)
    assert held["friction"] == 0.2
    assert held["tension"] == tension(expected("forward", 0.2))
    low = color_of(expected("forward", 0.2), 14.0)
    hand.until_glass(lambda g: near(g, held["place"], low), "low friction")
    told = hand.release()
    assert told["tension"] == tension(expected("forward", 0.2))
    told = hand.press("Friction", "Expected")
    scene = expected("forward", "expected")

    # the head slider, from the end where it stands to a third of the way
    held = hand.slide("Head", 1 / 3)
    # a pixel of the track is this much of the run
    reach = (
        1.01
        * scene.length_m
        / next(c[3][2] - c[3][0] for c in held["controls"] if c[0] == "Head" and c[4] is not None)
    )
    station, force = held["head"]
    assert station == pytest.approx(scene.length_m / 3, abs=reach)
    assert force == pytest.approx(head_at(scene, station).tension_n)
    assert held["tubes"] != told["tubes"], "what lies ahead is gray"
    assert any(label.startswith("Head ") for label in held["labels"])
    text = next(c[1] for c in held["controls"] if c[0] == "Head" and c[4] is not None)
    assert " at " in text
    assert hand.release()["head"] == held["head"]
    told = hand.press("Head", "Whole pull")
    assert told["head"] is None
    assert not any(label.startswith("Head ") for label in told["labels"])

    # a box, the chart, the tube
    assert len(hand.press("Boxes", "Box A")["tension"]) == 2
    told = hand.press("Boxes", "Box A")
    left, top, right, bottom = told["chart"]
    middle = (top + bottom) / 2
    held = hand.hold((left + 50, middle), ((left + right) / 2, middle))
    assert held["head"][0] == pytest.approx(scene.length_m / 2, abs=0.1)
    told = hand.release()
    hand.click(*told["place"])
    assert hand.settled()["head"][0] == pytest.approx(14.0, abs=0.3)
    told = hand.press("Head", "Whole pull")

    # the camera, by drag, wheel and button
    _, top, right, _ = told["views"][0]
    turned = hand.hold((right - 60, top + 60), (right - 160, top + 60))
    assert abs(turned["camera"][0] - told["camera"][0]) > 1.0, "while it is held"
    told = hand.release()
    assert told["camera"][0] == pytest.approx(turned["camera"][0])
    assert hand.wheel(right - 160, top + 60, -3)["camera"][2] < 0.8 * told["camera"][2]
    plan = hand.press("View", "Plan")
    assert plan["camera"][1] == pytest.approx(89.9)

    # keys that vtk knows change nothing
    for letter in ("w", "r"):
        hand.key(letter)
    again = hand.settled()
    assert (again["camera"], again["tubes"]) == (plan["camera"], plan["tubes"])

    # as on a busy machine: two clicks come while the window still draws what came before
    hand.slow_down(0.3)
    left, top, right, bottom = hand.control("Pull", "Reverse")
    chart = again["chart"]
    assert (again["direction"], again["head"]) == ("forward", None)
    hand.sent["press"] += 2
    hand.sent["release"] += 2
    for x, y in (
        ((left + right) / 2, (top + bottom) / 2),
        ((chart[0] + chart[2]) / 2, (chart[1] + chart[3]) / 2),
    ):
        hand.do("mousemove", round(x), round(y), "click", 1)
    told = hand.settled()
    assert told["direction"] == "reverse"
    assert told["head"] is not None

    # q ends
    hand.key("q")
    hand.ended()


def test_a_hand_turns_and_walks_all_cases_of_a_comparison(screen):
    hand = screen("compare")
    analysis = feeder()
    cases = box_cases(analysis, analysis.runs[0], "forward")
    told = hand.settled()
    assert len(told["tubes"]) == len(told["views"]) == 2

    # a drag in the second view turns both
    _, top, right, _ = told["views"][1]
    turned = hand.hold((right - 60, top + 40), (right - 160, top + 80))
    assert abs(turned["camera"][0] - told["camera"][0]) > 1.0
    assert turned["seen_from"][0] == turned["seen_from"][1] != told["seen_from"][0]
    assert all(a != b for a, b in zip(turned["tubes"], told["tubes"], strict=True))
    told = hand.release()
    assert told["camera"][0] == pytest.approx(turned["camera"][0])
    assert told["seen_from"][0] == told["seen_from"][1]

    # so does one in the first, and the wheel over either zooms both
    left, top, right, _ = told["views"][0]
    turned = hand.hold((left + 60, top + 60), (left + 200, top + 60))
    assert abs(turned["camera"][0] - told["camera"][0]) > 1.0
    assert turned["seen_from"][0] == turned["seen_from"][1] != told["seen_from"][0]
    told = hand.release()
    zoomed = hand.wheel(right + 60, top + 60, -2)
    assert zoomed["camera"][2] < 0.8 * told["camera"][2]

    # the slider walks every head, while it is held
    before = zoomed
    held = hand.slide("Head", 0.5)
    for (station, force), case in zip(held["heads"], cases, strict=True):
        assert station == pytest.approx(case.scene.length_m / 2, rel=0.01)
        assert force == pytest.approx(head_at(case.scene, station).tension_n)
    assert all(any(t.startswith("Head ") for t in titles) for titles in held["labels"])
    assert all(a != b for a, b in zip(held["tubes"], before["tubes"], strict=True))
    text = next(c[1] for c in held["controls"] if c[0] == "Head" and c[4] is not None)
    assert text == "50 % of the run"
    assert hand.release()["heads"] == held["heads"]
    told = hand.press("Head", "Whole pull")
    assert told["heads"] == [None, None]
    assert not any(t.startswith("Head ") for titles in told["labels"] for t in titles)

    # buttons
    from viewer.sheet_window import VIEWS

    for name in ("Iso", "Side"):
        told = hand.press("View", name)
        assert told["view"] == name
        assert told["camera"][:2] == list(VIEWS[name])
        assert told["seen_from"][0] == told["seen_from"][1]
        assert [c[1] for c in told["controls"] if c[0] == "View" and c[2]] == [name]
    hand.key("q")
    hand.ended()


def test_a_hand_picks_runs_in_the_list_and_in_the_picture(screen):
    hand = screen("many")
    scene = build_many(yard(), "forward")
    told = hand.settled()
    assert told["window"] == "ManyWindow"
    assert told["order"] == [row.name for row in scene.rows]
    assert [row[0] for row in told["rows"]] == told["order"][: len(told["rows"])]
    assert len(told["rows"]) < RUNS, "so that the list has to be turned"

    # the list turns by its buttons and by the wheel over it
    turned = hand.press("List", "›")
    assert turned["first"] > 0
    assert turned["rows"][0][0] == told["order"][turned["first"]]
    assert hand.press("List", "‹")["first"] == 0
    x, y = SIZE[0] - 60, SIZE[1] / 2
    assert hand.wheel(x, y, 2)["first"] == 6
    told = hand.wheel(x, y, -2)
    assert told["first"] == 0

    # the view turns and zooms, and the labels come back
    left, top, right, bottom = told["views"][0]
    moved = hand.hold((left + 20, top + 20), (left + 120, top + 40))
    assert abs(moved["camera"][0] - told["camera"][0]) > 1.0
    told = hand.release()
    assert hand.wheel(left + 30, top + 30, -1)["camera"][2] < told["camera"][2]
    told = hand.press("View", "Plan")
    assert told["camera"][1] == pytest.approx(89.9)
    assert told["tubes"] != moved["tubes"]

    # a row of the list opens its run, and a button there comes back
    name, (left, top, right, bottom) = told["rows"][2]
    hand.click((left + right) / 2, (top + bottom) / 2)
    opened = hand.until(lambda s: s["window"] == "RunWindow" and s["idle"], "a run is open")
    assert opened["run"] == name == told["order"][2]
    left, top, right, bottom = hand.control("Runs", "All runs")
    hand.click((left + right) / 2, (top + bottom) / 2)
    told = hand.until(lambda s: s["opened"] == 3 and s["idle"], "all runs are shown again")
    assert told["window"] == "ManyWindow"

    # a run in the picture opens too: one of the yard's, and not its neighbor
    told = hand.press("View", "Plan")
    names = sorted(
        (name for name in told["order"] if name.startswith("Branch")),
        key=lambda name: told["middles"][name][0],
    )
    apart = [b - a for a, b in pairwise(told["middles"][name][0] for name in names)]
    assert min(apart) > 3.0
    wanted = names[4]
    hand.click(*told["middles"][wanted])
    opened = hand.until(lambda s: s["window"] == "RunWindow" and s["idle"], "a run is open")
    assert opened["run"] == wanted
    hand.key("q")
    hand.ended()
