"""``findings.xlsx``: the lists of the CSV files in one workbook, a sheet a list, to filter, sort and print.

The rows are those of the CSV files, in their order; findings have their evidence beside them. Text stays
text whatever it looks like; numbers and dates are real ones. A header says in words, with the unit, what the
column holds, and on its last line what the CSV file calls it: one row, so that filters work and a script
finds its column.
"""

import math
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from pathlib import Path
from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.exceptions import FileCreateError
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from auditor.resources import query
from auditor.results import replacing
from auditor.store import Connection
from auditor.wording import counted

_SHEETS = {
    "findings": "Findings",
    "soon": "Begins soon",
    "sites": "Sites",
    "circuits": "Circuits",
    "not_evaluated": "Not evaluated",
    "rejected": "Rejected",
}
_MOST_ROWS = 1_048_576  # of a sheet, the header's among them; the most that a spreadsheet opens
_LONGEST = 32_767  # UTF-16 units of a cell's text; likewise
_CUT = " … (cut here; the CSV file has all of it)"
_WIDEST = 60  # characters; longer texts are wrapped
_LONGEST_PLAIN = 255  # characters; older spreadsheets show a longer one in text format as a row of #
_WORDS = re.compile(r'(\w+)"?,? +-- (.+)$', re.MULTILINE)  # a column of a query, and the words behind it
_MONEY = re.compile(r"\bmoney\b")


@dataclass(frozen=True)
class _Column:
    """A column of a list: its name, the engine's type, its words, and the characters of its longest cell."""

    name: str
    kind: str
    words: str
    longest: int

    @property
    def width(self) -> int:
        return min(max(self.longest, len(self.name), 8) + 3, _WIDEST)  # room for the filter's button

    @property
    def look(self) -> dict[str, Any]:
        top: dict[str, Any] = {"valign": "top"}
        if self.kind == "VARCHAR":
            # In text format, or with a prefix, a cell stays text when somebody edits it, too.
            stays = {"num_format": "@"} if self.longest <= _LONGEST_PLAIN else {"quote_prefix": True}
            return top | stays | {"text_wrap": True}
        cents = self.name.endswith(("cost", "score"))
        numbers = {"DOUBLE": "#,##0.00" if cents else "#,##0.0", "DATE": "yyyy-mm-dd", "BOOLEAN": "General"}
        return top | {"num_format": numbers.get(self.kind, "0")}


def write_workbook(
    connection: Connection, path: Path, currency: str = "", most_rows: int = _MOST_ROWS
) -> None:
    """The workbook at ``path``; same store, same bytes. Under a list too long for a sheet it says so."""
    with replacing(path) as draft, new_book(draft, constant_memory=True) as book:
        for table in _SHEETS:
            _write_sheet(book, table, connection, currency, most_rows)


@contextmanager
def new_book(path: Path, constant_memory: bool = False) -> Iterator[Workbook]:
    """A workbook to be filled, with the same bytes for the same content; ``constant_memory``: row by row."""
    try:
        with Workbook(str(path), {"constant_memory": constant_memory}) as book:
            book.set_properties({"created": datetime(1980, 1, 1)})  # else the time of day would be in it
            book.use_zip64()
            yield book
    except FileCreateError as error:  # what the library makes of a full disk and the like
        raise OSError(str(error)) from error


def _write_sheet(book: Workbook, table: str, connection: Connection, currency: str, most_rows: int) -> None:
    sql = query(f"results/{'findings_sheet' if table == 'findings' else table}.sql")
    lengths = connection.execute(f"SELECT count(*), max(length(COLUMNS(*)::VARCHAR)) FROM ({sql})").fetchone()
    height, *longest = lengths or ()
    fitting = height if height < most_rows else most_rows - 2  # a row for the header, one for the sentence
    result = connection.execute(sql)
    columns = _columns(result, longest, sql, currency)
    sheet = book.add_worksheet(_SHEETS[table])
    _lay_out(book, sheet, columns, fitting)
    _fill(book, sheet, columns, islice(_rows(result), fitting))
    if fitting < height:
        rest = f"{counted(height - fitting, 'further row')} did not fit; {table}.csv holds every row."
        sheet.write_string(fitting + 1, 0, rest)


def _columns(result: Connection, longest: list[int | None], sql: str, currency: str) -> list[_Column]:
    """A result's columns; their words stand behind them in the query, or else come from their names."""
    words = dict(_WORDS.findall(sql))
    columns = []
    for (name, kind, *_), long in zip(result.description, longest, strict=True):
        plain = words.get(name, name.replace("_", " ").capitalize())
        said = _MONEY.sub(lambda _: currency.strip() or "money", plain)
        columns.append(_Column(name, str(kind), said, long or 0))
    return columns


def _lay_out(book: Workbook, sheet: Worksheet, columns: list[_Column], rows: int) -> None:
    """Widths, header, filters, and what a printer needs."""
    look = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    for place, column in enumerate(columns):
        sheet.set_column(place, place, column.width)
        _write_text(sheet, 0, place, f"{column.words}\n{column.name}", look)
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, rows, len(columns) - 1)
    sheet.ignore_errors({"number_stored_as_text": "A1:XFD1048576"})  # ids such as 007 are no mistakes
    sheet.repeat_rows(0)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)


def _fill(book: Workbook, sheet: Worksheet, columns: list[_Column], rows: Iterator[tuple[Any, ...]]) -> None:
    looks = [book.add_format(column.look) for column in columns]
    writers: list[_Writer] = [_WRITERS.get(column.kind, _write_number) for column in columns]
    for number, row in enumerate(rows, 1):
        for place, cell in enumerate(row):
            if cell is not None:
                writers[place](sheet, number, place, cell, looks[place])


def _rows(result: Connection) -> Iterator[tuple[Any, ...]]:
    while batch := result.fetchmany(1000):
        yield from batch


def _write_text(sheet: Worksheet, row: int, column: int, text: str, look: Format) -> None:
    if len(text) > _LONGEST // 2:
        text = _cut(text)
    if text.startswith("<r>") and text.endswith("</r>"):
        # The library would take it for its own markup and write it unescaped, except in pieces.
        sheet.write_rich_string(row, column, look, text[:1], text[1:], look)
    elif text:
        sheet.write_string(row, column, text, look)


def _cut(text: str) -> str:
    units = text.encode("utf-16-le")
    if len(units) <= 2 * _LONGEST:
        return text
    return units[: 2 * (_LONGEST - len(_CUT))].decode("utf-16-le", errors="ignore") + _CUT


def _write_number(sheet: Worksheet, row: int, column: int, number: float, look: Format) -> None:
    if math.isfinite(number):
        sheet.write_number(row, column, number, look)


def _write_date(sheet: Worksheet, row: int, column: int, day: date, look: Format) -> None:
    sheet.write_datetime(row, column, day, look)


def _write_truth(sheet: Worksheet, row: int, column: int, truth: bool, look: Format) -> None:
    sheet.write_boolean(row, column, truth, look)


_Writer = Callable[[Worksheet, int, int, Any, Format], None]
_WRITERS: dict[str, _Writer] = {"VARCHAR": _write_text, "DATE": _write_date, "BOOLEAN": _write_truth}
