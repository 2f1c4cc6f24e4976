"""Workbooks that a map reads: what they show, what is hidden in them, and what holds no value."""

from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from auditor.mapping import mapped_tables
from auditor.model import RawTable
from auditor.normalise.accounts import counts

from .conftest import Console

MAP = """
[source]
files = "*.xlsx"
[[circuits]]
circuit_id = "P1-{Line}"
controller_id = "P1"
area = { cell = "{Kind}", words = { Hall = "interior" }, else = "parking" }
[[events]]
controller_id = "P1"
targets = "P1-{Line}"
days = "daily"
action = "level"
level = { cell = "{Level}", unit = "UNIT" }
when = { cell = "{On}", time = "24h" }
"""


def write_book(path: Path, **odd: Any) -> None:
    """Three lines; ``odd`` are formulas by cell with their stored results."""
    with xlsxwriter.Workbook(path) as book:
        sheet = book.add_worksheet("Lights")
        percent, clock, padded = (book.add_format({"num_format": code}) for code in ("0%", "hh:mm", "000"))
        sheet.write_row(0, 0, ["Line", "Kind", "Level", "On"])
        for row in (1, 2, 3):
            sheet.write_number(row, 0, row, padded)
            sheet.write_string(row, 1, "Hall")
            sheet.write_number(row, 2, row / 10, percent)
            sheet.write_number(row, 3, 0.75, clock)
        for place, result in odd.items():
            sheet.write_formula(place, "=A1", None, result)
        sheet.set_row(2, None, None, {"hidden": True})


def mapped(folder: Path, unit: str = "%") -> tuple[list[RawTable], list[str]]:
    (folder / "m.toml").write_text(MAP.replace("UNIT", unit), encoding="utf-8")
    return mapped_tables([folder / "m.toml"])


@pytest.mark.parametrize("unit", ["%", "share"])
def test_cells_read_as_they_show_whatever_unit_was_meant_for_bare_ones(unit: str, tmp_path: Path) -> None:
    write_book(tmp_path / "book.xlsx")
    (circuits, events), notices = mapped(tmp_path, unit)
    assert circuits.frame["circuit_id"].to_list() == ["P1-001", "P1-002", "P1-003"]
    assert events.frame.select("level", "time").rows() == [("10", "18:00"), ("20", "18:00"), ("30", "18:00")]
    assert notices == [
        "book.xlsx:Lights: 1 hidden row was read like the others (3); delete what is not meant."
    ]


def test_an_error_does_not_become_a_word_or_a_part_of_an_id(tmp_path: Path) -> None:
    write_book(tmp_path / "book.xlsx", A2="#N/A", B3="#REF!")
    (circuits, events), _ = mapped(tmp_path)
    why = "is an error of a spreadsheet; mend its formula, or clear the cell"
    assert [(row.source_row, row.value, row.reason) for row in circuits.rejections] == [
        (2, "(error) #N/A", f"circuit_id (column Line) {why}"),
        (3, "(error) #REF!", f"area (column Kind) {why}"),
    ]
    assert [(row.source_row, row.column) for row in events.rejections] == [(2, "targets")]


def test_a_check_shows_what_is_noted(console: Console, tmp_path: Path) -> None:
    write_book(tmp_path / "book.xlsx")
    mapped(tmp_path)
    _, shown, _ = console("check", tmp_path / "m.toml")
    assert "Note: book.xlsx:Lights: 1 hidden row was read like the others (3)" in shown


PLAIN = """
[source]
files = "*.xlsx"
header_row = 2
[[hours]]
site_id = "{No}"
days = "{Days}"
opens = { cell = "{Open}", time = "HOW" }
closes = { cell = "{Shut}", time = "HOW" }
"""


