"""A year of random schedules: our steps through the engine, against an independent BACnet library.

The library is bacpypes3, whose local Schedule object tells its value at a date and a time (``eval``, as its
own timer calls it). It knows NULL only where it is not wrapped, so ``_time_value`` unwraps it; of equal
priorities it takes the last in the list, and open date ranges it does not know, so neither is asked for here
(test_objects.py has both). The site is in UTC: no clock changes.
``python -m tests.bench.standards objects MINUTES`` runs many more.
"""

import json
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

from bacpypes3.app import Application
from bacpypes3.basetypes import (
    CalendarEntry,
    DailySchedule,
    DateRange,
    SpecialEvent,
    SpecialEventPeriod,
    TimeValue,
    WeekNDay,
)
from bacpypes3.constructeddata import AnyAtomic
from bacpypes3.local.schedule import ScheduleObject
from bacpypes3.object import CalendarObject
from bacpypes3.primitivedata import Boolean, Date, Null, ObjectIdentifier, Real, Time

from auditor.intake.objects import read_objects
from auditor.model import Period

from .programs_case import Stretch, audited, owner

PERIOD = Period(date(2026, 11, 1), 365)
DATES = [PERIOD.first + timedelta(days=number) for number in range(PERIOD.days)]
Object = dict[str, Any]


def random_objects(rng: Random) -> list[Object]:
    """A Schedule and the Calendar to which its special events may refer."""
    levels = rng.choice(([True, False], [{"real": 0}, {"real": 35}, {"real": 100}]))
    listed = {
        "Object_Identifier": "calendar,1",
        "Object_Name": "Days",
        "Date_List": [_entry(rng) for _ in range(rng.randint(1, 4))],
    }
    special = [
        {
            "period": rng.choice(({"calendar-entry": _entry(rng)}, {"calendar-reference": "calendar,1"})),
            "list-of-time-values": _values(rng, levels),
            "event-priority": priority,
        }
        for priority in rng.sample(range(1, 17), rng.randint(0, 5))
    ]
    days = [{"day-schedule": _values(rng, levels)} for _ in range(3)]
    made = {
        "Object_Identifier": "schedule,1",
        "Object_Name": "Load",
        "Effective_Period": {
            "start-date": "1990-01-01",
            "end-date": rng.choice(("2100-01-01", "2027-05-05")),
        },
        "Weekly_Schedule": [rng.choice(days) for _ in range(7)],
        "Schedule_Default": rng.choice(levels),
    }
    return [made | ({"Exception_Schedule": special} if special else {}), listed]


def _values(rng: Random, levels: list[Any]) -> list[Object]:
    times = sorted(rng.sample(range(0, 1440, 90), rng.randint(0, 4)))
    times = [0, *times] if rng.random() < 0.3 and 0 not in times else times
    return [
        {"time": f"{time // 60:02}:{time % 60:02}:00.00", "value": rng.choice([*levels, *levels, None])}
        for time in times
    ]


def _entry(rng: Random) -> Object:
    start = date(2026, 10, 1) + timedelta(days=rng.randint(0, 420))
    pattern = (
        rng.choice((255, 255, 2026, 2027)),
        rng.choice((255, 13, 14, rng.randint(1, 12))),
        rng.choice((255, 32, 33, 34, rng.randint(1, 31))),
        rng.choice((255, 255, rng.randint(1, 7))),
    )
    week = [
        rng.choice((255, 13, 14, rng.randint(1, 12))),
        rng.choice((255, *range(1, 10))),
        rng.choice((255, 1, 5)),
    ]
    ends = (start + timedelta(days=rng.randint(0, 40))).isoformat()
    return rng.choice(
        (
            {"date": start.isoformat()},
            {"date": list(pattern)},
            {"date-range": {"start-date": start.isoformat(), "end-date": ends}},
            {"weekNDay": week},
        )
    )


