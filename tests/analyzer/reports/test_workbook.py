"""The workbook as a person opens and prints it: widths, formats, filters, pages."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.cell import Cell
from openpyxl.worksheet.worksheet import Worksheet

from analyzer.analysis import analyze
from analyzer.importers.reading import open_route
from analyzer.job.options import job_from_options
from analyzer.reports.analysis_file import analysis_values
from analyzer.reports.csv_tables import shown_tables
from analyzer.reports.workbook import workbook_bytes
from analyzer.units import UnitSystem

ROUTE = "x_ft,y_ft,z_ft,fitting,label\n0,0,20,,\n10,0,20,,\n10,0,5,pull box,Box A\n40,0,5,,\n"


def made(tmp_path: Path, system: UnitSystem) -> tuple[Workbook, dict]:
    path = tmp_path / "riser.csv"
    path.write_text(ROUTE)
    job = job_from_options(raceway="EMT 2", conductor=["3 x 4/0 THHN copper"])
    route = open_route(path, job)
    values = analysis_values(analyze(route.runs, replace(job, units=system), route.findings))
    return load_workbook(BytesIO(workbook_bytes(values))), values


@pytest.fixture(scope="module")
def us(tmp_path_factory) -> tuple[Workbook, dict]:
    return made(tmp_path_factory.mktemp("us"), UnitSystem.US)


@pytest.fixture(scope="module")
def metric(tmp_path_factory) -> tuple[Workbook, dict]:
    return made(tmp_path_factory.mktemp("metric"), UnitSystem.METRIC)


def column(sheet: Worksheet, name: str) -> list[Cell]:
    _, *cells = next(cells for cells in sheet.iter_cols() if cells[0].value == name)
    return cells


def width(sheet: Worksheet, name: str) -> float:
    return sheet.column_dimensions[column(sheet, name)[0].column_letter].width


def test_cells_stay_exact_whatever_is_shown_of_them(us) -> None:
    book, values = us
    for name, (columns, rows) in shown_tables(values).items():
        shown = [list(row) for row in book[name].iter_rows(min_row=2, values_only=True)]
        told = [[row.get(key) for key in columns] for row in rows]
        for cells, row in zip(shown, told, strict=True):
            for cell, value in zip(cells, row, strict=True):
                if isinstance(value, float):
                    assert cell == pytest.approx(value, rel=6e-16, abs=0.0)  # 16 digits
                else:
                    assert cell == (value if value != "" else None)


@pytest.mark.parametrize(
    ("table", "name", "shown"),
    [
        ("runs", "length_m", "#,##0.000"),
        ("runs", "length_ft", "#,##0.000"),
        ("runs", "deviation_m", "0.00000"),
        ("bends", "radius_ft", "0.00000"),
        ("bends", "angle_deg", "0.00"),
        ("pulls", "max_tension_n", "#,##0.0"),
        ("pulls", "high_max_tension_lbf", "#,##0.0"),
        ("pulls", "max_sidewall_lbf_per_ft", "#,##0.0"),
        ("pulls", "share_of_limit", "0.0%"),
        ("segments", "axis_x", "0.0000"),
    ],
)
def test_numbers_are_shown_with_the_digits_of_their_unit(us, table, name, shown) -> None:
    cells = [cell for cell in column(us[0][table], name) if cell.value is not None]
    assert {cell.number_format for cell in cells} == {shown}


def test_a_value_whose_unit_stands_beside_it_is_shown_by_that_unit(us) -> None:
    sheet = us[0]["checks"]
    formats = {
        (unit.value, cell.number_format)
        for cell, unit in zip(column(sheet, "value_us"), column(sheet, "unit_us"), strict=True)
        if cell.value is not None
    }
    assert ("lbf", "#,##0.0") in formats
    assert ("lbf/ft", "#,##0.000") in formats
    assert ("ft", "0.00000") in formats
    assert ("deg", "0.00") in formats


def test_columns_are_as_wide_as_what_they_hold_and_long_texts_wrap(us) -> None:
    book, _ = us
    assert width(book["bends"], "run") < 14
    assert width(book["checks"], "message") == 66
    assert all(cell.alignment.wrap_text for cell in column(book["checks"], "message"))
    assert all(cell.alignment.wrap_text for cell in column(book["cautions"], "caution"))
    assert not column(book["bends"], "angle_deg")[0].alignment.wrap_text
    # beside a text of several lines a number stands at its first
    assert {cell.alignment.vertical for cell in column(book["checks"], "value")} == {"top"}
    sheet = book["facts"]  # a sha256 is a word of 64 letters: no narrower
    assert width(sheet, "value") == 66
    numbers = [cell for cell in column(sheet, "value") if cell.data_type == "n" and cell.value]
    assert {cell.alignment.horizontal for cell in numbers} == {"left"}
    for sheet in book:
        for head in sheet[1]:  # a filter's button stands over the end of a heading
            size = sheet.column_dimensions[head.column_letter].width
            assert size >= len(head.value) + 3
            assert size <= 66


def test_what_a_row_is_about_stays_in_view(us) -> None:
    book, _ = us
    frozen = {sheet.title: sheet.freeze_panes for sheet in book}
    assert frozen["pulls"] == "D2"  # run, leg and direction
    assert frozen["bends"] == "C2"  # run and number
    assert frozen["checks"] == "E2"
    assert frozen["cautions"] == "A2"


def test_tables_carry_a_filter_over_all_their_rows(us) -> None:
    book, _ = us
    assert {sheet.auto_filter.ref for sheet in book} == {sheet.dimensions for sheet in book}


def test_pages_print_landscape_with_headings_on_each_at_a_size_one_can_read(us) -> None:
    book, _ = us
    for sheet in book:
        assert sheet.page_setup.orientation == "landscape"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.page_setup.fitToHeight == 0
        assert sheet.print_title_rows == "$1:$1"
        total = sum(sheet.column_dimensions[head.column_letter].width for head in sheet[1])
        assert total / sheet.page_setup.fitToWidth <= 210
    assert book["bends"].page_setup.fitToWidth == 2
    assert book["facts"].page_setup.fitToWidth == 1
    assert book["pulls"].print_title_cols == "$A:$C"


def test_workbook_prints_on_the_paper_of_the_unit_system(us, metric) -> None:
    assert {sheet.page_setup.paperSize for sheet in us[0]} == {1}  # letter
    assert {sheet.page_setup.paperSize for sheet in metric[0]} == {9}  # A4
