"""How exports write times, dates, numbers, words and days: what is read, and what is refused and how."""

import pytest

from auditor.mapping import moments
from auditor.mapping.kinds import UNITS
from auditor.mapping.numbers import in_unit, number, unit_stated
from auditor.mapping.words import bare, days_text, marked_days

SUN = {"ss": "sunset", "sunset": "sunset", "sr": "sunrise", "dusk": "dusk", "dawn": "dawn"}


@pytest.mark.parametrize(
    ("cell", "how", "read"),
    [
        ("07:30", None, "07:30"),
        ("7:30", "24h", "07:30"),
        ("7.30 Uhr", "24h", "07:30"),
        ("7h30", "24h", "07:30"),
        ("23 Uhr", "24h", "23:00"),
        ("9 h", "24h", "09:00"),
        ("18 h 30", "24h", "18:30"),
        ("24 Uhr", "24h", "24:00"),
        ("0730", "24h", "07:30"),
        ("24:00", "24h", "24:00"),
        ("19:30:15", "24h", "19:30:15"),
        ("12:00 AM", "12h", "00:00"),  # the twelve-hour clock begins its day and its half-day at 12
        ("12:15 a.m.", "12h", "00:15"),
        ("12:00 PM", "12h", "12:00"),
        ("7 pm", "12h", "19:00"),
        ("11:59:30 P", "12h", "23:59:30"),
        ("7.5", "decimal hours", "07:30"),
        ("0.3125", "excel serial", "07:30"),  # 7.5 / 24
        ("1", "excel serial", "24:00"),
        ("450", "minutes after midnight", "07:30"),
        ("27000", "seconds after midnight", "07:30"),
    ],
)
def test_a_time_of_day_is_read_as_the_map_says(cell: str, how: str | None, read: str) -> None:
    assert moments.time_text(cell, how) == read


@pytest.mark.parametrize(
    ("cell", "how", "why"),
    [
        ("7:30 PM", None, 'time = "12h"'),
        ("7:30", None, "say how times are written"),
        ("7:30", "12h", "AM or PM"),
        ("13:00 PM", "12h", "AM or PM"),
        ("0:30 AM", "12h", "AM or PM"),
        ("7:30 PM", "24h", 'with AM and PM it is time = "12h"'),
        ("16", "24h", 'words = { "16" = "16:00" }'),
        ("noon", "24h", 'words = { "noon" = '),
        ("25:00", "24h", "not a time of day"),
        ("24:30", "24h", "not a time of day"),
        ("7:60", "24h", "not a time of day"),
        ("-1", "decimal hours", "outside the day"),
        ("24.1", "decimal hours", "outside the day"),
        ("45000.25", "excel serial", "outside the day"),
        ("NaN", "decimal hours", "not a number"),
        ("Infinity", "excel serial", "not a number"),
        ("٧:٣٠", "24h", "24-hour clock"),
    ],
)
def test_a_time_that_is_not_written_so_is_refused(cell: str, how: str | None, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        moments.time_text(cell, how)


@pytest.mark.parametrize(
    ("cell", "offset", "read"),
    [
        ("18:15", None, ("clock", "18:15", "")),
        ("Sunset-20", "min", ("sunset", "", "-20")),
        ("sunset - 20", "min", ("sunset", "", "-20")),
        ("dusk + 0:15", None, ("dusk", "", "15")),  # with a colon: hours and minutes
        ("SS-00:20", None, ("sunset", "", "-20")),
        ("SR +1.5", "h", ("sunrise", "", "90")),
        ("dawn −90", "s", ("dawn", "", "-1.5")),
        ("dawn +20 min", None, ("dawn", "", "20")),
        ("SR", None, ("sunrise", "", "0")),
    ],
)
def test_a_step_is_at_a_time_or_by_the_sun(cell: str, offset: str | None, read: tuple[str, str, str]) -> None:
    assert moments.when(cell, "24h", SUN, offset, ".") == read


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        ("sunset-20", 'offset = "min"'),
        ("Dämmerung", "sun does not list"),
        ("sunset 20", "an offset that is not understood"),
        ("sunset-0:75", "not hours and minutes"),
    ],
)
def test_an_offset_without_a_unit_and_a_word_without_a_meaning_are_refused(cell: str, why: str) -> None:
    with pytest.raises(ValueError, match=why):
        moments.when(cell, "24h", SUN, None, ".")


@pytest.mark.parametrize(
    ("cell", "how", "read"),
    [
        ("2026-04-03", None, "2026-04-03"),
        ("2026-04-03 00:00:00", "day-first", "2026-04-03"),  # a workbook's own dates look like that
        ("03/04/2026", "day-first", "2026-04-03"),
        ("03/04/2026", "month-first", "2026-03-04"),
        ("3. 4. 2026", "day-first", "2026-04-03"),
        ("46115", "excel serial", "2026-04-03"),  # 1900-01-01 is 1, and 1900 is counted as a leap year
        ("3 Apr 26", "%d %b %y", "2026-04-03"),
        ("20260403", "%Y%m%d", "2026-04-03"),
    ],
)
def test_a_date_is_read_as_the_map_says(cell: str, how: str | None, read: str) -> None:
    assert moments.date_text(cell, how) == read


