"""One workbook with a sheet a table."""

import hashlib
from pathlib import Path

import fastexcel
import polars as pl

from auditor.errors import UserError
from auditor.intake.cells import as_text, checked_header, clean
from auditor.model import NEEDED_TABLES, TABLE_NAMES, RawTable


def read_workbook(path: Path) -> list[RawTable]:
    """Every sheet that is named like a table, in the order of the contract; other sheets are passed over.

    Rows count as the spreadsheet shows them, the header as 1. A sheet's file name is ``book.xlsx:sheet``.
    """
    try:
        book = fastexcel.read_excel(path)
    except fastexcel.FastExcelError as error:
        raise UserError(f"{path.name} cannot be read as a workbook; save it again as .xlsx.") from error
    sheets = {name.strip().lower(): name for name in book.sheet_names}
    for name in NEEDED_TABLES:
        if name not in sheets:
            raise UserError(f"{path.name}: sheet {name} is missing; add it.")
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    return [
        RawTable(name, f"{path.name}:{name}", digest, clean(_sheet(book, sheets[name], path)))
        for name in TABLE_NAMES
        if name in sheets
    ]


def _sheet(book: fastexcel.ExcelReader, name: str, path: Path) -> pl.DataFrame:
    frame = book.load_sheet(name, header_row=None, dtypes="string", skip_whitespace_tail_rows=True).to_polars()
    rows = as_text(frame).with_row_index("source_row", offset=1)
    if rows.is_empty():
        raise UserError(f"{path.name}: sheet {name} is empty; its first row must name the columns.")
    header = ["" if cell is None else str(cell) for cell in rows.row(0)[1:]]
    names = checked_header(header, path)
    body = rows.slice(1).rename(dict(zip(rows.columns[1:], names, strict=True)))
    return body.filter(~pl.all_horizontal(pl.all().exclude("source_row").is_null()))
