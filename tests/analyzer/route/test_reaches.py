"""Which runs are near a fitting: the few that are measured are those that measuring all finds."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from analyzer.geometry.bends import read_bends
from analyzer.geometry.drawn import DrawnEdge, DrawnPath
from analyzer.geometry.segments import Straight, Vector
from analyzer.job.settings import FittingKind
from analyzer.route.claims import TOUCHING_M
from analyzer.route.paths import Extents, PathToPlace
from analyzer.route.reaches import Reaches

SNAP_M = 0.5
whole = st.integers(-4, 4).map(float)
points = st.tuples(whole, whole, st.sampled_from([0.0, 3.0]))


@dataclass(frozen=True)
class Drawn:
    """A fitting as drawn."""

    position_m: Vector
    extents_m: Extents | None
    layout: str = ""
    name: str = "Box"
    kind: FittingKind = FittingKind.PULL_BOX
    where: str = ""
    path: int | None = None
    vertex: int | None = None
    numbered: str = ""


def run(start: Vector, end: Vector, layout: str) -> PathToPlace:
    path = DrawnPath((DrawnEdge(Straight(start, end)),))
    return PathToPlace("run", path, lambda _kept: read_bends(path, corner_radius_m=None), layout)


@st.composite
def files(draw: st.DrawFn) -> list[PathToPlace]:
    ends = st.tuples(points, points).filter(lambda pair: pair[0] != pair[1])
    layouts = st.sampled_from(["", "Sheet"])
    return [run(*draw(ends), draw(layouts)) for _ in range(draw(st.integers(1, 6)))]


def reaches_of(paths: list[PathToPlace]) -> Reaches:
    return Reaches(paths, [path.read(frozenset()) for path in paths])


def about(away_m: float) -> float:
    return max(1.5 * away_m, away_m + TOUCHING_M)


@given(paths=files(), point=points, offset=st.floats(0.0, 0.9))
def test_nearest_runs_are_those_of_measuring_all(
    paths: list[PathToPlace], point: Vector, offset: float
) -> None:
    reaches, place = reaches_of(paths), (point[0] + offset, point[1], point[2])
    away = sorted((reach.distance_m(place), k) for k, reach in enumerate(reaches.of_run))
    expected = [(k, off) for off, k in away if off <= about(away[0][0])]
    assert reaches.nearest(place, range(len(paths))) == expected


@given(paths=files(), point=points, offset=st.floats(0.0, 0.9), half=st.sampled_from([0.0, 0.3, 2]))
def test_runs_within_snap_are_those_of_its_layout_that_measuring_finds(
    paths: list[PathToPlace], point: Vector, offset: float, half: float
) -> None:
    reaches, (x, y, z) = reaches_of(paths), (point[0] + offset, point[1], point[2])
    extents = ((x - half, y - half, z), (x + half, y + half, z)) if half else None
    expected = []
    for k, reach in enumerate(reaches.of_run):
        if paths[k].layout:
            continue
        away = reach.distance_m((x, y, z))
        edge = reach.symbol_distance_m(extents) if extents else away
        if away <= SNAP_M:
            expected.append((k, away, False))
        elif edge <= SNAP_M:
            expected.append((k, edge, True))
    assert reaches.within(Drawn((x, y, z), extents), SNAP_M) == expected
