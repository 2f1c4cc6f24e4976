"""Workbooks that a map reads: what they show, what is hidden in them, and what holds no value."""

from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from auditor.mapping import mapped_tables
from auditor.model import RawTable

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
