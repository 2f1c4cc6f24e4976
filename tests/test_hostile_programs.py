"""Whatever a file holds, its reader says one sentence, or accounts for every entry: never a traceback.

``python -m tests.bench.standards fuzz MINUTES`` goes on for longer. What was found once stands in
``fixtures/hostile``.
"""

import json
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.errors import UserError
from auditor.intake import objects

from .hostile_case import GROWN, read_all, stumble
from .programs_case import calendar

READERS = sorted(GROWN)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(READERS), st.integers(0, 2**32))
def test_files_grown_from_sound_ones(reader: str, seed: int) -> None:
    stumble(reader, GROWN[reader](Random(seed)))


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(READERS), st.binary(max_size=200), st.text(max_size=100))
def test_any_bytes_and_any_text_within_a_sound_file(reader: str, content: bytes, text: str) -> None:
    stumble(reader, content)
    stumble(reader, calendar("DTSTART:20261110T080000\nDURATION:PT1H\nX-A:" + text.replace("\ud800", "")))


HOURS = [f"{day:02}T{hour:02}0000" for day in range(1, 29) for hour in range(24)]
FLOOD = ",".join(f"2026{month:02}{hour}" for month in range(1, 13) for hour in HOURS)
BAD_CALENDARS = [
    (b"", "BEGIN:VCALENDAR is missing"),
    (b"\xff\xfeB\0E\0", "not UTF-8"),
    (calendar("SUMMARY:\0"), "row 5: holds a NUL"),
    (calendar("UID:1")[:-17], "END:VCALENDAR is missing"),
    (b"BEGIN:VEVENT\nEND:VEVENT\n", "no BEGIN:VCALENDAR"),
    (b"site,name\n1,Hall\n", "this is no iCalendar file"),
    (b"BEGIN:VCALENDAR\nBEGIN:VEVENT\nEND:VCALENDAR\n", "ends nothing that was begun"),
    (calendar(before="CALSCALE:HEBREW\n"), "CALSCALE is not GREGORIAN"),
    (calendar("X:" + "a" * 300_000), "more than 200000 characters"),
    (calendar("X:1\n" + " a\n" * 250_000), "more than 200000 characters"),
    (b"BEGIN:X-A\n" * 50_000, "no BEGIN:VCALENDAR"),
    (b"BEGIN:VCALENDAR\n" + b"BEGIN:X-A\n" * 50_000, "END:X-A is missing"),
    (calendar(*["UID:1"] * 20_001), "more than 20000 components"),
    (b"\n" * 20_000_001, "larger than 20 MB"),
]


@pytest.mark.parametrize(("content", "sentence"), BAD_CALENDARS, ids=[case[1] for case in BAD_CALENDARS])
def test_a_file_that_is_no_calendar_gets_one_sentence(content: bytes, sentence: str) -> None:
    with pytest.raises(UserError, match=sentence) as told:
        read_all("calendar", content)
    assert str(told.value).endswith(".")


def test_components_that_nest_thousands_deep_are_passed_over() -> None:
    deep = "BEGIN:X-A\n" * 20_000 + "END:X-A\n" * 20_000
    found = read_all("calendar", calendar("DTSTART:20261110T080000\nDURATION:PT1H", before=deep))
    assert (found.entries, found.kept, found.table.frame.height) == (2, 1, 2)


def test_a_flood_of_excepted_dates_is_read_or_refused_by_its_length() -> None:
    event = "DTSTART:20261110T080000\nDURATION:PT1H\nRRULE:FREQ=HOURLY;INTERVAL=3;COUNT=9\nEXDATE:{}"
    found = read_all("calendar", calendar(event.format(FLOOD)))
    assert (found.kept, len(found.skipped)) == (0, 1)  # all nine occurrences are excepted
    with pytest.raises(UserError, match="more than 200000 characters"):
        read_all("calendar", calendar(event.format(f"{FLOOD},{FLOOD}")))


def test_the_first_and_the_last_year_there_is() -> None:
    for start in ("00010101T000000", "99991231T235959Z"):
        found = read_all("calendar", calendar(f"DTSTART:{start}\nDURATION:P7D"))
        assert [one.reason for one in found.skipped] == [
            "it is called off, or nothing of it lies between 2026-10-31 and 2027-11-07"
        ]
    ever = read_all("calendar", calendar("DTSTART:00010101T000000\nDTEND:99991231T000000"))
    assert ever.table.frame.select("action", "time", "from").rows() == [("on", "00:00", "2025-11-01")]


@pytest.mark.parametrize("depth", [300, 900, 5000])
def test_an_object_that_nests_deep_where_nobody_looks(depth: int) -> None:
    content = '[{"Object_Identifier": "calendar,1", "X": ' + "[" * depth + "]" * depth + "}]"
    stumble("objects", content.encode())


def test_schedules_that_say_more_than_is_worked_out_are_rejected(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(objects, "MOST_WORK", 50_000)
    values = [{"time": f"{n:02}:00", "value": n % 2 == 0} for n in range(24)]
    made = {"Object_Identifier": "schedule,1", "Object_Name": "x", "Schedule_Default": False}
    made |= {"Effective_Period": {"start-date": [255] * 4, "end-date": [255] * 4}}
    few = made | {"Weekly_Schedule": [{"day-schedule": values[:2]}] * 7}
    many = made | {"Object_Identifier": "schedule,2", "Weekly_Schedule": [{"day-schedule": values}] * 7}
    found = read_all("objects", json.dumps([few, many]).encode())
    assert [(one.source_row, one.reason) for one in found.rejections] == [
        (2, "up to here the file says more than is worked out; split it")
    ]


HOSTILE = sorted((Path(__file__).parent.parent / "fixtures" / "hostile").iterdir())


@pytest.mark.parametrize("path", HOSTILE, ids=[path.name for path in HOSTILE])
def test_what_was_stumbled_over_once_is_rejected(path: Path) -> None:
    for reader in ("objects",) if path.suffix == ".json" else ("calendar", "closures"):
        stumble(reader, path.read_bytes())
        found = read_all(reader, path.read_bytes())
        assert (found.entries, len(found.rejections)) == (1, 1)
