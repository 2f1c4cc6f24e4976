"""The example files of open standards: every entry is accounted for, and the program takes the steps."""

from datetime import date, datetime
from pathlib import Path

import polars as pl

from auditor.intake.calendars import read_calendar, read_closures
from auditor.intake.objects import read_objects
from auditor.intake.program import Owner, Read
from auditor.model import RawTable
from auditor.normalise import normalise
from auditor.zones import zone_names

from .programs_case import YEAR, firings, owner

EXPORTS = Path(__file__).parent.parent / "fixtures" / "exports"


def account(found: Read) -> tuple[int, int, list[int], list[int]]:
    """Entries, kept, rows that are rejected, rows that are skipped."""
    rejected, skipped = ([one.source_row for one in rows] for rows in (found.rejections, found.skipped))
    assert found.entries == found.kept + len(rejected) + len(skipped)
    return found.entries, found.kept, rejected, skipped


def on(found: Read, day: str, target: str) -> list[tuple[str, str]]:
    when = date.fromisoformat(day)
    frame = found.table.frame.filter(pl.col("targets") == target)
    return [(f"{at:%H:%M}", action) for at, action in firings(frame, when, when)]


def test_a_reading_room() -> None:
    path = EXPORTS / "calendars" / "heron-library-reading-room.ics"
    found = read_calendar(path.read_bytes(), path.name, Owner("H1", ("reading-room",), "Europe/London"), YEAR)
    assert account(found) == (9, 5, [55, 62], [69, 75])
    week = {
        day: on(found, day, "reading-room")
        for day in ("2026-11-09", "2026-11-12", "2026-12-24", "2026-12-25")
    }
    assert week == {
        "2026-11-09": [("08:30", "on"), ("18:00", "off")],  # a Monday
        "2026-11-12": [("08:30", "on"), ("21:00", "off")],  # a Thursday: on through from day to evening
        "2026-12-24": [("08:30", "on"), ("12:30", "off")],
        "2026-12-25": [],
    }
    # the stocktaking begins where Monday's opening ends, and ends where Wednesday's begins
    night = firings(found.table.frame, date(2027, 2, 15), date(2027, 2, 17))
    assert night == [(datetime(2027, 2, 15, 8, 30), "on"), (datetime(2027, 2, 17, 18), "off")]
    assert on(found, "2027-04-03", "reading-room") == [("14:00", "on"), ("16:30", "off")]  # the sixth talk
    assert on(found, "2027-05-01", "reading-room") == []


def test_closed_days_of_a_town() -> None:
    path = EXPORTS / "calendars" / "town-holidays.ics"
    found = read_closures(path.read_bytes(), path.name, "*", "holidays", YEAR)
    assert account(found) == (3, 2, [17], [])
    dates = found.table.frame.filter(pl.col("date") >= "2026-11-01")["date"].to_list()
    assert dates == ["2026-12-25", "2026-12-26", "2027-01-01"]


def depot() -> Read:
    path = EXPORTS / "objects" / "north-depot.json"
    loads = {"Yard": ("yard",), "Workshop": ("hall", "bench"), "Gate": ("gate",)}
    return read_objects(
        path.read_bytes(), path.name, owner("Europe/London"), YEAR, lambda name: loads.get(name, ())
    )


def test_a_depot() -> None:
    found = depot()
    assert account(found) == (5, 3, [5], [1])
    assert on(found, "2026-11-13", "yard") == [("05:30", "on")]  # a Friday, and over midnight until 02:00
    assert on(found, "2026-11-14", "yard") == [("02:00", "off")]
    assert on(found, "2026-12-30", "yard") == [("08:00", "on"), ("12:00", "off")]
    assert on(found, "2027-05-31", "yard") == []  # the last Monday of May
    assert on(found, "2026-11-09", "hall;bench") == [("07:00", "on"), ("16:00", "level"), ("18:00", "off")]


def test_the_rest_of_the_program_takes_every_step() -> None:
    events = depot().table
    site = {"site_id": "D", "latitude": "53", "longitude": "-1", "timezone": "Europe/London"}
    device = {"controller_id": "K1", "site_id": "D", "read_at": "2026-11-03T08:00:00Z"}
    circuits = [
        {"circuit_id": key, "controller_id": "K1", "area": "interior"} for key in ("yard", "hall", "bench")
    ]
    raw = [
        RawTable(name, f"{name}.csv", "", pl.DataFrame(rows).with_row_index("source_row", offset=2))
        for name, rows in (("sites", [site]), ("controllers", [device]), ("circuits", circuits))
    ]
    portfolio = normalise([*raw, events], zone_names())
    assert [(one.source_file, one.source_row, one.column) for one in portfolio.rejections] == [
        ("north-depot.json", 5, "Out_Of_Service")
    ]
    assert portfolio.tables["events"].height == events.frame.height > 0
