"""What Schedule and Calendar objects come to as steps, by hand, and what of them is left out and why."""

import json
from datetime import date, datetime
from typing import Any

import pytest

from auditor.errors import UserError
from auditor.intake.objects import read_objects
from auditor.intake.program import Read

from .programs_case import YEAR, firings, owner, reasons

Object = dict[str, Any]


def span(first: Any, last: Any) -> Object:
    return {"start-date": first, "end-date": last}


ALWAYS = span([255] * 4, [255] * 4)


def values(*pairs: tuple[str, Any]) -> list[Object]:
    return [{"time": time, "value": value} for time, value in pairs]


def schedule(**more: Any) -> Object:
    """On 07:00 to 19:00 from Monday to Friday; everything else from the standard's defaults."""
    day = {"day-schedule": values(("07:00", True), ("19:00", None))}
    made = {
        "Object_Identifier": "schedule,1",
        "Object_Name": "Reading room",
        "Effective_Period": ALWAYS,
        "Weekly_Schedule": [day] * 5 + [{"day-schedule": []}] * 2,
        "Schedule_Default": False,
    }
    return made | more


def special(entry: Object, priority: int, *pairs: tuple[str, Any]) -> Object:
    kind = "calendar-reference" if isinstance(entry, str) else "calendar-entry"
    return {"period": {kind: entry}, "list-of-time-values": values(*pairs), "event-priority": priority}


def read(*entries: Any, **more: Any) -> Read:
    return read_objects(json.dumps(entries).encode(), "depot.json", owner(), YEAR, **more)


def on(found: Read, day: str) -> list[tuple[str, str]]:
    """Times and actions of one date."""
    when = date.fromisoformat(day)
    return [(f"{at:%H:%M}", action) for at, action in firings(found.table.frame, when, when)]


def test_a_week_is_steps_by_weekday_monday_first() -> None:
    found = read(schedule())
    assert (found.entries, found.kept) == (1, 1)
    week = "MO,TU,WE,TH,FR"
    rows = found.table.frame.select("event_id", "action", "days", "time", "from", "source_row").rows()
    on, off = (f"depot.json:1 {step} {week}" for step in ("on 07:00", "off 19:00"))
    assert rows == [(on, "on", week, "07:00", None, 1), (off, "off", week, "19:00", None, 1)]


def test_a_value_ends_at_midnight_for_the_default_unless_it_is_there_again() -> None:
    # ANSI/ASHRAE 135, clause 12.24.4: at 00:00 the value is Schedule_Default unless an entry is for 00:00
    late = {"day-schedule": values(("20:00", True))}
    found = read(schedule(Weekly_Schedule=[late] * 7))
    assert on(found, "2026-11-11") == [("00:00", "off"), ("20:00", "on")]
    over = {"day-schedule": values(("00:00", True), ("02:00", False), ("20:00", True))}
    assert on(read(schedule(Weekly_Schedule=[over] * 7)), "2026-11-11") == [("02:00", "off"), ("20:00", "on")]


def test_exceptions_go_by_priority_and_null_gives_way_to_the_next() -> None:
    wednesday = {"date": "2026-11-11"}
    found = read(
        schedule(
            Exception_Schedule=[
                special(wednesday, 10, ("06:00", True), ("22:00", None)),
                special(wednesday, 3, ("12:00", False), ("13:00", None)),
            ]
        )
    )
    # 06:00 by the tenth, dark at noon by the third, on again by the tenth, at 22:00 what the week says: off
    assert on(found, "2026-11-11") == [("06:00", "on"), ("12:00", "off"), ("13:00", "on"), ("22:00", "off")]
    assert on(found, "2026-11-12") == [("07:00", "on"), ("19:00", "off")]


def test_of_equal_priorities_the_first_in_the_list_counts() -> None:
    day = {"date": "2026-11-11"}
    both = [special(day, 5, ("00:00", False)), special(day, 5, ("00:00", True))]
    assert on(read(schedule(Exception_Schedule=both)), "2026-11-11") == []
    assert on(read(schedule(Exception_Schedule=both[::-1])), "2026-11-11") == [("00:00", "on")]