def expected(entries: list[Object]) -> list[Stretch]:
    """When bacpypes3 says that it is on, asked at every time of a time-value and at 00:00."""
    theirs = _their_schedule(*entries)
    lists = [day["day-schedule"] for day in entries[0]["Weekly_Schedule"]]
    lists += [one["list-of-time-values"] for one in entries[0].get("Exception_Schedule", [])]
    times = sorted({(0, 0)} | {(int(one["time"][:2]), int(one["time"][3:5])) for own in lists for one in own})
    level, found = 0.0, []
    for day in DATES:
        for hour, minute in times:
            told = theirs.eval(_date(day), Time((hour, minute, 0, 0)))
            new = level if told is None else _level(told[0])  # None: not in its effective period
            if new != level or not found:
                found.append((datetime(day.year, day.month, day.day, hour, minute), new))
            level = new
    ends = [*(at for at, _ in found[1:]), datetime(2027, 11, 1)]
    return [(at, end, level) for (at, level), end in zip(found, ends, strict=True) if level > 0]


def _their_schedule(made: Object, listed: Object) -> ScheduleObject:
    app = Application()
    app.add_object(
        CalendarObject(
            objectIdentifier=ObjectIdentifier("calendar,1"),
            objectName="Days",
            presentValue=False,
            dateList=[_their_entry(one) for one in listed["Date_List"]],
        )
    )
    special = [
        SpecialEvent(
            period=SpecialEventPeriod(calendarReference=ObjectIdentifier("calendar,1"))
            if "calendar-reference" in one["period"]
            else SpecialEventPeriod(calendarEntry=_their_entry(one["period"]["calendar-entry"])),
            listOfTimeValues=[_time_value(value) for value in one["list-of-time-values"]],
            eventPriority=one["event-priority"],
        )
        for one in made.get("Exception_Schedule", [])
    ]
    found = ScheduleObject(
        objectIdentifier=ObjectIdentifier("schedule,1"),
        objectName="Load",
        presentValue=Boolean(False),
        effectivePeriod=_their_range(made["Effective_Period"]),
        weeklySchedule=[
            DailySchedule(daySchedule=[_time_value(value) for value in day["day-schedule"]])
            for day in made["Weekly_Schedule"]
        ],
        exceptionSchedule=special,
        scheduleDefault=AnyAtomic(_atom(made["Schedule_Default"])),
    )
    found._app = app
    return found


def _their_entry(entry: Object) -> CalendarEntry:
    if "weekNDay" in entry:
        return CalendarEntry(weekNDay=WeekNDay(bytes(entry["weekNDay"])))
    if "date-range" in entry:
        return CalendarEntry(dateRange=_their_range(entry["date-range"]))
    value = entry["date"]
    if isinstance(value, str):
        return CalendarEntry(date=_date(date.fromisoformat(value)))
    return CalendarEntry(date=Date((value[0] if value[0] == 255 else value[0] - 1900, *value[1:])))


def _their_range(value: Object) -> DateRange:
    return DateRange(
        startDate=_date(date.fromisoformat(value["start-date"])),
        endDate=_date(date.fromisoformat(value["end-date"])),
    )


def _date(day: date) -> Date:
    return Date((day.year - 1900, day.month, day.day, day.isoweekday()))


def _time_value(value: Object) -> TimeValue:
    hour, minute = int(value["time"][:2]), int(value["time"][3:5])
    found = TimeValue(time=Time((hour, minute, 0, 0)), value=AnyAtomic(_atom(value["value"])))
    if value["value"] is None:
        found.__dict__["value"] = Null(())
    return found


def _atom(value: Any) -> Any:
    if value is None:
        return Null(())
    return Boolean(value) if isinstance(value, bool) else Real(value["real"])


def _level(told: AnyAtomic) -> float:
    value = told.get_value()
    return float(value) if isinstance(value, Real) else 100.0 * bool(value)


def compare(folder: Path, programs: list[list[Object]]) -> None:
    """Compares all in one audit."""
    frames = {}
    for number, entries in enumerate(programs):
        read = read_objects(json.dumps(entries).encode(), f"{number}.json", owner("UTC"), PERIOD)
        assert read.rejections == ()
        frames[f"c{number}"] = read.table.frame
    found = audited(folder, frames, "UTC", PERIOD, (51.5, 0.0))
    for number, entries in enumerate(programs):
        assert found[f"c{number}"] == expected(entries), json.dumps(entries, indent=1)


def test_the_engine_lights_what_another_library_says(tmp_path: Path) -> None:
    rng = Random(1)
    compare(tmp_path, [random_objects(rng) for _ in range(6)])
