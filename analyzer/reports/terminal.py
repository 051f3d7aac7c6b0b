"""What a terminal shows: verdict first, then the legs both ways, then what was found.

Several runs stand in one list first, worst first, then each as if it were alone.
"""

from __future__ import annotations

from io import StringIO
from textwrap import wrap

from analyzer.reports.cautions import SHORT_CAUTION
from analyzer.reports.content import Content, Fact, RunContent
from analyzer.reports.folding import LEAST_WIDTH, headed_list, hung
from analyzer.reports.grid import Table, table_text

__all__ = ["terminal_text"]

_MARKS = {"pass": "PASS", "fail": "FAIL", "caution": "CAUTION", "not checked": "NOT CHECKED"}
_STYLES = {
    "pass": "bold blue",
    "fail": "bold white on red",
    "caution": "bold black on yellow",
    "not checked": "bold",
}
_LEG_NOTE = (
    "Legs assume that the conductors are taken out and fed again at every box marked refeed, and "
    "that tension carries on through a box marked through; * marks the better direction, the one "
    "that the verdict counts. Tension is the greatest on the leg at low, expected and high "
    "friction; sidewall pressure and share of limit stand at high friction, braked figures at low."
)
_WIDTHS = (11, 12, 12, 14, 17)
_HEADS = ("low", "expected", "high", "sidewall", "share of limit")
_BETWEEN = 2  # columns of space between two figures
_LEAST_ROOM = 4  # in front of the figures
_PULL_CELLS = 11  # of a row of pulls: ends, figures, limit, braking
_FACTS = (
    "Raceway", "Conductors", "Arrangement", "Weight factor", "Friction", "Feed tension",
    "Lubricant reach",
)  # fmt: skip

_SINGLE = ("kick", "quarter bend")
_MOST_BENDS = 24
_MOST_FEATURES = 12


def terminal_text(content: Content, *, width: int = 100, color: bool = False) -> str:
    """Return the text of an analysis for a terminal.

    Parameters
    ----------
    content : Content
        What is to be said.
    width : int
        Columns to stay within; at least `LEAST_WIDTH` are used.
    color : bool
        Whether to mark verdicts with terminal colors; the words carry the meaning alone.

    Returns
    -------
    str
        Lines ending in a newline.
    """
    width = max(width, LEAST_WIDTH)
    shared = tuple(fact for fact in content.assumptions if fact.name in _FACTS)
    blocks = [_run_block(run, content.title, shared, width, color) for run in content.runs]
    head = []
    if content.errors:
        head.append(headed_list("Errors on the job and the files", content.errors, width))
    if content.overview is not None:
        head.append("\n".join(wrap(f"{content.title}: {content.overview_text}", width)))
        head.append(table_text(content.overview, width))
    tail = []
    if content.cautions:
        tail.append(headed_list("Cautions on the job and the files", content.cautions, width))
    if content.notes:
        tail.append(headed_list("Notes on the job and the files", content.notes, width))
    tail.append("\n".join(wrap(SHORT_CAUTION, width)))
    return "\n\n".join([*head, *blocks, *tail]) + "\n"


def _run_block(
    run: RunContent, title: str, shared: tuple[Fact, ...], width: int, color: bool
) -> str:
    word = run.verdict.value
    verdict = _MARKS[word] + run.verdict_text.removeprefix(word)
    lines = wrap(f"{verdict}  {title}: {run.name}", width)
    if color:
        lines[0] = _styled(verdict, _STYLES[word]) + lines[0].removeprefix(verdict)
    lines += [*hung("  ", run.headline, width), ""]
    for fact in (*run.facts, *shared):
        lines += hung(f"  {fact.name:16}", fact.text, width)
    widths = _figure_widths(run, width)
    parts = ["\n".join(lines), _legs(run, widths, width)]
    if run.run_better:
        parts.append("\n".join(hung("Run better from: ", run.run_better, width)))
    if run.refed is not None:
        parts.append(_compared(run.refed, widths, width))
    if len(run.legs.rows) > 1:
        parts.append(_through(run, widths, width))
    parts += _geometry(run, width)
    for heading, sentences in (
        ("Fails", run.failing),
        ("Cautions", run.cautions),
        ("Not checked", run.not_checked),
        ("Notes", run.notes),
    ):
        if sentences:
            parts.append(headed_list(heading, sentences, width))
    return "\n\n".join(parts)


def _geometry(run: RunContent, width: int) -> list[str]:
    """Bends with angle and radius, then what they make together; the sheet holds every one."""
    bends, features, *_ = run.geometry
    parts = []
    shown = [
        f"B{number} {angle} {f'R {radius}' if radius else 'inside a fitting'} {attitude} at {at}"
        for number, at, angle, radius, _, attitude, *_ in bends.rows[:_MOST_BENDS]
    ]
    if len(bends.rows) > len(shown):
        shown.append(f"{len(bends.rows) - len(shown)} more in the sheet")
    if shown:
        parts.append("\n".join([bends.title, *hung("  ", "; ".join(shown), width)]))
    made = [
        f"{kind}{_of_bends(numbers) or f' at {station}'}: {figures}"
        for kind, numbers, station, figures in features.rows
        if kind not in _SINGLE
    ]
    left = len(made) - _MOST_FEATURES
    if left > 0:
        made = [*made[:_MOST_FEATURES], f"{left} more in the sheet"]
    if made:
        parts.append(headed_list(features.title, tuple(made), width))
    return parts


