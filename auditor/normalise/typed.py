"""Raw text to typed columns, cell by cell, with every fault listed."""

from typing import Any

import polars as pl

from auditor.errors import UserError
from auditor.model import RawTable, Rejection
from auditor.normalise.specs import SPECS, Column
from auditor.normalise.values import Parser, text
from auditor.wording import nearest

Typed = tuple[pl.DataFrame, list[Rejection]]


def typed(raw: RawTable) -> Typed:
    """The table's known columns with their values, rows without a fault only, and the faults.

    The frame also has ``source_file`` and ``source_row``. Raises UserError where a needed column is missing.
    """
    rejections = list(raw.rejections)
    file = pl.repeat(raw.source_file, raw.frame.height, dtype=pl.String, eager=True).alias("source_file")
    columns = [raw.frame["source_row"].cast(pl.Int64), file]
    for column in SPECS[raw.name]:
        values, faults = _column(raw, column)
        columns.append(values.alias(column.out))
        rejections += faults
    bad = {rejection.source_row for rejection in rejections}
    frame = pl.DataFrame(columns)
    return frame.filter(~pl.col("source_row").is_in(list(bad))), rejections


def unknown_columns(raw: RawTable) -> str:
    """One sentence about columns that no table of the contract has; blank where all are known."""
    known = [column.name for column in SPECS[raw.name]]
    strangers = [name for name in raw.frame.columns if name not in known and name != "source_row"]
    if not strangers:
        return ""
    named = ", ".join(f'"{name}"' for name in strangers)
    return f"{raw.source_file}: not read, because unknown: {named}."


def _column(raw: RawTable, column: Column) -> tuple[pl.Series, list[Rejection]]:
    if column.name not in raw.frame.columns:
        if column.needed:
            raise UserError(_missing(raw, column.name))
        return pl.Series([None] * raw.frame.height, dtype=column.dtype), []
    cells = raw.frame[column.name]
    values, reasons = _parse(cells, column.parse, column.dtype)
    if column.needed:
        blank = pl.when(cells.is_null()).then(pl.lit("is blank and must not be"))
        reasons = pl.select(blank.otherwise(reasons)).to_series()
    return values, _rejections(raw, column.name, cells, reasons)


def _missing(raw: RawTable, name: str) -> str:
    spare = [other for other in raw.frame.columns if other != "source_row"]
    near = nearest(name, spare)
    hint = f', or rename "{near}" if that is it' if near else ""
    return f'{raw.source_file}, row 1: column "{name}" is missing; add it{hint}.'


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


def _rejections(raw: RawTable, column: str, cells: pl.Series, reasons: pl.Series) -> list[Rejection]:
    at_fault = reasons.is_not_null().arg_true()
    rows = zip(raw.frame["source_row"][at_fault], cells[at_fault], reasons[at_fault], strict=True)
    return [Rejection(raw.source_file, row, column, cell or "", f"{column} {why}") for row, cell, why in rows]
