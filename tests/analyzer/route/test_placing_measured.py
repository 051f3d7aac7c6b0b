"""Boxes at corners of a measured run: kept corners, and how often the points are read for them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from feeder_job import FEEDER_JOB

from analyzer.geometry.readings import Reading
from analyzer.geometry.segments import Vector
from analyzer.importers import reading
from analyzer.job.reading import parse_job
from analyzer.route.run import Run

JOB = f'[drawing]\naccuracy = "2 mm"\n{FEEDER_JOB}'


def stairs(corners: int, off: tuple[int, Vector] | None = None) -> tuple[str, str]:
    """Rows of a run that turns left and right by 90 degrees, and the boxes at its corners.

    The shot on one corner may be off. [m]
    """
    place, ahead, next_ahead = np.zeros(3), np.eye(3)[0], np.eye(3)[1]
    points, boxes = [], ""
    for leg in range(corners + 1):
        points += [place + step * ahead for step in np.arange(0.0, 2.0, 0.2)]
        place = place + 2.0 * ahead
        ahead, next_ahead = next_ahead, ahead
        if leg < corners:
            at = ", ".join(f'"{value:.3f} m"' for value in place)
            boxes += f'[[fittings]]\nname = "Box {leg}"\nkind = "pull box"\nposition = [{at}]\n'
    noise = np.random.default_rng(3).normal(0.0, 0.002, (len(points) + 1, 3))
    rows = np.array([*points, place]) + noise
    if off is not None:
        rows[10 * (off[0] + 1)] += off[1]
    return "".join(f"{x:.4f},{y:.4f},{z:.4f}\n" for x, y, z in rows), boxes


def read_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, rows: str, boxes: str
) -> tuple[Run, int]:
    """Return the run, and how often its points were read."""
    counted: list[None] = []
    reads = reading.read_bends

    def read_bends(*args: Any, **kwargs: Any) -> Reading:
        counted.append(None)
        return reads(*args, **kwargs)

    monkeypatch.setattr(reading, "read_bends", read_bends)
    path = tmp_path / "shots.csv"
    path.write_text("x_m,y_m,z_m\n" + rows)
    (run,) = reading.open_route(path, parse_job(JOB + boxes)).runs
    return run, len(counted)


def test_corners_of_measured_points_in_boxes_are_kept_in_one_more_reading(
    tmp_path, monkeypatch
) -> None:
    run, count = read_counted(tmp_path, monkeypatch, *stairs(4))
    assert [bend.in_fitting for bend in run.bends] == [True] * 4
    stations_m = [fitting.station_m for fitting in run.fittings[1:-1]]
    assert stations_m == pytest.approx([2.0, 4.0, 6.0, 8.0], abs=0.02)
    assert count == 2


def test_corner_that_cannot_be_kept_hinders_no_other(tmp_path, monkeypatch) -> None:
    """Together they are not sound, so each is tried; the shot makes its corner two bends."""
    run, count = read_counted(tmp_path, monkeypatch, *stairs(3, (1, (0.0, 0.06, 0.0))))
    assert [bend.in_fitting for bend in run.bends] == [True, False, False, True]
    assert count == 1 + 1 + 3 + 1


def test_corner_with_which_nothing_can_be_read_is_not_kept(tmp_path, monkeypatch) -> None:
    """Kept at a shot four inches off, the route would turn back on itself; that stops nothing."""
    run, _ = read_counted(tmp_path, monkeypatch, *stairs(3, (1, (-0.1, 0.0, 0.0))))
    assert [fitting.name for fitting in run.fittings[1:-1]] == ["Box 0", "Box 1", "Box 2"]
    assert run.bends[-1].in_fitting and not run.bends[0].in_fitting
    assert {"survey-bend-unknown", "fitting-in-bend"} <= {one.code for one in run.findings}
