"""One workbook with a sheet a table."""

import hashlib
from collections.abc import Sequence
from pathlib import Path

import polars as pl

from auditor.errors import UserError
from auditor.files import read_file
from auditor.intake.books import Area, Book, SheetText, merged_saying
from auditor.intake.cells import ABOVE, checked_header, clean
from auditor.model import NEEDED_TABLES, TABLE_NAMES, RawTable

_TOP = 20  # rows that hold something, among which the header is looked for
_Line = tuple[int, dict[str, str | None]]  # a row's number, and its cells by column


def read_workbook(path: Path, needed: Sequence[str] = NEEDED_TABLES) -> list[RawTable]:
    """Every sheet that is named like a table, in the order of the contract; other sheets are passed over.

    Rows count as the spreadsheet shows them. A sheet's file name is ``book.xlsx:sheet``. Cells kept as dates,
    times or numbers give the text that a CSV file would have. Raises UserError where it cannot be read.
    """
    content = read_file(path, path.name)
    book = Book(path.name, content)
    digest = hashlib.sha256(content).hexdigest()
    sheets = _sheets_by_table(book, path)
    for name in needed:
        if name not in sheets:
            raise UserError(f"{path.name}: sheet {name} is missing; add it.")
    found = {name: book.sheet(sheets[name]) for name in TABLE_NAMES if name in sheets}
    return [_table(name, f"{path.name}:{name}", digest, sheet) for name, sheet in found.items()]


def sheet_names(path: Path) -> list[str]:
    """Names of the sheets, whatever they hold."""
    return Book(path.name, read_file(path, path.name)).sheet_names


def _sheets_by_table(book: Book, path: Path) -> dict[str, str]:
    found: dict[str, str] = {}
    for sheet in book.sheet_names:
        name = sheet.strip().lower()
        if name in TABLE_NAMES and name in found:
            raise UserError(f'{path.name}: sheets "{found[name]}" and "{sheet}" both hold {name}; keep one.')
        found[name] = sheet
    return found


def _table(name: str, file: str, digest: str, sheet: SheetText) -> RawTable:
    """A sheet below its header; rows above that hold something are counted as left out."""
    rows = clean(sheet.frame)
    if rows.is_empty():
        raise UserError(f"{file} is empty; its first row must name the columns.")
    number, names = _header(_lines(rows), sheet.merged, file)
    data = rows.filter(pl.col("source_row") > number)
    kept = [column for column, name in names.items() if name or data[column].null_count() < data.height]
    called = checked_header([names[column] or "" for column in kept], file, number)
    frame = data.select("source_row", **dict(zip(called, map(pl.col, kept), strict=True)))
    above = dict.fromkeys(rows["source_row"].filter(rows["source_row"] < number), ABOVE)
    below = [area for area in sheet.merged if area.top > number]
    notices = sheet.notices_of(file, *merged_saying(below))
    return RawTable(name, file, digest, frame, skipped=above, notices=notices, header_row=number)


def _lines(rows: pl.DataFrame) -> list[_Line]:
    """As much of the top as a header may take, and a row more."""
    top = rows.head(_TOP).iter_rows(named=True)
    return [(row.pop("source_row"), row) for row in top]


def _header(lines: list[_Line], merged: Sequence[Area], file: str) -> _Line:
    """The row that names the columns: the first with two names that is no heading over others.

    A title has one cell, a heading is merged over columns that the next row names. What is merged down from
    above into the header is a name in it.
    """
    down: dict[str, str | None] = {}
    for (number, cells), (_, below) in zip(lines, [*lines[1:], (0, {})], strict=True):
        names = {column: cell or down.get(column) for column, cell in cells.items()}
        here = [area for area in merged if area.top <= number <= area.bottom]
        if _filled(names) > 1 and not any(_heads(area, cells, below) for area in here):
            return number, names
        down = {str(area.left): names.get(str(area.left)) for area in here if area.bottom > number}
    raise UserError(f"{file}: no row of the first {_TOP} names the columns; put the names into row 1.")


def _heads(area: Area, cells: dict[str, str | None], below: dict[str, str | None]) -> bool:
    """Whether merged cells are a heading over several names."""
    under = {column: cell for column, cell in below.items() if area.left <= int(column) <= area.right}
    return cells.get(str(area.left)) is not None and _filled(under) > 1


def _filled(cells: dict[str, str | None]) -> int:
    return sum(cell is not None for cell in cells.values())
