"""What begins within 60 days of the newest reading."""

from datetime import date
from pathlib import Path

import pytest

from auditor.report.rows import fetch
from auditor.store import Connection, open_store


@pytest.fixture
def store() -> Connection:
    """Read on 20 November 2026; a device in New York that misses the change of 14 March 2027 at 02:00."""
    connection = open_store(Path(":memory:"))
    connection.execute("INSERT INTO period VALUES ('2026-11-01', 365, '2026-11-20 12:00', 1800, 3600, 1800)")
    connection.execute("INSERT INTO sites (site_id, timezone) VALUES ('s', 'America/New_York')")
    connection.execute("INSERT INTO controllers (controller_id, site_id) VALUES ('d', 's')")
    connection.execute("INSERT INTO clocks VALUES (1, 'America/New_York')")
    connection.execute("INSERT INTO clock_offsets VALUES (1, 0, 4000000000, -18000)")
    connection.execute(
        """
        INSERT INTO clock_errors VALUES
            ('d', '2026-11-01 05:00', '2027-03-14 07:00', 0, 133, '2026-11-01', '2027-03-13'),
            ('d', '2027-03-14 07:00', '2027-11-01 05:00', -3600, 231, '2027-03-15', '2027-10-31')
        """
    )
    return connection


def begins(store: Connection, rule: str, first_date: str, status: str = "open") -> list[date]:
    store.execute(
        "INSERT INTO findings (finding_id, rule, status, site_id, controller_id, first_date, severity) "
        "VALUES ('f', ?, ?, 's', 'd', ?, 'high')",
        [rule, status, first_date],
    )
    return [row["begins"] for row in fetch(store, "soon")]


@pytest.mark.parametrize("first", ["2026-11-21", "2027-01-19"])  # one day after the reading, and sixty
def test_a_finding_that_does_not_hold_yet_is_told_with_its_first_date(store: Connection, first: str) -> None:
    assert begins(store, "lit-in-daylight", first) == [date.fromisoformat(first)]


@pytest.mark.parametrize("first", ["2026-11-01", "2026-11-20", "2027-01-20"])
def test_one_that_holds_already_or_begins_later_is_not(store: Connection, first: str) -> None:
    assert begins(store, "lit-in-daylight", first) == []


def test_one_that_is_waived_is_not(store: Connection) -> None:
    assert begins(store, "lit-in-daylight", "2026-12-01", "waived") == []


def test_a_clock_is_told_by_its_next_wrong_date(store: Connection) -> None:
    # Wrong from its first audited date on; the next wrong date, 14 March, is 114 days after the reading,
    # and 45 days after a reading of 28 January.
    assert begins(store, "clock-dst-offset", "2026-11-01") == []
    store.execute("UPDATE period SET newest_read_at_utc = '2027-01-28 12:00'")
    assert [row["begins"] for row in fetch(store, "soon")] == [date(2027, 3, 14)]
