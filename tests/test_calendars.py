"""What a calendar of a circuit comes to as steps, and what of it is left out and why."""

from datetime import date, datetime

import pytest

from auditor.errors import UserError
from auditor.intake.calendars import read_calendar, read_closures
from auditor.model import Period

from .programs_case import YEAR, calendar, firings, owner, read, reasons, rejection, steps

BERLIN = "TZID=Europe/Berlin"
AT = f"DTSTART;{BERLIN}"
OPENING = f"""
UID:opening
DTSTART;{BERLIN}:20200106T070000
DTEND;{BERLIN}:20200106T190000
RRULE:FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"""


def on_and_off(found, first: date, last: date) -> list[tuple[datetime, str]]:
    return firings(found.table.frame, first, last)


def test_a_weekly_event_is_a_step_on_and_a_step_off_with_no_dates() -> None:
    found = read(OPENING)
    assert steps(found) == [("on", "MO,TU,WE,TH,FR", "07:00"), ("off", "MO,TU,WE,TH,FR", "19:00")]
    assert (found.entries, found.kept) == (1, 1)
    row = found.table.frame.to_dicts()[0]
    assert (row["event_id"], row["controller_id"], row["targets"], row["anchor"]) == (
        "hall.ics:4 on 07:00 MO,TU,WE,TH,FR",
        "K1",
        "c1",
        "clock",
    )
    assert row["source_row"] == 4  # BEGIN:VCALENDAR, VERSION, PRODID, BEGIN:VEVENT


def test_an_excepted_date_splits_its_weekday_only() -> None:
    found = read(f"{OPENING}\nEXDATE;{BERLIN}:20261225T070000,20270101T070000")  # two Fridays
    assert steps(found)[:3] == [
        ("on", "MO,TU,WE,TH", "07:00"),
        ("on", "FR", "07:00", "2025-11-07", "2026-12-18"),
        ("on", "FR", "07:00", "2027-01-08", "2199-12-31"),
    ]


def test_count_and_until_become_a_last_date() -> None:
    for end in ("COUNT=6", "UNTIL=20261118T235959Z"):  # Tuesdays and Wednesdays from 3 November
        found = read(f"DTSTART;{BERLIN}:20261103T080000\nDURATION:PT1H\nRRULE:FREQ=WEEKLY;BYDAY=TU,WE;{end}")
        assert steps(found)[0] == ("on", "TU,WE", "08:00", "2026-11-03", "2026-11-18")


def test_touching_and_overlapping_events_leave_it_on_as_their_union_says() -> None:
    found = read(
        f"DTSTART;{BERLIN}:20261110T180000\nDTEND;{BERLIN}:20261110T220000",
        f"DTSTART;{BERLIN}:20261110T220000\nDTEND;{BERLIN}:20261111T010000",
        f"DTSTART;{BERLIN}:20261110T190000\nDTEND;{BERLIN}:20261110T200000",
    )
    assert [
        (at.isoformat(" ", "minutes"), what)
        for at, what in on_and_off(found, date(2026, 11, 1), date(2026, 11, 30))
    ] == [
        ("2026-11-10 18:00", "on"),
        ("2026-11-11 01:00", "off"),
    ]
    assert found.kept == 3
    # the off is said to come from the event that ends last, in row 8
    assert dict(found.table.frame.select("action", "source_row").rows()) == {"on": 4, "off": 8}


def test_a_change_of_one_occurrence_and_one_that_is_called_off() -> None:
    found = read(
        f"UID:a\nDTSTART;{BERLIN}:20261101T180000\nDTEND;{BERLIN}:20261101T200000\nRRULE:FREQ=DAILY;COUNT=3",
        f"UID:a\nRECURRENCE-ID;{BERLIN}:20261102T180000\nDTSTART;{BERLIN}:20261102T210000\nDURATION:PT30M",
        "UID:a\nRECURRENCE-ID:20261103T170000Z\nSTATUS:CANCELLED\nDTSTART:20261103T170000Z\nDURATION:PT1H",
    )
    # 17:00 UTC is 18:00 in Berlin: the same occurrence, named in another form
    assert on_and_off(found, date(2026, 11, 1), date(2026, 11, 30)) == [
        (datetime(2026, 11, 1, 18), "on"),
        (datetime(2026, 11, 1, 20), "off"),
        (datetime(2026, 11, 2, 21), "on"),
        (datetime(2026, 11, 2, 21, 30), "off"),
    ]
    assert found.kept == 3


def test_further_dates_periods_and_whole_days() -> None:
    found = read(
        "DTSTART;VALUE=DATE:20261105\nRDATE;VALUE=DATE:20261107",
        f"DTSTART;{BERLIN}:20261110T100000\nDURATION:PT1H\n"
        f"RDATE;VALUE=PERIOD;{BERLIN}:20261111T120000/PT2H,20261112T120000/20261112T123000",
    )
    assert on_and_off(found, date(2026, 11, 1), date(2026, 11, 30)) == [
        (datetime(2026, 11, 5), "on"),
        (datetime(2026, 11, 6), "off"),
        (datetime(2026, 11, 7), "on"),
        (datetime(2026, 11, 8), "off"),
        (datetime(2026, 11, 10, 10), "on"),
        (datetime(2026, 11, 10, 11), "off"),
        (datetime(2026, 11, 11, 12), "on"),
        (datetime(2026, 11, 11, 14), "off"),
        (datetime(2026, 11, 12, 12), "on"),
        (datetime(2026, 11, 12, 12, 30), "off"),
    ]


