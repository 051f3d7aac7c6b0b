"""Every example route is listed in README with the verdict it gets (our own runs, regression)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from analyzer.analysis import Analysis, analyze
from analyzer.importers.reading import open_route
from analyzer.job.reading import read_job

ROOT = Path(__file__).parents[2]
ROUTES = sorted(p for p in (ROOT / "example_paths").iterdir() if p.suffix in (".csv", ".dxf"))


def analyzed(route: Path) -> Analysis:
    job = read_job(route.with_suffix(".toml"))
    found = open_route(route, job)
    return analyze(found.runs, job, found.findings)


def listed() -> dict[str, str]:
    rows = re.findall(
        r"^\| `(\w+\.(?:dxf|csv))` \| [^|]+ \| (\w[\w ]*?) \|",
        (ROOT / "README.md").read_text(encoding="utf-8"),
        re.MULTILINE,
    )
    return dict(rows)


def test_readme_lists_every_example() -> None:
    assert sorted(listed()) == [p.name for p in ROUTES]


@pytest.mark.parametrize("route", ROUTES, ids=lambda p: p.name)
def test_example_gets_the_verdict_that_readme_lists(route: Path) -> None:
    (run,) = analyzed(route).runs
    assert run.verdict.value == listed()[route.name]


def test_chord_export_gives_the_bends_and_tensions_of_the_true_arcs() -> None:
    arcs, chords = (
        analyzed(ROOT / "example_paths" / name).runs[0]
        for name in ("overhead_feeder.dxf", "overhead_feeder_chords.dxf")
    )
    assert chords.run.read_as.value == "chords"
    assert arcs.run.read_as.value == "arcs"
    for one, other in zip(arcs.run.bends, chords.run.bends, strict=True):
        assert other.angle_rad == pytest.approx(one.angle_rad, abs=1e-8)
        assert other.radius_m == pytest.approx(one.radius_m, rel=1e-6)
    for one, other in zip(arcs.legs, chords.legs, strict=True):
        for way in ("forward", "reverse"):
            assert getattr(other, way).high.exit_tension_n == pytest.approx(
                getattr(one, way).high.exit_tension_n, rel=1e-6
            )


def test_the_script_writes_the_routes_that_stand_beside_it(tmp_path: Path) -> None:
    import runpy

    script = runpy.run_path(str(ROOT / "example_paths" / "make_examples.py"))
    script["write_all"](tmp_path)
    for path in (*ROUTES, *(p.with_suffix(".toml") for p in ROUTES)):
        if path.suffix == ".dxf":
            continue
        assert (tmp_path / path.name).read_bytes() == path.read_bytes()
    for path in (p for p in ROUTES if p.suffix == ".dxf"):
        job = read_job(path.with_suffix(".toml"))
        fresh = open_route(tmp_path / path.name, job).runs[0]
        assert fresh.centerline == open_route(path, job).runs[0].centerline
