"""Rules that devices run whatever the law says, and which clock a device runs, worked by hand.

The law: 15 USC 260a as amended by the Energy Policy Act of 2005, section 110 (us-2007), and by Public Law
99-359 of 1986 (us-1987), both at 02:00 local time; Directive 2000/84/EC, 01:00 UTC (eu). When zones changed,
and whether they gave it up: the tz database.
"""

import csv
from datetime import UTC, datetime
from pathlib import Path

import pytest

from auditor.zones import DeviceClock, device_clock, offset_text, rule_clock, zone_clock

PUBLISHED = Path(__file__).parents[1] / "fixtures" / "published"
HOUR = 3600
US_STANDARDS = [hours * HOUR for hours in (-10, -9, -8, -7, -6, -5, -4)]
EU_STANDARDS = [hours * HOUR for hours in (-5, -1, 0, 1, 2)]


def at(text: str) -> int:
    """A date-time as epoch seconds, as if it were UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


# Rules ------------------------------------------------------------------------------------------------------

with (PUBLISHED / "rule_dates.csv").open(encoding="utf-8", newline="") as _lines:
    RULE_DATES = list(csv.DictReader(_lines))


@pytest.mark.parametrize("row", RULE_DATES, ids=lambda row: f"{row['rule']} {row['year']}")
def test_a_rule_moves_on_its_published_dates(row: dict[str, str]) -> None:
    first, last = at(row["first_date"]), at(row["last_date"])
    for standard in EU_STANDARDS if row["rule"] == "eu" else US_STANDARDS:
        if row["rule"] == "eu":
            starts, ends = first + HOUR, last + HOUR
        else:  # 02:00 standard time, and 02:00 daylight time, which is 01:00 standard time
            starts, ends = first + 2 * HOUR - standard, last + HOUR - standard
        year = at(f"{row['year']}-01-01"), at(f"{row['year']}-12-31")
        assert rule_clock(row["rule"], standard).stretches(*year) == [
            (year[0], starts, standard),
            (starts, ends, standard + HOUR),
            (ends, year[1], standard),
        ]


@pytest.mark.parametrize(
    ("rule", "zone", "standard_h", "first", "until"),
    [
        ("us-1987", "America/New_York", -5, "1987-01-01", "2007-01-01"),
        ("us-1987", "America/Anchorage", -9, "1987-01-01", "2007-01-01"),
        ("us-2007", "America/New_York", -5, "2007-01-01", "2050-01-01"),
        ("us-2007", "America/Los_Angeles", -8, "2007-01-01", "2050-01-01"),
        ("us-2007", "America/Vancouver", -8, "2007-01-01", "2026-11-01"),
        ("eu", "Europe/Berlin", 1, "1996-01-01", "2050-01-01"),
        ("eu", "Europe/Athens", 2, "1996-01-01", "2050-01-01"),
        ("eu", "Europe/London", 0, "1996-01-01", "2050-01-01"),
        ("eu", "Europe/Dublin", 0, "1996-01-01", "2050-01-01"),  # its law has winter time below a standard
    ],
)
def test_a_rule_is_the_law_where_the_law_held(
    rule: str, zone: str, standard_h: int, first: str, until: str
) -> None:
    years = at(first), at(until)
    assert rule_clock(rule, standard_h * HOUR).stretches(*years) == zone_clock(zone).stretches(*years)


def test_no_rule_keeps_standard_time() -> None:
    years = at("1990-01-01"), at("2040-01-01")
    assert rule_clock("none", -7 * HOUR).stretches(*years) == [(*years, -7 * HOUR)]


# Devices ----------------------------------------------------------------------------------------------------


def device(
    zone: str, read_at: str, shown: str | None, rule: str | None = None, standard_h: float | None = None
) -> DeviceClock:
    """The clock of a device that showed ``shown`` at the true instant ``read_at`` (UTC)."""
    reading = None if shown is None else at(shown)
    standard_s = None if standard_h is None else int(standard_h * HOUR)
    return device_clock(zone, at(read_at), reading, rule, standard_s)


def in_hours(device: DeviceClock, year: int) -> tuple[float, float]:
    """Offset in the middle of January and of July."""
    return tuple(device.clock.offset_at(at(f"{year}-{month}-15T12:00")) / HOUR for month in ("01", "07"))


NEW_YORK = "America/New_York"  # -5, from March to November -4


@pytest.mark.parametrize(
    ("rule", "standard_h", "january", "july"),
    [
        ("zone", None, -5, -4),
        ("zone", -8, -5, -4),  # the standard offset counts with a fixed rule only
        (None, None, -5, -4),
        (None, -8, -5, -4),
        ("none", None, -5, -5),
        ("none", -6, -6, -6),
        ("us-2007", None, -5, -4),
        ("us-2007", -6, -6, -5),
        ("us-1987", -8, -8, -7),
        ("eu", None, -5, -4),
        ("eu", 5.5, 5.5, 6.5),
    ],
)
def test_without_a_reading_the_settings_count(
    rule: str | None, standard_h: float | None, january: float, july: float
) -> None:
    told = device(NEW_YORK, "2026-11-14T17:00", None, rule, standard_h)
    assert (in_hours(told, 2027), told.residual_s) == ((january, july), 0)


def test_fixed_rules_differ_from_the_law_on_their_own_dates() -> None:
    # 20 March lies after the second Sunday of March and before the last; 3 November 2027 before the first.
    spring, autumn = at("2027-03-20T12:00"), at("2027-11-03T12:00")
    offsets = {}
    for rule in ("us-2007", "us-1987", "eu", "none"):
        clock = device(NEW_YORK, "2026-11-14T17:00", None, rule).clock
        offsets[rule] = clock.offset_at(spring) // HOUR, clock.offset_at(autumn) // HOUR
    assert offsets == {"us-2007": (-4, -4), "us-1987": (-5, -5), "eu": (-5, -5), "none": (-5, -5)}


@pytest.mark.parametrize(
    ("zone", "read_at", "standard_h"),
    [
        (NEW_YORK, "2026-07-01T12:00", -5),
        ("Europe/Dublin", "2026-07-01T12:00", 0),
        ("Australia/Lord_Howe", "2027-01-15T12:00", 10.5),
        ("America/Phoenix", "2026-07-01T12:00", -7),
        ("Africa/Casablanca", "2026-08-01T12:00", 0),  # +1 for most of the year, 0 in one month
        ("America/Asuncion", "2027-10-01T12:00", -4),  # -3 for good since 6 October 2024
        ("America/Asuncion", "2027-10-15T12:00", -3),
    ],
)
def test_a_blank_standard_is_the_lowest_offset_of_three_years(
    zone: str, read_at: str, standard_h: float
) -> None:
    assert in_hours(device(zone, read_at, None, "none"), 2028) == (standard_h, standard_h)


@pytest.mark.parametrize(
    ("rule", "standard_h", "shown", "residual_s"),
    [  # read at 17:00 UTC in November, when New York shows 12:00
        ("zone", None, "2026-11-14T12:00:28", 28),
        ("zone", None, "2026-11-14T13:00:00", HOUR),  # a device said to follow the law is simply wrong
        ("zone", None, "2026-11-14T00:00:00", -12 * HOUR),
        (None, None, "2026-11-14T11:58:30", -90),
        ("none", None, "2026-11-14T12:00:05", 5),
        ("us-2007", -6, "2026-11-14T12:00:05", HOUR + 5),
        ("eu", -5, "2019-01-01T00:00:00", at("2019-01-01") - at("2026-11-14T12:00")),  # lost its date
    ],
)
def test_what_the_offset_does_not_explain_is_left_over(
    rule: str | None, standard_h: float | None, shown: str, residual_s: int
) -> None:
    assert device(NEW_YORK, "2026-11-14T17:00", shown, rule, standard_h).residual_s == residual_s


ZONES_THAT_CHANGE = [
    # Slow while the higher offset is in force: stays on the lower.
    (NEW_YORK, "2026-07-10T16:00", "2026-07-10T11:00:00", -5, -5, 0),
    (NEW_YORK, "2026-07-10T16:00", "2026-07-10T10:57:00", -5, -5, -180),
    ("Europe/Berlin", "2026-07-10T10:00", "2026-07-10T11:01:00", 1, 1, 60),
    ("Australia/Sydney", "2027-01-10T01:00", "2027-01-10T11:00:00", 10, 10, 0),
    # Fast while the lower is: stays on the higher.
    (NEW_YORK, "2026-11-14T17:00", "2026-11-14T13:00:00", -4, -4, 0),
    ("Europe/Dublin", "2026-12-01T12:00", "2026-12-01T13:00:20", 1, 1, 20),
    # By half an hour, and by two.
    ("Australia/Lord_Howe", "2027-01-10T01:00", "2027-01-10T11:30:00", 10.5, 10.5, 0),
    ("Antarctica/Troll", "2026-07-10T12:00", "2026-07-10T12:00:00", 0, 0, 0),
    # Up to five minutes off that difference, and no more.
    (NEW_YORK, "2026-07-10T16:00", "2026-07-10T10:55:00", -5, -5, -300),
    (NEW_YORK, "2026-07-10T16:00", "2026-07-10T11:05:00", -5, -5, 300),
    (NEW_YORK, "2026-07-10T16:00", "2026-07-10T10:54:59", -5, -4, -HOUR - 301),
    (NEW_YORK, "2026-07-10T16:00", "2026-07-10T11:05:01", -5, -4, -HOUR + 301),
    (NEW_YORK, "2026-11-14T17:00", "2026-11-14T12:55:00", -4, -4, -300),
    (NEW_YORK, "2026-11-14T17:00", "2026-11-14T12:54:59", -5, -4, HOUR - 301),
    (NEW_YORK, "2026-11-14T17:00", "2026-11-14T13:05:00", -4, -4, 300),
    (NEW_YORK, "2026-11-14T17:00", "2026-11-14T13:05:01", -5, -4, HOUR + 301),
    # The other way round it is no matter of DST, nor where the difference is another.
    (NEW_YORK, "2026-07-10T16:00", "2026-07-10T13:00:00", -5, -4, HOUR),
    (NEW_YORK, "2026-11-14T17:00", "2026-11-14T11:00:00", -5, -4, -HOUR),
    ("Australia/Lord_Howe", "2027-01-10T01:00", "2027-01-10T11:00:00", 11, 10.5, -HOUR),
    # Nor in a zone with one offset.
    ("America/Phoenix", "2026-07-10T19:00", "2026-07-10T13:00:00", -7, -7, HOUR),
    # A last change to come is a change: Vancouver on 8 March 2026, Jordan on 24 February 2022.
    ("America/Vancouver", "2026-01-10T20:00", "2026-01-10T13:00:00", -7, -7, 0),
    ("Asia/Amman", "2022-01-15T10:00", "2022-01-15T13:00:00", 3, 3, 0),
]

ZONES_THAT_GAVE_UP = [
    # Permanent -7 since 8 March 2026, -8 until then by the US dates: the device goes on with these.
    ("America/Vancouver", "2026-12-01T20:00", "2026-12-01T12:01:00", -8, -7, 60),
    ("America/Edmonton", "2026-12-01T20:00", "2026-12-01T13:00:00", -7, -6, 0),
    ("America/Whitehorse", "2020-12-10T20:00", "2020-12-10T12:00:00", -8, -7, 0),  # gave up in 2020
    ("America/Vancouver", "2028-12-01T20:00", "2028-12-01T12:00:00", -8, -7, 0),  # 37 months later
    # In July these dates would show -7 and the device shows -8: it has no DST at all.
    ("America/Vancouver", "2026-07-10T20:00", "2026-07-10T12:01:00", -8, -8, 60),
    # Permanent +1 in Tunisia since 26 October 2008, European dates until then: the device goes on with these.
    ("Africa/Tunis", "2009-07-15T10:00", "2009-07-15T12:00:00", 1, 2, 0),
    ("Africa/Tunis", "2009-12-15T10:00", "2009-12-15T12:00:00", 2, 2, 0),
    # Dates of their own: April to October in Mexico until 2022; Turkey went back late in 2015; Ramadan in
    # Morocco until 2026; Kazakhstan moved once, on 1 March 2024.
    ("America/Mexico_City", "2023-05-10T18:00", "2023-05-10T13:00:30", -5, -5, 30),
    ("Europe/Istanbul", "2016-12-10T12:00", "2016-12-10T14:00:00", 2, 2, 0),
    ("Africa/Casablanca", "2026-11-14T12:00", "2026-11-14T13:00:00", 1, 1, 0),
    ("Asia/Almaty", "2026-11-14T12:00", "2026-11-14T18:00:00", 6, 6, 0),
    # Right, or wrong by something else, it keeps the law of today.
    ("America/Vancouver", "2026-12-01T20:00", "2026-12-01T13:00:10", -7, -7, 10),
    ("America/Vancouver", "2026-12-01T20:00", "2026-12-01T14:00:00", -7, -7, HOUR),
    # Long since: one offset in three years.
    ("Asia/Almaty", "2027-11-14T12:00", "2027-11-14T18:00:00", 5, 5, HOUR),
]


@pytest.mark.parametrize(
    ("zone", "read_at", "shown", "january", "july", "residual_s"), ZONES_THAT_CHANGE + ZONES_THAT_GAVE_UP
)
def test_a_reading_that_is_off_by_the_zones_own_difference(
    zone: str, read_at: str, shown: str, january: float, july: float, residual_s: int
) -> None:
    read = device(zone, read_at, shown)
    assert (in_hours(read, int(read_at[:4]) + 1), read.residual_s) == ((january, july), residual_s)
    assert device(zone, read_at, shown, "zone").clock == zone_clock(zone)  # said to follow the law, it does


def test_a_device_on_the_law_of_before_moves_on_the_dates_of_before() -> None:
    """Vancouver has no change in 2027; the device makes two, on 14 March 10:00 and 7 November 09:00 UTC."""
    kept = device("America/Vancouver", "2026-12-01T20:00", "2026-12-01T12:00:00")
    stretches = kept.clock.stretches(at("2027-01-01"), at("2028-01-01"))
    assert [start for start, _, _ in stretches[1:]] == [at("2027-03-14T10:00"), at("2027-11-07T09:00")]


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "+00:00"),
        (5 * HOUR + 30 * 60, "+05:30"),  # India
        (-(3 * HOUR + 30 * 60), "-03:30"),  # Newfoundland
        (-(4 * HOUR + 56 * 60 + 2), "-04:56:02"),  # New York before 1883 (tz database)
    ],
)
def test_an_offset_is_told_with_seconds_where_it_has_some(seconds: int, text: str) -> None:
    assert offset_text(seconds) == text
