"""The trainer's sheet: why boxes ease a pull, with sums that students can check by hand."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import exp, pi, sqrt
from textwrap import wrap

from analyzer.findings import Finding
from analyzer.job.settings import Job
from analyzer.reports.boxes_text import said_of_route
from analyzer.reports.boxes_words import box_words
from analyzer.reports.cautions import SHORT_CAUTION
from analyzer.reports.folding import LEAST_WIDTH, hung
from analyzer.reports.grid import Column, Table, table_text
from analyzer.reports.joint_words import meeting_words
from analyzer.reports.words import bend_sum, counted
from analyzer.studies.lesson import HandLeg, HandStep, Lesson, LessonRow
from analyzer.units import (
    UnitSystem,
    show_angle,
    show_force,
    show_length,
    show_number,
    show_weight,
    to_ft,
    to_lbf,
    to_lbf_per_ft,
)

__all__ = ["lesson_text"]

_LEAST_SUM = 30
"""Columns a sum needs beside its straight or bend; with fewer it stands below."""


def lesson_text(lesson: Lesson, *, width: int = 100, of_files: Sequence[Finding] = ()) -> str:
    """Return the trainer's sheet.

    Parameters
    ----------
    lesson : Lesson
        What `make_lesson` returned.
    width : int
        Columns to stay within; at least `LEAST_WIDTH` are used.
    of_files : sequence of Finding
        Those on the job and the files.
    """
    width = max(width, LEAST_WIDTH)
    job = lesson.study.job
    run = lesson.study.analyzed.run
    title = f"{job.title}: {run.name}" if job.title else run.name
    errors, cautions = said_of_route(
        (*lesson.study.analyzed.findings, *of_files), width, lesson.study.caution_checks
    )
    blocks = [
        *errors,
        "\n".join(hung("LESSON  ", f"Why boxes ease a pull. {title}", width)),
        _why(lesson, width),
        _table(lesson, width),
    ]
    blocks += [*(_row(row, lesson, width) for row in lesson.rows), *cautions]
    blocks.append("\n".join(wrap(SHORT_CAUTION, width)))
    return "\n\n".join(blocks) + "\n"


def _why(lesson: Lesson, width: int) -> str:
    job = lesson.study.job
    friction = job.pull.friction.expected
    k, in_bends = lesson.friction, lesson.friction_in_bends
    one = exp(in_bends * 0.5 * pi)
    used = f"k = friction {friction:g}"
    if lesson.weight_factor != 1.0:
        used += f" × weight factor {lesson.weight_factor:.3f} = {k:.4f}"
    if in_bends != k:
        used += f" on straights, {in_bends:.4f} in bends"
    feed = job.pull.feed_tension_n
    starts = "from nothing" if feed == 0.0 else f"again from the feed tension, {_force(feed, job)}"
    weight = show_weight(lesson.weight_n_per_m, job.units)
    sentences = (
        f"The sums: all conductors together weigh w = {weight}; {used} (expected friction).",
        "A straight of length L at the slope p adds w L (sin p + k cos p): on a level one w L k.",
        f"A bend multiplies whatever arrives at it: T becomes T × e^(k a), a in radians. Here a 90°"
        f" bend multiplies by {one:.3f}, two by {one**2:.2f}, three by {one**3:.2f}, four by "
        f"{one**4:.1f}. So the same foot of straight costs little after the last bend and a lot "
        "before the first.",
        *_dry_words(lesson),
        f"A refeed starts {starts}: what the bends before the box have multiplied is gone. A box "
        "that the conductors only pass through changes nothing of it.",
        "By hand the weight of the conductors inside bends is left out; the last line of each leg "
        "gives the figure with it. The sums are worked with unrounded figures.",
    )
    return "\n".join(line for text in sentences for line in hung("  - ", text, width))


def _dry_words(lesson: Lesson) -> list[str]:
    """Return how far the lubricant reaches, and what k is beyond it."""
    job, k, in_bends = lesson.study.job, lesson.dry, lesson.dry_in_bends
    reach = job.pull.lubricant_reach_m
    if reach is None or k is None or in_bends is None:
        return []
    where = f"{k:.4f}" if in_bends == k else f"{k:.4f} on straights, {in_bends:.4f} in bends"
    return [
        f"The lubricant reaches {show_length(reach, job.units)} from where the conductors are fed. "
        f"Beyond it dry friction counts: k = {where}, and a 90° bend multiplies by "
        f"{exp(in_bends * 0.5 * pi):.3f}; the straights and bends there are marked dry."
    ]


def _table(lesson: Lesson, width: int) -> str:
    job = lesson.study.job
    rows = tuple(
        (
            str(row.placement.count),
            box_words(row.placement.boxes, job, "\n"),
            show_force(row.refed_n, job.units),
            f"{_ratio(row.ratio)} times less" if row.ratio and row.placement.count else "",
            show_force(row.through_n, job.units),
            bend_sum(row.placement.bend_total_deg, job),
        )
        for row in lesson.rows
    )
    table = Table(
        "Greatest tension at expected friction",
        (
            Column("added"),
            Column("at station"),
            Column("taken out and fed again", is_number=True),
            Column("than without", is_number=True),
            Column("passed through", is_number=True),
            Column("most bend in a leg", is_number=True),
        ),
        rows,
    )
    return table_text(table, width)


def _row(row: LessonRow, lesson: Lesson, width: int) -> str:
    count = row.placement.count
    noun = "box" if count == 1 else "boxes"
    head = f"With {count} {noun} added" if count else "Without added boxes"
    lines = [f"{head}: {counted(len(row.legs), 'leg')}"]
    for leg in row.legs:
        lines += _leg(leg, lesson, width)
    if row.placement.joints is not None:
        lines += hung("  ", meeting_words(row.placement.joints), width)
    if row.ratio is not None and count:
        lines += hung("  ", _conclusion(row, lesson), width)
    return "\n".join(lines)


def _conclusion(row: LessonRow, lesson: Lesson) -> str:
    job = lesson.study.job
    assert row.ratio is not None
    governing = max(row.legs, key=lambda leg: leg.by_solver_n)
    return (
        f"The hardest leg is {governing.name}: {_force(governing.by_solver_n, job)}, "
        f"{_ratio(row.ratio)} times less than the {_force(lesson.rows[0].refed_n, job)} without "
        f"added boxes. Passed straight through, the boxes would leave {_force(row.through_n, job)}."
    )


def _leg(leg: HandLeg, lesson: Lesson, width: int) -> list[str]:
    job = lesson.study.job
    rows = [("start", _force(leg.feed_n, job)), *(_step(step, lesson, job) for step in leg.steps)]
    widest = max(len(what) for what, _ in rows)
    beside = width - widest - 6 >= _LEAST_SUM
    lines = hung("  ", f"{leg.name}: feed at {leg.feed_at}, pull at {leg.pull_at}", width)
    for what, sum_words in rows:
        if not beside:
            lines.append(f"    {what}")
        lines += _folded(f"    {what:{widest}}  " if beside else " " * 6, sum_words, width)
    lines += _folded(
        "    ",
        f"greatest: by hand {_force(leg.by_hand_n, job)}, with the weight inside bends "
        f"{_force(leg.by_solver_n, job)}",
        width,
    )
    return lines


def _folded(head: str, text: str, width: int) -> list[str]:
    """Return a sum after a head, folded before its signs, units beside their numbers."""
    bound = re.sub(r"([+×=]) ", "\\1\u00a0", text)
    bound = re.sub(r"(\d) (lbf|N)\b", "\\1\u00a0\\2", bound)
    return [line.replace("\u00a0", " ") for line in hung(head, bound, width)]


def _step(step: HandStep, lesson: Lesson, job: Job) -> tuple[str, str]:
    before, after = _number(step.before_n, job), _force(step.after_n, job)
    dry = " dry" if step.is_dry else ""
    if step.length_m == 0.0:
        factor = exp(step.friction * step.angle_rad)
        what = f"bend {show_angle(step.angle_rad)}{dry}"
        return what, f"{before} × {factor:.3f} = {after}"
    weight, length = _weight(lesson.weight_n_per_m, job), _length(step.length_m, job)
    k = f"{step.friction:.4f}"
    if abs(step.up) < 1e-9:
        words = f"{before} + {weight} × {length} × {k}"
    else:
        across = sqrt(max(1.0 - step.up * step.up, 0.0))
        sign = "-" if step.up < 0.0 else ""
        words = f"{before} + {weight} × {length} × ({sign}{abs(step.up):.4f} + {k} × {across:.4f})"
    what = f"straight {show_length(step.length_m, job.units)}"
    if abs(step.up) >= 1e-9:
        what += " up" if step.up > 0.0 else " down"
    what += dry
    if step.after_n == 0.0:
        return what, f"{words} is not above 0: {after}"
    return what, f"{words} = {after}"


def _force(value_n: float, job: Job) -> str:
    unit = "lbf" if job.units is UnitSystem.US else "N"
    return f"{_number(value_n, job)} {unit}"


def _number(value_n: float, job: Job) -> str:
    return show_number(to_lbf(value_n) if job.units is UnitSystem.US else value_n, 1)


def _weight(value_n_per_m: float, job: Job) -> str:
    value = to_lbf_per_ft(value_n_per_m) if job.units is UnitSystem.US else value_n_per_m
    return show_number(value, 3)


def _length(length_m: float, job: Job) -> str:
    return show_number(to_ft(length_m) if job.units is UnitSystem.US else length_m, 2)


def _ratio(ratio: float) -> str:
    return show_number(ratio, 2 if ratio < 9.995 else 1)
