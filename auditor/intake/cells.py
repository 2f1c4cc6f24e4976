"""What every kind of source does to a cell and to a header."""

from collections import Counter

import polars as pl

from auditor.errors import UserError

WIDEST = 16_384  # columns, as of any sheet
ABOVE = "above the header"  # the rule by which rows there are left out
# A result file shields a cell that a spreadsheet would run as a formula with an apostrophe; take it off.
_SHIELDED = r"^'([=+\-@\t\r])"


def clean(frame: pl.DataFrame) -> pl.DataFrame:
    """All columns as trimmed text, blank as null, wholly blank rows left out; ``source_row`` as it is."""
    cells = pl.all().exclude("source_row")
    bare = cells.cast(pl.String).str.strip_chars().str.replace(_SHIELDED, "${1}").str.strip_chars()
    return frame.with_columns(bare.replace("", None)).filter(pl.any_horizontal(cells.is_not_null()))


def checked_header(names: list[str], file: str, row: int = 1) -> list[str]:
    """The header's names, trimmed; a doubled name is refused, for nobody could say which column counts."""
    names = [name.strip() for name in names]
    if len(names) > WIDEST:
        raise UserError(f"{file} has more than {WIDEST:,} columns; keep those that the tables name.")
    doubled = sorted(name for name, number in Counter(names).items() if name and number > 1)
    if doubled:
        raise UserError(f'{file}, row {row}: column "{doubled[0]}" stands there twice; rename or drop one.')
    return [_own_name(name, number) for number, name in enumerate(names, 1)]


def _own_name(name: str, number: int) -> str:
    """A name that does not get in the way of the row numbers, which stand in a column of their own."""
    return "source_row (as in the file)" if name == "source_row" else name or f"(column {number} has no name)"


def as_text(frame: pl.DataFrame) -> pl.DataFrame:
    """A typed frame as the text of a CSV file: ISO dates and instants, true and false, ids joined by ;."""
    return frame.select(_text(frame[name]) for name in frame.columns)


def _text(column: pl.Series) -> pl.Series:
    kind = column.dtype
    if isinstance(kind, pl.Datetime):
        text = column.dt.strftime("%Y-%m-%dT%H:%M:%S")
        return text + column.dt.strftime("%:z") if kind.time_zone else text
    if kind == pl.Boolean:
        return column.replace_strict({True: "true", False: "false"}, return_dtype=pl.String)
    if kind == pl.Time:
        return column.dt.strftime("%H:%M:%S")
    if kind.is_float():
        # Tables with gaps often turn whole numbers, ids among them, into floats: 123.0 was 123.
        return column.cast(pl.String).str.replace(r"\.0$", "")
    try:
        several = isinstance(kind, pl.List | pl.Array)
        return column.cast(pl.List(pl.String)).list.join(";") if several else column.cast(pl.String)
    except (
        pl.exceptions.PolarsError
    ):  # bytes, lengths of time, lists of lists: in no column of ours, so as they are
        cells = [None if cell is None else str(cell) for cell in column.to_list()]
        return pl.Series(column.name, cells, pl.String)
