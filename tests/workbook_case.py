"""What the tests of ``findings.xlsx`` share: its sheets, and ways to read them."""

import csv
from pathlib import Path
from typing import Any

import duckdb
import openpyxl

from auditor.intake.books import Book
from auditor.intake.cells import clean

SHEETS = {
    "findings": "Findings",
    "soon": "Begins soon",
    "sites": "Sites",
    "circuits": "Circuits",
    "not_evaluated": "Not evaluated",
    "rejected": "Rejected",
}

BESIDE = ("seen", "state", "next_date", "status_reason", "who")  # findings, beside what the CSV file has


def csv_rows(out: Path, table: str) -> list[list[str]]:
    """A result file as any reader of CSV gives it, header first."""
    with (out / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file, strict=True))


def listed(out: Path, table: str) -> list[list[str]]:
    """What a sheet holds: the rows of its CSV file; beside findings their evidence, and who may act on it."""
    header, *rows = csv_rows(out, table)
    if table != "findings":
        return [header, *rows]
    with duckdb.connect(str(out / "s.duckdb"), read_only=True) as store:
        found = store.execute(f"SELECT finding_id, {', '.join(BESIDE)} FROM findings").fetchall()
    more = {key: ["" if cell is None else str(cell) for cell in beside] for key, *beside in found}
    return [[*header, "evidence", *BESIDE[1:]], *([*row, *more[row[0]]] for row in rows)]


def book(path: Path) -> Any:
    return openpyxl.load_workbook(path)


def own_reading(path: Path, sheet: str) -> list[list[str | None]]:
    """Rows below the header as our intake reads a workbook's sheet; a cell is text or None."""
    frame = clean(Book(path.name, path.read_bytes()).sheet(sheet).frame)[1:]
    midnight = (
        " 00:00:00"  # which the reader gives to a date, and which stands for one wherever we want a date
    )
    return [[cell and cell.removesuffix(midnight) for cell in row[1:]] for row in frame.rows()]
