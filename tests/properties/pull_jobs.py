"""Jobs and runs of our own for tests of the pull: stated conductors, no file behind them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import pi

from analyzer.catalog.conductors import Conductor
from analyzer.catalog.raceways import Raceway
from analyzer.geometry.centerline import Centerline
from analyzer.geometry.readings import ReadAs
from analyzer.job.settings import (
    ConductorLine,
    DrawingSettings,
    FittingKind,
    Friction,
    Job,
    Limits,
    Passage,
    PullSettings,
)
from analyzer.route.run import Fitting, Run, RunInput
from analyzer.units import UnitSystem, inches, lbf, to_inches


def stated_conductor(
    weight_n_per_m: float = 3.0, diameter_m: float = 0.015, **changes: object
) -> Conductor:
    plain = Conductor(
        name="test conductor", size=None, insulation=None, metal=None, temper=None,
        stranding=None, diameter_m=diameter_m,
        area_in2=pi / 4 * to_inches(diameter_m) ** 2, weight_n_per_m=weight_n_per_m,
        weight_from="stated", weight_allowance=1.0, metal_area_cmil=None,
        max_tension_n=lbf(1000.0), insulation_class=None, confirmed=True, source="job",
    )  # fmt: skip
    return replace(plain, **changes)


def raceway_of(inside_diameter_m: float) -> Raceway:
    return Raceway(
        type="EMT", trade_size="2", inside_diameter_m=inside_diameter_m,
        outside_diameter_m=None, area_in2=pi / 4 * to_inches(inside_diameter_m) ** 2,
        bend_radius_m=(("one-shot", inches(9.5)),), default_bender="one-shot", confirmed=True,
        source="test",
    )  # fmt: skip


def job_with(
    conductors: Sequence[tuple[int, Conductor]] | None = None,
    friction: tuple[float, float, float] | float = 0.35,
    raceway: Raceway | None = None,
    existing: Sequence[tuple[int, Conductor]] = (),
    limits: Limits | None = None,
    **pull: object,
) -> Job:
    band = (friction,) * 3 if isinstance(friction, (int, float)) else friction
    lines = [(1, stated_conductor())] if conductors is None else conductors
    return Job(
        title="test", units=UnitSystem.US, drawing=DrawingSettings(), raceway=raceway,
        bender=None, bend_radius_m=None,
        conductors=tuple(ConductorLine(count, item) for count, item in lines),
        existing=tuple(ConductorLine(count, item) for count, item in existing),
        pull=PullSettings(friction=Friction(*band), **pull),
        limits=Limits() if limits is None else limits, fittings=(),
    )  # fmt: skip


def run_with(
    centerline: Centerline,
    boxes: Sequence[tuple[float, Passage]] = (),
    feed_tension_n: dict[str, float] | None = None,
) -> Run:
    """A run with pull boxes at stations; `feed_tension_n` by fitting name."""
    feeds = feed_tension_n or {}

    def fitting(name: str, kind: FittingKind, station: float, passage: Passage) -> Fitting:
        place = tuple(float(x) for x in centerline.points_at([station])[0])
        return Fitting(name, kind, station, place, True, passage, True, feeds.get(name))

    middle = [
        fitting(f"Box {number}", FittingKind.PULL_BOX, station, passage)
        for number, (station, passage) in enumerate(boxes, start=1)
    ]
    ends = (
        fitting("start", FittingKind.END, 0.0, Passage.REFEED),
        fitting("end", FittingKind.END, centerline.length_m, Passage.REFEED),
    )
    origin = (0.0, 0.0, 0.0)
    source = RunInput("test.csv", "", "csv", "m", "header", (origin, origin))
    fittings = (ends[0], *middle, ends[1])
    return Run("Run 1", source, centerline, (), fittings, ReadAs.ARCS, 0.0)