@pytest.mark.parametrize(
    ("cell", "how", "why"),
    [
        (
            "03/04/2026",
            None,
            'can be day-first or month-first; say how dates are written: date = "day-first" or',
        ),
        ("13/04/2026", None, 'date = "day-first" or "month-first"'),
        ("13/04/2026", "month-first", "no day of the calendar"),
        ("03/04/26", "day-first", "year of four digits"),
        ("0000-01-01", None, "no day of the calendar"),
        ("2026-02-30", "iso", "no day of the calendar"),
        ("60", "excel serial", "no serial number"),
        ("1e30", "excel serial", "no serial number"),
        ("3 Avr 26", "%d %b %y", "not written like %d %b %y"),
        ("3/4", "day-first", "no year"),
    ],
)
def test_a_date_that_can_be_read_in_two_ways_or_in_none_is_refused(
    cell: str, how: str | None, why: str
) -> None:
    with pytest.raises(ValueError, match=why):
        moments.date_text(cell, how)


def test_a_day_of_every_year_stays_one() -> None:
    assert moments.edge_text("4/1", "month-first") == "04-01"
    assert moments.edge_text("29.2.", "day-first") == "02-29"
    assert moments.edge_text("29 Feb", "%d %b") == "02-29"
    assert moments.edge_text("1/4/2027", "day-first") == "2027-04-01"


def test_an_instant_needs_its_offset_and_no_hour_that_comes_twice() -> None:
    moment = moments.moment_text("03.11.2026 08:10", "day-first", "24h")
    assert moments.instant_text(moment, "Europe/Berlin", None) == "2026-11-03T08:10+01:00"
    assert moments.instant_text(moment, None, "-05:00") == "2026-11-03T08:10-05:00"
    assert moments.instant_text("2026-11-03T08:10Z", "Europe/Berlin", None) == "2026-11-03T08:10Z"
    with pytest.raises(ValueError, match='add zone = "Europe/Berlin" or utc_offset'):
        moments.instant_text(moment, None, None)
    # Berlin 2026: back at 03:00 on 25 October, forward at 02:00 on 29 March (tzdata).
    with pytest.raises(ValueError, match="comes twice"):
        moments.instant_text("2026-10-25T02:30", "Europe/Berlin", None)
    with pytest.raises(ValueError, match="is skipped"):
        moments.instant_text("2026-03-29T02:30", "Europe/Berlin", None)
    with pytest.raises(ValueError, match="no moment"):
        moments.instant_text("9999-99-99T02:30", "Europe/Berlin", None)


def test_numbers_are_counted_exactly_and_units_are_fractions() -> None:
    assert in_unit("0.29", (1000, 1), ".", "") == "290"  # as floats 0.29 * 1000 is 290.00000000000006
    assert in_unit("1.234.567,5", (1, 1), ",", ".") == "1234567.5"
    assert in_unit("1,800", (1, 1), ".", ",") == "1800"
    assert in_unit("90", (1, 60), ".", "") == "1.5"
    assert in_unit("10", (3048, 10_000), ".", "") == "3.048"  # feet: 0.3048 m (1959 agreement)
    assert in_unit("1", (1, 60), ".", "") == "0.016666667"


@pytest.mark.parametrize("cell", ["NaN", "inf", "-Infinity", "1e999", "0x10", "1_000", "", "٣", "9" * 60])
def test_what_is_no_number_of_ours_is_refused(cell: str) -> None:
    with pytest.raises(ValueError, match="is not a number"):
        number(cell)


@pytest.mark.parametrize(
    ("cell", "read"),
    [
        ("1.2 kW", ("1.2", "kW")),
        ("800W", ("800", "W")),
        ("800 w", ("800", "W")),
        ("3 MW", ("3", "MW")),
        ("3 mW", ("3 mW", None)),  # a thousandth of a watt, or a million
        ("3 VA", ("3 VA", None)),
        ("3", ("3", None)),
    ],
)
def test_a_unit_that_a_cell_says_itself_is_found(cell: str, read: tuple[str, str | None]) -> None:
    assert unit_stated(cell, UNITS["W"]) == read


def test_a_comma_is_not_guessed() -> None:
    with pytest.raises(ValueError, match=r'set decimal = "," in \[source\]'):
        number("12,5")
    with pytest.raises(ValueError, match=r'set thousands = "\."'):
        number("1.800", ",")


@pytest.mark.parametrize(
    ("cell", "read"),
    [
        ("MO-FR", "MO,TU,WE,TH,FR"),
        ("Mo – Fr", "MO,TU,WE,TH,FR"),
        ("Sa-Mo", "MO,SA,SU"),
        ("Fr, Mo/We", "MO,WE,FR"),
        ("weekdays", "MO,TU,WE,TH,FR"),
        ("Weekdays + Sa", "MO,TU,WE,TH,FR,SA"),
        ("su-sa", "daily"),
        ("daily", "daily"),
        ("1-5", "MO,TU,WE,TH,FR"),
    ],
)
def test_days_are_names_ranges_and_lists(cell: str, read: str) -> None:
    assert days_text(cell, {"weekdays": "MO,TU,WE,TH,FR", "1": "MO", "5": "FR"}) == read


@pytest.mark.parametrize("cell", ["Montag", "Mo-", "Mo-Tu-We", "weekdays-Sa", "-", "8"])
def test_a_day_without_a_translation_is_named(cell: str) -> None:
    with pytest.raises(ValueError, match=r"has no translation for|names no day"):
        days_text(cell, {"weekdays": "MO,TU,WE,TH,FR"})


def test_days_may_be_marks_in_columns() -> None:
    marks = [("M", "MO", "X"), ("T", "TU", None), ("W", "WE", "-")]
    assert marked_days(marks, {"x"}, {"-"}) == "MO"
    with pytest.raises(ValueError, match='"-" in column W, which neither set nor unset lists'):
        marked_days(marks, {"x"}, set())
    with pytest.raises(ValueError, match="marks no day"):
        marked_days(marks[1:2], {"x"}, set())


def test_words_are_compared_without_capitals_and_spaces() -> None:
    assert bare("  Car   PARK ") == bare("car park") and bare("STRASSE") == bare("Straße")
