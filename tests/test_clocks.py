"""How far the clocks of a portfolio are told: as far as the queries ask, whatever was read when.

``queries/prepare.sql`` asks from 370 days before the period to 4 days after it (one of less than 366 days
counts as 366), ``queries/rank/40_clocks_ahead.sql`` from 2 days before the newest reading to 62 after it;
rules ask at each reading.
"""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import polars as pl
import pytest

from auditor.clocks import clock_tables, needed_days
from auditor.model import Period

from .conftest import write_folder
from .year_case import worked_year

DAY = timedelta(days=1)
ZONES = {"north": "America/New_York", "south": "Europe/Berlin"}
OLDEST, NEWEST = datetime(2019, 7, 1, 12), datetime(2026, 11, 14, 17)  # UTC
DEVICES = {  # site, when it was read, what it showed, its rule
    "slow": ("north", OLDEST, OLDEST - timedelta(hours=4, seconds=28), "zone"),  # New York: -04:00 in July
    "back": (
        "north",
        datetime(2026, 11, 1, 12),
        datetime(2026, 11, 1, 7),
        "zone",
    ),  # it went back at 06:00 UTC
    "fixed": ("north", NEWEST, None, "none"),
    "lost": ("south", NEWEST, datetime(2000, 1, 1), "eu"),
    "ahead": ("south", OLDEST, datetime(2039, 7, 1), "zone"),
}
PERIODS = [
    Period(date(2022, 3, 1), 30),
    Period(date(2022, 3, 1), 400),
    Period(date(2026, 11, 1), 365),
    Period(date(2035, 3, 1), 1),
]
every_period = pytest.mark.parametrize("period", PERIODS, ids=lambda one: f"{one.first} {one.days}")


def tables(period: Period) -> dict[str, pl.DataFrame]:
    sites = pl.DataFrame({"site_id": list(ZONES), "timezone": list(ZONES.values())})
    columns = ["controller_id", "site_id", "read_at_utc", "clock_reading_local", "dst_rule", "utc_offset_s"]
    rows = [(name, *device, None) for name, device in DEVICES.items()]
    return clock_tables(sites, pl.DataFrame(rows, schema=columns, orient="row"), period)


def residuals(found: dict[str, pl.DataFrame]) -> dict[str, timedelta]:
    devices = found["device_clocks"].select("controller_id", "residual_s").rows()
    return {name: timedelta(seconds=seconds) for name, seconds in devices}


def span(found: dict[str, pl.DataFrame], clock: str) -> tuple[datetime, datetime]:
    """From when, and until before when, the offsets of a clock are told; they leave nothing out."""
    (number,) = found["clocks"].filter(pl.col("clock") == clock)["clock_no"]
    rows = found["clock_offsets"].filter(pl.col("clock_no") == number).select("start_s", "end_s").rows()
    assert [end for _, end in rows[:-1]] == [start for start, _ in rows[1:]]
    return instant(rows[0][0]), instant(rows[-1][1])


def instant(seconds: int) -> datetime:
    return datetime(1970, 1, 1) + timedelta(seconds=seconds)


def asked(period: Period) -> tuple[datetime, datetime]:
    """What firings ask for, with fourteen hours for the zones."""
    first = datetime.combine(period.first, datetime.min.time())
    return first - 370 * DAY - timedelta(hours=14), first + (max(period.days, 366) + 4) * DAY + timedelta(
        hours=14
    )


@every_period
def test_every_clock_is_told_around_the_period_and_past_the_newest_reading(period: Period) -> None:
    found = tables(period)
    first, last = asked(period)
    assert set(found["clocks"]["clock"]) == {*ZONES.values(), "fixed -05:00", "eu +01:00"}
    for clock in found["clocks"]["clock"]:
        starts, ends = span(found, clock)
        assert starts <= min(first, NEWEST - 2 * DAY) and ends > max(last, NEWEST + 62 * DAY), clock


@every_period
def test_the_law_is_told_as_it_was_at_each_reading(period: Period) -> None:
    found = tables(period)
    for site, at, *_ in DEVICES.values():
        zone = ZONES[site]
        assert span(found, zone)[0] <= at
        rows = (
            found["clock_offsets"].join(found["clocks"], on="clock_no").filter(pl.col("clock") == zone).rows()
        )
        (offset,) = (row[3] for row in rows if instant(row[1]) <= at < instant(row[2]))
        assert timedelta(seconds=offset) == at.replace(tzinfo=UTC).astimezone(ZoneInfo(zone)).utcoffset()


@every_period
def test_a_clock_that_lost_its_date_is_told_where_it_believes_to_be(period: Period) -> None:
    found = tables(period)
    first, last = asked(period)
    shifts = residuals(found)
    assert (shifts["slow"], shifts["back"], shifts["fixed"]) == (
        timedelta(seconds=-28),
        timedelta(),
        timedelta(),
    )
    assert shifts["lost"] == datetime(2000, 1, 1) - NEWEST - timedelta(hours=1)  # Berlin: +01:00 in November
    for device, clock in (("lost", "eu +01:00"), ("ahead", "Europe/Berlin")):
        starts, ends = span(found, clock)
        assert starts <= first + shifts[device] and ends > last + shifts[device], device


@every_period
def test_the_sun_is_sampled_on_every_day_on_which_some_device_looks_at_it(period: Period) -> None:
    found = tables(period)
    first, last = asked(period)
    for device, shift in residuals(found).items():
        alone = found["device_clocks"].filter(pl.col("controller_id") == device)
        for moved in (timedelta(), shift):  # the site's own sun, and the device's
            start, end = ((at + moved - datetime(1970, 1, 1)) // DAY for at in (first, last))
            assert needed_days(alone, period) >= set(range(start - 2, end + 3)), device


def test_a_change_as_the_period_ends_is_no_error_of_it(tmp_path: Path) -> None:
    """Beirut (+02:00) goes forward on 28 March 2027 at 00:00; a device without a rule is right until then."""
    site = {"site_id": "S", "latitude": 33.9, "longitude": 35.5, "timezone": "Asia/Beirut"}
    device = {"controller_id": "T", "site_id": "S", "read_at": "2026-12-01T12:00:00Z", "dst_rule": "none"}
    circuit = {"circuit_id": "C", "controller_id": "T", "area": "parking"}
    step = {"event_id": "E", "controller_id": "T", "targets": "C", "action": "on", "days": "daily"}
    events = [step | {"anchor": "clock", "time": "17:00"}]
    tables = {"sites": [site], "controllers": [device], "circuits": [circuit], "events": events}
    connection, _ = worked_year(write_folder(tmp_path, tables), date(2027, 3, 15), 13)
    with connection:
        errors = connection.execute("SELECT start_utc, end_utc, error_s FROM clock_errors").fetchall()
    assert errors == [(datetime(2027, 3, 14, 22), datetime(2027, 3, 27, 22), 0)]
