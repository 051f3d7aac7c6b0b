"""Everything the page shows, as one set of plain values: what all runs share, and each run."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from analyzer.analysis import Analysis, RunAnalysis
from analyzer.findings import Verdict
from analyzer.reports.cautions import SAID_WITH_LIMITS
from analyzer.reports.content import content_of
from analyzer.reports.overview import worst_first
from analyzer.reports.words import CHECK_NAMES, counted
from viewer.page_checks import NAME_SIGN, CheckWords, joint_words
from viewer.page_legs import FrictionStep, friction_steps
from viewer.page_runs import leg_count, list_values, run_values
from viewer.page_series import Series
from viewer.page_units import PageUnits
from viewer.palette import COOL, HOT, LIGHT, MAP_TOP, PLAIN, Theme
from viewer.scene import run_named

__all__ = ["MOST_BYTES", "MOST_FINE_LEGS", "page_values"]

MOST_BYTES = 16_000_000
"""Data of the runs a page holds with their controls; further runs are in its list alone. [byte]"""

MOST_FINE_LEGS = 60
"""Up to this many legs on a page frictions between low, expected and high are calculated too."""

_MARKS = {
    Verdict.PASS: "✓",
    Verdict.CAUTION: "!",
    Verdict.FAIL: "✕",
    Verdict.NOT_CHECKED: "?",
}


def page_values(
    analysis: Analysis, theme: Theme, run: str | None = None, direction: str = "better",
    friction: str = "expected",
) -> dict[str, Any]:  # fmt: skip
    """Return all that the page holds, as values that become JSON.

    Parameters
    ----------
    analysis : Analysis
        What `analyze` returned.
    theme : Theme
        Neutral colors.
    run : str, optional
        Name of the one run to hold; all runs by default, worst first.
    direction : str
        ``forward``, ``reverse`` or ``better``: what the page opens with.
    friction : str
        ``low``, ``expected`` or ``high``: what the page opens with.

    Raises
    ------
    InputError
        If no run has that name.
    """
    route_runs = len(analysis.runs)
    if run is not None:
        analysis = replace(analysis, runs=(run_named(analysis, run),))
    ordered = worst_first(analysis)
    job = analysis.job
    steps = friction_steps(job, sum(map(leg_count, ordered)) <= MOST_FINE_LEGS)
    named = [step.name for step in steps]
    series, words = Series(), CheckWords()
    runs = _runs(analysis, ordered, theme, steps, series, words, route_runs)
    shared = content_of(replace(analysis, runs=()))
    facts = content_of(replace(analysis, runs=ordered[:1])).inputs
    return {
        "title": shared.title,
        "units": PageUnits(job.units).rules(),
        "frictions": [
            {"name": step.name, "number": f"{step.value:g}", "value": step.value} for step in steps
        ],
        "opens": {
            "way": direction,
            "friction": named.index(friction if friction in named else "expected"),
        },
        "high_friction": f"{job.pull.friction.high:g}",
        "facts": [[fact.name, fact.text] for fact in (*facts, *shared.assumptions)],
        "findings": {
            "cautions": [*shared.errors, *shared.cautions],
            "notes": list(shared.notes),
        },
        "safety": list(SAID_WITH_LIMITS),
        "check_names": list(CHECK_NAMES.values()),
        "joint": {"rank": list(CHECK_NAMES).index("joint"), **joint_words()},
        "name_sign": NAME_SIGN,
        "marks": {verdict.value: mark for verdict, mark in _MARKS.items()},
        "map": {"cool": COOL, "hot": HOT, "plain": PLAIN, "top": MAP_TOP},
        "theme": _theme_values(theme),
        "paper": _theme_values(LIGHT),
        "list": _list(analysis, len(runs)) if len(ordered) > 1 else None,
        "runs": runs,
        "series": series.packed(),
        "words": words.texts(),
    }


def _runs(
    analysis: Analysis,
    ordered: Sequence[RunAnalysis],
    theme: Theme,
    steps: Sequence[FrictionStep],
    series: Series,
    words: CheckWords,
    route_runs: int,
) -> list[dict[str, Any]]:
    """As many runs as fit, at least one."""
    found: list[dict[str, Any]] = []
    size = 0
    for judged in ordered:
        made = run_values(analysis, judged, theme, steps, series, words, route_runs)
        found.append(made)
        size += len(json.dumps(made, separators=(",", ":")))
        if size + series.size > MOST_BYTES:
            break
    return found


def _list(analysis: Analysis, held: int) -> dict[str, Any]:
    found = list_values(analysis)
    rows = found["rows"]
    for row in rows[:held]:
        row["runs"] = True
    note = ""
    if held < len(rows):
        note = (
            f"This page holds the worst {held} of {counted(len(rows), 'run')} with their picture, "
            "legs and controls, and the figures of all; for another run write its own page with "
            "--run NAME."
        )
    return {**found, "note": note}


def _theme_values(theme: Theme) -> dict[str, Any]:
    names = (
        "name", "ground", "floor", "grid", "ink", "muted", "chip", "chip_border", "drop_line",
        "outline", "band", "equipment", "equipment_edge", "not_reached", "inverted",
        "inverted_ink", "inverted_muted", "ring",
    )  # fmt: skip
    shadows = {
        "light": ["#E9ECEF", "#D9DEE3", "#C6CDD5"],
        "dark": ["#171E25", "#131920", "#0E1318"],
    }
    return {**{name: getattr(theme, name) for name in names}, "shadows": shadows[theme.name]}
