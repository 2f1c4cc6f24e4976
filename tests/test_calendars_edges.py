"""The edges of what an event may say: the last that is read, and the first that is refused with its reason.

Sources: RFC 5545 by section; bounds of ours on length and number as DEVELOPERS.md gives them.
"""

from datetime import date, datetime

import pytest

from auditor.intake.calendars.lines import components
from auditor.intake.calendars.recurrence import Budget
from auditor.intake.program import UnfitError
from auditor.model import Period

from .programs_case import calendar, firings, read, rejection

EIGHT = "DTSTART:20261110T080000"  # a Tuesday
AN_HOUR = f"{EIGHT}\nDURATION:PT1H"
BERLIN = "TZID=Europe/Berlin"


def november(event: str, before: str = "") -> list[tuple[str, str]]:
    """What it does in November 2026, in Berlin."""
    found = read(event, before=before)
    assert found.rejections == ()
    fired = firings(found.table.frame, date(2026, 11, 1), date(2026, 11, 30))
    return [(at.strftime("%d %H:%M:%S"), action) for at, action in fired]


def on(event: str, before: str = "") -> list[str]:
    """Its beginnings in November 2026."""
    return [at for at, action in november(event, before) if action == "on"]


def refused(event: str) -> tuple[str, str]:
    """The property to blame, and why."""
    found = rejection(read(event))
    return found.column, found.reason


# Times and lengths ----------------------------------------------------------------------------------------


def test_eight_digits_are_a_date_unless_something_else_is_said() -> None:
    assert november("DTSTART:20261110") == [("10 00:00:00", "on"), ("11 00:00:00", "off")]
    assert refused("DTSTART;VALUE=DATE-TIME:20261110\nDURATION:P1D") == (
        "DTSTART",
        "DTSTART is not a date or time of RFC 5545; write 20261103T140500",
    )


def test_a_leap_second_is_the_one_before() -> None:  # section 3.3.12
    assert on("DTSTART:20261110T235960\nDURATION:PT1H") == ["10 23:59:59"]


@pytest.mark.parametrize(
    ("length", "off"),
    [  # section 3.3.6: weeks stand alone
        ("P1W", "17 08:00:00"),
        ("P15DT5H0M20S", "25 13:00:20"),
        ("+PT1S", "10 08:00:01"),
    ],
)
def test_how_long_a_duration_is(length: str, off: str) -> None:
    assert november(f"{EIGHT}\nDURATION:{length}")[-1] == (off, "off")


def test_a_duration_of_a_century_and_no_more() -> None:
    assert november(f"{EIGHT}\nDURATION:P40000D") == [("10 08:00:00", "on")]
    for length in ("P40001D", "PT0S", "P0D"):
        assert refused(f"{EIGHT}\nDURATION:{length}") == (
            "DURATION",
            "DURATION is nothing, or more than a century; give the time that it is on",
        )


def test_what_lasts_for_years_is_on_as_the_year_begins() -> None:
    found = read("DTSTART:20240310T080000\nDURATION:P980D")  # to 15 November 2026
    assert found.table.frame.select("action", "time", "from").rows() == [
        ("on", "00:00", "2025-11-01"),
        ("off", "08:00", "2026-11-15"),
    ]


# VTIMEZONE (section 3.6.5) --------------------------------------------------------------------------------


def zone(*onsets: tuple[str, str, str]) -> str:
    """A VTIMEZONE called Depot, by when each observance begins and the offsets before and after."""
    parts = "".join(
        f"BEGIN:STANDARD\nDTSTART:{at}\nTZOFFSETFROM:{before}\nTZOFFSETTO:{after}\nEND:STANDARD\n"
        for at, before, after in onsets
    )
    return f"BEGIN:VTIMEZONE\nTZID:Depot\n{parts}END:VTIMEZONE\n"


DEPOT = "DTSTART;TZID=Depot:20261110T080000\nDURATION:PT1H"  # Berlin has +01:00 then


@pytest.mark.parametrize(
    ("offset", "begins"),
    [
        ("+0200", "10 07:00:00"),
        ("-0145", "10 10:45:00"),
        ("+020030", "10 06:59:30"),
        ("+1500", "09 18:00:00"),
    ],
)
def test_offsets_have_four_digits_or_six(offset: str, begins: str) -> None:  # section 3.3.14
    assert on(DEPOT, zone(("19700101T000000", offset, offset))) == [begins]


