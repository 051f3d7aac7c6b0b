"""What a terminal shows of a what-if: before and after side by side, changed legs only."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from textwrap import wrap

from analyzer.analysis import LegAnalysis, RunAnalysis
from analyzer.checks.check import Check
from analyzer.checks.joints import JointNeed
from analyzer.findings import Finding, Verdict
from analyzer.job.settings import Job, Passage
from analyzer.job.words import run_name_key
from analyzer.pulling.results import Pull, Share
from analyzer.reports.boxes_text import largest_share_words, said_of_route
from analyzer.reports.boxes_words import box_station
from analyzer.reports.cautions import SHORT_CAUTION
from analyzer.reports.check_words import needed_words, not_checked, verdict_text
from analyzer.reports.folding import LEAST_WIDTH, headed_list
from analyzer.reports.grid import Column, Table, grid_text
from analyzer.reports.joint_words import joined_words, meeting_words, run_joints, whole_share
from analyzer.reports.tables import brake_text
from analyzer.reports.words import bend_sum, check_name
from analyzer.studies.what_if import LegChange, WhatIf, pulls_as_counted
from analyzer.studies.what_if_failing import compare_failing
from analyzer.units import show_force, show_length, show_pressure, show_share, to_deg

__all__ = ["what_if_text"]

_MOST_NAMED = 3
_OUTCOMES = {
    Verdict.PASS: "passes",
    Verdict.CAUTION: "passes with cautions",
    Verdict.FAIL: "fails",
    Verdict.NOT_CHECKED: "not checked",
}


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
    joints = (run_joints(compared.before, job), run_joints(after, job))
    outcome = _outcome(compared, *joints)
    head = wrap(f"WHAT IF {_changes(compared, job)}: {outcome}. {title}", width)
    standing = (*after.findings, *of_files)
    errors, cautions = said_of_route(standing, width, after.checks)
    blocks = [*errors, "\n".join(head), _whole(compared, *joints, job, width)]
    blocks += [_meetings(*joints, width), _places(compared, width)]
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
        blocks.append(headed_list("Not checked", unchecked, width))
    blocks.append("\n".join(wrap(SHORT_CAUTION, width)))
    return "\n\n".join(block for block in blocks if block) + "\n"


def _changes(compared: WhatIf, job: Job) -> str:
    """Say what is changed: ``PB-2 moves from 83.75 ft to 110.00 ft``."""
    changes = compared.changes
    stood = {run_name_key(item.name): item for item in compared.before.run.fittings}
    words = []
    for name in changes.remove:
        item = stood[run_name_key(name)]
        words.append(f"{item.name} at {box_station(item.station_m, job)} is left out")
    for name, station in changes.move:
        item = stood[run_name_key(name)]
        ends = [box_station(place, job) for place in (item.station_m, station)]
        words.append(f"{item.name} moves from {ends[0]} to {ends[1]}")
    words += [f"a box is added at {box_station(station, job)}" for station in changes.add]
    if changes.passage is Passage.THROUGH:
        words.append("conductors are passed through every box")
    elif changes.passage is Passage.REFEED:
        words.append("conductors are taken out and fed again at every box")
    return ", ".join(words)


def _outcome(compared: WhatIf, before: JointNeed | None, now_joined: JointNeed | None) -> str:
    """Say how the changed run comes out: ``passes, 50 % of limit instead of 117 %``.

    A share that conductors cut and joined make says so, with that of whole conductors.
    """
    after = compared.after
    verdict = _OUTCOMES[after.verdict]
    failing = [check for check in after.checks if check.verdict is Verdict.FAIL and check.counts]
    names = list(dict.fromkeys(check_name(check.code) for check in failing))
    if names:
        more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
        verdict += f" ({', '.join(names[:_MOST_NAMED])}{more})"
    missing = needed_words(after.checks)
    if after.verdict is Verdict.NOT_CHECKED and missing:
        verdict += f" ({missing})"
    shares = [_governing(each) for each in (compared.before, after)]
    was, now = (None if share is None else show_share(share.share) for share in shares)
    if now is None:
        return verdict
    joined = [_joined(need) for need in (before, now_joined)]
    comma = "," if joined[1] else ""
    if now == was and joined[0] == joined[1]:
        return f"{verdict}, {now} of limit{joined[1]}{comma} as before"
    if now == was or (joined[0] and not joined[1]):
        joined = [words or " without a joint" for words in joined]
    return f"{verdict}, {now} of limit{joined[1]}{comma} instead of {was}{joined[0]}"


def _joined(need: JointNeed | None) -> str:
    """Say that a share needs joints; empty where whole conductors reach no more."""
    if need is None or not (need.is_needed or need.is_gentler):
        return ""
    return f" with {joined_words(need.places)} (whole conductors {whole_share(need.whole)})"


def _governing(analyzed: RunAnalysis) -> Share | None:
    pulls = pulls_as_counted(analyzed.legs)
    shares = (share for pull in pulls for share in pull.shares)
    return max(shares, key=lambda share: share.share, default=None)


def _whole(
    compared: WhatIf, joined: JointNeed | None, now_joined: JointNeed | None, job: Job, width: int
) -> str:
    before, after = compared.before, compared.after
    meeting = ["none" if n is None else ", ".join(n.places) for n in (joined, now_joined)]
    rows = [
        ("verdict", verdict_text(before), verdict_text(after)),
        ("legs", str(len(before.legs)), str(len(after.legs))),
        ("greatest tension", *(_worst(each, job)[0] for each in (before, after))),
        ("greatest sidewall pressure", *(_worst(each, job)[1] for each in (before, after))),
        ("largest share of limit", *(_worst(each, job)[2] for each in (before, after))),
        *([("heads meet at", *meeting)] if joined or now_joined else []),
    ]
    columns = (Column("whole run"), Column("before"), Column("after"))
    return grid_text(Table("", columns, tuple(rows)), width)


def _meetings(before: JointNeed | None, after: JointNeed | None, width: int) -> str:
    """Say what it takes to pull the legs as counted where heads meet, after and before."""
    was, now = (None if need is None else _lowered(meeting_words(need)) for need in (before, after))
    told = [("Before and after", now)] if was == now else [("After", now), ("Before", was)]
    lines = [f"{when}: {words}" for when, words in told if words is not None]
    return "\n".join(line for text in lines for line in wrap(text, width))


def _lowered(text: str) -> str:
    return text[:1].lower() + text[1:]


def _places(compared: WhatIf, width: int) -> str:
    """Say where the search for boxes would put none; empty where it might."""
    if not compared.places:
        return ""
    heading = "The search for boxes would not put one here (no part of the verdict)"
    return headed_list(heading, [f"{item.message}." for item in compared.places], width)


def _worst(analyzed: RunAnalysis, job: Job) -> tuple[str, str, str]:
    pulls = pulls_as_counted(analyzed.legs)
    return (
        show_force(max(_tension(pull) for pull in pulls), job.units),
        show_pressure(max(_wall(pull) for pull in pulls), job.units),
        largest_share_words(_governing(analyzed)),
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
        ("share of limit", lambda leg, pull: largest_share_words(pull.governing)),
        ("hold-back", lambda leg, pull: brake_text(pull, job.units)),
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
        ("Still fails, with the figures after the change", found.kept),
        ("No longer fails", found.mended),
    )
    return "\n".join(
        headed_list(heading, list(dict.fromkeys(check.message for check in checks)), width)
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
