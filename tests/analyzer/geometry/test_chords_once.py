"""What reading chords asks of the same vertices again and again is worked out once."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from drawn_ways import CORNER_M, R, arc_points, lines, straight_after

from analyzer.geometry.bends import read_bends
from analyzer.geometry.chords import circle_runs, laid_arcs, rounded_arcs, told_runs
from analyzer.geometry.chords.chord_runs import find_chord_runs
from analyzer.geometry.chords.circle_runs import CircleRun
from analyzer.geometry.chords.tangencies import common_tangent
from analyzer.geometry.circle_fit import fit_circle


def test_a_circle_is_fitted_once_however_many_tolerances_are_tried(monkeypatch) -> None:
    """Chords of 3° that are off by up to 0.05 mm on no grid: looser tolerances are tried."""
    fitted: list[bytes] = []

    def fit(points_m):
        fitted.append(points_m.tobytes())
        return fit_circle(points_m)

    monkeypatch.setattr(circle_runs, "fit_circle", fit)
    rows = np.array([(0, 0, 0), *arc_points(31), straight_after(pi / 2)])
    rows += np.random.default_rng(8).uniform(-5e-5, 5e-5, rows.shape)
    read_bends(lines(rows.tolist()), corner_radius_m=CORNER_M)
    assert len(fitted) > 50
    assert len(set(fitted)) == len(fitted)


def test_what_two_runs_tell_is_asked_once_however_often_they_are_judged(monkeypatch) -> None:
    """Uneven chords to the millimeter, tangent points left out: runs are judged again and again."""
    joined: list[tuple[CircleRun, CircleRun]] = []

    def tangent(stretch, one, other):
        joined.append((one, other))
        return common_tangent(stretch, one, other)

    monkeypatch.setattr(told_runs, "common_tangent", tangent)
    rng = np.random.default_rng(4)
    place, way, rows = 0.0 + 0.0j, 0.0, [0.0 + 0.0j]
    for turn in (0.8, -0.8, 0.8, -0.8):
        place += 2.0 * np.exp(1j * way)
        steps = np.cumsum(rng.uniform(0.7, 1.3, 8))
        at = way + turn * steps / steps[-1]
        arc = place + np.sign(turn) * 1j * (np.exp(1j * way) - np.exp(1j * at))
        rows += list(arc[:-1])
        place, way = arc[-1], way + turn
    rows = np.round([*rows, place + 2.0 * np.exp(1j * way)], 3)
    points = np.column_stack([rows.real, rows.imag, np.zeros(len(rows))])
    assert find_chord_runs(points, 1e-3)
    assert joined
    assert len(set(joined)) == len(joined)


def test_a_radius_is_sought_among_vertices_only_where_that_of_the_chords_fails(monkeypatch) -> None:
    def seek(*_args):
        raise AssertionError("the radius of the chords passes the vertices")

    monkeypatch.setattr(laid_arcs, "_passing_radius_m", seek)
    path = lines([(0, 0, 0), *arc_points(9), straight_after(pi / 2)])
    (bend,) = read_bends(path, corner_radius_m=CORNER_M).bends
    assert bend.radius_m == pytest.approx(R, rel=1e-6)


def test_the_straight_beside_rounded_chords_is_followed_once(monkeypatch) -> None:
    followed: list[tuple[int, int, int]] = []
    follow = rounded_arcs._far_end

    def far_end(line, *asked):
        followed.append(asked)
        return follow(line, *asked)

    monkeypatch.setattr(rounded_arcs, "_far_end", far_end)
    rows = np.array([(0, 0, 0), (1, 0, 0), *arc_points(17), straight_after(pi / 2)])
    found = rounded_arcs.find_rounded_arcs(np.round(rows / 0.003) * 0.003, 0.003, coarser_too=True)
    assert len(found) == 1
    assert len(set(followed)) == len(followed)
