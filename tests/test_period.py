"""Which dates are audited where nobody says, and what is said where nothing is left to audit."""

from datetime import date, datetime

import polars as pl
import pytest

from auditor.errors import UserError
from auditor.model import Period, Portfolio, Rejection
from auditor.period import audited_period

READ = [datetime(2026, 10, 31, 23, 59), datetime(2026, 11, 14, 17), datetime(2025, 12, 1)]  # UTC


def portfolio(
    sites: int, *rejections: Rejection, files: tuple[str, ...] = ("north.csv", "south.csv")
) -> Portfolio:
    """So many sites and three devices, from these files and a workbook that has both tables."""
    tables = {
        "sites": pl.DataFrame({"site_id": ["S"] * sites}),
        "controllers": pl.DataFrame({"read_at_utc": READ}),
    }
    inputs = [{"file": "devices.csv", "table": "controllers"}]
    inputs += [{"file": file, "table": "closures;sites"} for file in files]
    return Portfolio(tables, list(rejections), [], inputs)


def complaint(*rejections: Rejection, files: tuple[str, ...] = ("north.csv", "south.csv")) -> str:
    """What is said where no site is left."""
    with pytest.raises(UserError) as raised:
        audited_period(portfolio(0, *rejections, files=files), None, 30)
    return str(raised.value)


def lost(row: int, reason: str, file: str = "north.csv") -> Rejection:
    return Rejection(file, row, "latitude", "x", reason)


def test_a_run_begins_with_the_month_of_the_newest_reading_or_when_it_is_told_to() -> None:
    assert audited_period(portfolio(1), None, 30) == Period(date(2026, 11, 1), 30)
    assert audited_period(portfolio(1), date(2027, 2, 3), 7) == Period(date(2027, 2, 3), 7)


def test_a_table_without_rows_is_named_by_its_first_file_or_by_itself() -> None:
    why = " holds no row, so there is nothing to audit; add one."
    assert complaint() == "north.csv" + why
    assert complaint(files=()) == "sites" + why
    assert complaint(lost(2, "is no number", "devices.csv")) == "north.csv" + why  # of another table


def test_where_all_rows_were_rejected_the_first_reason_stands_and_how_often() -> None:
    first = "No row of sites could be accepted of 3 rows; the first reason: "
    first += "north.csv, row 2, column latitude: is no number"
    some = lost(2, "is no number"), lost(3, "is blank"), lost(2, "is no number", "south.csv")
    assert complaint(*some) == f"{first} (so in 2 rows)."
    alone = lost(2, "is no number"), lost(3, "is blank"), lost(4, "is blank"), lost(4, "is too large")
    assert complaint(*alone) == f"{first}."
