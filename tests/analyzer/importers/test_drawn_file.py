"""What a file holds, with some of its paths only."""

from __future__ import annotations

from analyzer.findings import Finding, Severity
from analyzer.geometry.drawn import DrawnEdge, DrawnPath
from analyzer.geometry.segments import Straight
from analyzer.importers.drawn_file import DrawnFile, DrawnFitting, PathSource
from analyzer.job.settings import FittingKind


def _path(name: str) -> DrawnPath:
    edge = DrawnEdge(Straight((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)))
    return DrawnPath((edge,), name=name, where=name)


def _box(name: str, path: int | None) -> DrawnFitting:
    return DrawnFitting(name, FittingKind.PULL_BOX, (0.0, 0.0, 0.0), name, path=path)


FILE = DrawnFile(
    reader="csv",
    length_unit="m",
    length_unit_from="file",
    extents_m=((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)),
    paths=(_path("a"), _path("b"), _path("c")),
    fittings=(_box("on a", 0), _box("on b", 1), _box("on c", 2), _box("on none", None)),
    findings=(Finding("stray-bit", Severity.CAUTION, "left out", "row 1"),),
    ordered=(True, False, True),
    marks=((((0.0, 0.0, 0.0), "row 1"),), (((0.0, 0.0, 0.0), "row 2"),), ()),
    sources=(PathSource(frozenset("1")), PathSource(frozenset("2")), PathSource(frozenset("3"))),
    numbered=(0, 2),
    left_out=("LP1",),
)


def test_everything_of_a_path_goes_with_it_and_indices_follow() -> None:
    kept = FILE.keeping([False, True, True])
    assert [path.name for path in kept.paths] == ["b", "c"]
    assert [(one.name, one.path) for one in kept.fittings] == [
        ("on b", 0),
        ("on c", 1),
        ("on none", None),
    ]
    assert kept.ordered == (False, True)
    assert kept.marks == FILE.marks[1:]
    assert kept.sources == FILE.sources[1:]
    assert kept.numbered == (1,)


def test_what_is_told_of_the_whole_file_stays_with_some_of_its_paths() -> None:
    kept = FILE.keeping([True, False, False])
    assert (kept.extents_m, kept.findings, kept.left_out) == (
        FILE.extents_m,
        FILE.findings,
        FILE.left_out,
    )


def test_keeping_all_paths_changes_nothing() -> None:
    assert FILE.keeping([True, True, True]) == FILE
