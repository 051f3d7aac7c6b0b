"""The command starts light: no graphics library for help or for a check."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
DRAWING = {"pyvista", "vtk", "vtkmodules", "matplotlib", "plotly"}
HEAVY = {"numpy", "scipy", "ezdxf", "trimesh", "pydantic", "rich", "openpyxl", "jinja2"}
PROGRAM = """\
import json, sys
from analyzer.cli.main import main
try:
    code = main(sys.argv[1:])
except SystemExit as stop:
    code = stop.code
sys.stderr.write("\\n" + json.dumps([code or 0, sorted(sys.modules)]))
"""


def run_command(*arguments: str) -> tuple[int, set[str], str]:
    """Exit code, modules loaded, and what was printed by a command in a fresh interpreter."""
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, *arguments],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    code, modules = json.loads(done.stderr.splitlines()[-1])
    return code, set(modules), done.stdout


def an_example() -> Path:
    """A point file with a job beside it, the first by name."""
    routes = sorted((ROOT / "example_paths").glob("*.csv"))
    assert routes, "example_paths holds no point file"
    return routes[0]


@pytest.mark.parametrize("arguments", [["--help"], ["check", "--help"]], ids=" ".join)
def test_help_loads_nothing_heavy(arguments):
    code, modules, printed = run_command(*arguments)
    assert code == 0
    assert "usage" in printed
    assert not modules & (DRAWING | HEAVY)


def test_check_loads_no_graphics_library():
    route = an_example()
    code, modules, printed = run_command(
        "check", str(route), "--job", str(route.with_suffix(".toml"))
    )
    assert code in (0, 1)
    assert printed.strip()
    assert "numpy" in modules, "the check did not run in this process"
    assert not modules & DRAWING
