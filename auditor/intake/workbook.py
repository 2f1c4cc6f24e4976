"""One workbook with a sheet a table."""

import hashlib
from collections.abc import Sequence
from pathlib import Path

import fastexcel
import polars as pl

from auditor.errors import UserError
from auditor.intake.archives import check_workbook
from auditor.intake.cells import checked_header, clean
from auditor.model import NEEDED_TABLES, TABLE_NAMES, RawTable

# A spreadsheet keeps a time of day as a part of the day zero; the next day's midnight is 24:00.
_TIME_CELL, _END_OF_DAY_CELL = r"^1899-12-31 (\d\d:\d\d:\d\d)$", "1900-01-01 00:00:00"


def read_workbook(path: Path, needed: Sequence[str] = NEEDED_TABLES) -> list[RawTable]:
    """Every sheet that is named like a table, in the order of the contract; other sheets are passed over.

    Rows count as the spreadsheet shows them. A sheet's file name is ``book.xlsx:sheet``. Cells kept as dates,
    times or numbers give the text that a CSV file would have. Raises UserError where it cannot be read.
    """
    try:
        content = path.read_bytes()
        check_workbook(path.name, content)
        digest = hashlib.sha256(content).hexdigest()
        book = fastexcel.read_excel(content)
    except (OSError, fastexcel.FastExcelError) as error:
        raise UserError(f"{path.name} cannot be read as a workbook; save it again as .xlsx.") from error
    sheets = _sheets_by_table(book, path)
    for name in needed:
        if name not in sheets:
            raise UserError(f"{path.name}: sheet {name} is missing; add it.")
    return [
        RawTable(name, f"{path.name}:{name}", digest, clean(_sheet(book, sheets[name], path)))
        for name in TABLE_NAMES
        if name in sheets
    ]


def sheet_names(path: Path) -> list[str]:
    """Names of the sheets, whatever they hold."""
    return list(fastexcel.read_excel(path).sheet_names)


def _sheets_by_table(book: fastexcel.ExcelReader, path: Path) -> dict[str, str]:
    found: dict[str, str] = {}
    for sheet in book.sheet_names:
        name = sheet.strip().lower()
        if name in TABLE_NAMES and name in found:
            raise UserError(f'{path.name}: sheets "{found[name]}" and "{sheet}" both hold {name}; keep one.')
        found[name] = sheet
    return found


def _sheet(book: fastexcel.ExcelReader, name: str, path: Path) -> pl.DataFrame:
    # skip_rows: without it, blank rows above the header would not count.
    cells = book.load_sheet(name, header_row=None, dtypes="string", skip_rows=0).to_polars()
    rows = clean(cells.with_row_index("source_row", offset=1))
    if rows.is_empty():
        raise UserError(f"{path.name}: sheet {name} is empty; its first row must name the columns.")
    header = ["" if cell is None else str(cell) for cell in rows.row(0)[1:]]
    names = checked_header(header, path)
    return plain_times(rows.slice(1).rename(dict(zip(rows.columns[1:], names, strict=True))))


def plain_times(cells: pl.DataFrame) -> pl.DataFrame:
    """Cells as text, those that a spreadsheet keeps as times of day written like such."""
    text = pl.all().exclude("source_row").cast(pl.String)
    return cells.with_columns(text.str.replace(_TIME_CELL, "${1}").replace(_END_OF_DAY_CELL, "24:00"))
