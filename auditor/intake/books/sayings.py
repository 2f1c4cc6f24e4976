"""What is to be said of a sheet whose cells may mislead whoever looks at it, or whoever reads it."""

from collections.abc import Iterator, Sequence

import polars as pl

from auditor.intake.books.marks import Area, Marks, Place, letters
from auditor.wording import counted

_SHOWN = 3  # places or stretches that a sentence names
_SAVE = "open the workbook in a spreadsheet program, save it, and run again"


def sayings(frame: pl.DataFrame, marks: Marks, leaves_formulas: bool) -> Iterator[str]:
    """Sentences without the sheet's name before them. ``frame`` has its columns by number, and all rows.

    ``leaves_formulas``: whoever wrote the workbook did not work its formulas out.
    """
    yield from _hidden(frame, marks)
    if marks.unworked:
        many = counted(len(marks.unworked), "formula has", "formulas have")
        yield f"{many} no stored result ({_places(marks.unworked)}); {_SAVE}."
    unworked = set(marks.unworked)
    worked = [place for place in marks.formulas if place not in unworked]
    if leaves_formulas and worked:
        yield (
            f"formulas ({_places(worked)}) were left to a spreadsheet program to work out; what is stored "
            f"as their result may be wrong; {_SAVE}."
        )
    if marks.yearless:
        yield (
            f"dates that show no year ({_places(marks.yearless)}) are read with the year that they have; "
            "where a day of every year or an id is meant, give the cells text format and enter them again."
        )
    if marks.long_numbers:
        yield (
            f"numbers of more than 15 digits ({_places(marks.long_numbers)}) have lost their last ones; if "
            "they are ids, give the cells text format and enter them again."
        )


def merged_saying(areas: Sequence[Area]) -> list[str]:
    """What merged cells below a header say for the first of them alone."""
    if not areas:
        return []
    first = areas[0]
    named = f"{letters(first.left)}{first.top}:{letters(first.right)}{first.bottom}"
    more = f" and {len(areas) - 1} more" if len(areas) > 1 else ""
    return [f"merged cells ({named}{more}) count for the first of them alone; unmerge and fill them in."]


def _hidden(frame: pl.DataFrame, marks: Marks) -> Iterator[str]:
    """Only rows and columns that hold something."""
    filled = frame.select(pl.any_horizontal(pl.all().str.strip_chars() != "")).to_series()
    rows = [row for row in sorted(marks.hidden_rows) if row <= len(filled) and filled[row - 1]]
    known = [column for column in sorted(marks.hidden_columns) if str(column) in frame.columns]
    columns = [letters(column) for column in known if frame[str(column)].drop_nulls().len()]
    if rows:
        many = counted(len(rows), "hidden row was", "hidden rows were")
        yield f"{many} read like the others ({_few(_stretches(rows))}); delete what is not meant."
    if columns:
        many = counted(len(columns), "hidden column was", "hidden columns were")
        yield f"{many} read like the others ({_few(columns)}); delete what is not meant."


def _stretches(numbers: list[int]) -> list[str]:
    """Numbers that follow each other as one: 3, 5 to 9."""
    known = set(numbers)
    firsts = [number for number in numbers if number - 1 not in known]
    lasts = [number for number in numbers if number + 1 not in known]
    return [
        f"{first} to {last}" if first < last else str(first)
        for first, last in zip(firsts, lasts, strict=True)
    ]


def _places(places: list[Place]) -> str:
    return _few([f"{letters(column)}{row}" for row, column in places])


def _few(names: list[str]) -> str:
    rest = len(names) - _SHOWN
    return ", ".join(names[:_SHOWN]) + (f" and {rest} more" if rest > 0 else "")