def _of_bends(numbers: str) -> str:
    return f", bend{'s' if ',' in numbers else ''} {numbers}" if numbers else ""


def _figure_widths(run: RunContent, width: int) -> tuple[int, ...]:
    """Return the widths of the columns of figures; none where they do not stand side by side."""
    tables = [run.pulls, run.through, *([] if run.refed is None else [run.refed])]
    pulls = [row[-_PULL_CELLS:] for table in tables for row in table.rows]
    rows = [_HEADS, *(cells[2 : 2 + len(_HEADS)] for cells in pulls)]
    needed = tuple(max(map(len, cells)) + _BETWEEN for cells in zip(*rows, strict=True))
    for widths in (tuple(map(max, needed, _WIDTHS)), needed):
        if sum(widths) <= width - _LEAST_ROOM:
            return widths
    return ()


def _legs(run: RunContent, widths: tuple[int, ...], width: int) -> str:
    """Each leg with its two pulls; the better one marked."""
    lines = [_heading(widths, width)] if widths else []
    for name, start, end, length, rise, bends, total, _ in run.legs.rows:
        noun = "bend" if bends == "1" else "bends"
        text = f"{start} to {end}: {length}, {bends} {noun}, {total}, rise {rise}"
        lines += hung(f"{name}  ", text, width)
        for leg, mark, *cells in run.pulls.rows:
            if leg == name:
                lines += _pull_lines("*" if mark else " ", tuple(cells), widths, width)
        (notes,) = (item for item in run.leg_notes if item.name == name)
        lines += hung("  better: ", notes.better, width)
        for head, text in (("  margin: ", notes.passing), ("  bounds: ", notes.bounds)):
            if text:
                lines += hung(head, text, width)
        lines.append("")
    return "\n".join([*lines, *wrap(_LEG_NOTE, width)])


def _compared(table: Table, widths: tuple[int, ...], width: int) -> str:
    """Each leg fed again at every box, both ways."""
    lines = wrap(table.title, width)
    for name, *cells in table.rows:
        if name not in lines:
            lines.append(name)
        lines += _pull_lines(" ", tuple(cells), widths, width)
    return "\n".join(lines)


def _through(run: RunContent, widths: tuple[int, ...], width: int) -> str:
    lines = wrap(run.through.title, width)
    for cells in run.through.rows:
        lines += _pull_lines(" ", cells, widths, width)
    return "\n".join([*lines, *hung("  better: ", run.through_better, width)])


def _heading(widths: tuple[int, ...], width: int) -> str:
    return " " * (width - sum(widths)) + _figures(_HEADS, widths)


def _figures(cells: tuple[str, ...], widths: tuple[int, ...]) -> str:
    return "".join(f"{cell:>{size}}" for cell, size in zip(cells, widths, strict=True))


def _pull_lines(
    mark: str, cells: tuple[str, ...], widths: tuple[int, ...], width: int
) -> list[str]:
    """One pull on one line, or on two where the names are long; braking on a line of its own."""
    feed, pull, low, expected, high, sidewall, share, governed, hold, braked, braked_wall = cells
    names = hung(f"{mark} ", f"feed {feed}, pull {pull}", width)
    figures = (low, expected, high, sidewall, share)
    room = width - sum(widths)
    if not widths:
        named = (f"{head} {cell}" for head, cell in zip(_HEADS, figures, strict=True))
        lines = [*names, *hung("    ", "; ".join(named), width)]
    elif len(names) == 1 and len(names[0]) < room:
        lines = [f"{names[0]:{room}}{_figures(figures, widths)}"]
    else:
        lines = [*names, " " * room + _figures(figures, widths)]
    extra = []
    if governed:
        extra.append(f"governed by {governed}")
    is_elsewhere = " at " in hold
    if not _is_nothing(braked if is_elsewhere else hold):
        brake = f"brake {hold}" if is_elsewhere else f"brake at the feed {hold}"
        extra.append(f"{brake}, braked tension {braked}, {braked_wall}")
    if extra:
        lines += hung("    ", "; ".join(extra), width)
    return lines


def _is_nothing(force: str) -> bool:
    return force.startswith(("0.0 ", "0 "))


def _styled(text: str, style: str) -> str:
    from rich.console import Console
    from rich.text import Text

    stream = StringIO()
    console = Console(file=stream, force_terminal=True, width=200, highlight=False)
    console.print(Text(text, style=style), end="")
    return stream.getvalue()
