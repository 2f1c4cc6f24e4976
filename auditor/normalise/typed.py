"""Raw text to typed columns, cell by cell, with every fault listed."""

from typing import Any

import polars as pl

from auditor.errors import UserError
from auditor.model import RawTable, Rejection
from auditor.normalise.specs import SPECS, Column
from auditor.normalise.values import NO_VALUE, Parser, text
from auditor.wording import nearest

_NO_PROGRAM = pl.lit(None, pl.String).alias("program_sha256")
Typed = tuple[pl.DataFrame, list[Rejection]]
OWN = (
    "source_file",
    "source_row",
    "row_no",
    "repeats",
    "program_sha256",
)  # columns of ours beside those of the contract


def typed(sources: list[RawTable]) -> Typed:
    """The known columns of one table with their values, rows without a fault only, and the faults.

    The frame also has ``source_file``, ``source_row``, ``row_no`` (its place among all rows of the table),
    ``repeats``, and ``program_sha256`` where a step was worked out from another form of program. Where one
    row of a source gave several rows, a fault in one takes all of them: half of what it says would be
    something else. Raises UserError where a needed column is missing.
    """
    rejections = [row for raw in sources for row in raw.rejections]
    rows = _stacked(sources)
    columns = [rows[name] for name in OWN]
    unread = {(row.source_file, row.source_row) for row in rejections}  # not blamed for what they lack, too
    for column in SPECS[sources[0].name]:
        values, faults = _column(rows, column)
        columns.append(values.alias(column.out))
        rejections += [row for row in faults if row.value or (row.source_file, row.source_row) not in unread]
    return without(pl.DataFrame(columns), rejections), rejections


def without(frame: pl.DataFrame, rejections: list[Rejection]) -> pl.DataFrame:
    """The frame without what the rejected rows gave."""
    found = sorted({(row.source_file, row.source_row) for row in rejections})
    places = pl.DataFrame(found, {"source_file": pl.String, "source_row": pl.Int64}, orient="row")
    return frame.join(places, on=["source_file", "source_row"], how="anti", maintain_order="left")


def _stacked(sources: list[RawTable]) -> pl.DataFrame:
    """All rows of all sources, each with where it stands; what one source lacks is blank."""
    for raw in sources:
        for column in SPECS[raw.name]:
            if column.needed and column.name not in raw.frame.columns:
                raise UserError(_missing(raw, column.name))
    known = [column.name for column in SPECS[sources[0].name]]
    frames = [
        raw.frame.select(
            pl.col("source_row").cast(pl.Int64),
            pl.lit(raw.source_file, pl.String).alias("source_file"),
            pl.lit(raw.repeats).alias("repeats"),
            pl.col("program_sha256") if "program_sha256" in raw.frame.columns else _NO_PROGRAM,
            *(name for name in known if name in raw.frame.columns),
        )
        for raw in sources
    ]
    return (
        pl.concat(frames, how="diagonal")
        .with_row_index("row_no")
        .with_columns(pl.col("row_no").cast(pl.Int64))
    )


def unknown_columns(raw: RawTable) -> str:
    """One sentence about columns that no table of the contract has; blank where all are known."""
    known = ["source_row", "program_sha256", *(column.name for column in SPECS[raw.name])]
    strangers = [name for name in raw.frame.columns if name not in known]
    if not strangers:
        return ""
    named = ", ".join(f'"{name}"' for name in strangers)
    return f"{raw.source_file}: not read, because unknown: {named}."


def _column(rows: pl.DataFrame, column: Column) -> tuple[pl.Series, list[Rejection]]:
    if column.name not in rows.columns:
        return pl.Series([None] * rows.height, dtype=column.dtype), []
    cells = rows[column.name]
    values, reasons = _parse(cells, column.parse, column.dtype)
    blank = cells.is_null() if column.needed else pl.lit(False)
    causes = [pl.when(blank).then(pl.lit("is blank and must not be"))]
    causes += [pl.when(cells.str.starts_with(start)).then(pl.lit(why)) for start, why in NO_VALUE.items()]
    reasons = pl.select(pl.coalesce(*causes, reasons)).to_series()
    return values, _rejections(rows, column.name, reasons)


def _missing(raw: RawTable, name: str) -> str:
    spare = [other for other in raw.frame.columns if other != "source_row"]
    near = nearest(name, spare)
    hint = f', or rename "{near}" if that is it' if near else ""
    return f'{raw.source_file}, row {raw.header_row}: column "{name}" is missing; add it{hint}.'


def _parse(cells: pl.Series, parse: Parser, dtype: pl.DataType) -> tuple[pl.Series, pl.Series]:
    """Values and reasons for refusal, each row's; every distinct text is parsed once."""
    if parse is text:
        return cells, pl.Series([None] * len(cells), dtype=pl.String)
    distinct = cells.drop_nulls().unique().to_list()
    outcomes = [_attempt(parse, cell) for cell in distinct]
    lookup = pl.DataFrame(
        {
            "cell": pl.Series(distinct, dtype=pl.String),
            "value": pl.Series([value for value, _ in outcomes], dtype=dtype),
            "reason": pl.Series([reason for _, reason in outcomes], dtype=pl.String),
        }
    )
    joined = cells.alias("cell").to_frame().join(lookup, on="cell", how="left", maintain_order="left")
    return joined["value"], joined["reason"]


def _attempt(parse: Parser, cell: str) -> tuple[Any, str | None]:
    try:
        return parse(cell), None
    except ValueError as error:
        return None, str(error)


def _rejections(rows: pl.DataFrame, column: str, reasons: pl.Series) -> list[Rejection]:
    at_fault = reasons.is_not_null().arg_true()
    found = rows[at_fault].select("source_file", "source_row", column).iter_rows()
    return [
        Rejection(file, row, column, cell or "", f"{column} {why}")
        for (file, row, cell), why in zip(found, reasons[at_fault], strict=True)
    ]
