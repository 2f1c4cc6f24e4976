"""Windows of the editions against the clauses' own words, instant by instant, over a change of the clocks."""

from collections.abc import Iterator
from datetime import UTC, date, datetime

import pytest

from auditor.audit import audit
from auditor.codes import load_codes
from auditor.evidence import evidence
from auditor.kept import FORMAT, kept_store
from auditor.store import Connection

from .cases import quietly
from .conftest import Row, Tables, write_folder

# New York: -05:00, from Sunday 14 March 2027 at 02:00 on -04:00 (15 USC 260a). Dates from 10 March on.
HOURS: dict[str, list[Row]] = {
    "day": [{"days": "daily", "opens": "08:00", "closes": "20:00"}],
    "early": [{"days": "daily", "opens": "04:00", "closes": "20:00"}],
    "bar": [{"days": "daily", "opens": "18:00", "closes": "02:30"}],
    "six": [{"days": "MO,TU,WE,TH,FR,SA", "opens": "08:00", "closes": "20:00"}],
    "late": [{"days": "daily", "opens": "08:00", "closes": "23:30"}],
    "club": [{"days": "daily", "opens": "00:00", "closes": "02:00"}],
    "always": [{"days": "daily", "opens": "00:00", "closes": "24:00"}],
    "unknown": [],
}
FACADE, SETBACK, SCHEDULING = "facade-night-off", "exterior-setback", "exterior-scheduling"


def tables() -> Tables:
    place: Row = {"latitude": 40.7, "longitude": -74, "timezone": "America/New_York"}
    return {
        "sites": [{"site_id": site, **place} for site in HOURS],
        "controllers": [
            {"controller_id": f"{site}T", "site_id": site, "read_at": "2027-03-10T12:00:00Z"}
            for site in HOURS
        ],
        "circuits": [
            {"circuit_id": f"{site}{area}", "controller_id": f"{site}T", "area": area}
            for site in HOURS
            for area in ("parking", "facade")
        ],
        "events": [
            {
                "event_id": "1",
                "controller_id": f"{site}T",
                "targets": f"{site}parking",
                "action": "on",
                "days": "daily",
                "anchor": "sunset",
            }
            for site in HOURS
        ],
        "hours": [{"site_id": site, **row} for site, rows in HOURS.items() for row in rows],
    }


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Connection]:
    folder = tmp_path_factory.mktemp("windows")
    source = write_folder(folder / "in", tables())
    audit(source, folder / "out", date(2027, 3, 10), 8, folder / "kept.duckdb", quietly)
    with kept_store(folder / "kept.duckdb", FORMAT) as connection:
        yield connection


Span = tuple[str, str]  # UTC, "DD HH:MM" of March 2027


def windows(connection: Connection, edition: str, item: str, number: int = 1) -> dict[str, list[Span]]:
    """The windows of every site, in UTC."""
    evidence(connection, list(HOURS), edition, load_codes())
    rows = connection.execute(
        "SELECT site_id, start_s, end_s FROM e_windows WHERE item = ? AND window_no = ? ORDER BY ALL",
        [item, number],
    ).fetchall()
    found: dict[str, list[Span]] = {site: [] for site in HOURS}
    for site, start, end in rows:
        found[site].append((_utc(start), _utc(end)))
    return found


def _utc(second: int) -> str:
    return f"{datetime.fromtimestamp(second, UTC):%d %H:%M}"


def test_midnight_to_six_is_five_hours_where_the_clocks_go_forward(store: Connection) -> None:
    # IECC: "midnight to 6 a.m.", of every date, whether or not the hours are known
    found = windows(store, "iecc-2018", SETBACK)
    nights = [(f"{day} 05:00", f"{day} 11:00") for day in (10, 11, 12, 13)]  # 00:00 and 06:00 at -05:00
    nights += [("14 05:00", "14 10:00")]  # 00:00 at -05:00, 06:00 at -04:00
    nights += [(f"{day} 04:00", f"{day} 10:00") for day in (15, 16, 17)]
    assert found == dict.fromkeys(HOURS, nights)


