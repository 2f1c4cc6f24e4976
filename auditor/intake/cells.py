"""What every kind of source does to a cell and to a header."""

from pathlib import Path

import polars as pl

from auditor.errors import UserError

# A result file shields a cell that a spreadsheet would run as a formula with an apostrophe; take it off again.
_SHIELDED = r"^'([=+\-@\t\r])"


def clean(frame: pl.DataFrame) -> pl.DataFrame:
    """All columns as trimmed text, blank as null; ``source_row`` is left as it is."""
    text = pl.all().exclude("source_row").cast(pl.String)
    bare = text.str.strip_chars().str.replace(_SHIELDED, "${1}").str.strip_chars()
    return frame.with_columns(bare.replace("", None))


def checked_header(names: list[str], path: Path) -> list[str]:
    """The header's names, trimmed; a doubled name is refused, for nobody could say which column counts."""
    names = [name.strip() for name in names]
    doubled = sorted({name for name in names if name and names.count(name) > 1})
    if doubled:
        raise UserError(f'{path.name}, row 1: column "{doubled[0]}" stands there twice; rename or drop one.')
    return [name or f"(column {number} has no name)" for number, name in enumerate(names, 1)]


def as_text(frame: pl.DataFrame) -> pl.DataFrame:
    """A typed frame as the text that the contract asks for: ISO dates and instants, true and false, ids joined by ;."""
    return frame.select(_text(frame[name]) for name in frame.columns)


def _text(column: pl.Series) -> pl.Series:
    kind = column.dtype
    if isinstance(kind, pl.Datetime):
        text = column.dt.strftime("%Y-%m-%dT%H:%M:%S")
        return text + column.dt.strftime("%:z") if kind.time_zone else text
    if isinstance(kind, pl.List):
        return column.cast(pl.List(pl.String)).list.join(";")
    if kind == pl.Boolean:
        return column.replace_strict({True: "true", False: "false"}, return_dtype=pl.String)
    if kind == pl.Time:
        return column.dt.strftime("%H:%M:%S")
    return column.cast(pl.String)
