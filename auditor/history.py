"""What a store's runs come to, month by month, as a table to read and one to keep."""

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from auditor.kept import FORMAT, kept_store
from auditor.resources import query
from auditor.store import Connection
from auditor.wording import grouped

Row = dict[str, Any]
COLUMNS = (
    *("month", "run_date", "sites", "critical", "high", "medium", "low"),
    *("avoidable_cost", "new", "gone", "recovered_cost", "added_cost"),
)
_HEADS = (
    *("month", "last run", "sites", "critical", "high", "medium", "low"),
    *("avoidable a year", "new", "gone", "recovered", "added"),
)


def history(store_file: Path) -> tuple[list[Row], list[Row]]:
    """Of a kept store: a row a month, and the clocks whose drift two readings tell.

    Raises UserError where the file is no store of this version.
    """
    with kept_store(store_file, FORMAT) as store:
        return _rows(store, "months"), _rows(store, "drifting")


def _rows(store: Connection, name: str) -> list[Row]:
    answer = store.execute(query(f"memory/{name}.sql"))
    columns = [column[0] for column in answer.description]
    return [dict(zip(columns, row, strict=True)) for row in answer.fetchall()]


def months_csv(months: Sequence[Row]) -> str:
    """The months as CSV, money to the hundredth; blank where there was nothing to compare with."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows([_cell(month[name]) for name in COLUMNS] for month in months)
    return text.getvalue()


def _cell(value: Any) -> Any:
    return round(value, 2) if isinstance(value, float) else value


def months_text(months: Sequence[Row]) -> str:
    """The months in aligned columns."""
    rows = [list(_HEADS), *([_word(month[name]) for name in COLUMNS] for month in months)]
    widths = [max(len(row[place]) for row in rows) for place in range(len(_HEADS))]
    lines = ("  ".join(_aligned(row, widths)) for row in rows)
    return "\n".join(line.rstrip() for line in lines)


def _aligned(row: Sequence[str], widths: Sequence[int]) -> list[str]:
    dates = [word.ljust(width) for word, width in zip(row[:2], widths[:2], strict=True)]
    return dates + [word.rjust(width) for word, width in zip(row[2:], widths[2:], strict=True)]


def _word(value: Any) -> str:
    if value is None:
        return "–"
    return grouped(value) if isinstance(value, int | float) else str(value)
