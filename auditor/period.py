"""Which dates are audited."""

from datetime import date
from typing import Any

from auditor.errors import UserError
from auditor.model import Period, Portfolio
from auditor.wording import counted


def audited_period(portfolio: Portfolio, first: date | None, days: int) -> Period:
    """``days`` dates from ``first``, or from the first of the UTC month of the newest reading.

    Raises UserError where no site or no device is left to audit.
    """
    for table in ("sites", "controllers"):
        if portfolio.tables[table].is_empty():
            raise UserError(_nothing_left(portfolio, table))
    newest: Any = portfolio.tables["controllers"]["read_at_utc"].max()
    return Period(first or newest.date().replace(day=1), days)


def _nothing_left(portfolio: Portfolio, table: str) -> str:
    files = [read["file"] for read in portfolio.inputs if table in read["table"].split(";")]
    lost = [found for found in portfolio.rejections if found.source_file in files]
    first = next(iter(lost), None)
    if first is None:
        return f"{files[0] if files else table} holds no row, so there is nothing to audit; add one."
    where = f"{first.source_file}, row {first.source_row}, column {first.column}"
    rows = len({(found.source_file, found.source_row) for found in lost})
    alike = len({(found.source_file, found.source_row) for found in lost if found.reason == first.reason})
    why = f"{where}: {first.reason}{f' (so in {alike} rows)' if alike > 1 else ''}"
    return f"No row of {table} could be accepted of {counted(rows, 'row')}; the first reason: {why}."
