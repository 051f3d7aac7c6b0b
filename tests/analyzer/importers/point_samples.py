"""What tests of point files share: a job that says nothing, and what was read as plain lists."""

from __future__ import annotations

import pytest

from analyzer.findings import Finding
from analyzer.importers.drawn_file import DrawnFile
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


def points(drawn: DrawnFile, path: int = 0) -> list[list[float]]:
    return drawn.paths[path].vertices_m.tolist()


def codes(drawn: DrawnFile) -> list[str]:
    return [finding.code for finding in drawn.findings]


def near(rows):
    return [pytest.approx(row, abs=1e-12) for row in rows]


def only(drawn: DrawnFile, code: str) -> Finding:
    """The one finding with a code."""
    (found,) = [finding for finding in drawn.findings if finding.code == code]
    return found
