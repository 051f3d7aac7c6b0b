"""How fast the command starts: help and a check against the bare interpreter.

Run it as ``python tests/benchmarks/bench_start_up.py [ROUNDS]``. Goals: `raceway --help` within
60 ms of the bare interpreter, `raceway check` of an example under 1 s as a whole process on two
cores. Rounds alternate, so that a busy machine weighs on all alike; medians are printed.
"""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path
from statistics import median

ROOT = Path(__file__).parents[2]
EXAMPLE = str(ROOT / "example_paths" / "overhead_feeder.dxf")
COMMAND = "import sys; from analyzer.cli.main import main; sys.exit(main({!r}))"
CASES = {
    "bare interpreter": ["-c", "pass"],
    "raceway --help": ["-c", COMMAND.format(["--help"])],
    "raceway check (DXF)": ["-c", COMMAND.format(["check", EXAMPLE])],
    "raceway check (CSV)": [
        "-c",
        COMMAND.format(["check", str(ROOT / "example_paths" / "riser.csv")]),
    ],
    "import numpy (peer)": ["-c", "import numpy"],
}


def seconds(arguments: list[str]) -> float:
    """Return the wall time of one run of the interpreter."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=False, capture_output=True, cwd=ROOT)
    return time.perf_counter() - start


def main(rounds: int) -> None:
    """Print medians and ratios against the bare interpreter."""
    times: dict[str, list[float]] = {name: [] for name in CASES}
    for _ in range(rounds):
        for name, arguments in CASES.items():
            times[name].append(seconds(arguments))
    bare = median(times["bare interpreter"])
    for name, values in times.items():
        print(
            f"{name:22} {1000 * median(values):7.0f} ms, {1000 * (median(values) - bare):7.0f} ms "
            f"over and {median(values) / bare:5.1f} times the bare interpreter"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 7)