NIGHTS = [  # Berlin goes forward on 2027-03-28 at 02:00 and back on 2027-10-31 at 03:00
    ("DTEND is by the wall", f"{AT}:20270327T200000\nDTEND;{BERLIN}:20270328T060000", "2027-03-28 06:00"),
    ("hours are exact", f"{AT}:20270327T200000\nDURATION:PT10H", "2027-03-28 07:00"),
    ("days go by the calendar", f"{AT}:20270327T200000\nDURATION:P1D", "2027-03-28 20:00"),
    ("days before hours", f"{AT}:20270327T010000\nDURATION:P1DT2H", "2027-03-28 04:00"),
    ("an instant in UTC", "DTSTART:20270327T190000Z\nDTEND:20270328T050000Z", "2027-03-28 07:00"),
    ("another zone", "DTSTART;TZID=America/New_York:20270327T150000\nDURATION:PT1H", "2027-03-27 21:00"),
    ("no zone: what the device shows", "DTSTART:20270327T200000\nDURATION:PT10H", "2027-03-28 06:00"),
    ("a skipped end", f"{AT}:20270327T200000\nDTEND;{BERLIN}:20270328T023000", "2027-03-28 03:30"),
    ("a skipped end without zone", "DTSTART:20270327T200000\nDTEND:20270328T023000", "2027-03-28 02:30"),
    ("the first of two", f"{AT}:20271030T200000\nDTEND;{BERLIN}:20271031T023000", "2027-10-31 02:30"),
]  # fmt: skip


@pytest.mark.parametrize(("event", "off"), [case[1:] for case in NIGHTS], ids=[case[0] for case in NIGHTS])
def test_where_it_goes_off_when_clocks_change(event: str, off: str) -> None:
    # RFC 5545: sections 3.3.5 (forms of time), 3.3.6 (lengths); DTEND as the module says
    found = on_and_off(read(event), date(2027, 3, 1), date(2027, 10, 31))
    assert found[-1] == (datetime.fromisoformat(off), "off")


def test_a_time_in_the_second_of_two_like_hours_has_no_step() -> None:
    found = rejection(read("DTSTART:20271030T180000Z\nDTEND:20271031T013000Z"))
    assert "the second 02:30 of 2027-10-31" in found.reason


def test_the_zone_of_the_database_goes_before_a_vtimezone_and_other_names_mean_theirs() -> None:
    rules = (
        "BEGIN:VTIMEZONE\nTZID:{}\nBEGIN:STANDARD\nDTSTART:19701025T030000\nRRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU\n"
        "TZOFFSETFROM:+0300\nTZOFFSETTO:+0200\nEND:STANDARD\nBEGIN:DAYLIGHT\nDTSTART:19700329T020000\n"
        "RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU\nTZOFFSETFROM:+0200\nTZOFFSETTO:+0300\nEND:DAYLIGHT\nEND:VTIMEZONE\n"
    )
    for name, on in (("Depot time", datetime(2026, 11, 10, 7)), ("Europe/Berlin", datetime(2026, 11, 10, 8))):
        event = f'DTSTART;TZID="{name}":20261110T080000\nDURATION:PT1H'
        found = read(event, before=rules.format(name))
        assert on_and_off(found, date(2026, 11, 1), date(2026, 11, 30))[0] == (
            on,
            "on",
        )  # +02:00 is an hour early
        assert (found.entries, found.kept) == (1, 1)


EIGHT = "DTSTART:20261110T080000"
LEFT_OUT = [
    ("UID:x\nDURATION:PT1H", "DTSTART", "is missing"),
    (EIGHT, "DTEND", "say when it ends"),
    (f"{EIGHT}\nDTEND:20261110T070000", "DTEND", "ends before it begins"),
    (f"{EIGHT}\nDTEND:20261110T090000Z", "DTEND", "not of one kind"),
    (f"{EIGHT}\nDTEND:20261110T090000\nDURATION:PT1H", "DURATION", "one only"),
    ("DTSTART:20261310T080000\nDURATION:PT1H", "DTSTART", "not a date or time"),
    ("DTSTART;TZID=Europe/Berlino:20261110T080000\nDURATION:PT1H", "DTSTART", 'Berlino" is no IANA name'),
    (f"{EIGHT}\nDURATION:-PT1H", "DURATION", "forward in time"),
    (f"{EIGHT}\nDURATION:PT1H\nRRULE:FREQ=DAILY;COUNT=2\nRRULE:FREQ=DAILY", "RRULE", "2 times"),
    (f"{EIGHT}\nDURATION:PT1H\nRRULE:FREQ=DAILY;UNTIL=20261112", "RRULE", "a time without Z"),
    (f"{EIGHT}\nDURATION:PT1H\nRRULE:FREQ=WEEKLY;BYDAY=MO", "RRULE", "no date of the rule"),
    (f"{EIGHT}\nDURATION:PT1H\nRRULE:FREQ=WEEKLY;BYDAY=1TU", "RRULE", "MONTHLY and YEARLY only"),
    (f"{EIGHT}\nDURATION:PT1H\nEXRULE:FREQ=DAILY", "EXRULE", "RFC 2445"),
    (f"{EIGHT}\nDURATION:PT1H\nRRULE:FREQ=DAILY\nEXDATE;VALUE=DATE:20261111", "EXDATE", "alike"),
    (f"{EIGHT}\nDURATION:PT1S\nRRULE:FREQ=SECONDLY;COUNT=1000000000", "RRULE", "more than 100000"),
    (f"{EIGHT}\nDURATION:PT1H\nRRULE:RSCALE=HEBREW;FREQ=YEARLY", "RRULE", "RSCALE"),
]  # fmt: skip


