"""What the tests of reading workbooks share: the small portfolio with one sheet written cell by cell."""

import io
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import xlsxwriter

from auditor.intake.books import Book
from auditor.model import Portfolio

from .conftest import small
from .test_intake import judged

Fill = Callable[[Any, Any], None]  # a workbook and the sheet of the table in question


def header(sheet: Any, table: str, row: int = 0) -> list[str]:
    """Writes the columns that the small portfolio has in a table, and gives them."""
    names = list(dict.fromkeys(name for one in small()[table] for name in one))
    sheet.write_row(row, 0, names)
    return names


def rows_of(sheet: Any, table: str, first: int = 1) -> None:
    """Writes the rows of a table of the small portfolio as text, below its header."""
    names = header(sheet, table, first - 1)
    for number, row in enumerate(small()[table], first):
        for place, name in enumerate(names):
            sheet.write_string(number, place, str(row.get(name, "")))


def written(path: Path, fills: dict[str, Fill], **options: Any) -> Path:
    """The small portfolio as a workbook of text, but for the sheets that ``fills`` writes."""
    with xlsxwriter.Workbook(path, options) as book:
        for table in small():
            sheet = book.add_worksheet(table)
            if table in fills:
                fills[table](book, sheet)
            else:
                rows_of(sheet, table)
    return path


def read(path: Path, fills: dict[str, Fill], **options: Any) -> Portfolio:
    """The same, read and judged."""
    return judged(written(path, fills, **options))


def shown(value: float, code: str, **options: Any) -> str | None:
    """What the reader makes of a number in a number format."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True, **options}) as book:
        book.add_worksheet("x").write_number(2, 3, value, book.add_format({"num_format": code}))
    frame = Book("book.xlsx", data.getvalue()).sheet("x").frame
    assert frame.columns == ["source_row", "3"]
    return frame["3"][2]


def patched(content: bytes, part: str, change: Callable[[bytes], bytes]) -> bytes:
    """A workbook with one of its parts changed."""
    data = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(data, "w") as new:
        for name in old.namelist():
            new.writestr(name, change(old.read(name)) if name == part else old.read(name))
    return data.getvalue()
