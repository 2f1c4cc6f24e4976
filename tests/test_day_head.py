"""What the log of a day says first, its answers to "why then?", and how the command prints them."""

import json
from datetime import date
from pathlib import Path

import pytest

from auditor.day import SiteDay, tell, text

from .conftest import Console, Tables, write_folder
from .test_day import step, tables

NOON = 12 * 3600


def facts(tmp_path: Path, made: Tables, day: str, site_id: str = "01") -> list[str]:
    folder = write_folder(tmp_path / "p", made)
    return list(tell(SiteDay(folder, site_id, date.fromisoformat(day))).facts)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "portfolio", tables())


# head ------------------------------------------------------------------------------------------------------


def test_an_ordinary_day_says_its_hours_and_that_it_is_not_listed(tmp_path: Path) -> None:
    assert "Open 08:00 to 18:30; not listed in closures." in facts(tmp_path, tables(), "2026-12-01")
    assert "Closed all day; not listed in closures." in facts(tmp_path, tables(), "2026-12-05")  # a Saturday


def test_a_listed_date_says_under_which_calendar_and_which_steps_run(tmp_path: Path) -> None:
    made = tables()
    made["events"].append(step("020", "012", "off", "00:10", calendar="holidays"))
    said = facts(tmp_path, made, "2026-12-25")
    assert "Closed all day: listed in closures under calendar holidays." in said
    assert "Only steps of calendar holidays run for Reading�[31m room (012)." in said
    assert "All others run their ordinary steps." in said


def test_where_nothing_has_steps_of_the_calendar_it_says_so(tmp_path: Path) -> None:
    said = facts(tmp_path, tables(), "2026-12-25")
    assert "Nothing here has steps of calendar holidays: ordinary steps run." in said


def test_a_date_that_only_closes_and_unknown_hours_are_told(tmp_path: Path) -> None:
    made = tables()
    made["closures"] = [{"site_id": "*", "date": "2026-12-24"}]
    assert "Closed all day: listed in closures." in facts(tmp_path, made, "2026-12-24")
    said = facts(tmp_path, made, "2026-12-24", "02")
    assert "Opening hours are not known; the date is listed in closures." in said


def test_a_calendar_that_the_device_sees_on_another_date_counts_there(tmp_path: Path) -> None:
    # The device is a day behind: on 26 December it shows the 25th, and runs that day's steps.
    made = tables()
    made["controllers"][0]["clock_reading"] = "2026-11-02T09:06:00"
    made["events"].append(step("020", "012", "off", "00:10", calendar="holidays"))
    said = facts(tmp_path, made, "2026-12-26")
    assert "Closed all day; not listed in closures." in said  # a Saturday
    assert "Only steps of calendar holidays run for Reading�[31m room (012)." in said


def test_hours_past_midnight_are_told_on_both_dates(tmp_path: Path) -> None:
    made = tables()
    made["hours"] = [{"site_id": "01", "days": "FR", "opens": "20:00", "closes": "02:00"}]
    assert "Open 20:00 to 02:00 the next day; not listed in closures." in facts(tmp_path, made, "2026-12-04")
    assert "Open from before midnight until 02:00; not listed in closures." in facts(
        tmp_path, made, "2026-12-05"
    )


def test_a_site_that_never_closes_is_open_all_day(tmp_path: Path) -> None:
    made = tables()
    made["hours"] = [{"site_id": "01", "days": "daily", "opens": "00:00", "closes": "24:00"}]
    assert "Open all day; not listed in closures." in facts(tmp_path, made, "2026-12-04")


@pytest.mark.parametrize(
    ("latitude", "words"), [(80, "The sun does not rise."), (-80, "The sun does not set.")]
)
def test_polar_days_say_so(tmp_path: Path, latitude: int, words: str) -> None:
    made = tables()
    made["sites"][0]["latitude"] = latitude
    assert words in facts(tmp_path, made, "2026-12-21")


def test_devices_that_differ_from_local_time_say_by_how_much_and_from_when(tmp_path: Path) -> None:
    said = facts(tmp_path, tables(), "2027-03-14")
    assert "Clocks go forward 1 h: after 01:59:59 comes 03:00." in said
    assert "Device 01A shows 1 min more than local time, from 03:00 on 59 min less than local time." in said


