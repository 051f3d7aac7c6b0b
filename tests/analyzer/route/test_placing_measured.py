"""Boxes at corners of a measured run: kept corners, and how often the points are read for them."""

from __future__ import annotations

import numpy as np
import pytest

from analyzer.importers import reading
from analyzer.importers.reading import open_route
from analyzer.job.reading import parse_job
from analyzer.route import placing
from analyzer.route.run import Run

JOB = """
[drawing]
accuracy = "2 mm"
[raceway]
type = "EMT"
trade_size = "2"
[[conductors]]
count = 3
size = "4/0"
insulation = "THHN"
metal = "copper"
"""


def stairs(corners: int, seed: int) -> tuple[str, str]:
    """Rows of a run that turns left and right by 90 degrees, and the boxes at its corners."""
    place, ahead, next_ahead = np.zeros(3), np.eye(3)[0], np.eye(3)[1]
    points, boxes = [], ""
    for leg in range(corners + 1):
        points += [place + step * ahead for step in np.arange(0.0, 2.0, 0.2)]
        place = place + 2.0 * ahead
        ahead, next_ahead = next_ahead, ahead
        if leg < corners:
            at = ", ".join(f'"{value:.3f} m"' for value in place)
            boxes += f'[[fittings]]\nname = "Box {leg}"\nkind = "pull box"\nposition = [{at}]\n'
    noise = np.random.default_rng(seed).normal(0.0, 0.002, (len(points) + 1, 3))
    rows = np.array([*points, place]) + noise
    return "".join("%.4f,%.4f,%.4f\n" % tuple(row) for row in rows), boxes


def read_counted(tmp_path, monkeypatch, corners: int) -> tuple[Run, int]:
    count = 0
    reads = reading.read_bends

    def counted(*args, **kwargs):
        nonlocal count
        count += 1
        return reads(*args, **kwargs)

    monkeypatch.setattr(reading, "read_bends", counted)
    rows, boxes = stairs(corners, 3)
    path = tmp_path / "shots.csv"
    path.write_text("x_m,y_m,z_m\n" + rows)
    (run,) = open_route(path, parse_job(JOB + boxes)).runs
    return run, count


def test_corners_of_measured_points_in_boxes_are_kept_in_one_more_reading(
    tmp_path, monkeypatch
) -> None:
    run, count = read_counted(tmp_path, monkeypatch, 4)
    assert [bend.in_fitting for bend in run.bends] == [True] * 4
    assert [fitting.station_m for fitting in run.fittings[1:-1]] == pytest.approx(
        [2.0, 4.0, 6.0, 8.0], abs=0.02
    )
    assert count == 2


def test_a_corner_that_cannot_be_kept_hinders_no_other(tmp_path, monkeypatch) -> None:
    """Of all boxes together, and of the third by itself, one is not sound: the rest stay kept."""
    turned = placing.turned_as_fitted
    monkeypatch.setattr(
        placing,
        "turned_as_fitted",
        lambda before, after: before.number != 3 and turned(before, after),
    )
    run, count = read_counted(tmp_path, monkeypatch, 4)
    assert [bend.in_fitting for bend in run.bends] == [True, True, False, True]
    assert count == 1 + 1 + 4 + 1
