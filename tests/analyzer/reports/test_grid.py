"""Tables on a terminal: nothing of a cell is lost, and columns never touch, however narrow."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from rich.cells import cell_len
from test_overview import analysis_of

from analyzer.reports.content import Content, content_of
from analyzer.reports.grid import Column, Table, grid_text, table_text
from analyzer.reports.overview import overview_table
from analyzer.reports.plan_content import plan_content
from analyzer.reports.plan_terminal import plan_text
from analyzer.reports.terminal import terminal_text
from analyzer.studies.plan import plan_pull

LAYERS = Table(
    "Layers",
    (
        Column("Layer"),
        Column("State"),
        Column("Entities"),
        Column("Length", is_number=True),
        Column("Open paths", is_number=True),
        Column("Loops", is_number=True),
        Column("Read"),
        Column("Why"),
    ),
    (
        ("Layer_is_a_required_tag", "on", "1 CIRCLE", "9.4", "0", "1", "no", "closed loops only"),
        ("0", "on", "2 HATCH, 1 ACAD_TABLE", "1,677.8", "8", "3", "yes", "visible, no pattern"),
        ("E-RACEWAY", "on", "12 POLYLINE", "10.0", "1", "0", "yes", "a layer pattern names it"),
    ),
)


def body_lines(text: str) -> list[str]:
    """The lines of a table below its title, without the rule."""
    return [line for line in text.splitlines() if line.startswith("  ") and "─" not in line]


def columns_of(text: str, table: Table) -> list[tuple[int, int]]:
    """Where the columns lie: the stretches between those that are blank in every line."""
    lines = body_lines(text)
    longest = max(map(len, lines))
    is_blank = [all(line[at : at + 1] in ("", " ") for line in lines) for at in range(longest)]
    stretches, start = [], None
    for at, blank in enumerate([*is_blank, True, True]):
        gap = blank and (at + 1 >= longest or is_blank[at + 1])
        if start is None and not blank:
            start = at
        elif start is not None and gap:
            stretches.append((start, at))
            start = None
    assert len(stretches) == len(table.columns), text
    return stretches


def said(text: str, table: Table) -> list[str]:
    """All that stands in each column, without spaces."""
    lines = body_lines(text)
    return [
        "".join("".join(line[a:b].split()) for line in lines) for a, b in columns_of(text, table)
    ]


def meant(table: Table) -> list[str]:
    cells = [[column.header for column in table.columns], *table.rows]
    return [
        "".join("".join(cell.split()) for cell in column) for column in zip(*cells, strict=True)
    ]


@pytest.mark.parametrize("width", [40, 60, 72, 80, 90, 100, 110, 200])
def test_every_letter_stands_in_its_column(width: int) -> None:
    text = grid_text(LAYERS, width)
    assert said(text, LAYERS) == meant(LAYERS)


@pytest.mark.parametrize("width", [80, 90, 100, 110])
def test_table_stays_within_its_width(width: int) -> None:
    assert max(map(len, grid_text(LAYERS, width).splitlines())) <= width


def test_words_and_numbers_stay_whole_where_there_is_room() -> None:
    words = set(grid_text(LAYERS, 100).split())
    cells = [cell for row in LAYERS.rows for cell in row]
    assert {word for cell in cells for word in cell.split()} <= words


def test_numbers_stay_on_one_line_where_long_words_are_broken() -> None:
    columns = (Column("Run"), Column("Sidewall", is_number=True))
    text = grid_text(Table("", columns, (("a_very_long_name_of_a_run", "370,723 lbf/ft"),)), 32)
    assert "370,723 lbf/ft" in text
    assert "a_very_long_" in text  # broken behind a sign between its parts


def test_table_that_fits_is_a_grid() -> None:
    assert table_text(LAYERS, 80) == grid_text(LAYERS, 80)


def test_table_too_wide_is_told_row_by_row_with_numbers_and_units_on_a_line() -> None:
    columns = (Column("reels at"), *(Column(f"figure{n}", is_number=True) for n in range(7)))
    rows = (("Panel", *(f"{n},250.5 lbf" for n in range(1, 8))), ("Chiller", "", *["1 N"] * 6))
    lines = table_text(Table("Where from", columns, rows), 40).splitlines()
    assert max(map(len, lines)) <= 40
    assert lines[:3] == ["Where from", "  reels at Panel", "    figure0 1,250.5 lbf; figure1"]
    assert all(any(f"{n},250.5 lbf" in line for line in lines) for n in range(1, 8))
    assert lines[lines.index("  reels at Chiller") + 1].startswith("    figure1 1 N;")


def test_names_to_be_typed_stay_whole_even_over_the_width() -> None:
    columns = (Column("Name", is_name=True), Column("Note"))
    text = grid_text(Table("", columns, (("polyethylene-jacketed", "see the sheet"),)), 24)
    assert "polyethylene-jacketed" in text


def test_lines_of_a_cell_stay_in_their_column() -> None:
    columns = (Column("boxes"), Column("at station"), Column("result"))
    lines = grid_text(
        Table("", columns, (("2", "69.57 ft\n126.64 ft", "passes"),)), 80
    ).splitlines()
    assert lines[-2].index("69.57") == lines[-1].index("126.64")


def test_wide_letters_count_twice() -> None:
    columns = (Column("Layer"), Column("State"))
    lines = grid_text(Table("", columns, (("電線管", "on"), ("abcdef", "on"))), 80).splitlines()
    assert cell_len(lines[-2]) == cell_len(lines[-1])


def test_empty_table_is_its_heading() -> None:
    lines = grid_text(Table("Blocks", (Column("Block"), Column("Count")), ()), 80).splitlines()
    assert lines[:2] == ["Blocks", "  Block  Count"]


@pytest.mark.parametrize("width", [72, 80, 100])
def test_list_of_runs_says_all_that_fails(tmp_path: Path, width: int) -> None:
    table = overview_table(analysis_of(tmp_path, "plain", "one bend", "six bends"))
    text = grid_text(table, width)
    assert said(text, table) == meant(table)
    assert max(map(len, text.splitlines())) <= width


def with_huge_figures(content: Content, more: str) -> Content:
    """The content with every tension and pressure larger by some digits."""
    run = content.runs[0]
    rows = tuple(
        (*row[:4], *(f"{more}{cell}" if cell else "" for cell in row[4:9]), *row[9:])
        for row in run.pulls.rows
    )
    return replace(content, runs=(replace(run, pulls=replace(run.pulls, rows=rows)),))


@pytest.mark.parametrize("width", [72, 80, 100])
@pytest.mark.parametrize("more", ["", "15,", "370,723,", "123,456,789,012,"])
def test_figures_of_a_leg_never_touch(tmp_path: Path, width: int, more: str) -> None:
    content = with_huge_figures(content_of(analysis_of(tmp_path, "six bends")), more)
    text = terminal_text(content, width=width)
    folded = " ".join(text.split())
    for row in content.runs[0].pulls.rows:
        lines = [line for line in text.splitlines() if row[4] in line]
        assert all(cell in folded for cell in row[4:9])
        for line in lines:
            after = line.split(row[4])[1]
            assert after[:2] in ("", "  ") or after[0] == ";"


@pytest.mark.parametrize("width", [40, 60])
def test_texts_stay_within_a_narrow_terminal(tmp_path: Path, width: int) -> None:
    analysis = analysis_of(tmp_path, "six bends")
    title = "A title that tells of more than one narrow line can hold"
    analysis = replace(analysis, job=replace(analysis.job, title=title))
    for text in (
        terminal_text(content_of(analysis), width=width),
        plan_text(plan_content(plan_pull(analysis)), width=width, sensitivity=True),
    ):
        assert max(map(len, text.splitlines())) <= width
    colored = terminal_text(content_of(analysis), width=width, color=True)
    assert re.sub(r"\x1b\[[0-9;]*m", "", colored) == terminal_text(
        content_of(analysis), width=width
    )