def test_a_device_without_a_rule_is_said_to_be_in_doubt_in_summer_only(tmp_path: Path) -> None:
    made = tables()
    made["controllers"][0] |= {"dst_rule": "", "utc_offset": "", "clock_reading": "2026-11-03T09:05:00"}
    doubt = "Whether device 01A follows daylight saving time nobody can tell from this export; "
    assert f"{doubt}it is taken to follow." in facts(tmp_path, made, "2027-07-01")
    assert not [words for words in facts(tmp_path, made, "2026-12-01") if words.startswith(doubt)]
    made["controllers"][0]["dst_rule"] = "zone"
    assert not [words for words in facts(tmp_path, made, "2027-07-01") if words.startswith(doubt)]


def test_a_device_that_was_never_read_or_looks_at_another_sun_says_so(tmp_path: Path) -> None:
    said = " ".join(facts(tmp_path, tables(), "2026-12-01", "02"))
    assert "Device 02A has no clock reading: its clock is worked out from its settings alone." in said
    made = tables()
    made["controllers"][1] |= {"latitude": 60.2, "longitude": -24.9}
    said = " ".join(facts(tmp_path, made, "2026-12-01", "02"))
    assert "Device 02A computes the sun for 60.2° N, 24.9° W; the site lies at 60.2° N, 24.9° E." in said


def test_what_the_log_leaves_out_is_named(tmp_path: Path) -> None:
    made = tables()
    made["circuits"][1]["in_use"] = "no"
    made["events"].append(step("021", "012", "on", "7:00"))
    said = facts(tmp_path, made, "2026-12-01")
    assert "Left out, because not in use: 012." in said
    assert (
        "1 input row of this site was rejected (events.csv row 9): what follows does not know of it." in said
    )


def test_a_site_without_a_device_has_a_log_of_its_hours(tmp_path: Path) -> None:
    made = tables()
    made["sites"].append(made["sites"][0] | {"site_id": "03"})
    assert "No time switch of this site is in the export: what its lights do is not known." in facts(
        tmp_path, made, "2026-12-01", "03"
    )


# answers ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("time_s", "what", "reason"),
    [
        (3 * 3600, "programmed off", "photocontrol 01P in parallel is out of service by step 003"),
        (NOON, "programmed off", "photocontrol 01P in parallel does not call, for it is light"),
        (20 * 3600, "programmed on", "photocontrol 01P in parallel calls for light, for it is dark"),
    ],
)
def test_why_a_circuit_is_as_it_is(folder: Path, time_s: int, what: str, reason: str) -> None:
    (answer,) = tell(SiteDay(folder, "01", date(2026, 12, 1)), time_s).answers
    lot = answer.circuits[0]
    assert (lot.circuit_id, lot.what) == ("011", what)
    assert any(said.startswith(reason) for said in lot.reasons) and "no steps of its own" in lot.reasons
    assert lot.reasons[0].startswith(reason) == (what == "programmed on")  # what decides comes first


def test_an_answer_says_whether_it_is_light_and_open_and_what_a_wrong_clock_shows(folder: Path) -> None:
    (answer,) = tell(SiteDay(folder, "01", date(2027, 7, 1)), 9 * 3600).answers
    assert answer.says == "At 09:00: it is light, the site is open, device 01A shows 08:01."
    assert (answer.local, answer.at_utc) == ("09:00:00", "2027-07-01T13:00:00Z")


def test_a_time_that_comes_twice_is_answered_twice(folder: Path) -> None:
    # 1 November 2026: New York goes back at 02:00. The device is on standard time all along.
    first, second = tell(SiteDay(folder, "01", date(2026, 11, 1)), 5400).answers
    assert first.says.startswith("At 01:30, the first time that it comes (UTC-04:00): ")
    assert second.says.startswith("At 01:30, the second time that it comes (UTC-05:00): ")
    assert (first.at_utc, second.at_utc) == ("2026-11-01T05:30:00Z", "2026-11-01T06:30:00Z")
    assert "device 01A shows 00:31" in first.says and "device 01A shows 01:31" in second.says


def test_a_time_that_is_skipped_is_answered_at_the_jump(folder: Path) -> None:
    (answer,) = tell(SiteDay(folder, "01", date(2027, 3, 14)), 9000).answers
    assert answer.says.startswith(
        "02:30 does not come on this date (clocks go forward 1 h: after 01:59:59 comes 03:00); "
        "at 03:00 instead: "
    )
    assert answer.at_utc == "2027-03-14T07:00:00Z"