@pytest.mark.parametrize("offset", ["+02000", "+020", "+0200000", "+1501", "+150001", "+0x00", ""])
def test_a_zone_whose_offset_is_none_is_not_known(offset: str) -> None:
    found = rejection(read(DEPOT, before=zone(("19700101T000000", offset, "+0100"))))
    assert found.reason == 'TZID "Depot" is no IANA name, and no VTIMEZONE here tells it'


def test_before_its_first_onset_a_zone_has_the_offset_from_which_that_goes() -> None:
    onsets = ("20261120T000000", "+0300", "+0400"), ("20261125T000000", "+0400", "+0500")
    assert on(DEPOT, zone(*onsets)) == ["10 06:00:00"]
    assert on(DEPOT.replace("1110", "1122"), zone(*onsets)) == ["22 05:00:00"]
    assert on(DEPOT.replace("1110", "1128"), zone(*onsets)) == ["28 04:00:00"]


@pytest.mark.parametrize(
    ("until", "begins"),
    [  # the onset of 15 November 2026 is at 01:00 UTC
        ("", ["15 01:59:58", "15 02:00:00"]),
        (";UNTIL=20261115T010000Z", ["15 01:59:58", "15 02:00:00"]),
        (";UNTIL=20261115T005959Z", ["15 01:59:58", "15 03:00:00"]),
        (";UNTIL=20261115T020000", ["15 01:59:58", "15 02:00:00"]),
        (";UNTIL=20261115T015959", ["15 01:59:58", "15 03:00:00"]),
    ],
)
def test_onsets_come_again_by_their_rule(until: str, begins: list[str]) -> None:
    summer = ("20201115T020000", "+0100", f"+0200\nRRULE:FREQ=YEARLY;BYMONTH=11;BYDAY=3SU{until}")
    winter = ("20210307T030000", "+0200", "+0100\nRRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=1SU")
    times = "DTSTART;TZID=Depot:20261115T015958\nDURATION:PT1S\nRDATE;TZID=Depot:20261115T030000"
    # 03:00 at +02:00 is 01:00 UTC, at +01:00 it is 02:00; Berlin has +01:00
    assert on(times, zone(summer, winter)) == begins


# Rules (section 3.3.10) -----------------------------------------------------------------------------------


def test_until_is_the_last_one_where_it_is_one() -> None:
    rule = "RRULE:FREQ=DAILY;UNTIL="
    assert len(on(f"{AN_HOUR}\n{rule}20261112T080000")) == 3
    assert len(on(f"{AN_HOUR}\n{rule}20261112T075959")) == 2


def test_a_rule_keeps_its_weekdays_to_the_last_second_of_a_day() -> None:
    late = "DTSTART:20261110T235950\nDURATION:PT1H\nRRULE:FREQ=WEEKLY;BYDAY=TU"
    assert on(late) == ["10 23:59:50", "17 23:59:50", "24 23:59:50"]


def test_the_year_in_which_the_calendar_begins_anew_is_like_any_other() -> None:
    # After 400 years the Gregorian calendar repeats; dateutil ends with the year 9999.
    found = read(
        "DTSTART:19991230T080000\nDURATION:PT1H\nRRULE:FREQ=DAILY", period=Period(date(1999, 12, 1), 60)
    )
    assert firings(found.table.frame, date(1999, 12, 1), date(2000, 1, 2))[::2] == [
        (datetime(*day, 8), "on") for day in ((1999, 12, 30), (1999, 12, 31), (2000, 1, 1), (2000, 1, 2))
    ]


@pytest.mark.parametrize(
    ("rule", "reason"),
    [
        ("FREQ=DAILY;COUNT=0", "COUNT that is not a number from 1"),
        ("FREQ=DAILY;COUNT=-1", "COUNT that is not a number from 1"),
        ("FREQ=DAILY;INTERVAL=0", "INTERVAL that is not a number from 1"),
        ("FREQ=DAILY;COUNT=" + "3".zfill(13), "COUNT that is not a number from 1"),
        ("FREQ=DAILY;BYSETPOS=1", "nothing to choose from"),
        ("FREQ=FORTNIGHTLY", "no FREQ"),
        ("FREQ=DAILY;COUNT=2;UNTIL=20261112T080000", "one only"),
        ("FREQ=DAILY;COUNT=2;COUNT=3", "one thing twice"),
        ("FREQ=DAILY;COUNT=20;BYMONTH=" + "11," * 1324 + "1", "longer than 4000 characters"),
    ],
)
def test_rules_that_are_refused(rule: str, reason: str) -> None:
    column, why = refused(f"{AN_HOUR}\nRRULE:{rule}")
    assert (column, reason in why) == ("RRULE", True), why