def test_an_hour_after_closing_to_an_hour_before_opening(store: Connection) -> None:
    # IECC: "one hour after closing to one hour before opening", from each closing to the next opening
    for item, number in ((SETBACK, 2), (FACADE, 1)):
        found = windows(store, "iecc-2021", item, number)
        # closes 20:00, opens 08:00: 21:00 to 07:00, that is 02:00 to 12:00 UTC; 11:00 UTC from the 14th on
        assert found["day"] == [
            ("11 02:00", "11 12:00"),
            ("12 02:00", "12 12:00"),
            ("13 02:00", "13 12:00"),
            ("14 02:00", "14 11:00"),  # nine hours
            ("15 01:00", "15 11:00"),
            ("16 01:00", "16 11:00"),
            ("17 01:00", "17 11:00"),
        ]
        # no opening on Sunday 14 March: from Saturday 21:00 to Monday 07:00
        assert ("14 02:00", "15 11:00") in found["six"] and len(found["six"]) == 6
        # the bar closes at 02:30: 03:30 to 17:00; on the 14th 02:30 does not come: at the jump, 07:00 UTC
        assert ("12 08:30", "12 22:00") in found["bar"] and ("14 08:00", "14 21:00") in found["bar"]
        assert found["always"] == [] and found["unknown"] == []


def test_the_later_of_midnight_and_closing_to_the_earlier_of_six_and_opening(store: Connection) -> None:
    # 90.1 9.4.1.4(b); the first date is left out: whether the site was open past midnight lies before it
    found = windows(store, "ashrae-90.1-2019", FACADE)
    usual = [(f"{day} 05:00", f"{day} 11:00") for day in (11, 12, 13)] + [("14 05:00", "14 10:00")]
    usual += [(f"{day} 04:00", f"{day} 10:00") for day in (15, 16, 17)]
    assert found["day"] == found["six"] == found["late"] == usual  # midnight is later than any closing
    assert ("12 05:00", "12 09:00") in found["early"]  # opening at 04:00 is earlier than six
    assert ("12 07:30", "12 11:00") in found["bar"]  # closing at 02:30 is later than midnight
    assert ("14 07:00", "14 10:00") in found["bar"]  # at the jump
    assert ("12 07:00", "12 11:00") in found["club"]  # it opens at midnight and closes at two
    assert found["always"] == [] and found["unknown"] == []


def test_one_hour_after_closing_counts_where_it_is_later_than_midnight(store: Connection) -> None:
    # 90.1 9.4.1.4(c): later of midnight and within one hour of closing, to earlier of six and opening
    found = windows(store, "ashrae-90.1-2019", SETBACK)
    assert ("12 05:00", "12 11:00") in found["day"]  # 20:00 + 1 h is earlier than midnight
    assert ("12 05:30", "12 11:00") in found["late"]  # 23:30 + 1 h = 00:30
    assert ("12 08:30", "12 11:00") in found["bar"]  # 02:30 + 1 h = 03:30
    assert ("14 08:00", "14 10:00") in found["bar"]
    assert ("12 05:00", "12 09:00") in found["early"]


def test_california_takes_midnight_to_six_where_nobody_declares_hours(store: Connection) -> None:
    found = windows(store, "title-24-2019", SCHEDULING)
    assert ("14 05:00", "14 10:00") in found["unknown"]
    assert found == dict.fromkeys(HOURS, found["unknown"]) and len(found["unknown"]) == 8


@pytest.mark.nightly
def test_no_edition_has_a_window_that_is_empty_or_reaches_beyond_the_period(store: Connection) -> None:
    for edition in load_codes():
        evidence(store, list(HOURS), edition, load_codes())
        (wrong,) = store.execute(
            "SELECT count(*) FROM e_windows JOIN e_sites USING (site_id) "
            "WHERE e_windows.start_s >= e_windows.end_s OR e_windows.start_s < e_sites.start_s "
            "OR e_windows.end_s > e_sites.end_s"
        ).fetchone() or (None,)
        assert wrong == 0, edition
