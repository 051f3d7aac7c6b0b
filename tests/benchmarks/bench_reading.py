"""Time to read a drawing of many runs: twice the runs, about twice the time.

Run: python tests/benchmarks/bench_reading.py [largest number of runs]

Runs beside each other, each with a panel at its start and a box on it, and runs from one place in
all directions. Each row is compared with half as many in the same minute. Processor time, so that
other work on the machine does not count.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from math import cos, sin
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Any

import ezdxf

from analyzer import open_route
from analyzer.job.settings import DrawingSettings, Job, Limits, PullSettings
from analyzer.units import UnitSystem

JOB = Job(
    title="",
    units=UnitSystem.US,
    drawing=DrawingSettings(),
    raceway=None,
    bender=None,
    bend_radius_m=None,
    conductors=(),
    existing=(),
    pull=PullSettings(),
    limits=Limits(),
    fittings=(),
)
RACEWAY = {"layer": "E-RACEWAY"}


def boxes(space: Any, count: int) -> None:
    """Parallel runs 5 ft apart with a panel and a box each."""
    for y in range(0, 5 * count, 5):
        space.add_line((0, y, 0), (30, y, 0), dxfattribs=RACEWAY)
        space.add_blockref("PANEL", (0, y, 0))
        space.add_blockref("PULL_BOX", (15, y, 0))


def fan(space: Any, count: int) -> None:
    """Runs that start at one place."""
    for k in range(count):
        end = (30 * cos(k), 30 * sin(k), 0.1 + 0.01 * k)
        space.add_line((0, 0, 0), end, dxfattribs=RACEWAY)


def seconds_to_read(draw: Callable[[Any, int], None], count: int, folder: Path) -> float:
    """Processor time to read a drawing of so many runs."""
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 2
    for name in ("PANEL", "PULL_BOX"):
        document.blocks.new(name).add_line((-0.3, 0), (0.3, 0))
    draw(document.modelspace(), count)
    path = folder / "drawing.dxf"
    document.saveas(path)
    start = process_time()
    assert len(open_route(path, JOB).runs) == count
    return process_time() - start


def main() -> None:
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    sys.stdout.write(" drawn    runs  seconds  growth\n")
    with TemporaryDirectory() as folder:
        for draw in (boxes, fan):
            seconds_to_read(draw, 3, Path(folder))  # what is done once, such as loading tables
            count, before = largest // 4, 0.0
            while count <= largest:
                taken = seconds_to_read(draw, count, Path(folder))
                growth = f"{taken / before:.2f}x" if before else ""
                sys.stdout.write(f" {draw.__name__:<5} {count:>7} {taken:>8.2f} {growth:>7}\n")
                before, count = taken, count * 2


if __name__ == "__main__":
    main()
