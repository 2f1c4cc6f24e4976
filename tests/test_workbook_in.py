"""Workbooks as people keep them: each cell reads as the spreadsheet shows it, and what misleads is said."""

from datetime import datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from auditor.intake.books import Book

from .book_case import header, patched, read, rows_of, shown, written
from .conftest import small
from .test_intake import assert_same_portfolio, judged
from .test_intake_typed import as_cells, write_workbook

# Numbers and their formats (codes: ECMA-376 part 1, 18.8.30 and 18.8.31) ------------------------------------

SHOWN = [  # value, format, what a spreadsheet shows of it, with all of its digits
    (0.4, "0%", "40%"),
    (0.405, "0%", "40.5%"),
    (0.5, "[Red]0.0 %;-0%", "50%"),
    (0.4, '0.0"%"', "0.4"),  # a letter in quotes, no format
    (42, "0000", "0042"),
    (42.5, "0000", "42.5"),
    (100000, "0.00E+00", "100000"),
    (42, "#,##0", "42"),
    (0.3125, "hh:mm", "07:30:00"),
    (0.8125, "h:mm AM/PM", "19:30:00"),
    (0.3125, '"at "[$-409]h:mm\\ ;@', "07:30:00"),
    (1, "[h]:mm", "24:00:00"),
    (1.3125, "[hh]:mm:ss", "31:30:00"),
    (1.3125, "hh:mm", "07:30:00"),  # a moment of day one, of which only the time is shown
    (1, "hh:mm", "00:00:00"),
    (0.75 - 20 / 1440, "hh:mm", "17:40:00"),  # 18:00 less 20 minutes, not exact in binary
]


@pytest.mark.parametrize("since_1904", [False, True])
@pytest.mark.parametrize(("value", "code", "text"), SHOWN)
def test_a_number_reads_as_its_format_shows_it(value: float, code: str, text: str, since_1904: bool) -> None:
    assert shown(value, code, date_1904=since_1904) == text


@pytest.mark.parametrize(
    ("value", "code", "text"),
    [
        (46329, "yyyy-mm-dd", "2026-11-03 00:00:00"),  # serial of 2026-11-03 from day 0 = 1899-12-30
        (46329.3125, "hh:mm", "2026-11-03 07:30:00"),  # a real date behind a time is not dropped in silence
        (1.3125, "yyyy-mm-dd hh:mm", "1900-01-01 07:30:00"),
    ],
)
def test_a_date_that_is_one_stays(value: float, code: str, text: str) -> None:
    assert shown(value, code) == text


def test_a_workbook_that_counts_from_1904_gives_what_csv_gives(tmp_path: Path, portfolio: Path) -> None:
    found = judged(write_workbook(tmp_path / "book.xlsx", as_cells(small()), date_1904=True))
    assert found.rejections == []
    assert_same_portfolio(found, judged(portfolio))


