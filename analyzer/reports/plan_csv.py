"""The plan as CSV: what it says, in the words of its page, and every figure.

A row of words has its `text` and no value; a row of figures no text. What is wrong with the job
and the files stands first, then each run as on its page, then what to mind.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from io import StringIO

from analyzer.reports.plan_content import PlanContent, RunPlanContent, plan_content
from analyzer.reports.plan_figures import PlanFigure, plan_figures
from analyzer.studies.plan import PullPlan
from analyzer.units import to_ft, to_gallons, to_inches, to_lbf, to_lbf_per_ft

__all__ = ["plan_csv"]

_COLUMNS = (
    "run", "set_up", "item", "place", "value", "unit", "us_value", "us_unit", "depends_on", "text",
)  # fmt: skip
_US = {
    "N": ("lbf", to_lbf),
    "N/m": ("lbf/ft", to_lbf_per_ft),
    "m": ("ft", to_ft),
    "m (radius)": ("in", to_inches),
    "m3": ("gal", to_gallons),
}


def plan_csv(plan: PullPlan) -> str:
    """Return the plan as CSV: its words, and its figures in SI and US units.

    Parameters
    ----------
    plan : PullPlan
        What `plan_pull` returned.

    Returns
    -------
    str
        One row a sentence or figure. `depends_on` names what a figure changes with.
    """
    content, figures = plan_content(plan), plan_figures(plan)
    stream = StringIO()
    writer = csv.DictWriter(stream, _COLUMNS, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(_words("error", text) for text in content.errors)
    for run in content.runs:
        writer.writerows({**row, "run": _plain(run.name)} for row in _run_words(run))
        writer.writerows(_figure(figure) for figure in figures if figure.run == run.name)
    writer.writerows(_closing(content))
    return stream.getvalue()


def _words(item: str, text: str, place: str = "") -> dict[str, str]:
    return {"item": item, "place": place, "text": _plain(text)}


def _run_words(run: RunPlanContent) -> Iterator[dict[str, str]]:
    yield _words("verdict", run.verdict.value)
    yield _words("headline", run.headline)
    for text in run.problems:
        yield _words("problem", text)
    for fact in run.given:
        yield _words("given", fact.text, fact.name)
    for number, item in enumerate(run.set_ups, start=1):
        for name, text in (
            ("set-up", item.title),
            ("stop", item.stop),
            ("why", item.why),
            ("margin", item.margin),
            ("bounds", item.bounds),
        ):
            if text:
                yield {**_words(name, text), "set_up": str(number)}
    yield _words("limits", run.limits)
    for fact in run.facts:
        yield _words("fact", fact.text, fact.name)
    yield _words("where from", run.places_note)


def _closing(content: PlanContent) -> Iterator[dict[str, str]]:
    yield _words("call-outs", content.note)
    for item, texts in (
        ("caution", content.cautions),
        ("safety", content.safety),
        ("limit of the method", content.method_limits),
    ):
        for text in texts:
            yield _words(item, text)


def _figure(figure: PlanFigure) -> dict[str, str]:
    us_unit, convert = _US.get(figure.unit, ("", None))
    value = figure.value
    return {
        "run": _plain(figure.run),
        "set_up": figure.set_up,
        "item": figure.item,
        "place": _plain(figure.place),
        "value": "not checked" if value is None else repr(value),
        "unit": figure.unit.partition(" ")[0],
        "us_value": "" if value is None or convert is None else repr(convert(value)),
        "us_unit": us_unit,
        "depends_on": " ".join(figure.depends_on) or "independent",
    }


def _plain(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@") else text
