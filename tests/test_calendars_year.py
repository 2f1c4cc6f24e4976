"""A year of random calendars: our steps through the engine, against an independent reader of calendars.

The other reader is recurring-ical-events. It shares dateutil's rules with ours; those are held against the
RFC's own examples in test_calendars_rfc.py.
``python -m tests.bench.standards calendars MINUTES`` runs many more.
"""

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from zoneinfo import ZoneInfo

import icalendar
import recurring_ical_events

from auditor.intake.calendars import read_calendar
from auditor.model import Period

from .programs_case import audited, calendar, owner

BERLIN = ZoneInfo("Europe/Berlin")
PERIOD = Period(date(2026, 11, 1), 365)
ZONES = ("", ";TZID=Europe/Berlin", ";TZID=Europe/Berlin", ";TZID=America/New_York", "Z")


def series(rng: Random, number: int) -> list[str]:
    """The VEVENTs of one UID: a master, excepted and further dates, and changed occurrences."""
    zone = rng.choice(ZONES)
    tail, mark = ("Z", "") if zone == "Z" else ("", zone)
    minutes = rng.choice((0, 30, 150, 390, 480, 1080, 1290, 1410))
    start = datetime(2025, 9, 1) + timedelta(days=rng.randint(0, 700), minutes=minutes)
    lasts = timedelta(minutes=rng.choice((15, 60, 300, 540, 1440, 2000)))
    every = rng.choice((1, 1, 2, 7, 7, 14, 30))
    rule = rng.choice(("", f"FREQ=DAILY;INTERVAL={every}", "FREQ=WEEKLY", "FREQ=MONTHLY", "FREQ=YEARLY"))

    def at(moment: datetime) -> str:
        return f"{moment:%Y%m%dT%H%M%S}{tail}"

    lines = [f"UID:{number}", f"DTSTART{mark}:{at(start)}", f"DTEND{mark}:{at(start + lasts)}"]
    lines += [f"RRULE:{rule}{rng.choice(('', '', ';COUNT=5', ';COUNT=40'))}"] if rule else []
    step = every if "DAILY" in rule else 7 if "WEEKLY" in rule else 0
    if not step:
        return ["\n".join(lines)]
    gone, moved = (start + timedelta(days=step * number) for number in rng.sample(range(5), 2))
    lines.append(f"EXDATE{mark}:{at(gone)}")
    # on a date of its own, for the other reader drops every occurrence of a date that one is moved away from
    lines.append(f"RDATE{mark}:{at(start + timedelta(days=5 * step, hours=2))}")
    new = moved + timedelta(hours=rng.choice((-4, 2, 30)))
    change = f"RECURRENCE-ID{mark}:{at(moved)}\nDTSTART{mark}:{at(new)}\nDTEND{mark}:{at(new + lasts)}"
    return ["\n".join(lines), f"UID:{number}\n{change}"]


def whole_days(rng: Random, number: int) -> list[str]:
    start = date(2026, 9, 1) + timedelta(days=rng.randint(0, 400))
    end = start + timedelta(days=rng.randint(1, 3))
    return [f"UID:{number}\nDTSTART;VALUE=DATE:{start:%Y%m%d}\nDTEND;VALUE=DATE:{end:%Y%m%d}"]


def random_calendar(rng: Random) -> bytes:
    kinds = rng.choices((series, series, whole_days), k=rng.randint(1, 5))
    return calendar(*(event for number, kind in enumerate(kinds) for event in kind(rng, number)))


def instant(moment: date) -> datetime:
    """Naive UTC. With fold 0 zoneinfo does as section 3.3.5 says of times with a zone.

    Dates and times without zone are what the device shows, and one that is skipped fires at the jump: in
    Berlin at 01:00 UTC.
    """
    if not isinstance(moment, datetime):
        moment = datetime(moment.year, moment.month, moment.day)
    if moment.tzinfo:
        return moment.astimezone(UTC).replace(tzinfo=None)
    found = moment.replace(tzinfo=BERLIN).astimezone(UTC)
    skipped = found.astimezone(BERLIN).replace(tzinfo=None) != moment
    return (found.replace(minute=0) if skipped else found).replace(tzinfo=None)


def expected(content: bytes) -> list[tuple[datetime, datetime, float]]:
    """The union of all occurrences in the period, by the other reader."""
    start, end = datetime(2026, 10, 31, 23), datetime(2027, 10, 31, 23)  # 00:00 in Berlin, naive UTC
    read = recurring_ical_events.of(icalendar.Calendar.from_ical(content))
    found = [
        (instant(one["DTSTART"].dt), instant(one["DTEND"].dt))
        for one in read.between(datetime(2026, 10, 1), datetime(2027, 12, 1))
    ]
    merged: list[tuple[datetime, datetime, float]] = []
    for a, b in sorted(found):
        if merged and a <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(b, merged[-1][1]), 100)
        elif a < b:
            merged.append((a, b, 100))
    return [(max(a, start), min(b, end), level) for a, b, level in merged if a < end and b > start]


def compare(folder: Path, contents: list[bytes]) -> int:
    """Compares all in one audit, and gives how many."""
    frames = {}
    for number, content in enumerate(contents):
        read = read_calendar(content, f"{number}.ics", owner(), PERIOD)
        if read.rejections:  # a time in the second of two like hours: nothing else here has no equal
            assert all("the second" in one.reason or "belongs to" in one.reason for one in read.rejections)
            continue
        frames[f"c{number}"] = read.table.frame
    found = audited(folder, frames, "Europe/Berlin", PERIOD, (52.5, 13.4))
    for name in frames:
        content = contents[int(name[1:])]
        assert found[name] == expected(content), content.decode()
    return len(frames)


def test_the_engine_lights_what_another_reader_says(tmp_path: Path) -> None:
    rng = Random(1)
    assert compare(tmp_path, [random_calendar(rng) for _ in range(80)]) > 60
