"""How people lay sheets out: hidden rows, titles and merged cells, sheets and macros that are no tables."""

import io
from pathlib import Path
from typing import Any

import pytest

from auditor.intake import not_read, read_portfolio

from .book_case import header, read, rows_of, written
from .conftest import small
from .test_intake import assert_same_portfolio, judged


def test_what_is_hidden_is_read_and_said(tmp_path: Path, portfolio: Path) -> None:
    def fill(_: Any, sheet: Any) -> None:
        rows_of(sheet, "events")
        for row in (2, 4, 5, 6, 20):  # counted from 0; the last holds nothing
            sheet.set_row(row, None, None, {"hidden": True})
        sheet.set_column(3, 3, None, None, {"hidden": True})
        sheet.set_column(50, 16_383, None, None, {"hidden": True})

    def hours(_: Any, sheet: Any) -> None:
        rows_of(sheet, "hours")
        sheet.hide()

    found = read(tmp_path / "book.xlsx", {"events": fill, "hours": hours})
    assert_same_portfolio(found, judged(portfolio))
    assert found.notices == [
        "book.xlsx:events: 4 hidden rows were read like the others (3, 5 to 7); delete what is not meant.",
        "book.xlsx:events: 1 hidden column was read like the others (D); delete what is not meant.",
        "book.xlsx:hours is a hidden sheet, and was read.",
    ]


def merged_header(book: Any, sheet: Any) -> None:
    """A title, a heading over two columns, and names beside it that are merged down."""
    look = book.add_format({"bold": True})
    sheet.merge_range(0, 0, 0, 3, "Sites of the network", look)
    sheet.merge_range(2, 0, 3, 0, "site_id", look)
    sheet.merge_range(2, 1, 2, 2, "Place", look)
    sheet.merge_range(2, 3, 3, 3, "name", look)
    sheet.write_row(3, 1, ["latitude", "longitude"])
    sheet.write_row(4, 0, ["01", 40.7, -74, "Quince Row"])
    sheet.write_row(5, 0, ["02", 60.2, 24.9])


def test_titles_and_headings_above_the_names_are_passed_over_and_counted(tmp_path: Path) -> None:
    found = read(tmp_path / "book.xlsx", {"sites": merged_header})
    assert found.tables["sites"].select("site_id", "latitude", "longitude", "name", "source_row").rows() == [
        ("01", 40.7, -74.0, "Quince Row", 5),
        ("02", 60.2, 24.9, None, 6),
    ]
    assert found.inputs[0]["skipped_by"] == {"above the header": 2}
    assert found.notices == []


def test_a_missing_column_is_said_with_the_row_of_the_header(tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        sheet.merge_range(0, 0, 0, 2, "Sites", book.add_format())
        sheet.write_row(1, 0, ["site_id", "latitude", "longitudes"])

    with pytest.raises(
        Exception, match=r'^book\.xlsx:sites, row 2: column "longitude" is missing; add it, or'
    ):
        read(tmp_path / "book.xlsx", {"sites": fill})


def test_a_sheet_without_names_of_columns_is_said_to_have_none(tmp_path: Path) -> None:
    with pytest.raises(Exception, match=r"^book\.xlsx:sites: no row of the first 20 names the columns"):
        read(tmp_path / "book.xlsx", {"sites": lambda _, sheet: sheet.write(0, 0, "Sites")})


def test_merged_cells_among_the_rows_are_said(tmp_path: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        header(sheet, "hours")
        sheet.merge_range(1, 0, 2, 0, "01", book.add_format())
        sheet.write_row(1, 1, ["MO", "08:00", "18:00"])
        sheet.write_row(2, 1, ["TU", "08:00", "18:00"])

    found = read(tmp_path / "book.xlsx", {"hours": fill})
    assert [(row.source_row, row.column) for row in found.rejections] == [(3, "site_id")]
    assert found.notices == [
        "book.xlsx:hours: merged cells (A2:A3) count for the first of them alone; unmerge and fill them in."
    ]


def test_macros_and_sheets_of_other_names_are_passed_over(tmp_path: Path, portfolio: Path) -> None:
    def fill(book: Any, sheet: Any) -> None:
        rows_of(sheet, "sites")
        book.add_vba_project(io.BytesIO(b"Sub Auto_Open()"), is_stream=True)
        book.add_worksheet("Guide").write(0, 0, "How to")  # what the template calls its own
        book.add_worksheet("Sitez").write(0, 0, "x")

    path = written(tmp_path / "book.xlsm", {"sites": fill})
    assert_same_portfolio(judged(path), judged(portfolio))
    assert [table.name for table in read_portfolio(path)] == list(small())
    assert not_read(path) == ['Sitez was not read: no table has this name; did you mean "sites"?']
