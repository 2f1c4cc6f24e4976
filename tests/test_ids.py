"""Ids that a spreadsheet changed: said where another table still has them, and never mended."""

from pathlib import Path
from typing import Any

import pytest

from .book_case import read, rows_of
from .conftest import Row, Tables, small
from .judging import judge

ADVICE = (
    "Nothing was changed, and they count as two ids: give the column text format and enter its ids again, or "
    "take them from the export itself."
)


def said(tables: Tables) -> list[str]:
    """The notices about ids."""
    return [notice for notice in judge(tables).notices if "spreadsheet" in notice]


def with_ids(table: str, column: str, *ids: str) -> Tables:
    """The small portfolio with these ids in a column, row by row."""
    tables = small()
    for row, cell in zip(tables[table], ids, strict=True):
        row[column] = cell
    return tables


def looks(file: str, row: int, column: str, cell: str, better: str, other: str, many: str) -> str:
    return (
        f'{file}, row {row}: {column} "{cell}" looks like "{better}" of {other} after a spreadsheet took it '
        f"for a number ({many} in all). {ADVICE}"
    )


def test_a_key_that_lost_its_zeros_is_doubted_and_what_names_it_is_rejected() -> None:
    tables = with_ids("sites", "site_id", "1", "2")
    found = judge(tables)
    assert found.notices == [looks("sites.csv", 2, "site_id", "1", "01", "controllers.csv", "2 rows")]
    lost = [(row.source_file, row.column, row.value) for row in found.rejections if row.column == "site_id"]
    assert lost[:2] == [("controllers.csv", "site_id", "01"), ("controllers.csv", "site_id", "02")]
    assert found.tables["sites"]["site_id"].to_list() == ["1", "2"]  # as they stand there


def test_a_reference_that_lost_them_is_doubted() -> None:
    assert said(with_ids("hours", "site_id", "1")) == [
        looks("hours.csv", 2, "site_id", "1", "01", "sites.csv", "1 row")
    ]


def test_ids_in_lists_are_looked_at_one_by_one() -> None:
    tables = with_ids("events", "targets", "012;011", "12", "01P", "01P", "021", "21")
    assert said(tables) == [looks("events.csv", 3, "targets", "12", "012", "circuits.csv", "2 rows")]


@pytest.mark.parametrize(
    ("was", "became"),
    [
        ("0042", "42"),
        ("42", "42.0"),
        ("0042", "42.0"),
        ("100000", "1E+05"),
        ("1E5", "100000"),
        ("1e05", "100000"),
        ("00", "0"),
    ],
)
def test_every_spelling_of_a_number_is_recognised(was: str, became: str) -> None:
    tables = with_ids("controllers", "controller_id", "01A", was)
    assert said(tables) == []
    rows: list[Row] = [row for name in ("circuits", "events") for row in tables[name]]
    for row in rows:
        row["controller_id"] = was if row["controller_id"] == "02A" else row["controller_id"]
    tables["circuits"][2]["controller_id"] = became
    assert said(tables) == [
        looks("circuits.csv", 4, "controller_id", became, was, "controllers.csv", "1 row")
    ]


def test_ids_that_differ_in_earnest_are_left_alone() -> None:
    both = with_ids("sites", "site_id", "1", "01")  # given by one file: two sites
    both["controllers"][1]["site_id"] = "1"
    assert said(both) == []
    kinds = with_ids("sensors", "sensor_id", "11")  # a sensor beside the circuit 011
    kinds["events"][2]["targets"] = kinds["events"][3]["targets"] = "11"
    assert said(kinds) == []
    assert said(with_ids("circuits", "circuit_id", "011", "012", "0021")) == []  # neither became the other


def test_cells_of_a_workbook_lose_their_zeros_or_become_dates_and_it_is_said(tmp_path: Path) -> None:
    def controllers(book: Any, sheet: Any) -> None:
        rows_of(sheet, "controllers")
        sheet.write_number(1, 1, 1)
        sheet.write_number(2, 1, 2, book.add_format({"num_format": "00"}))  # shows 02, and is read as that

    def sensors(book: Any, sheet: Any) -> None:
        rows_of(sheet, "sensors")
        sheet.write_number(1, 0, 46082, book.add_format({"num_format": "d-mmm"}))  # 1-Mar, from "1-3"

    found = read(tmp_path / "book.xlsx", {"controllers": controllers, "sensors": sensors})
    assert [notice for notice in found.notices if "show no year" not in notice] == [
        looks("book.xlsx:controllers", 2, "site_id", "1", "01", "book.xlsx:sites", "1 row"),
        'book.xlsx:sensors, row 2: sensor_id "2026-03-01 00:00:00" is a date, as which a spreadsheet takes '
        "an id such as 3-1 (1 row in all). Nothing was changed: give the column text format and enter its "
        "ids again.",
    ]
    assert found.tables["controllers"]["site_id"].to_list() == ["02"]
