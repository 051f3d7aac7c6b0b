"""The plan for the crew as a terminal shows it."""

from __future__ import annotations

from textwrap import wrap

from analyzer.reports.cautions import SHORT_CAUTION
from analyzer.reports.grid import grid_text
from analyzer.reports.plan_content import PlanContent, RunPlanContent

__all__ = ["plan_text"]


def plan_text(content: PlanContent, *, width: int = 100, sensitivity: bool = False) -> str:
    """Return the text of a plan.

    Parameters
    ----------
    content : PlanContent
        What is to be said.
    width : int
        Columns to stay within; at least 72 are used.
    sensitivity : bool
        Whether to add the table of what moves the answer.
    """
    width = max(width, 72)
    blocks = [
        *_listed("Errors on the job and the files", content.errors, width),
        *(_run(run, content, width, sensitivity) for run in content.runs),
        *_listed("Cautions of the job and the files", content.cautions, width),
        "\n".join(wrap(SHORT_CAUTION, width)),
    ]
    return "\n\n".join(blocks) + "\n"


def _listed(heading: str, texts: tuple[str, ...], width: int) -> list[str]:
    """One block of sentences under a heading, or none."""
    lines = [line for text in texts for line in _hung("  - ", text, width)]
    return ["\n".join([heading, *lines])] if lines else []


def _run(run: RunPlanContent, content: PlanContent, width: int, sensitivity: bool) -> str:
    lines = [f"PULL PLAN  {content.title}: {run.name}", *_hung("  ", run.headline, width)]
    for text in run.problems:
        lines += _hung("  ! ", text, width)
    lines.append("")
    for fact in run.given:
        lines += _hung(f"  {fact.name:13}", fact.text, width)
    parts = ["\n".join(lines)]
    for item in run.set_ups:
        head = [*wrap(item.title, width), f"  {item.stop}"]
        why = [*_hung("  Why: ", item.why, width), *_hung("  ", item.margin, width)]
        if item.bounds:
            why += _hung("  ", item.bounds, width)
        parts.append("\n".join([*head, grid_text(item.call_outs, width), *why]))
    parts.append("\n".join(wrap(f"{run.limits} {content.note}", width)))
    facts = [line for fact in run.facts for line in _hung(f"{fact.name:13}", fact.text, width)]
    parts.append("\n".join(facts))
    note = "\n".join(wrap(run.places_note, width))
    parts.append(f"{grid_text(run.places, width)}\n{note}")
    if sensitivity:
        parts.append(grid_text(run.sensitivity, width))
    return "\n\n".join(parts)


def _hung(head: str, text: str, width: int) -> list[str]:
    """Lines of a text with a head, folded under it."""
    folded = wrap(text, width - len(head)) or [""]
    return [head + folded[0], *(" " * len(head) + line for line in folded[1:])]
