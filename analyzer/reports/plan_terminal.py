"""The plan for the crew as a terminal shows it."""

from __future__ import annotations

from textwrap import wrap

from analyzer.reports.cautions import SHORT_CAUTION
from analyzer.reports.folding import LEAST_WIDTH, headed_list, hung
from analyzer.reports.grid import table_text
from analyzer.reports.plan_content import PlanContent, RunPlanContent

__all__ = ["plan_text"]


def plan_text(content: PlanContent, *, width: int = 100, sensitivity: bool = False) -> str:
    """Return the text of a plan.

    Parameters
    ----------
    content : PlanContent
        What is to be said.
    width : int
        Columns to stay within; at least `LEAST_WIDTH` are used.
    sensitivity : bool
        Whether to add the table of what moves the answer.
    """
    width = max(width, LEAST_WIDTH)
    blocks = [
        *_listed("Errors on the job and the files", content.errors, width),
        *(_run(run, content, width, sensitivity) for run in content.runs),
        *_listed("Cautions of the job and the files", content.cautions, width),
        "\n".join(wrap(SHORT_CAUTION, width)),
    ]
    return "\n\n".join(blocks) + "\n"


def _listed(heading: str, texts: tuple[str, ...], width: int) -> list[str]:
    """One block of sentences under a heading, or none."""
    return [headed_list(heading, texts, width)] if texts else []


def _run(run: RunPlanContent, content: PlanContent, width: int, sensitivity: bool) -> str:
    lines = wrap(f"PULL PLAN  {content.title}: {run.name}", width)
    lines += hung("  ", run.headline, width)
    for text in run.problems:
        lines += hung("  ! ", text, width)
    lines.append("")
    for fact in run.given:
        lines += hung(f"  {fact.name:13}", fact.text, width)
    parts = ["\n".join(lines)]
    for item in run.set_ups:
        head = [*wrap(item.title, width), *hung("  ", item.stop, width)]
        why = [*hung("  Why: ", item.why, width), *hung("  ", item.margin, width)]
        if item.bounds:
            why += hung("  ", item.bounds, width)
        parts.append("\n".join([*head, table_text(item.call_outs, width), *why]))
    parts.append("\n".join(wrap(f"{run.limits} {content.note}", width)))
    facts = [line for fact in run.facts for line in hung(f"{fact.name:13}", fact.text, width)]
    parts.append("\n".join(facts))
    note = "\n".join(wrap(run.places_note, width))
    parts.append(f"{table_text(run.places, width)}\n{note}")
    if sensitivity:
        parts.append(table_text(run.sensitivity, width))
    return "\n\n".join(parts)