@pytest.mark.parametrize(("event", "column", "reason"), LEFT_OUT)
def test_what_has_no_equal_is_rejected_with_its_reason(event: str, column: str, reason: str) -> None:
    found = read(event, OPENING)
    assert (found.entries, found.kept) == (2, 1)
    assert rejection(found).column == column
    assert reason in rejection(found).reason
    assert steps(found) == steps(read(OPENING))


def test_a_series_goes_as_a_whole_where_one_of_its_changes_has_no_equal() -> None:
    named = f"RECURRENCE-ID;{BERLIN}:20261116T070000"
    later = f"UID:opening\n{named}\n{AT}:20261116T080000\nDURATION:PT1H"
    found = read(OPENING, later.replace("-ID", "-ID;RANGE=THISANDFUTURE"))
    why = "it changes this and all later occurrences; end the series before, and begin another"
    belongs = "it belongs to the VEVENT in row 10, which is rejected"
    assert reasons(found) == [(4, "UID", belongs), (10, "RECURRENCE-ID", why)]
    assert steps(found) == []
    on_a_sunday = read(OPENING, later.replace("16T07", "15T07"))
    assert reasons(on_a_sunday)[1] == (
        10,
        "RECURRENCE-ID",
        "its series has no occurrence then",
    )
    assert reasons(read(OPENING, later, later))[2][2] == "a change of this occurrence stands above"
    assert [one[:2] for one in reasons(read(OPENING, "UID:opening\nnonsense"))] == [(4, "UID"), (10, "")]


def test_other_components_and_events_out_of_time_are_passed_over_and_said() -> None:
    old = "UID:old\nDTSTART:20200101T080000\nDURATION:PT1H"
    found = read(old, OPENING, before="BEGIN:VTODO\nSUMMARY:Ask the caretaker\nEND:VTODO\n")
    assert (found.entries, found.kept, found.rejections) == (3, 1, ())
    assert [(one.source_row, one.reason) for one in found.skipped] == [
        (4, "only VEVENT components switch anything"),
        (7, "it is called off, or nothing of it lies between 2026-10-31 and 2027-11-07"),
    ]


def test_it_is_on_as_the_year_begins_where_it_was_left_on_before() -> None:
    found = read(f"DTSTART;{BERLIN}:20240310T080000\nDTEND;{BERLIN}:20261115T100000")
    on = ("on", "daily", "00:00", "2025-11-01", "2025-11-01")
    assert steps(found) == [on, ("off", "daily", "10:00", "2026-11-15", "2026-11-15")]


def test_levels_and_sensors_by_what_the_owner_says() -> None:
    content = calendar("DTSTART:20261110T080000\nDURATION:PT1H")
    dimmed = read_calendar(content, "a.ics", owner(level=40), YEAR).table.frame
    assert dimmed.select("action", "level").rows() == [("level", "40"), ("off", None)]
    out = read_calendar(content, "a.ics", owner("UTC", "p1", "p2", actions=("suspend", "resume")), YEAR)
    assert out.table.frame.select("action", "targets").rows() == [
        ("suspend", "p1;p2"),
        ("resume", "p1;p2"),
    ]
    with pytest.raises(UserError, match='zone "Mars" is no IANA name'):
        owner("Mars")


def test_whole_days_may_be_closures_and_nothing_else_may() -> None:
    content = calendar(
        "DTSTART;VALUE=DATE:20261224\nDTEND;VALUE=DATE:20261227",
        "DTSTART;VALUE=DATE:20000101\nRRULE:FREQ=YEARLY",
        "DTSTART:20261110T080000\nDURATION:PT1H",
    )
    found = read_closures(content, "holidays.ics", "*", "holidays", Period(date(2026, 11, 1), 365))
    assert found.table.name == "closures"
    assert found.table.frame.filter(found.table.frame["date"] > "2026-11").rows() == [
        ("*", "2026-12-24", "holidays", 4),
        ("*", "2026-12-25", "holidays", 4),
        ("*", "2026-12-26", "holidays", 4),
        ("*", "2027-01-01", "holidays", 8),
    ]
    assert reasons(found) == [(12, "DTSTART", "it has a time of day; a closure is a whole date")]