def hours_book(path: Path, rows: list[list[Any]], merged: tuple[str, ...] = ()) -> None:
    """A title row, then these; numbers below 1 are cells with a time format."""
    with xlsxwriter.Workbook(path) as book:
        sheet, clock = book.add_worksheet("Hours"), book.add_format({"num_format": "h:mm AM/PM"})
        for number, cells in enumerate(rows):
            for place, cell in enumerate(cells):
                sheet.write(number, place, cell, clock if isinstance(cell, float) else None)
        for area in merged:
            text = {"A1:A2": "No", "B1:B2": "Days"}.get(area, "")
            sheet.merge_range(area, text)


HEAD: list[list[Any]] = [["Opening times"], ["No", "Days", "Open", "Shut"]]


@pytest.mark.parametrize(("how", "text"), [("12h", "9:00 AM"), ("24h", "9:00"), ("decimal hours", "9")])
def test_a_real_time_is_what_it_is_beside_texts_of_any_format(how: str, text: str, tmp_path: Path) -> None:
    hours_book(tmp_path / "b.xlsx", [*HEAD, ["1", "MO", text, 0.75], ["2", "TU", 0.375, 0.75]])
    (tmp_path / "m.toml").write_text(PLAIN.replace("HOW", how).replace("18:00", text))
    (table,) = mapped_tables([tmp_path / "m.toml"])[0]
    assert table.frame["opens"].to_list() == ["09:00", "09:00"] and not table.rejections
    assert table.frame["closes"].to_list() == ["18:00", "18:00"]


def test_a_text_that_looks_like_a_time_is_still_no_time_of_the_twelve_hour_clock(tmp_path: Path) -> None:
    hours_book(tmp_path / "b.xlsx", [*HEAD, ["1", "MO", "09:00:00", 0.75]])
    (tmp_path / "m.toml").write_text(PLAIN.replace("HOW", "12h"))
    (table,) = mapped_tables([tmp_path / "m.toml"])[0]
    assert ["lacks its AM or PM" in row.reason for row in table.rejections] == [True]


def test_cells_right_of_the_header_are_said_and_cost_no_row(tmp_path: Path) -> None:
    rows = [
        ["1", "MO", "9:00", "17:00", "", "see notes"],
        ["2", "TU", "9:00", "17:00"],
        ["", "", "", "", "x"],
    ]
    hours_book(tmp_path / "b.xlsx", [*HEAD, *rows])
    (tmp_path / "m.toml").write_text(PLAIN.replace("HOW", "24h"))
    (table,), notices = mapped_tables([tmp_path / "m.toml"])
    assert table.frame["site_id"].to_list() == ["1", "2"] and not table.rejections
    assert notices == [
        "b.xlsx:Hours: 2 cells right of the header not read, first F3; "
        "name the column in the header to use it."
    ]
    (account,) = counts([table], [])
    assert (account["rows"], account["kept"], account["skipped_by"]) == (
        4, 2, {"above the header": 1, "right of the header": 1}
    )  # fmt: skip


@pytest.mark.parametrize("header", ["2", "[1, 2]"])
def test_names_that_are_merged_down_are_names_and_other_merged_cells_are_noted(
    header: str, tmp_path: Path
) -> None:
    rows: list[list[Any]] = [
        ["", "", "Open", "Shut"],
        ["", "", "", ""],
        ["1", "MO", "9:00", "17:00"],
    ]
    rows[1][2:] = ["from", "to"]
    merged = ("A1:A2", "B1:B2", "A5:B5")
    hours_book(tmp_path / "b.xlsx", rows, merged)
    names = {"2": ("from", "to"), "[1, 2]": ("Open from", "Shut to")}[header]
    text = PLAIN.replace("HOW", "24h").replace("header_row = 2", f"header_row = {header}")
    (tmp_path / "m.toml").write_text(
        text.replace("{Open}", f"{{{names[0]}}}").replace("{Shut}", f"{{{names[1]}}}")
    )
    (table,), notices = mapped_tables([tmp_path / "m.toml"])
    assert table.frame.select("source_row", "site_id", "days").rows() == [(3, "1", "MO")]
    assert notices == [
        "b.xlsx:Hours: merged cells (A5:B5) count for the first of them alone; unmerge and fill them in."
    ]
