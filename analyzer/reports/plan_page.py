"""The plan for the crew as one printable HTML page, offline, no script."""

from __future__ import annotations

from importlib.resources import files

from analyzer.reports.plain_text import plain_text
from analyzer.reports.plan_content import PlanContent
from analyzer.reports.words import paper_name

__all__ = ["plan_html"]


def plan_html(content: PlanContent, *, sensitivity: bool = False) -> str:
    """Return the plan as one HTML page: a letter page for each run, A4 where the job is metric.

    Many set-ups take more pages. Text from files is escaped; equal input gives equal bytes.

    Parameters
    ----------
    content : PlanContent
        What is to be said.
    sensitivity : bool
        Whether to add the table of what moves the answer, on a page of its own.
    """
    from jinja2 import Environment, StrictUndefined

    folder = files("analyzer.reports").joinpath("templates")
    environment = Environment(
        autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    template = environment.from_string(folder.joinpath("plan.html.j2").read_text("utf-8"))
    paper = paper_name(content.units)
    return plain_text(template.render(content=content, sensitivity=sensitivity, paper=paper))
