"""A workbook opened once: each sheet as text that says what the spreadsheet shows, and what is to be noted.

Values are read by fastexcel. Of an .xlsx or .xlsm file the XML is looked at as well, for what that leaves
out; of other kinds nobody tells, and there errors and formulas without a result read as blank.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import fastexcel
import polars as pl

from auditor.errors import UserError
from auditor.intake.archives import check_workbook
from auditor.intake.books.formats import DAY_ZERO, DAY_ZERO_1904
from auditor.intake.books.marks import Area, Marks, letters, marks_of
from auditor.intake.books.markup import Markup
from auditor.intake.books.sayings import merged_saying, sayings

__all__ = ["Area", "Book", "SheetText", "letters", "merged_saying"]

# Of kinds whose formats nobody tells: a time of day is a part of the day zero, the next midnight is 24:00.
_TIME_CELL, _END_OF_DAY_CELL = r"^1899-12-31 (\d\d:\d\d:\d\d)$", "1900-01-01 00:00:00"
_MOMENT, _CLOCK = r"^\d{4}-\d\d-\d\d \d\d:\d\d:\d\d", r"^\d\d:\d\d(:\d\d)?$"
_MOST_CELLS = 20_000_000  # of a sheet; their reader makes room for all, and ends the program where it cannot
_LOCKED = "EncryptedPackage".encode("utf-16-le")  # a part of the case in which a locked workbook lies


@dataclass(frozen=True)
class SheetText:
    """One sheet: ``frame`` has a column of text for each column from the first that holds something, named by
    its number from 0, and a row for each row of the sheet, numbered from 1 in ``source_row``.

    ``notices`` are what to say of the sheet, without its name; ``merged`` are its merged cells; ``times`` has
    for each column the rows in which a time of day stands that is no text.
    """

    frame: pl.DataFrame
    merged: tuple[Area, ...]
    notices: tuple[str, ...]
    times: Mapping[int, set[int]] = field(default_factory=dict)

    def notices_of(self, file: str, *more: str) -> tuple[str, ...]:
        """The sentences, and ``more`` of the kind, with the name of the sheet's file before them."""
        said = (*self.notices, *more)
        return tuple(f"{file}{'' if text.startswith('is ') else ':'} {text}" for text in said)


class Book:
    """Raises UserError where the content is no workbook that can be read."""

    def __init__(self, name: str, content: bytes) -> None:
        self._name = name
        check_workbook(name, content)
        try:
            self._reader = fastexcel.read_excel(content)
            self._markup = Markup(content) if Markup.is_in(content) else None
        except (fastexcel.FastExcelError, ValueError) as error:
            if _LOCKED in content or "password" in str(error).lower():
                raise UserError(
                    f"{name} is locked with a password; open it and save a copy without one."
                ) from error
            raise self._unreadable() from error

    @property
    def sheet_names(self) -> list[str]:
        """In the order of the workbook, hidden ones among them."""
        return list(self._reader.sheet_names)

    def sheet(self, name: str) -> SheetText:
        """The text of one sheet, and what is to be said of it."""
        try:
            marks = marks_of(self._markup, name) if self._markup else Marks()
            if marks.cells > _MOST_CELLS:
                raise UserError(_far(f"{self._name}:{name}", marks))
            values, visible = self._values(name)
            frame = _as_shown(values, marks, self._day_zero) if self._markup else _plain_times(values)
        except (fastexcel.FastExcelError, pl.exceptions.PolarsError, ValueError, IndexError) as error:
            raise self._unreadable() from error
        said = [] if visible else ["is a hidden sheet, and was read."]
        said += sayings(frame, marks, self._markup is not None and self._markup.leaves_formulas)
        numbered = frame.with_row_index("source_row", offset=1)
        return SheetText(numbered, tuple(marks.merged), tuple(said), _times(values, frame))

    def _values(self, name: str) -> tuple[pl.DataFrame, bool]:
        """The cells as text, dates and numbers as their bare values, and whether the sheet can be seen."""
        # skip_rows: without it, blank rows above the header would not count.
        loaded = self._reader.load_sheet(name, header_row=None, dtypes="string", skip_rows=0)
        numbers = [str(column.absolute_index) for column in loaded.available_columns()]
        frame = loaded.to_polars()
        return frame.rename(dict(zip(frame.columns, numbers, strict=True))), loaded.visible == "visible"

    @property
    def _day_zero(self) -> date:
        return DAY_ZERO_1904 if self._markup and self._markup.since_1904 else DAY_ZERO

    def _unreadable(self) -> UserError:
        return UserError(f"{self._name} cannot be read as a workbook; save it again as .xlsx.")


def _far(sheet: str, marks: Marks) -> str:
    return (
        f"{sheet} reaches to row {marks.bottom:,} and column {letters(marks.right)}, which is more than "
        f"{_MOST_CELLS:,} cells; delete what stands far from the table, or give it in parts."
    )


def _times(values: pl.DataFrame, shown: pl.DataFrame) -> dict[int, set[int]]:
    """Cells that are a moment by their value and show a time of day alone."""
    found: dict[int, set[int]] = {}
    for name in values.columns:
        moments = values[name].str.contains(_MOMENT).fill_null(False)
        clock = shown[name].head(values.height).str.contains(_CLOCK).fill_null(False)
        if rows := (moments & clock).arg_true().to_list():
            found[int(name)] = {row + 1 for row in rows}
    return found


def _plain_times(frame: pl.DataFrame) -> pl.DataFrame:
    """Cells that a spreadsheet keeps as times of day written like such."""
    return frame.with_columns(pl.all().str.replace(_TIME_CELL, "${1}").replace(_END_OF_DAY_CELL, "24:00"))


def _as_shown(frame: pl.DataFrame, marks: Marks, zero: date) -> pl.DataFrame:
    """Errors, formulas without a result, and numbers whose format says something else than their value."""
    frame = _wide_enough(frame, marks)
    changed: dict[int, dict[int, str]] = defaultdict(dict)
    for (row, column), look in marks.looks.items():
        bare = frame.item(row - 1, str(column))
        changed[column][row] = look(bare, zero) if bare else ""
    for (row, column), text in marks.texts.items():
        changed[column][row] = text
    return frame.with_columns(_changed(frame[str(column)], cells) for column, cells in changed.items())


def _changed(column: pl.Series, cells: dict[int, str]) -> pl.Series:
    return column.scatter([row - 1 for row in cells], list(cells.values()))


def _wide_enough(frame: pl.DataFrame, marks: Marks) -> pl.DataFrame:
    """With blank rows and columns for what the reader of values took for the end of the sheet."""
    height = max([frame.height, *(row for row, _ in marks.texts)])
    numbers = sorted({*map(int, frame.columns), *(column for _, column in marks.texts)})
    known = {name: frame[name] for name in frame.columns}
    columns = [known.get(str(number), pl.Series(str(number), dtype=pl.String)) for number in numbers]
    return pl.DataFrame([column.extend_constant(None, height - len(column)) for column in columns])
