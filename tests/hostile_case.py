"""Bytes that no reader of programs may stumble over: grown from sound files, and cut, mixed and doubled."""

import json
from copy import deepcopy
from random import Random

from auditor.errors import UserError
from auditor.intake.calendars import read_calendar, read_closures
from auditor.intake.objects import read_objects
from auditor.intake.program import Read

from .programs_case import YEAR, owner

_LINES = [
    "BEGIN:VCALENDAR", "END:VCALENDAR", "BEGIN:VEVENT", "END:VEVENT", "BEGIN:VTIMEZONE",
    "END:VTIMEZONE", "BEGIN:STANDARD", "END:STANDARD", "BEGIN:X-ROOM", "END:X-ROOM",
    "CALSCALE:GREGORIAN", "TZID:Depot", "TZOFFSETFROM:+0100", "TZOFFSETTO:-0200",
    "TZOFFSETTO:+999999", "UID:1", "UID:2", "STATUS:CANCELLED", "DTSTART:20261110T080000",
    "DTSTART;TZID=Depot:20261110T080000", "DTSTART;VALUE=DATE:20261110", "DTSTART:00010101T000000",
    "DTSTART:99991231T235959Z", "DTSTART;TZID=Europe/Berlin:20271031T023000",
    "DTEND:20261110T090000", "DTEND;TZID=Europe/Berlin:99991231T000000",
    "DTEND;VALUE=DATE:20261112", "DURATION:PT1H", "DURATION:P99999999999W", "DURATION:-P1D",
    "DURATION:P1DT0S", "DURATION:PT", "RRULE:FREQ=DAILY", "RRULE:FREQ=SECONDLY;COUNT=9",
    "RRULE:FREQ=WEEKLY;BYDAY=TU;UNTIL=20270101T000000Z",
    "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
    "RRULE:FREQ=MONTHLY;BYDAY=-1MO;BYSETPOS=1;INTERVAL=3", "RRULE:FREQ=HOURLY;BYHOUR=99",
    "RRULE:FREQ=YEARLY;BYWEEKNO=53;BYDAY=SU;WKST=SU", "RRULE:", "RRULE:=;=",
    "RRULE:FREQ=MINUTELY;INTERVAL=100000000000;BYHOUR=3", "RRULE:FREQ=DAILY;BYSECOND=60",
    "EXDATE:20261111T080000,20261112T080000", "RDATE:2026",
    "RDATE;VALUE=PERIOD:20261113T080000/PT3H,x/y", "RECURRENCE-ID:20261112T080000",
    "RECURRENCE-ID;RANGE=THISANDFUTURE:20261112T080000", "EXRULE:FREQ=DAILY", "DTSTART;TZID=\"",
    "A;B", ":", ";", " folded", "\tfolded", "", "X-A:\u2028\x0b\x85\x1c", "SUMMARY:\ufeff",
]  # fmt: skip
_ATOMS = [
    None, True, 255, -1, 1e308, 10**90, "", "calendar,1", "2026-12-24", "0000-00-00",
    "\ud800", "\x00", [], {},
    [255, 255, 255, 255], [2027, 2, 30, 255], [255, 14, 34, 7], [9999, 12, 31, 255],
    {"real": 50}, {"real": "x"},
    {"date": "2026-12-24"}, {"weekNDay": [255, 9, 1]}, {"date": [255, 2, 31, 255]}, "24:00", "07:00",
]  # fmt: skip


def calendar_bytes(rng: Random) -> bytes:
    """Lines that may stand in a calendar, in any order, as a rule within one; then perhaps damaged."""
    lines = []
    for _ in range(rng.randint(0, 4)):
        own = rng.choices(_LINES[10:], k=rng.randint(0, 7))
        kind = rng.choice(("VEVENT", "VEVENT", "VEVENT", "VTIMEZONE", "VTODO"))
        part = ["BEGIN:STANDARD", *own, "END:STANDARD"] if kind == "VTIMEZONE" else own
        lines += [f"BEGIN:{kind}", *(["TZID:Depot"] if kind == "VTIMEZONE" else []), *part, f"END:{kind}"]
    if rng.random() < 0.2:
        lines.insert(rng.randint(0, len(lines)), rng.choice(_LINES))
    text = "\r\n".join(["BEGIN:VCALENDAR", *lines, "END:VCALENDAR"])
    return _damaged(rng, text.encode())


def objects_bytes(rng: Random) -> bytes:
    """A sound file of two objects in which values were swapped for others; then perhaps damaged."""
    day = {"day-schedule": [{"time": "07:00", "value": True}, {"time": "19:00:00.00", "value": None}]}
    made = {
        "Object_Identifier": "schedule,1",
        "Object_Name": "Load",
        "Effective_Period": {"start-date": [255] * 4, "end-date": "2027-01-01"},
        "Weekly_Schedule": [day] * 7,
        "Exception_Schedule": [
            {
                "period": {"calendar-reference": "calendar,1"},
                "list-of-time-values": [{"time": "06:00", "value": False}],
                "event-priority": 3,
            }
        ],
        "Schedule_Default": False,
    }
    listed = {
        "Object_Identifier": "calendar,1",
        "Object_Name": "Days",
        "Date_List": [{"weekNDay": [255, 6, 1]}, {"date": [255, 12, 24, 255]}],
    }
    whole = json.loads(json.dumps([made, listed]))
    for _ in range(rng.randint(0, 3)):
        _swap(rng, whole)
    return _damaged(rng, json.dumps(whole).encode())


def _swap(rng: Random, node: object) -> None:
    """Another value in one place, deeper as the dice have it."""
    if not isinstance(node, dict | list) or not node:
        return
    place = rng.choice(list(node) if isinstance(node, dict) else range(len(node)))
    if rng.random() < 0.3:
        node[place] = deepcopy(rng.choice(_ATOMS))
    else:
        _swap(rng, node[place])


def _damaged(rng: Random, content: bytes) -> bytes:
    kind = rng.random()
    if kind > 0.3 or not content:
        return content
    place = rng.randrange(len(content))
    if kind < 0.1:
        return content[:place]
    return content[:place] + bytes(rng.randrange(256) for _ in range(3)) + content[place + 1 :]


def stumble(reader: str, content: bytes) -> None:
    """Reads, and checks what holds whatever was read: one sentence, or every entry accounted for."""
    try:
        found = _READERS[reader](content)
    except UserError as error:
        sentence = str(error)
        assert sentence.startswith("bad") and sentence.endswith(".") and "\n" not in sentence
        sentence.encode()
        return
    assert found.kept >= 0
    out = [one.source_row for one in (*found.rejections, *found.skipped)]
    assert len(set(out)) == len(out) == found.entries - found.kept
    for one in (*found.rejections, *found.skipped):
        assert one.reason and "\n" not in one.reason
        "".join((one.reason, one.value, one.column)).encode()
    rows = set(found.table.frame["source_row"])
    assert rows.isdisjoint(out)
    assert found.table.frame.height <= 20_000


_READERS = {
    "calendar": lambda content: read_calendar(content, "bad.ics", owner(), YEAR),
    "closures": lambda content: read_closures(content, "bad.ics", "S", "", YEAR),
    "objects": lambda content: read_objects(content, "bad.json", owner(), YEAR),
}
GROWN = {"calendar": calendar_bytes, "closures": calendar_bytes, "objects": objects_bytes}


def read_all(reader: str, content: bytes) -> Read:
    """For tests that look at what was read."""
    return _READERS[reader](content)
