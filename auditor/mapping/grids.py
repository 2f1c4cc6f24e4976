"""Bytes of one file to grids of text: delimited text, or the sheets of a workbook."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from fnmatch import fnmatchcase

import polars as pl

from auditor.errors import UserError
from auditor.intake.books import Book, SheetText
from auditor.intake.records import decoded, records, separator_of
from auditor.mapping.holders import Held, Holder
from auditor.wording import nearest

WORKBOOKS = (".xlsx", ".xlsm", ".xlsb", ".ods", ".xls")
MOST_ROWS = 2_000_000
_WIDEST = 2_000  # columns
_LONGEST = 100_000  # characters of a cell that is shown or translated
Record = tuple[int, list[str | None]]


@dataclass(frozen=True)
class Grid:
    """One table as its file has it: numbered rows of trimmed cells, None where blank, blank rows left out.

    ``notes`` says what had to be found out about it; ``notices`` are sentences for whoever relies on it. Of a
    sheet also its ``page``, and ``held``, its place in the workbook.
    """

    source_file: str
    sha256: str
    rows: list[Record]
    sheet: str = ""
    notes: dict[str, str] = field(default_factory=dict)
    notices: tuple[str, ...] = ()
    page: SheetText | None = None
    held: tuple[Held, ...] = ()


def grids_of(
    name: str,
    content: bytes,
    sheets: tuple[str, ...] = (),
    encoding: str | None = None,
    separator: str | None = None,
) -> Iterator[Grid]:
    """Every grid of a file; of a workbook with several sheets those that ``sheets`` names ("*": any letters).

    Raises UserError where it cannot be read.
    """
    if name.lower().endswith(WORKBOOKS):
        yield from _sheets(name, content, sheets)
    else:
        yield _text(name, content, encoding, separator)


def _text(name: str, content: bytes, encoding: str | None, separator: str | None) -> Grid:
    text, found = decoded(name, content, encoding)
    parted = separator or separator_of(text)
    rows: list[Record] = [
        (number, [_cell(cell) for cell in record]) for number, record in records(name, text, parted)
    ]
    notes = {"encoding": found, "separator": parted}
    return Grid(name, hashlib.sha256(content).hexdigest(), _within(name, rows), "", notes)


def _cell(cell: str | None) -> str | None:
    """Trimmed; the apostrophe with which result files shield what looks like a formula is taken off."""
    bare = (cell or "").strip()
    return (bare[1:] if bare[:1] == "'" and bare[1:2] in tuple("=+-@\t\r") else bare) or None


def _within(name: str, rows: list[Record]) -> list[Record]:
    if len(rows) > MOST_ROWS or any(len(cells) > _WIDEST for _, cells in rows):
        raise UserError(f"{name} has more than {MOST_ROWS:,} rows or {_WIDEST:,} columns; give it in parts.")
    return rows


def _sheets(name: str, content: bytes, wanted: tuple[str, ...]) -> Iterator[Grid]:
    digest = hashlib.sha256(content).hexdigest()
    book = Book(name, content)
    holder = Holder("sheet", name, digest, tuple(book.sheet_names))
    for sheet in _chosen(name, book.sheet_names, wanted):
        text = book.sheet(sheet)
        file = f"{name}:{sheet}"
        rows = _sheet_rows(name, text.frame)
        yield Grid(file, digest, rows, sheet, {}, text.notices_of(file), text, ((holder, sheet),))


def _chosen(name: str, sheets: list[str], wanted: tuple[str, ...]) -> list[str]:
    if not wanted:
        if len(sheets) > 1:
            listed = ", ".join(f'"{sheet}"' for sheet in sheets)
            raise UserError(f"{name} has the sheets {listed}; say which, such as sheets = {sheets[0]!r}.")
        return sheets
    for pattern in wanted:
        if not any(fnmatchcase(sheet, pattern) for sheet in sheets):
            raise UserError(f'{name} has no sheet "{pattern}"; did you mean "{nearest(pattern, sheets)}"?')
    return [sheet for sheet in sheets if any(fnmatchcase(sheet, pattern) for pattern in wanted)]


def _sheet_rows(name: str, cells: pl.DataFrame) -> list[Record]:
    numbered = ((row[0], [_cell(cell) for cell in row[1:]]) for row in cells.iter_rows())
    return _within(name, [(number, row) for number, row in numbered if any(row)])