def test_rules_that_are_just_within_bounds() -> None:
    assert len(on(f"{AN_HOUR}\nRRULE:FREQ=DAILY;COUNT={'3'.zfill(12)}")) == 3
    longest = "FREQ=DAILY;COUNT=2;BYMONTH=" + "11," * 1324 + "1"
    assert len(longest) == 4000
    assert len(on(f"{AN_HOUR}\nRRULE:{longest}")) == 2


@pytest.mark.parametrize("rule", ["FREQ=HOURLY", "FREQ=DAILY;BYHOUR=8"])
def test_a_date_has_no_times_of_day(rule: str) -> None:
    column, why = refused(f"DTSTART;VALUE=DATE:20261110\nRRULE:{rule}")
    assert (column, why) == ("RRULE", "RRULE goes by times of day where DTSTART is a date")


def test_a_series_and_a_file_have_so_many_occurrences_and_no_more() -> None:
    (event,), budget = components(calendar("RRULE:FREQ=DAILY"), "a.ics"), Budget()
    line = event.properties()["RRULE"][0]
    for _ in range(5):
        budget.begin()
        budget.spend(line, 99_999)
        budget.spend(line)
    with pytest.raises(UnfitError, match="it has more than 100000 occurrences"):
        budget.spend(line)
    budget.begin()
    with pytest.raises(UnfitError, match="the file has more than 500000 occurrences"):
        budget.spend(line)


# Series ---------------------------------------------------------------------------------------------------


def test_a_first_date_that_its_rule_lacks_may_be_excepted_unless_it_is_counted() -> None:  # section 3.8.5.3
    mondays = f"{AN_HOUR}\nEXDATE:20261110T080000\nRRULE:FREQ=WEEKLY;BYDAY=MO"
    assert on(mondays) == ["16 08:00:00", "23 08:00:00", "30 08:00:00"]
    assert "no date of the rule" in refused(f"{mondays};COUNT=2")[1]


def test_an_end_in_another_zone_is_an_instant() -> None:
    event = f"DTSTART;{BERLIN}:20261110T080000\nDTEND;TZID=America/New_York:20261110T040000"
    assert november(event) == [("10 08:00:00", "on"), ("10 10:00:00", "off")]
    column, why = refused(f"{EIGHT}\nDTEND;VALUE=DATE:20261111")
    assert (column, "not of one kind" in why) == ("DTEND", True)


def test_the_property_to_blame_is_the_one_whose_zone_is_not_known() -> None:
    column, why = refused(f"DTSTART;{BERLIN}:20261110T080000\nDTEND;TZID=Mars:20261110T090000")
    assert (column, why[:11]) == ("DTEND", 'TZID "Mars"')


def test_further_dates_count_beside_periods() -> None:  # section 3.8.5.2
    further = "RDATE;VALUE=PERIOD:20261112T080000/PT2H\nRDATE:20261114T080000"
    assert november(f"{AN_HOUR}\n{further}") == [
        ("10 08:00:00", "on"),
        ("10 09:00:00", "off"),
        ("12 08:00:00", "on"),
        ("12 10:00:00", "off"),
        ("14 08:00:00", "on"),
        ("14 09:00:00", "off"),
    ]


def test_a_change_names_an_occurrence_up_to_where_they_are_worked_out() -> None:
    # Two days after 7 November 2027, with which the steps end; beyond it nobody knows what the series has.
    changed = "UID:x\nRECURRENCE-ID:20271109T00000{}\nDTSTART:20261115T200000\nDURATION:PT1H"
    series = f"UID:x\n{AN_HOUR}\nRRULE:FREQ=WEEKLY"
    assert rejection_reasons(series, changed.format(0))[-1] == "its series has no occurrence then"
    assert rejection_reasons(series, changed.format(1)) == []


def rejection_reasons(*events: str) -> list[str]:
    return [one.reason for one in read(*events).rejections]
