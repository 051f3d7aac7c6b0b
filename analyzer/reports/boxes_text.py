"""What a terminal shows about boxes: the answer first, then what every box more would do."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

from analyzer.checks.check import Check
from analyzer.findings import NO_RUN, Finding, Severity, Verdict
from analyzer.job.settings import Job, Passage
from analyzer.pulling.results import Pull, Share
from analyzer.reports.boxes_answer_text import answer_text
from analyzer.reports.boxes_words import box_station, box_words, placed_whole_share
from analyzer.reports.cautions import SHORT_CAUTION
from analyzer.reports.check_words import check_cautions
from analyzer.reports.folding import LEAST_WIDTH, headed_list
from analyzer.reports.grid import Column, Table, table_text
from analyzer.reports.joint_words import joined_words, meeting_words, whole_share
from analyzer.reports.words import bend_sum, check_name, counted
from analyzer.studies.boxes import BoxStudy
from analyzer.studies.boxes_cost import Cheapest
from analyzer.studies.boxes_placements import BOX_CHECKS, Placement, PulledLeg
from analyzer.studies.boxes_whole import as_few_whole
from analyzer.units import (
    show_force,
    show_length,
    show_number,
    show_pressure,
    show_share,
    to_deg,
)

__all__ = ["boxes_text", "largest_share_words", "said_of_route"]

_NOTE = (
    "Tension and sidewall pressure are the larger of pulled at high friction and braked at low, "
    "{way}. Conductors are taken out and fed again at every box added: a box that they only pass "
    "through eases nothing."
)
_WAYS = {
    "better": "each leg in its better direction",
    "forward": "every leg pulled forward",
    "reverse": "every leg pulled in reverse",
}


def boxes_text(study: BoxStudy, *, width: int = 100, of_files: Sequence[Finding] = ()) -> str:
    """Return the text of a study of boxes for a terminal.

    Parameters
    ----------
    study : BoxStudy
        What `find_boxes` returned.
    width : int
        Columns to stay within; at least `LEAST_WIDTH` are used.
    of_files : sequence of Finding
        Those on the job and the files; of theirs and the run's, errors go before the answer.
    """
    width = max(width, LEAST_WIDTH)
    standing = (*study.cautions, *study.analyzed.findings, *study.job.findings, *of_files)
    errors, cautions = said_of_route(standing, width, study.caution_checks)
    blocks = [*errors, answer_text(study, width), _trade_off(study, width)]
    if study.best is not None:
        blocks.append(_legs(study.best, study.job, width))
    for heading, sentences in (
        ("Where no placement passes", _blocked(study)),
        ("One box more or less", _more_or_less(study)),
        ("Cost", _costs(study)),
        ("No box changes these", _others(study)),
        ("Not checked", _not_checked(study)),
        ("Notes", [*_findings(study.cautions, Severity.NOTE), *_passed(study), *_proof(study)]),
    ):
        if heading == "Notes":
            blocks += cautions
        if sentences:
            blocks.append(headed_list(heading, sentences, width))
    blocks.append("\n".join(wrap(SHORT_CAUTION, width)))
    return "\n\n".join(blocks) + "\n"


def said_of_route(
    findings: Sequence[Finding], width: int, checks: Sequence[Check]
) -> tuple[list[str], list[str]]:
    """Return the errors and the cautions that figures rest on, each as one block of text or none.

    Parameters
    ----------
    findings : sequence of Finding
        Those of the run, the job and the files.
    width : int
        Columns to stay within.
    checks : sequence of Check
        Those whose cautions stand before the others; what they say already is not said again.
    """
    told = {doubt for check in checks if check.counts for doubt in check.doubts}
    findings = [finding for finding in findings if finding.message not in told]
    blocks = []
    for heading, severity in (("Errors", Severity.ERROR), ("Cautions", Severity.CAUTION)):
        said = check_cautions(checks) if severity is Severity.CAUTION else []
        sentences = list(dict.fromkeys([*map(_sentence, said), *_findings(findings, severity)]))
        blocks.append([headed_list(heading, sentences, width)] if sentences else [])
    return blocks[0], blocks[1]


def largest_share_words(governing: Share | None) -> str:
    """Return a largest share of limit with what governs it: ``36 %, sidewall pressure``."""
    if governing is None:
        return "not checked"
    return f"{show_share(governing.share)}, {check_name(governing.code)}"


def _result(row: Placement, elsewhere: Placement | None) -> str:
    """Return whether a placement passes, with the joints that this takes.

    Of the answer also what as many boxes elsewhere reach without a joint, where they pass.
    """
    if not row.passes:
        return "fails " + ", ".join(map(check_name, row.failing))
    if row.joints is None or not row.joints.is_gentler:
        return "passes"
    without = whole_share(row.joints.whole)
    if row.joint_count:
        other = "" if elsewhere is None else f", elsewhere without {placed_whole_share(elsewhere)}"
        return f"passes with {counted(row.joint_count, 'joint')}, without {without}{other}"
    return f"passes, without a joint {without}"


def _trade_off(study: BoxStudy, width: int) -> str:
    job, best = study.job, study.best
    rows = []
    elsewhere = as_few_whole(best, study.whole)
    for row in study.trade_off:
        is_best = best is not None and row.count == best.count
        mark = "*" if is_best else " "
        rows.append(
            (
                f"{mark} {row.count}",
                box_words(row.boxes, job, "\n"),
                show_force(row.max_tension_n, job.units),
                show_pressure(row.max_sidewall_n_per_m, job.units),
                bend_sum(row.bend_total_deg, job),
                "not checked" if row.governing is None else show_share(row.governing.share),
                _result(row, elsewhere if is_best else None),
            )
        )
    table = Table(
        "What boxes do: the best placement of each number (* the fewest that pass)",
        (
            Column("added"),
            Column("at station"),
            Column("tension", is_number=True),
            Column("sidewall", is_number=True),
            Column("degrees", is_number=True),
            Column("share of limit", is_number=True),
            Column("result"),
        ),
        tuple(rows),
    )
    note = _NOTE.format(way=_WAYS[job.boxes.direction])
    return "\n".join([table_text(table, width), "", *wrap(note, width)])


def _legs(placement: Placement, job: Job, width: int) -> str:
    is_braked = any(item.pull.brake.force_n > 0.0 for item in placement.legs)
    columns = (
        Column("leg"),
        Column("feed at"),
        Column("pull at"),
        Column("length", is_number=True),
        Column("bends", is_number=True),
        Column("tension", is_number=True),
        Column("sidewall", is_number=True),
        *([Column("brake at the feed", is_number=True)] if is_braked else []),
        Column("share of limit"),
    )
    rows = tuple(_leg_row(item, job, is_braked=is_braked) for item in placement.legs)
    text = table_text(Table("Legs, in the direction to pull them", columns, rows), width)
    if placement.joints is None:
        return text
    return "\n".join([text, "", *wrap(meeting_words(placement.joints), width)])


def _leg_row(item: PulledLeg, job: Job, *, is_braked: bool) -> tuple[str, ...]:
    leg, pull = item.leg, item.pull
    return (
        leg.name,
        pull.feed_at,
        pull.pull_at,
        show_length(leg.length_m, job.units),
        bend_sum(round(to_deg(leg.bend_total_rad), 3), job),
        show_force(item.max_tension_n, job.units),
        show_pressure(item.max_sidewall_n_per_m, job.units),
        *([_brake(pull, job)] if is_braked else []),
        largest_share_words(pull.governing),
    )


def _brake(pull: Pull, job: Job) -> str:
    """Return the brake of a pull that starts on its leg; a dash where it started before."""
    own = pull.braked.carried_from is None
    return show_force(pull.brake.force_n, job.units) if own else "-"


def _blocked(study: BoxStudy) -> list[str]:
    return [_sentence(item.message) for item in study.blocked]


def _more_or_less(study: BoxStudy) -> list[str]:
    job, rows = study.job, study.trade_off
    found = []
    if len(rows) > 1:
        found.append(_compared("The single best box to add to the run", rows[0], rows[1], job))
    best = study.best
    if best is not None and 0 < best.count < len(rows) - 1:
        after = rows[best.count + 1]
        found.append(_compared("One box more than the fewest", best, after, job))
    left = study.left_out
    if left is not None:
        after = left.placement
        verdict = "every check that a box can change still passes"
        if after.joint_count and after.joints is not None:
            verdict += f", with {joined_words(after.joints.places)}"
        if after.failing:
            verdict = "it then fails " + ", ".join(check_name(code) for code in after.failing)
        found.append(
            f"The existing box missed least is {left.name}: without it the greatest share of limit "
            f"is {largest_share_words(after.governing)}, the greatest tension "
            f"{show_force(after.max_tension_n, job.units)}; {verdict}."
        )
    return found


def _compared(head: str, before: Placement, after: Placement, job: Job) -> str:
    was, now = (show_force(row.max_tension_n, job.units) for row in (before, after))
    places = box_words(after.boxes, job)
    text = f"{head}: {places}. Greatest tension {was} becomes {now}"
    if before.governing is not None and after.governing is not None:
        text += (
            f", greatest share of limit {show_share(before.governing.share)} becomes "
            f"{show_share(after.governing.share)}"
        )
    return text + "."


def _costs(study: BoxStudy) -> list[str]:
    boxes, cheapest = study.job.boxes, study.cheapest
    if boxes.cost_per_box is None or boxes.cost_per_setup is None:
        return []
    if cheapest is None:
        return ["No placement passes, so none can be priced."]
    return [_cheapest_words(cheapest, study)]


def _cheapest_words(cheapest: Cheapest, study: BoxStudy) -> str:
    job, boxes = study.job, study.job.boxes
    assert boxes.cost_per_box is not None and boxes.cost_per_setup is not None
    count = cheapest.count
    parts = []
    for places, what in ((cheapest.refed_m, "refed"), (cheapest.passed_m, "passed through")):
        if places:
            parts.append(f"{what} at " + ", ".join(box_station(place, job) for place in places))
    where = f" ({'; '.join(parts)})" if parts else ""
    noun = "box" if count == 1 else "boxes"
    joints = ""
    if cheapest.joints:
        joints = f"; it takes {counted(cheapest.joints, 'joint')}, not priced"
    return (
        f"Cheapest that passes: {show_number(cheapest.cost, 0)} for {count} {noun} added{where} at "
        f"{show_number(boxes.cost_per_box, 0)} each and {counted(cheapest.setups, 'set-up')} at "
        f"{show_number(boxes.cost_per_setup, 0)} each, in the currency of the job, to the nearest "
        f"place tried{joints}. A set-up is one pull from a feed to the next refeed or end; a box "
        "passed through ends the count of degrees and length and needs no set-up."
    )


def _others(study: BoxStudy) -> list[str]:
    return [
        f"{check.verdict.value.capitalize()}: {_sentence(check.message)}"
        for check in study.other_checks
        if check.code not in BOX_CHECKS
    ]


def _not_checked(study: BoxStudy) -> list[str]:
    return [
        _sentence(check.message)
        for check in study.other_checks
        if check.code in BOX_CHECKS and check.verdict is Verdict.NOT_CHECKED
    ]


def _passed(study: BoxStudy) -> list[str]:
    """Say which boxes the job passes through: fed again there, fewer new ones may do."""
    names = [
        fitting.name
        for fitting in study.analyzed.run.fittings[1:-1]
        if fitting.pull_point and fitting.passage is Passage.THROUGH
    ]
    if not names or study.best is None or study.best.count == 0:
        return []
    return [
        f"The job passes conductors through {', '.join(names)}. Taken out and fed again there, "
        "fewer new boxes may do: compare with --passage refeed."
    ]


def _findings(findings: Sequence[Finding], severity: Severity) -> list[str]:
    return [_told(item) for item in findings if item.severity is severity]


def _told(finding: Finding) -> str:
    """Return a finding as a sentence; one that is about places of a file with these."""
    if finding.concern == NO_RUN or not finding.where:
        return _sentence(finding.message)
    return f"{_sentence(finding.message).removesuffix('.')} ({finding.where})."


def _proof(study: BoxStudy) -> list[str]:
    """Say how far from proven the answer is, where more than a millionth is left open."""
    best = study.best
    share = None if best is None else best.share_of_limit
    if best is None or not share or best.proven_share >= share * (1.0 - 1e-6):
        return []
    gap = 100.0 * (1.0 - best.proven_share / share)
    return [
        f"Another placement with as many boxes could have a greatest share of limit lower by "
        f"{gap:.2g} % of it at most: the search stopped there."
    ]


def _sentence(text: str) -> str:
    if "." not in text.partition(" ")[0]:  # the name of a file stays as it is
        text = text[:1].upper() + text[1:]
    return text if text.endswith(".") else text + "."
