"""The calculation sheet: one HTML file to print, offline, no script."""

from __future__ import annotations

from importlib.resources import files

from analyzer.analysis import Analysis
from analyzer.reports.content import content_of
from analyzer.reports.hand_check import hand_checks
from analyzer.reports.plain_text import plain_text
from analyzer.reports.words import paper_name

__all__ = ["sheet_html"]


def sheet_html(analysis: Analysis) -> str:
    """Return the calculation sheet of an analysis as one HTML page.

    Inputs, assumptions, geometry, results both ways, checks with clause, hand check, cautions.
    It prints on letter paper, of metric jobs on A4. Text from files is escaped; equal input gives
    equal bytes.

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
    content = content_of(analysis)
    checks = [hand_checks(run, analysis) for run in analysis.runs]
    runs = list(zip(content.runs, checks, strict=True))
    paper = paper_name(analysis.job.units)
    return plain_text(template.render(content=content, runs=runs, paper=paper))
