"""Reading grows in step with what is drawn: work is counted in calls, not in seconds."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from dxf_samples import job, save

from analyzer import open_route
from analyzer.units import inches


def boxes_on_runs(space: Any, count: int) -> None:
    """Parallel runs 24 in apart, each with a panel at its start and a box on it."""
    for y in range(0, 24 * count, 24):
        space.add_line((0, y, 0), (360, y, 0), dxfattribs={"layer": "RW"})
        space.add_blockref("PANEL", (0, y, 0))
        space.add_blockref("PULL_BOX", (180, y, 0))


def calls_to_read(folder: Path, count: int) -> int:
    """How many functions are called to read a drawing of so many runs."""

    def drawn(document: Any, space: Any) -> None:
        for name in ("PULL_BOX", "PANEL"):
            document.blocks.new(name).add_line((-4, 0), (4, 0))
        boxes_on_runs(space, count)

    path = save(folder, drawn)
    calls = 0

    def counted(_frame: Any, event: str, _value: Any) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(counted)
    try:
        route = open_route(path, job(snap_m=inches(6)))
    finally:
        sys.setprofile(before)
    assert len(route.runs) == count
    return calls


def test_twice_the_runs_and_boxes_take_about_twice_the_calls(tmp_path: Path) -> None:
    calls_to_read(tmp_path, 3)  # what is done once, such as loading tables
    once, twice = (calls_to_read(tmp_path, count) for count in (30, 60))
    assert twice < 2.0 * once
