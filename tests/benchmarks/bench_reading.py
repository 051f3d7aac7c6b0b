"""Time to read a drawing of many runs, or of a long one: twice as many, about twice the time.

Run: python tests/benchmarks/bench_reading.py [largest number of runs]

Runs beside each other, each with a panel at its start and a box on it; runs from one place in all
directions; and one run of uneven chords written to 0.01 ft, five vertices for each run of the
others. Each row is compared with half as many in the same minute. Processor time, so that
other work on the machine does not count.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from math import cos, radians, sin
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Any

import ezdxf
import numpy as np

from analyzer import open_route
from analyzer.job.settings import DrawingSettings, Job, Limits, PullSettings
from analyzer.units import UnitSystem

JOB = Job(
    title="",
    units=UnitSystem.US,
    drawing=DrawingSettings(),
    raceway=None,
    bender=None,
    bend_radius_m=0.3,
    conductors=(),
    existing=(),
    pull=PullSettings(),
    limits=Limits(),
    fittings=(),
)
RACEWAY = {"layer": "E-RACEWAY"}


def boxes(space: Any, count: int) -> int:
    """Draw parallel runs 5 ft apart with a panel and a box each, and return how many."""
    for y in range(0, 5 * count, 5):
        space.add_line((0, y, 0), (30, y, 0), dxfattribs=RACEWAY)
        space.add_blockref("PANEL", (0, y, 0))
        space.add_blockref("PULL_BOX", (15, y, 0))
    return count


def fan(space: Any, count: int) -> int:
    """Draw runs that start at one place, and return how many."""
    for k in range(count):
        end = (30 * cos(k), 30 * sin(k), 0.1 + 0.01 * k)
        space.add_line((0, 0, 0), end, dxfattribs=RACEWAY)
    return count


def uneven(space: Any, count: int) -> int:
    """Draw one run of bends in eight chords, their lengths 30 % off, written to 0.01 ft."""
    rng = np.random.default_rng(2026)
    place, way, rows = np.zeros(2), 0.0, [np.zeros(2)]
    while len(rows) < 5 * count:
        place = place + rng.uniform(3.0, 13.0) * np.array([cos(way), sin(way)])
        turn = radians(rng.choice([30.0, 45.0, 60.0, 90.0])) * (1 if way <= 0.0 else -1)
        radius = rng.uniform(2.0, 5.0)
        shares = np.cumsum(1.0 + rng.uniform(-0.3, 0.3, 8))
        at = way + turn * np.concatenate([[0.0], shares / shares[-1]])
        arms = np.copysign(radius, turn) * np.column_stack([np.sin(at), -np.cos(at)])
        rows += list(place + arms - arms[0])
        place, way = rows[-1], way + turn
    rows.append(place + 10.0 * np.array([cos(way), sin(way)]))
    space.add_polyline3d(
        [(round(float(x), 2), round(float(y), 2), 10.0) for x, y in rows], dxfattribs=RACEWAY
    )
    return 1


def seconds_to_read(draw: Callable[[Any, int], int], count: int, folder: Path) -> float:
    """Processor time to read a drawing of so many runs, or of one so long."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 2
    for name in ("PANEL", "PULL_BOX"):
        document.blocks.new(name).add_line((-0.3, 0), (0.3, 0))
    runs = draw(document.modelspace(), count)
    path = folder / "drawing.dxf"
    document.saveas(path)
    start = process_time()
    assert len(open_route(path, JOB).runs) == runs
    return process_time() - start


def main() -> None:
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    sys.stdout.write(" drawn     size  seconds  growth\n")
    with TemporaryDirectory() as folder:
        for draw in (boxes, fan, uneven):
            seconds_to_read(draw, 3, Path(folder))  # what is done once, such as loading tables
            count, before = largest // 4, 0.0
            while count <= largest:
                taken = seconds_to_read(draw, count, Path(folder))
                growth = f"{taken / before:.2f}x" if before else ""
                sys.stdout.write(f" {draw.__name__:<6} {count:>7} {taken:>8.2f} {growth:>7}\n")
                before, count = taken, count * 2


if __name__ == "__main__":
    main()
