"""What a terminal shows of a what-if: before and after side by side, changed legs only."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import wrap

from analyzer.analysis import LegAnalysis, RunAnalysis
from analyzer.checks.check import Check
from analyzer.findings import Finding
from analyzer.job.settings import Job
from analyzer.pulling.results import Pull
from analyzer.reports.boxes_text import said_of_route, share_words
from analyzer.reports.cautions import SHORT_CAUTION
from analyzer.reports.check_words import not_checked, verdict_text
from analyzer.reports.folding import LEAST_WIDTH, listed
from analyzer.reports.grid import Column, Table, grid_text
from analyzer.reports.words import bend_sum
from analyzer.studies.what_if import LegChange, WhatIf, pulls_as_counted
from analyzer.studies.what_if_failing import compare_failing
from analyzer.units import show_force, show_length, show_pressure, to_deg

__all__ = ["what_if_text"]


def what_if_text(
    compared: WhatIf, job: Job, *, width: int = 100, of_files: Sequence[Finding] = ()
) -> str:
    """Return the text of a what-if for a terminal.

    Parameters
    ----------
    compared : WhatIf
        The run before and after.
    job : Job
        Its job.
    width : int
        Columns to stay within; at least `LEAST_WIDTH` are used.
    of_files : sequence of Finding
        Those on the job and the files.
    """
    width = max(width, LEAST_WIDTH)
    run = compared.before.run
    title = f"{job.title}: {run.name}" if job.title else run.name
    after = compared.after
    standing = (*after.findings, *of_files)
    errors, cautions = said_of_route(standing, width, after.checks)
    blocks = [*errors, f"WHAT IF  {title}", _whole(compared, job, width), _places(compared, width)]
    if not compared.changed:
        blocks.append("No leg changes.")
    pulls = {id(each): _pulls_by_leg(each) for each in (compared.before, compared.after)}
    for change in compared.changed:
        both = (pulls[id(compared.before)], pulls[id(compared.after)])
        blocks.append(_change(change, *both, job, width))
    note = (
        "Each leg in its better direction: tension and sidewall pressure are the larger of pulled "
        "at high friction and braked at low. Legs not shown stay as they are."
    )
    blocks.append("\n".join(wrap(note, width)))
    blocks += [_failing(compared, width), *cautions]
    unchecked = not_checked(after.checks)
    if unchecked:
        blocks.append(listed("Not checked", unchecked, width))
    blocks.append("\n".join(wrap(SHORT_CAUTION, width)))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _whole(compared: WhatIf, job: Job, width: int) -> str:
    before, after = compared.before, compared.after
    rows = [
        ("verdict", verdict_text(before), verdict_text(after)),
        ("legs", str(len(before.legs)), str(len(after.legs))),
        ("greatest tension", *(_worst(each, job)[0] for each in (before, after))),
        ("greatest sidewall pressure", *(_worst(each, job)[1] for each in (before, after))),
        ("largest share of limit", *(_worst(each, job)[2] for each in (before, after))),
    ]
    columns = (Column("whole run"), Column("before"), Column("after"))
    return grid_text(Table("", columns, tuple(rows)), width)


def _places(compared: WhatIf, width: int) -> str:
    """Say where the search for boxes would put none; empty where it might."""
    if not compared.places:
        return ""
    heading = "The search for boxes would not put one here (no part of the verdict)"
    return listed(heading, [f"{item.message}." for item in compared.places], width)


def _worst(analyzed: RunAnalysis, job: Job) -> tuple[str, str, str]:
    pulls = pulls_as_counted(analyzed.legs)
    governing = max(
        (share for pull in pulls for share in pull.shares),
        key=lambda share: share.share,
        default=None,
    )
    return (
        show_force(max(_tension(pull) for pull in pulls), job.units),
        show_pressure(max(_wall(pull) for pull in pulls), job.units),
        share_words(governing),
    )


def _change(
    change: LegChange, before: dict[str, Pull], after: dict[str, Pull], job: Job, width: int
) -> str:
    ends = [show_length(station, job.units) for station in (change.from_m, change.to_m)]
    names: list[tuple[str, Callable[[LegAnalysis, Pull], str]]] = [
        ("legs", lambda leg, pull: f"{leg.leg.name}, {leg.leg.start.name} to {leg.leg.end.name}"),
        ("feed at", lambda leg, pull: pull.feed_at),
        ("length", lambda leg, pull: show_length(leg.leg.length_m, job.units)),
        (
            "bends",
            lambda leg, pull: bend_sum(round(to_deg(leg.leg.bend_total_rad), 3), job),
        ),
        ("tension", lambda leg, pull: show_force(_tension(pull), job.units)),
        ("sidewall pressure", lambda leg, pull: show_pressure(_wall(pull), job.units)),
        ("share of limit", lambda leg, pull: share_words(pull.governing)),
        ("hold-back", lambda leg, pull: show_force(pull.braked.hold_back_n, job.units)),
    ]
    rows = tuple(
        (
            name,
            "\n".join(words(leg, before[leg.leg.name]) for leg in change.before),
            "\n".join(words(leg, after[leg.leg.name]) for leg in change.after),
        )
        for name, words in names
    )
    table = Table(
        f"Station {ends[0]} to {ends[1]}",
        (Column(""), Column("before"), Column("after")),
        rows,
    )
    return grid_text(table, width)


def _failing(compared: WhatIf, width: int) -> str:
    found = compare_failing(compared.before, compared.after)
    groups: tuple[tuple[str, Sequence[Check]], ...] = (
        ("Fails after the change", found.new),
        ("Fails after the change as before", found.kept),
        ("No longer fails", found.mended),
    )
    return "\n".join(
        listed(heading, list(dict.fromkeys(check.message for check in checks)), width)
        for heading, checks in groups
        if checks
    )


def _pulls_by_leg(analyzed: RunAnalysis) -> dict[str, Pull]:
    pulls = pulls_as_counted(analyzed.legs)
    return {item.leg.name: pull for item, pull in zip(analyzed.legs, pulls, strict=True)}


def _tension(pull: Pull) -> float:
    return max(pull.high.max_tension_n, pull.braked.max_tension_n)


def _wall(pull: Pull) -> float:
    return max(pull.high.max_sidewall_n_per_m, pull.braked.max_sidewall_n_per_m)
