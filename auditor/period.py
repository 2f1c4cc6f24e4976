"""Which dates are audited."""

from datetime import date
from typing import Any

from auditor.errors import UserError
from auditor.model import Period, Portfolio


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
    first = next((found for found in portfolio.rejections if found.source_file in files), None)
    if first is None:
        return f"{files[0] if files else table} holds no row, so there is nothing to audit; add one."
    where = f"{first.source_file}, row {first.source_row}, column {first.column}"
    return f"No row of {table} could be accepted; the first reason: {where}: {first.reason}."