def test_a_date_without_midnight_begins_at_the_jump(tmp_path: Path) -> None:
    # Santiago goes forward at 24:00 of Saturday 4 September 2027: Sunday begins at 01:00 (tzdata).
    made = tables()
    made["sites"][0]["timezone"] = "America/Santiago"
    site = SiteDay(write_folder(tmp_path / "p", made), "01", date(2027, 9, 5))
    told = tell(site)
    assert told.facts[0] == "Clocks go forward 1 h: after 23:59:59 comes 01:00."
    assert [line.local for line in told.lines if line.kind == "start"] == ["01:00:00"] * 3
    assert told.lines[0].kind == "start"
    (answer,) = tell(site, 1800).answers
    assert answer.says.startswith("00:30 does not come on this date (") and answer.local == "01:00:00"


# print -----------------------------------------------------------------------------------------------------


def test_a_terminal_gets_a_title_the_facts_and_two_headed_lists(folder: Path) -> None:
    lines = text(tell(SiteDay(folder, "01", date(2026, 12, 1)))).splitlines()
    assert lines[0].startswith("\x1b[1m")  # bold; what prints it takes it away where no terminal listens
    plain = [line.replace("\x1b[1m", "").replace("\x1b[2m", "").replace("\x1b[0m", "") for line in lines]
    assert plain[0] == "01, Tuesday 1 December 2026, local time of America/New_York"
    assert (
        "local     device    as the date begins" in plain and "local     device    through the day" in plain
    )


def test_subjects_of_which_the_same_is_said_share_a_line(tmp_path: Path) -> None:
    made = tables()
    made["circuits"].append(made["circuits"][1] | {"circuit_id": "013", "name": ""})
    for event in made["events"][:2]:
        event["targets"] = "012;013"
    said = text(tell(SiteDay(write_folder(tmp_path / "p", made), "01", date(2026, 12, 1))))
    assert "013, Reading�[31m room (012): " in said


def test_another_date_on_a_device_is_told_by_its_weekday_where_that_is_plain(tmp_path: Path) -> None:
    made = tables()
    for reading, shown in (("2026-11-02T09:05:00", "Mon 00:00:00"), ("2020-01-01T09:05:00", "2020-01-2")):
        made["controllers"][0]["clock_reading"] = reading
        said = text(tell(SiteDay(write_folder(tmp_path / "p", made), "01", date(2026, 12, 1))))
        assert f"  {shown}" in said.replace("\x1b[2m", "")


def test_the_command_prints_a_log_the_reasons_and_json(folder: Path, console: Console) -> None:
    base = ("day", "01", "2026-12-01", "--portfolio", folder)
    status, log, _ = console(*base)
    assert status == 0 and "\n06:59:00  07:00:00  Reading" in log
    assert "\x1b" not in log  # no colour, and no control characters of anybody's, where no terminal listens
    status, reasons, _ = console(*base, "--at", "20:00")
    assert status == 0 and "\n  photocontrol 01P in parallel calls for light" in reasons
    status, printed, _ = console(*base, "--json")
    told = json.loads(printed)
    assert status == 0
    assert list(told) == ["site_id", "name", "date", "timezone", "facts", "lines", "answers"]
    assert list(told["lines"][0]) == [
        *("at_utc", "local", "device", "kind", "subject_kind", "subject_id", "subject", "what", "why"),
        *("level", "conditional"),
    ]
    status, printed, _ = console(*base, "--json", "--at", "20:00")
    (answer,) = json.loads(printed)["answers"]
    assert list(answer) == ["local", "at_utc", "says", "circuits"]
    assert answer["circuits"][0]["level"] == 100


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("01", "2026-12-01", "--at", "25:00"), '--at "25:00" is not a time of day; write it like 06:30.'),
        (("01", "2026-02-30"), "Invalid value for 'DATE': write a date like 2026-11-01; see --help."),
        (("3", "2026-12-01"), 'there is no site "3" among the accepted rows; did you mean "02"?'),
    ],
)
def test_what_cannot_be_answered_gets_one_sentence(
    folder: Path, console: Console, words: tuple[str, ...], sentence: str
) -> None:
    assert console("day", *words, "--portfolio", folder) == (2, "", f"auditor: {sentence}\n")
