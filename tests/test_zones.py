"""Offsets of zones, and the way back from a local time to an instant, against zoneinfo and a table."""

import csv
import os
import shutil
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from functools import cache
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from zoneinfo import ZoneInfo

import polars as pl
import pytest
import tzdata
from hypothesis import example, given, settings
from hypothesis import strategies as st

from auditor.clocks import clock_tables
from auditor.model import Period
from auditor.resources import query
from auditor.store import Connection, load, open_store, run_script
from auditor.zones import tzdb_version, zone_clock, zone_names

PUBLISHED = Path(__file__).parents[1] / "fixtures" / "published"
DAY = 86400
Case = dict[str, str]


def cases() -> list[Case]:
    with (PUBLISHED / "dst_cases.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def at(text: str) -> int:
    """A date-time as epoch seconds, as if it were UTC."""
    return int(datetime.fromisoformat(text.removesuffix("Z")).replace(tzinfo=UTC).timestamp())


every_case = pytest.mark.parametrize("case", cases(), ids=lambda case: f"{case['zone']} {case['local']}")


# A plain definition, by zoneinfo alone ----------------------------------------------------------------------


def offset(zone: str, instant: int) -> int:
    """Seconds east of UTC."""
    shift = datetime.fromtimestamp(instant, ZoneInfo(zone)).utcoffset()
    assert shift is not None
    return round(shift.total_seconds())


def folds(zone: str, local: int) -> tuple[int, int]:
    """The instants that PEP 495 gives a local time for fold=0 and fold=1."""
    naive = datetime(1970, 1, 1) + timedelta(seconds=local)
    first, second = (naive.replace(tzinfo=ZoneInfo(zone), fold=fold).timestamp() for fold in (0, 1))
    return round(first), round(second)


def showings(zone: str, local: int) -> list[int]:
    """The instants at which a clock of that zone shows a local time; where it skips it, the jump alone."""
    first, second = folds(zone, local)
    shown = sorted({t for t in (first, second) if t + offset(zone, t) == local})
    return shown or [next(t for t in range(second, first + 1) if t + offset(zone, t) > local)]


@every_case
def test_the_database_gives_the_table(case: Case) -> None:
    local = at(case["local"])
    first, second = folds(case["zone"], local)
    assert (first, second) == (at(case["utc_fold0"]), at(case["utc_fold1"]))
    assert first + offset(case["zone"], first) == at(case["fold0_roundtrip_local"])
    kind = "normal" if first == second else "fold" if first < second else "gap"
    assert case["kind"] == kind


# Clocks of zones --------------------------------------------------------------------------------------------


def test_an_older_database_of_the_system_is_not_looked_at(tmp_path: Path) -> None:
    (tmp_path / "Europe").mkdir()
    shutil.copy(str(files("tzdata") / "zoneinfo" / "Asia" / "Tokyo"), tmp_path / "Europe" / "Berlin")
    script = "from auditor.zones import zone_clock; print(zone_clock('Europe/Berlin').offset_at(1767225600))"
    run = subprocess.run(
        [sys.executable, "-c", script],
        env=os.environ | {"PYTHONTZPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.strip() == "3600"


def test_the_version_is_that_of_the_package() -> None:
    assert tzdb_version() == (files("tzdata") / "zoneinfo" / "tzdata.zi").read_text().split()[2]
    assert tzdb_version() == tzdata.IANA_VERSION


@every_case
def test_a_clock_shows_the_cases(case: Case) -> None:
    clock = zone_clock(case["zone"])
    local, first, second = at(case["local"]), at(case["utc_fold0"]), at(case["utc_fold1"])
    aside = first - second if case["kind"] == "gap" else 0  # how far a skipped time's two readings lie off it
    assert first + clock.offset_at(first) == local + aside == at(case["fold0_roundtrip_local"])
    assert second + clock.offset_at(second) == local - aside


@settings(deadline=None)
@given(st.sampled_from(sorted(zone_names())), st.integers(1970, 2036), st.integers(1, 365))
@example("Pacific/Apia", 2011, 340)  # 30 December was left out
@example("Africa/Casablanca", 2026, 30)  # four changes in a year until then
@example("Antarctica/Troll", 2026, 60)  # shifts by two hours
@example("Australia/Lord_Howe", 2027, 60)  # shifts by half an hour
def test_stretches_are_what_the_database_says(zone: str, year: int, day: int) -> None:
    start = at(f"{year}-01-01") + day * DAY + 1234
    stretches = zone_clock(zone).stretches(start, start + 100 * DAY)
    assert stretches[0][0] == start
    assert stretches[-1][1] == start + 100 * DAY
    for before, after in pairwise(stretches):
        assert before[1] == after[0]
        assert before[2] == offset(zone, after[0] - 1) != offset(zone, after[0]) == after[2]
    for t in range(start, start + 100 * DAY, 3 * 3600):
        assert next(held for start, end, held in stretches if start <= t < end) == offset(zone, t)


def test_beyond_the_calendar_the_nearest_offset_stands() -> None:
    clock = zone_clock("Europe/Berlin")
    assert clock.offset_at(at("0001-01-01") - 400 * DAY) == offset("Europe/Berlin", at("1900-01-01"))
    assert clock.offset_at(at("9999-12-31") + 400 * DAY) == offset("Europe/Berlin", at("2200-01-01"))


# The way back, in the store ---------------------------------------------------------------------------------


def store(zones: list[str], first: date) -> Connection:
    """A store of sites, one a zone and named for it, over a year from a date, ready for its queries."""
    sites = pl.DataFrame({"site_id": zones, "timezone": zones, "latitude": 0.0, "longitude": 0.0})
    connection = open_store(Path(":memory:"))
    load(connection, "sites", sites)
    load(connection, "period", pl.DataFrame({"first_date": [first], "days": [365]}))
    no_devices = pl.DataFrame(schema=["controller_id"])
    for table, frame in clock_tables(sites, no_devices, Period(first, 365)).items():
        load(connection, table, frame)
    run_script(connection, query("prepare.sql"))
    connection.execute("CREATE TEMP TABLE batch (first_site_no INTEGER, last_site_no INTEGER)")
    connection.execute("INSERT INTO batch VALUES (1, ?)", [len(zones)])
    return connection


@cache
def every_zone() -> Connection:
    return store(sorted(zone_names()), date(2026, 1, 1))


def reached(connection: Connection, zone: str, local: int) -> list[int]:
    """When a clock of that zone comes to a local time, by the rows that say so."""
    sql = """
        SELECT greatest($local - offset_s, not_before_s) FROM clock_reach JOIN clocks USING (clock_no)
        WHERE clock = $zone AND local_day = floor_day($local)
          AND $local >= from_local_s AND $local < until_local_s
    """
    return [row[0] for row in connection.execute(sql, {"zone": zone, "local": local}).fetchall()]


@st.composite
def local_times(draw: st.DrawFn) -> tuple[str, int]:
    """A zone and a local time of 2026, near a change where there is one, some at its very seconds."""
    zone = draw(st.sampled_from(sorted(zone_names())))
    changes = [start for start, _, _ in zone_clock(zone).stretches(at("2026-01-02"), at("2026-12-30"))[1:]]
    if not changes:
        return zone, draw(st.integers(at("2026-01-01"), at("2027-01-01")))
    change = draw(st.sampled_from(changes))
    shown = change + offset(zone, change - draw(st.booleans()))  # as the clock stood before it, or after it
    return zone, shown + draw(st.sampled_from([-1, 0, 1]) | st.integers(-3 * 3600, 3 * 3600))


@settings(deadline=None, max_examples=300)  # the first example builds the store
@given(local_times())
def test_a_local_time_is_reached_at_its_first_showing(drawn: tuple[str, int]) -> None:
    assert reached(every_zone(), *drawn) == [showings(*drawn)[0]]


@pytest.mark.parametrize(
    ("zone", "local", "instant"),
    [  # from the tz database: Samoa crossed the date line and left out a day; the other days have no 00:00
        ("Pacific/Apia", "2011-12-30T12:00:00", "2011-12-30T10:00:00Z"),
        ("Africa/Cairo", "2026-04-24T00:00:00", "2026-04-23T22:00:00Z"),
        ("America/Havana", "2026-03-08T00:00:00", "2026-03-08T05:00:00Z"),
        ("America/Santiago", "2026-09-06T00:00:00", "2026-09-06T04:00:00Z"),
    ],
)
def test_days_without_a_midnight_or_without_anything(zone: str, local: str, instant: str) -> None:
    assert reached(store([zone], date(int(local[:4]), 1, 1)), zone, at(local)) == [at(instant)]


def change_over(zone: str, local: int) -> tuple[int, int]:
    """When a site closes at a local time, open since the day before, and when it opens again at that time."""
    day, time_of_day = divmod(local, DAY)
    connection = store([zone], date(1970, 1, 1) + timedelta(days=day - 30))
    connection.execute("INSERT INTO hours VALUES (?, 127, ?, ?, '', 2)", [zone, time_of_day, time_of_day])
    for script in ("year/10_batch.sql", "year/50_site.sql"):
        run_script(connection, query(script))
    sql = "SELECT end_s, start_s FROM b_openings WHERE local_day BETWEEN $day - 1 AND $day ORDER BY local_day"
    ((closing, _), (_, opening)) = connection.execute(sql, {"day": day}).fetchall()
    return closing, opening


@every_case
def test_opening_hours_at_the_cases(case: Case) -> None:
    """A skipped time is the jump; of a doubled one, opening takes the first and closing the second."""
    zone, first, second = case["zone"], at(case["utc_fold0"]), at(case["utc_fold1"])
    closing, opening = change_over(zone, at(case["local"]))
    if case["kind"] == "gap":
        assert closing == opening
        assert offset(zone, opening - 1) == at(case["local"]) - first
        assert offset(zone, opening) == at(case["local"]) - second
    else:
        assert (opening, closing) == (first, second)


@pytest.mark.parametrize(
    ("zone", "local", "opening", "closing"),
    [  # an hour comes twice from its very first second: 01:00 in New York is shown again at the change
        ("America/New_York", "2026-11-01T01:00:00", "2026-11-01T05:00:00Z", "2026-11-01T06:00:00Z"),
        ("Europe/Berlin", "2026-10-25T02:00:00", "2026-10-25T00:00:00Z", "2026-10-25T01:00:00Z"),
        ("Australia/Lord_Howe", "2027-04-04T01:30:00", "2027-04-03T14:30:00Z", "2027-04-03T15:00:00Z"),
        # and no more at its end
        ("America/New_York", "2026-11-01T02:00:00", "2026-11-01T07:00:00Z", "2026-11-01T07:00:00Z"),
        # a gap from its first second to its last
        ("America/New_York", "2026-03-08T02:00:00", "2026-03-08T07:00:00Z", "2026-03-08T07:00:00Z"),
        ("America/New_York", "2026-03-08T03:00:00", "2026-03-08T07:00:00Z", "2026-03-08T07:00:00Z"),
    ],
)
def test_opening_hours_at_the_edges_of_a_change(zone: str, local: str, opening: str, closing: str) -> None:
    assert change_over(zone, at(local)) == (at(closing), at(opening))


@pytest.mark.parametrize(
    ("zone", "day", "six"),
    [  # 06:00 by the tz database: in a gap, at its end, after 05:00 came twice, long before a change
        ("Antarctica/Casey", date(2018, 10, 7), "2018-10-06T20:00:00Z"),
        ("Antarctica/Casey", date(2019, 10, 4), "2019-10-03T19:00:00Z"),
        ("Asia/Baku", date(1996, 3, 31), "1996-03-31T01:00:00Z"),
        ("Asia/Baku", date(1996, 10, 27), "1996-10-27T02:00:00Z"),
        ("Asia/Baku", date(1996, 10, 28), "1996-10-28T02:00:00Z"),
        ("Pacific/Easter", date(2026, 4, 4), "2026-04-04T11:00:00Z"),
    ],
)
def test_the_night_window_ends_at_six_where_clocks_change(zone: str, day: date, six: str) -> None:
    connection = store([zone], day - timedelta(days=30))
    connection.execute("INSERT INTO hours VALUES (?, 127, 43200, 46800, '', 2)", [zone])  # 12:00 to 13:00
    for script in ("year/10_batch.sql", "year/50_site.sql"):
        run_script(connection, query(script))
    sql = "SELECT end_s FROM b_nights WHERE local_day = ? - DATE '1970-01-01'"
    assert connection.execute(sql, [day]).fetchall() == [(at(six),)]
