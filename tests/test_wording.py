"""Plain words: lengths, numbers, dates, hours and programs."""

from datetime import date, datetime

import pytest

from auditor import wording

STEP = {
    "action": "on", "level": None, "days_mask": 127, "anchor": "clock", "time_s": 0, "offset_s": None,
    "season_from": None, "season_until": None, "calendar": None,
}  # fmt: skip


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0 s"),
        (1, "1 s"),
        (60, "1 min"),
        (75, "75 s"),
        (90, "2 min"),
        (1200, "20 min"),
        (3600, "1 h"),
        (4200, "1 h 10 min"),
        (47 * 3600, "47 h"),
        (48 * 3600, "2 days"),
        (5688 * 3600, "237 days"),
        (51 * 3600, "2 days 3 h"),
        (20_000 * 86400, "20\u202f000 days"),
    ],
)
def test_a_length_of_time_is_told_in_its_largest_units(seconds: int, words: str) -> None:
    assert wording.length_text(seconds) == words


def test_numbers_have_thin_spaces_that_do_not_break_and_nouns_their_plural() -> None:
    assert wording.grouped(1234567.4) == "1\u202f234\u202f567"
    assert [wording.counted(number, "site") for number in (0, 1, 2, 1000)] == [
        "0 sites", "1 site", "2 sites", "1\u202f000 sites",
    ]  # fmt: skip
    assert wording.counted(1, "finding is", "findings are") == "1 finding is"
    assert wording.counted(2, "finding is", "findings are") == "2 findings are"


def test_dates_are_told_once_where_they_share_a_part() -> None:
    first = date(2026, 11, 1)
    assert wording.dates_text(first, first) == "1 November 2026"
    assert wording.dates_text(first, date(2026, 11, 20)) == "1 to 20 November 2026"
    assert wording.dates_text(first, date(2026, 12, 20)) == "1 November to 20 December 2026"
    assert wording.dates_text(first, date(2027, 11, 20)) == "1 November 2026 to 20 November 2027"
    assert wording.moment_text(datetime(2027, 3, 4, 5, 6, 59)) == "4 March 2027, 05:06"


def test_a_clock_error_says_which_way() -> None:
    assert wording.clock_error_text(0) == "local time"
    assert wording.clock_error_text(-3600) == "1 h less than local time"
    assert wording.clock_error_text(90) == "2 min more than local time"


def test_a_long_name_is_cut_and_a_short_one_is_not() -> None:
    assert wording.short("x" * 80) == "x" * 80
    assert wording.short("x" * 81) == "x" * 79 + "…"
    assert wording.short("word " * 3, 7) == "word w…"
    assert wording.short("word " * 3, 6) == "word…"


def opening(mask: int, opens: str, closes: str) -> dict[str, int]:
    def seconds(text: str) -> int:
        return int(text[:2]) * 3600 + int(text[3:]) * 60

    return {"days_mask": mask, "opens_s": seconds(opens), "closes_s": seconds(closes)}


def test_opening_hours_are_told_by_the_days_that_share_them() -> None:
    assert wording.hours_text([]) == ""
    assert wording.hours_text([opening(127, "00:00", "24:00")]) == "every day round the clock"
    assert wording.hours_text([opening(15, "08:30", "22:00"), opening(16, "08:30", "22:00")]) == (
        "Monday to Friday 08:30–22:00; closed on Saturday and Sunday"
    )
    assert wording.hours_text([opening(63, "18:00", "02:00")]) == (
        "Monday to Saturday 18:00–02:00 the next day; closed on Sun"
    )


def test_a_program_is_one_sentence_for_each_set_of_days_season_and_calendar() -> None:
    steps = [
        STEP | {"anchor": "sunset", "offset_s": 1200},
        STEP | {"action": "off", "time_s": 82800},
        STEP | {"action": "level", "level": 40.0, "time_s": 79200, "days_mask": 31},
        STEP
        | {
            "action": "off",
            "anchor": "dawn",
            "offset_s": -1800,
            "season_from": "10-01",
            "season_until": "03-31",
        },
        STEP | {"action": "off", "time_s": 1, "calendar": "holidays"},
    ]
    assert wording.program_sentences(steps) == [
        "Every day: on 20 min after sunset, off at 23:00.",
        "Monday to Friday: to 40 % at 22:00.",
        "Every day, from 1 Oct to 31 Mar: off 30 min before dawn.",
        "Every day, on dates of calendar “holidays”: off at 00:00:01.",
    ]


def test_steps_of_sensors_and_of_single_dates_have_their_words() -> None:
    suspend = STEP | {"action": "suspend", "anchor": "dusk", "offset_s": 0, "days_mask": 5}
    dated = suspend | {"action": "resume", "season_from": "2026-12-01", "season_until": "2027-01-06"}
    assert wording.program_sentences([suspend, dated]) == [
        "Mon, Wed: out of service at dusk.",
        "Mon, Wed, from 1 Dec 2026 to 6 Jan 2027: back in service at dusk.",
    ]
    for_good = suspend | {"season_from": "2026-12-01", "season_until": "2199-12-31"}  # the last date there is
    assert wording.program_sentences([for_good]) == ["Mon, Wed, from 1 Dec 2026 on: out of service at dusk."]


def test_the_nearest_word_is_offered() -> None:
    assert wording.nearest("curency", ["currency", "name"]) == "currency"
    assert wording.nearest("anything", []) == ""


def test_places_have_their_directions_in_words() -> None:
    assert wording.place_words(-33.8688, 151.2093) == "33.8688° S, 151.2093° E"
    assert wording.place_words(None, None) == ""


def test_a_text_is_cut_behind_a_sentence_or_a_word_and_never_in_a_figure() -> None:
    text = "On for 1\u202f200 h. It burns on 31 December 2026 at 23:30, and on other dates."
    assert wording.excerpt(text, len(text)) == text
    assert wording.excerpt(text, 30) == "On for 1\u202f200 h. It burns …"
    assert wording.excerpt(text, 20) == "On for 1\u202f200 h. …"
    long = "It burns on 31 December 2026 at 23:30, and on other dates."
    assert wording.excerpt(long, 30) == "It burns …"  # "on 31 December 2026 at 23:30" stays one
    assert wording.excerpt(long, 50) == "It burns on 31 December 2026 at 23:30, and on …"


def test_a_season_of_one_day_is_that_day() -> None:
    assert wording.season_text("02-22", "02-22") == "on 22 Feb"
