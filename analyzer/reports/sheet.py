"""The calculation sheet: one HTML file to print, offline, no script."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

from analyzer.analysis import Analysis
from analyzer.reports.content import Content, content_of
from analyzer.reports.hand_check import HandCheck, hand_checks
from analyzer.reports.plain_text import plain_text
from analyzer.reports.words import paper_name
from analyzer.units import UnitSystem

__all__ = ["sheet_html"]


def sheet_html(analysis: Analysis) -> str:
    """Return the calculation sheet of an analysis as one HTML page.

    Inputs, assumptions, geometry, results both ways, checks with clause, hand check, cautions.
    Tables of jobs in US units have SI beside every number with a unit. It prints on letter paper,
    of metric jobs on A4. Text from files is escaped; equal input gives equal bytes.

    Parameters
    ----------
    analysis : Analysis
        What `analyze` returned.
    """
    from jinja2 import Environment, StrictUndefined

    folder = files("analyzer.reports").joinpath("templates")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    template = environment.from_string(folder.joinpath("sheet.html.j2").read_text("utf-8"))
    content, checks = _told(analysis)
    beside, checks_beside = content, checks
    if analysis.job.units is UnitSystem.US:
        job = replace(analysis.job, units=UnitSystem.METRIC)
        beside, checks_beside = _told(replace(analysis, job=job))
    runs = list(zip(content.runs, checks, beside.runs, checks_beside, strict=True))
    paper = paper_name(analysis.job.units)
    return plain_text(template.render(content=content, beside=beside, runs=runs, paper=paper))


def _told(analysis: Analysis) -> tuple[Content, list[tuple[HandCheck, ...]]]:
    """Return what the sheet says, in the units of the job."""
    return content_of(analysis), [hand_checks(run, analysis) for run in analysis.runs]