DATES = [  # one entry, dates on which it holds, dates on which it does not
    ({"date": [255, 12, 25, 255]}, ["2026-12-25"], ["2026-12-24"]),
    ({"date": [255, 13, 255, 255]}, ["2026-11-03", "2027-01-06"], ["2026-12-09"]),  # odd months
    ({"date": [255, 14, 255, 255]}, ["2026-12-09"], ["2026-11-03"]),
    ({"date": [255, 255, 32, 255]}, ["2026-11-30", "2027-02-28"], ["2026-12-30"]),  # the last day
    ({"date": [255, 255, 33, 255]}, ["2026-11-03"], ["2026-11-04"]),  # odd days
    ({"date": [255, 255, 34, 255]}, ["2026-11-04"], ["2026-11-03"]),
    ({"date": [2027, 255, 255, 2]}, ["2027-01-05"], ["2026-11-03", "2027-01-06"]),  # Tuesdays of 2027
    ({"date-range": span("2026-12-24", "2026-12-31")}, ["2026-12-24", "2026-12-31"], ["2026-12-23"]),
    ({"date-range": span([2027, 6, 1, 255], [255] * 4)}, ["2027-10-29"], ["2027-05-31"]),
    ({"weekNDay": [255, 1, 4]}, ["2026-11-05"], ["2026-11-12"]),  # the first Thursday
    ({"weekNDay": [255, 5, 255]}, ["2027-01-29"], ["2027-01-28"]),  # days 29 to 31
    ({"weekNDay": [11, 6, 1]}, ["2026-11-30"], ["2026-11-23", "2026-12-28"]),  # the last Monday of November
    ({"weekNDay": [255, 7, 3]}, ["2026-11-18"], ["2026-11-25"]),  # the Wednesday before the last
]  # fmt: skip


@pytest.mark.parametrize(("entry", "dates", "others"), DATES, ids=[json.dumps(case[0]) for case in DATES])
def test_the_dates_of_an_entry_here_and_in_a_calendar(
    entry: Object, dates: list[str], others: list[str]
) -> None:
    # ANSI/ASHRAE 135, clause 20.2.12 (dates) and BACnetWeekNDay of clause 21
    listed = {"Object_Identifier": "calendar,4", "Object_Name": "Closed days", "Date_List": [entry]}
    for found in (
        read(schedule(Exception_Schedule=[special(entry, 1, ("00:00", False))])),
        read(schedule(Exception_Schedule=[special("calendar,4", 1, ("00:00", False))]), listed),
    ):
        assert found.rejections == ()
        assert [day for day in dates if on(found, day)] == []
        working = [day for day in others if date.fromisoformat(day).weekday() < 5]
        assert [day for day in working if not on(found, day)] == []


def test_outside_its_effective_period_it_writes_nothing_and_all_stays_as_it_is() -> None:
    period = {"start-date": "2026-11-04", "end-date": "2026-11-10"}
    late = {"day-schedule": values(("20:00", True))}
    found = read(schedule(Effective_Period=period, Weekly_Schedule=[late] * 7))
    steps = firings(found.table.frame, date(2026, 11, 1), date(2027, 10, 31))
    assert (steps[0], steps[-1]) == (
        (datetime(2026, 11, 4, 20), "on"),
        (datetime(2026, 11, 10, 20), "on"),
    )


def test_levels_and_names_of_values() -> None:
    day = {
        "day-schedule": values(("07:00", {"real": 40.5}), ("19:00", {"real": 100}), ("21:00", {"real": 0}))
    }
    found = read(schedule(Weekly_Schedule=[day] * 7, Schedule_Default={"real": 0}))
    assert found.table.frame.select("action", "level").rows() == [
        ("level", "40.5"),
        ("on", None),
        ("off", None),
    ]
    day = {"day-schedule": values(("07:00", "active"), ("19:00:00.00", {"enumerated": 0}))}
    found = read(schedule(Weekly_Schedule=[day] * 7, Schedule_Default="inactive"))
    assert on(found, "2026-11-11") == [("07:00", "on"), ("19:00", "off")]