def test_a_time_kept_as_a_moment_of_a_first_day_is_that_time(tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        look = book.add_format({"num_format": "yyyy-mm-dd hh:mm"})
        header(sheet, "hours")
        sheet.write_row(1, 0, ["01", "daily"])
        sheet.write_datetime(1, 2, datetime(1900, 1, 1, 8, 30), look)  # what "%H:%M" alone is parsed to
        sheet.write_string(1, 3, "1899-12-30T18:00:00")

    (row,) = read(tmp_path / "book.xlsx", {"hours": fill}).tables["hours"].to_dicts()
    assert (row["opens_s"], row["closes_s"]) == (30600, 64800)


@pytest.mark.parametrize("code", ["d-mmm", "mm-dd", "[$-407]d. mmmm;@"])
def test_a_date_that_shows_no_year_is_read_with_it_and_said(code: str, tmp_path: Path) -> None:
    """Of a typed 11-03 a spreadsheet makes a date of this year."""

    def fill(book: Any, sheet: Any) -> None:
        sheet.write_row(
            0, 0, ["event_id", "controller_id", "targets", "action", "days", "anchor", "from", "until"]
        )
        sheet.write_row(1, 0, ["1", "02A", "021", "on", "daily", "dusk"])
        for place, day in ((6, datetime(2026, 11, 3)), (7, datetime(2026, 12, 3))):
            sheet.write_datetime(1, place, day, book.add_format({"num_format": code}))

    found = read(tmp_path / "book.xlsx", {"events": fill})
    assert found.tables["events"]["season_from"].to_list() == ["2026-11-03"]
    assert found.notices == [
        "book.xlsx:events: dates that show no year (G2, H2) are read with the year that they have; where a "
        "day of every year or an id is meant, give the cells text format and enter them again."
    ]


@pytest.mark.parametrize(
    ("column", "code", "value", "kept"), [("level", "0%", 40.0, True), ("offset_minutes", "0%", None, False)]
)
def test_a_percent_cell_is_a_level_and_nothing_else(
    tmp_path: Path, column: str, code: str, value: float | None, kept: bool
) -> None:
    def fill(book: Any, sheet: Any) -> None:
        names = ["event_id", "controller_id", "targets", "action", "days", "anchor", column]
        action = "level" if column == "level" else "on"
        sheet.write_row(0, 0, names)
        sheet.write_row(1, 0, ["1", "02A", "021", action, "daily", "dusk"])
        sheet.write_number(1, 6, 0.4, book.add_format({"num_format": code}))

    found = read(tmp_path / "book.xlsx", {"events": fill})
    assert (found.tables["events"]["level"].to_list() == [value]) is kept
    assert [(row.column, row.value) for row in found.rejections] == [] if kept else [(column, "40%")]


def test_a_fraction_or_a_serial_without_a_format_is_no_time_and_no_date(tmp_path: Path) -> None:
    def hours(_: Any, sheet: Any) -> None:
        header(sheet, "hours")
        sheet.write_row(1, 0, ["01", "daily", 0.3125, 0.75])

    def closures(_: Any, sheet: Any) -> None:
        header(sheet, "closures")
        sheet.write_row(1, 0, ["*", 46381])

    found = read(tmp_path / "book.xlsx", {"hours": hours, "closures": closures})
    assert [(row.column, row.value, row.reason.partition("; ")[2]) for row in found.rejections] == [
        ("opens", "0.3125", "write it like 06:30; is it a part of a day? Give the cell a time format"),
        ("closes", "0.75", "write it like 06:30; is it a part of a day? Give the cell a time format"),
        ("date", "46381", "write it like 2026-11-03; is it a date? Give the cell a date format"),
    ]


# Errors and formulas ---------------------------------------------------------------------------------------


def test_a_cell_with_an_error_rejects_its_row_where_the_column_counts(tmp_path: Path) -> None:
    def fill(_: Any, sheet: Any) -> None:
        rows_of(sheet, "circuits")
        sheet.write_string(0, 5, "cost centre")
        sheet.write_formula(1, 5, "=NA()", None, "#N/A")  # a column of their own
        sheet.write_formula(2, 3, "=B9*A1", None, "#REF!")  # connected_watts

    found = read(tmp_path / "book.xlsx", {"circuits": fill})
    lost = next(row for row in found.rejections if row.source_file == "book.xlsx:circuits")
    assert (lost.source_row, lost.column, lost.value) == (3, "connected_watts", "(error) #REF!")
    assert lost.reason == (
        "connected_watts is an error of a spreadsheet; mend its formula, or clear the cell"
    )
    assert found.tables["circuits"]["circuit_id"].to_list() == ["011", "021"]


def with_formulas(path: Path, **cells: str) -> Path:
    """The small portfolio by a program that stores no results, with formulas in cells of circuits."""
    book = openpyxl.load_workbook(write_workbook(path, small()))
    for place, formula in cells.items():
        book["circuits"][place] = formula
    book.save(path)
    return path


def test_a_formula_whose_result_nobody_stored_rejects_its_row_and_is_said(tmp_path: Path) -> None:
    found = judged(with_formulas(tmp_path / "book.xlsx", D2="=4*250", D4="=D2", Z9="=1"))
    lost = [row for row in found.rejections if row.source_file == "book.xlsx:circuits"]
    assert [(row.source_row, row.column, row.value) for row in lost] == [
        (2, "connected_watts", "(formula) =4*250"),
        (4, "connected_watts", "(formula) =D2"),
        (9, "circuit_id", ""),
        (9, "controller_id", ""),
        (9, "area", ""),
    ]
    assert (
        "book.xlsx:circuits: 3 formulas have no stored result (D2, D4, Z9); open the workbook in a "
        "spreadsheet program, save it, and run again." in found.notices
    )


def test_a_sheet_of_nothing_but_formulas_without_results_has_them_all(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for place in ("B2", "D3"):
        book.active[place] = "=A1"
    book.save(tmp_path / "book.xlsx")
    frame = Book("book.xlsx", (tmp_path / "book.xlsx").read_bytes()).sheet("Sheet").frame
    assert frame.rows() == [(1, None, None), (2, "(formula) =A1", None), (3, None, "(formula) =A1")]
    assert frame.columns == ["source_row", "1", "3"]


def test_results_that_a_writer_made_up_are_read_and_doubted(tmp_path: Path) -> None:
    def fill(_: Any, sheet: Any) -> None:
        rows_of(sheet, "circuits")
        sheet.write_formula(1, 3, "=4*250", None, 1000)
        sheet.write_formula(2, 2, '="in" & "terior"', None, "interior")

    found = read(tmp_path / "book.xlsx", {"circuits": fill})
    assert found.rejections == []
    assert found.tables["circuits"]["connected_watts"].to_list() == [1000, 500, None]
    assert found.notices == [
        "book.xlsx:circuits: formulas (D2, C3) were left to a spreadsheet program to work out; what is "
        "stored as their result may be wrong; open the workbook in a spreadsheet program, save it, and run "
        "again."
    ]


def test_an_empty_text_is_a_result_and_means_blank(tmp_path: Path) -> None:
    def fill(_: Any, sheet: Any) -> None:
        rows_of(sheet, "circuits")
        sheet.write_formula(1, 4, '=""', None, "x")

    content = written(tmp_path / "book.xlsx", {"circuits": fill}).read_bytes()
    stored = patched(content, "xl/worksheets/sheet3.xml", lambda part: part.replace(b"<v>x</v>", b"<v></v>"))
    (tmp_path / "book.xlsx").write_bytes(stored)
    found = judged(tmp_path / "book.xlsx")
    assert (found.rejections, found.tables["circuits"]["hold"].to_list()) == ([], [None, None, "on"])


# Texts -----------------------------------------------------------------------------------------------------


def test_rich_text_line_breaks_and_blanks_around_words_change_nothing(tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        bold, wide = book.add_format({"bold": True}), book.add_format({"bg_color": "yellow"})
        names = ["site_id ", "latitude\n", "longitude", "name", "address"]
        sheet.write_row(0, 0, names)
        sheet.write_rich_string(1, 0, "0", bold, "1", " ")
        sheet.write_row(1, 1, ["40.7\u00a0", -74, "Quince Row\nEast wing", " 12 Quince Row "])
        for row in range(40):  # coloured and empty, to the right and below
            for column in range(8):
                if row > 1 or column > 4:
                    sheet.write_blank(row, column, None, wide)
        sheet.write_string(30, 6, "   ")

    found = read(tmp_path / "book.xlsx", {"sites": fill})
    row = found.tables["sites"].row(0, named=True)
    assert (row["site_id"], row["latitude"], row["name"], row["address"]) == (
        "01",
        40.7,
        "Quince Row\nEast wing",
        "12 Quince Row",
    )
    assert found.tables["sites"].height == 1
    assert found.notices == []


def test_numbers_of_more_digits_than_a_spreadsheet_keeps_are_doubted(tmp_path: Path) -> None:
    def fill(_: Any, sheet: Any) -> None:
        rows_of(sheet, "actions")
        sheet.write_number(1, 0, 123456789012345678)

    found = read(tmp_path / "book.xlsx", {"actions": fill})
    assert found.notices == [
        "book.xlsx:actions: numbers of more than 15 digits (A2) have lost their last ones; if they are ids, "
        "give the cells text format and enter them again."
    ]
