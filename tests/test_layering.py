"""The layer table: what each module may import, read from its source and from a fresh start."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
LAYERS = [
    {"errors"},
    {"units"},
    {"findings"},
    {"geometry", "catalog"},
    {"job"},
    {"route"},
    {"importers", "pulling"},
    {"checks"},
    {"analysis"},
    {"studies"},
    {"reports"},
    {"cli"},
]
RANK = {part: rank for rank, parts in enumerate(LAYERS) for part in parts}
HOMES = {
    "ezdxf": ("importers",),
    "trimesh": (),
    "scipy": ("geometry", "pulling", "studies"),
    "pydantic": ("job",),
    "pyvista": (),
    "vtk": (),
    "vtkmodules": (),
    "matplotlib": (),
}
STRANGERS = {
    "geometry/survey": ("geometry.chords", "geometry.features"),
    "geometry/chords": ("geometry.survey", "geometry.features"),
    "geometry/features": ("geometry.survey", "geometry.chords"),
    "importers/points": ("importers.drawings", "importers.chaining"),
    "importers/drawings": ("importers.points",),
    "importers/chaining": ("importers.points", "importers.drawings"),
}
DRAWING = ("pyvista", "vtk", "vtkmodules", "matplotlib")
ANALYZER = sorted((ROOT / "analyzer").rglob("*.py"))
VIEWER = sorted((ROOT / "viewer").rglob("*.py"))


def name_of(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imports_of(source: str) -> Iterator[str]:
    """Full names of everything a source imports, wherever in the file; relative ones as ``.``."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                yield "."
            elif (node.module or "").split(".")[0] == "analyzer":
                yield from (f"{node.module}.{alias.name}" for alias in node.names)
            else:
                yield node.module or ""


def part_of(path: Path) -> str:
    """Layer name of a module of the analyzer; empty for the package itself."""
    first = path.relative_to(ROOT / "analyzer").parts[0].removesuffix(".py")
    return "" if first == "__init__" else first


def wrong_layers(part: str, source: str) -> list[str]:
    """Imports that a module of this layer may not have."""
    wrong = []
    for name in imports_of(source):
        words = name.split(".")
        if words[0] in ("viewer", ""):
            wrong.append(name)
        elif words[0] == "analyzer" and part:
            target = words[1] if len(words) > 1 else ""
            if target != part and not RANK.get(target, len(LAYERS)) < RANK[part]:
                wrong.append(name)
    return wrong


def wrong_homes(place: str, source: str) -> list[str]:
    """Imports of libraries that do not belong in this module of the analyzer."""
    return [
        name
        for name in imports_of(source)
        for library, homes in HOMES.items()
        if name.split(".")[0] == library
        and not any(place == home or place.startswith(f"{home}/") for home in homes)
    ]


def wrong_rooms(place: str, source: str) -> list[str]:
    """Imports of packages within a layer that this module is to know nothing of."""
    return [
        name
        for name in imports_of(source)
        for room, strangers in STRANGERS.items()
        if place.startswith(f"{room}/")
        and any(f"{name}.".startswith(f"analyzer.{stranger}.") for stranger in strangers)
    ]


def run_fresh(code: str) -> list[str]:
    """Names of the modules loaded after running code in a fresh interpreter."""
    full = f"{code}\nimport json, sys\nprint(json.dumps(sorted(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", full], capture_output=True, text=True, check=True, cwd=ROOT
    )
    modules: list[str] = json.loads(done.stdout.splitlines()[-1])
    return modules


@pytest.mark.parametrize("path", ANALYZER, ids=name_of)
def test_module_belongs_to_a_layer_and_imports_lower_ones_only(path):
    part = part_of(path)
    assert part == "" or part in RANK, f"{part} is in no layer"
    assert wrong_layers(part, path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", ANALYZER, ids=name_of)
def test_library_is_used_in_its_home_only(path):
    place = path.relative_to(ROOT / "analyzer").as_posix()
    assert wrong_homes(place, path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", ANALYZER, ids=name_of)
def test_packages_within_a_layer_know_nothing_of_each_other(path):
    place = path.relative_to(ROOT / "analyzer").as_posix()
    assert wrong_rooms(place, path.read_text("utf-8")) == []


@pytest.mark.parametrize("path", VIEWER, ids=name_of)
def test_viewer_never_imports_the_command_line(path):
    names = list(imports_of(path.read_text("utf-8")))
    assert not [name for name in names if name == "." or f"{name}.".startswith("analyzer.cli.")]


@pytest.mark.parametrize(
    ("part", "line"),
    [
        ("geometry", "from analyzer.catalog.raceways import Raceway"),
        ("catalog", "from analyzer import job"),
        ("job", "from analyzer.route.run import Run"),
        ("importers", "def f():\n    from analyzer.pulling.results import Pull"),
        ("errors", "from analyzer.units import ft"),
        ("reports", "import viewer.scene"),
        ("checks", "from .check import Check"),
        ("route", "import analyzer"),
        ("pulling", "from analyzer import open_route"),
    ],
)
def test_wrong_layer_would_be_found(part, line):
    assert wrong_layers(part, line)


def run_imports(path: Path) -> set[str]:
    """Modules a module imports when it runs, at its head or inside a function."""
    tree = ast.parse(path.read_text("utf-8"))
    told = [
        n for n in ast.walk(tree) if isinstance(n, ast.If) and "TYPE_CHECKING" in ast.dump(n.test)
    ]
    typing_only = {id(node) for block in told for node in ast.walk(block)}
    return {
        node.module
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module and id(node) not in typing_only
    }


def test_modules_of_the_viewer_import_each_other_in_no_circle():
    graph = {f"viewer.{path.stem}": run_imports(path) for path in VIEWER}
    assert tuple(TopologicalSorter(graph).static_order())


@pytest.mark.parametrize(
    ("place", "line"),
    [
        ("geometry/bends.py", "import trimesh"),
        ("geometry/segments.py", "from ezdxf.math import Vec3"),
        ("checks/fill.py", "def f():\n    from scipy.optimize import brentq"),
        ("reports/pictures.py", "import matplotlib.pyplot"),
        ("route/run.py", "import pydantic"),
    ],
)
def test_library_away_from_home_would_be_found(place, line):
    assert wrong_homes(place, line)


@pytest.mark.parametrize(
    ("place", "line"),
    [
        ("importers/points/units.py", "from analyzer.importers.drawings.units import settled_unit"),
        ("geometry/chords/tangencies.py", "from analyzer.geometry import survey"),
        ("geometry/survey/fit.py", "def f():\n    from analyzer.geometry.features import kinds"),
    ],
)
def test_a_stranger_would_be_found(place, line):
    assert wrong_rooms(place, line)


def test_every_layer_of_the_table_is_there():
    assert {part_of(path) for path in ANALYZER} >= set(RANK) - {"studies"}


def test_importing_the_analyzer_loads_no_heavy_library():
    heavy = (*DRAWING, "ezdxf", "trimesh", "scipy", "numpy", "pydantic", "plotly", "openpyxl")
    assert not set(run_fresh("import analyzer")) & set(heavy)


def test_using_every_public_name_loads_no_drawing_library():
    code = "import analyzer\nfor name in analyzer.__all__:\n    getattr(analyzer, name)"
    assert not set(run_fresh(code)) & set(DRAWING)