def test_what_each_schedule_acts_on_is_told_by_its_name() -> None:
    hall = schedule(Object_Identifier="schedule,2", Object_Name="Hall")
    found = read(schedule(), hall, targets_of=lambda name: ("c7", "c8") if name == "Hall" else ())
    assert reasons(found) == [(1, "Object_Name", "nothing says which circuits it acts on")]
    assert set(found.table.frame["targets"]) == {"c7;c8"}
    summer = {"start-date": "2027-04-01", "end-date": "2027-09-30"}
    winter = {"start-date": "2027-10-01", "end-date": ALWAYS["end-date"]}
    assert read(schedule(Effective_Period=summer), hall | {"Effective_Period": winter}).kept == 2
    both = read(schedule(Effective_Period=summer), hall)
    assert reasons(both)[0][2] == "the Schedule in entry 1 acts on the same circuits on 2027-04-01"


EVE, FEBRUARY = {"date": "2026-12-24"}, {"date": "2026-02-30"}
TWICE = {"day-schedule": values(("07:00", True), ("07:00:00", False))}
LEFT_OUT = [
    (schedule(Out_Of_Service=True), "Out_Of_Service", "give its circuits a hold"),
    (schedule(Schedule_Default=None), "Schedule_Default", "leaves its load to others"),
    (schedule(Schedule_Default={"real": 0}), "Weekly_Schedule[1]", "of several types: boolean and real"),
    (schedule(Weekly_Schedule=[TWICE] * 7), "Weekly_Schedule[1]", "one time has one value"),
    (schedule(Weekly_Schedule=[TWICE] * 6), "Weekly_Schedule", "is too short"),
    (schedule(Schedule_Default=1), "Schedule_Default", "a number with its type"),
    (schedule(Effective_Period=span([255, 6, 1, 255], "2026-12-01")), "Effective_Period", "half open"),
    (schedule(Exception_Schedule=[special("calendar,9", 1)]), "Exception_Schedule[1]", "does not have"),
    (schedule(Exception_Schedule=[special(FEBRUARY, 1)]), "Exception_Schedule[1]", "2026-12-24"),
    (schedule(Exception_Schedule=[special(EVE, 17)]), "Exception_Schedule", "maximum of 16"),
    ({"Object_Identifier": "schedule,5", "Object_Name": "x"}, "Effective_Period", "required"),
    (["Object_Identifier"], "Object_Identifier", "no object"),
]  # fmt: skip


@pytest.mark.parametrize(("entry", "column", "reason"), LEFT_OUT)
def test_what_has_no_equal_is_rejected_with_its_reason(entry: Any, column: str, reason: str) -> None:
    sound = schedule(Object_Identifier="schedule,77")
    found = read(entry, sound)
    assert (found.entries, found.kept) == (2, 1)
    ((row, blamed, why),) = reasons(found)
    assert (row, blamed) == (1, column)
    assert reason in why
    assert found.table.frame.height == 2


def test_other_objects_and_calendars_that_nobody_refers_to_are_passed_over_and_said() -> None:
    lonely = {"Object_Identifier": "calendar,1", "Object_Name": "Old", "Date_List": []}
    found = read(schedule(), lonely, {"Object_Identifier": "device,3"}, schedule())
    assert (found.entries, found.kept) == (4, 1)
    assert [(one.source_row, one.reason) for one in found.skipped] == [
        (2, "no Schedule that is kept refers to this Calendar"),
        (3, "only Schedule and Calendar objects are programs"),
    ]
    assert reasons(found)[0][0] == 4  # its Object_Identifier stands above


FILES = [
    (b"[", "cannot be read as JSON"),
    (b"\xff[]", "not UTF-8"),
    (b"{}", "no list of objects"),
    (b"[" * 10_000, "nests deeper"),
    (b"[NaN]", "NaN is no number"),
    (b"[-Infinity]", "-Infinity is no number"),
    (b'[{"a": 1, "a": 2}]', '"a\'" stands twice'),
    (b"[" + b"9" * 5000 + b"]", "5000 digits"),
    (b"[" + b"1," * 6000 + b"1]", "more than 5000 objects"),
    (b" " * 5_000_001, "larger than 5 MB"),
]


@pytest.mark.parametrize(("content", "sentence"), FILES, ids=[case[1] for case in FILES])
def test_a_file_that_is_no_list_of_objects_gets_one_sentence(content: bytes, sentence: str) -> None:
    with pytest.raises(UserError, match=sentence) as told:
        read_objects(content, "depot.json", owner(), YEAR)
    assert str(told.value).startswith("depot.json ")
    assert str(told.value).endswith(".")
