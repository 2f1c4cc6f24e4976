"""Stretches that end on the day after they began, and 24:00."""

from pathlib import Path

import pytest

from auditor.loading import read_judged
from auditor.mapping import mapped_tables
from auditor.model import RawTable
from auditor.normalise.accounts import counts

from .weekdays_case import DAYS, NEXT_DAY, SAME_DAY, events, shown, week

ASKED = (
    "off is at or before what it follows: on the day after, or on the same days? Say "
    'past_midnight = "next day" or "same day" in [[events]]'
)


def test_a_stretch_past_midnight_is_asked_about_and_read_as_the_map_says(tmp_path: Path) -> None:
    asked = week(tmp_path, "", Fri="20:00-01:00")
    assert [(row.source_row, row.value, row.reason) for row in asked.rejections] == [
        (2, "20:00 to 01:00", ASKED)
    ]
    assert shown(week(tmp_path, NEXT_DAY, Fri="20:00-01:00")) == [
        ("off", "SA", "01:00"),
        ("on", "FR", "20:00"),
    ]
    assert shown(week(tmp_path, SAME_DAY, Fri="20:00-01:00")) == [
        ("on", "FR", "20:00"),
        ("off", "FR", "01:00"),
    ]
    assert not week(tmp_path, SAME_DAY, Fri="20:00-01:00").rejections
    assert shown(week(tmp_path, "", Fri="20:00-23:00")) == [("on", "FR", "20:00"), ("off", "FR", "23:00")]


def test_a_row_that_is_asked_about_loses_its_circuit_in_a_run_and_is_counted(tmp_path: Path) -> None:
    week(tmp_path, "", Fri="20:00-01:00")
    (tmp_path / "sites.csv").write_text("site_id,latitude,longitude\nS,51.5,-0.1\n")
    device = "controller_id,site_id,read_at\nP1,S,2026-11-03T12:00:00Z\n"
    (tmp_path / "controllers.csv").write_text(device)
    found = read_judged([tmp_path, tmp_path / "m.toml"])
    assert found.tables["events"].is_empty() and found.tables["circuits"].is_empty()
    (account,) = [read for read in found.inputs if read["file"] == "a.csv"]
    assert (account["rows"], account["kept"], account["rejected"], account["skipped"]) == (1, 0, 1, 0)


@pytest.mark.parametrize(
    ("cell", "steps"),
    [
        ("sunset-01:00", [("off", "SA", "01:00"), ("on", "FR", "sunset")]),
        ("sunset-sunrise", [("off", "SA", "sunrise"), ("on", "FR", "sunset")]),
        ("17:00-sunrise", [("off", "SA", "sunrise"), ("on", "FR", "17:00")]),
        ("sunset-23:00", [("on", "FR", "sunset"), ("off", "FR", "23:00")]),
        ("sunrise-sunset", [("on", "FR", "sunrise"), ("off", "FR", "sunset")]),
        ("05:00-sunrise", [("on", "FR", "05:00"), ("off", "FR", "sunrise")]),
        (
            "06:00-06:00",
            [("off", "SA", "06:00"), ("on", "FR", "06:00")],
        ),  # the contract's hours: "at or before"
    ],
)
def test_a_step_by_the_sun_is_of_the_evening_or_of_the_morning(
    cell: str, steps: list[tuple[str, ...]], tmp_path: Path
) -> None:
    assert shown(week(tmp_path, NEXT_DAY, Fri=cell)) == steps
    assert bool(week(tmp_path, "", Fri=cell).rejections) == (steps[0][0] == "off")


SEASON = """
[source]
files = "a.csv"
[[events]]
controller_id = "P1"
targets = "L1"
days = "{Days}"
from = "{From}"
until = "{Until}"
calendar = "{Calendar}"
KEY
[[events.steps]]
action = "on"
when = "{On}"
[[events.steps]]
where = { column = "Dim", blank = false }
action = "level"
level = { cell = "30", unit = "%" }
when = "{Dim}"
[[events.steps]]
action = "off"
when = "{Off}"
"""


def season(folder: Path, key: str = NEXT_DAY, **cells: str) -> RawTable:
    row = {"Days": "daily", "From": "", "Until": "", "Calendar": "", "On": "20:00", "Dim": "", "Off": "01:00"}
    return events(folder, SEASON.replace("KEY", key), **(row | cells))


@pytest.mark.parametrize(
    ("given", "off"),
    [
        (("MO,TU,WE,TH,FR", "", ""), ("TU,WE,TH,FR,SA", None, None)),
        (("SA,SU", "", ""), ("MO,SU", None, None)),
        (("daily", "", ""), ("daily", None, None)),
        (("daily", "01-01", "12-31"), ("daily", "01-01", "12-31")),
        (("FR", "01-01", "12-31"), ("SA", "01-01", "12-31")),
        (("daily", "04-01", "09-30"), ("daily", "04-02", "10-01")),
        (("daily", "11-01", "02-29"), ("daily", "11-02", "03-01")),  # 29 February or 28: then comes 1 March
        (("daily", "2026-12-24", "2026-12-24"), ("daily", "2026-12-25", "2026-12-25")),
        (("daily", "2026-12-24", "9999-12-31"), ("daily", "2026-12-25", "9999-12-31")),
    ],
)
def test_days_seasons_and_dates_of_the_end_are_a_day_later(
    given: tuple[str, ...], off: tuple[str | None, ...], tmp_path: Path
) -> None:
    found = season(tmp_path, **dict(zip(("Days", "From", "Until"), given, strict=True)))
    assert not found.rejections
    ends = [step for step in found.frame.iter_rows(named=True) if step["action"] == "off"]
    assert [(step["days"], step["from"], step["until"]) for step in ends] == [off]


@pytest.mark.parametrize(
    ("cells", "why"),
    [
        ({"Until": "02-28", "From": "11-01"}, "that of until = 02-28 is another in leap years"),
        ({"Until": "04-30", "From": "02-29"}, "that of from = 02-29 is another in leap years"),
        ({"Calendar": "holidays"}, "which its calendar need not list; let it end at 23:59"),
        ({"Days": "FR", "Dim": "19:00", "Off": "18:00"}, "off lies two midnights after its row begins"),
        (
            {"On": "24:00", "Off": "06:00"},
            "time 24:00 is the end of a day, and on begins something; write 00:00",
        ),
    ],
)
def test_what_cannot_be_put_on_the_day_after_is_rejected(
    cells: dict[str, str], why: str, tmp_path: Path
) -> None:
    assert [why in row.reason for row in season(tmp_path, **cells).rejections] == [True]


def test_what_is_the_same_either_way_is_not_asked_about(tmp_path: Path) -> None:
    assert not season(tmp_path, "").rejections
    assert len(season(tmp_path, "", From="04-01", Until="09-30").rejections) == 1
    assert len(season(tmp_path, "", Off="20:00").rejections) == 1  # all day, or on and off at one instant


def test_a_level_after_midnight_takes_what_follows_along(tmp_path: Path) -> None:
    found = season(tmp_path, Days="FR", Dim="00:30", Off="06:00")
    assert shown(found) == [("level", "SA", "00:30"), ("off", "SA", "06:00"), ("on", "FR", "20:00")]
    found = season(tmp_path, Days="FR", Dim="22:00", Off="06:00")
    assert shown(found) == [("off", "SA", "06:00"), ("on", "FR", "20:00"), ("level", "FR", "22:00")]


def test_steps_in_sections_of_their_own_are_a_stretch_too(tmp_path: Path) -> None:
    text = """
[source]
files = "a.csv"
[[events]]
each = ["On 1", "On 2"]
controller_id = "P1"
targets = "L1"
days = "FR"
action = "on"
when = "{*}"
[[events]]
each = ["Off 1", "Off 2"]
past_midnight = "next day"
controller_id = "P1"
targets = "L1"
days = "FR"
action = "off"
when = "{*}"
"""
    found = events(tmp_path, text, **{"On 1": "06:00", "On 2": "18:00", "Off 1": "08:00", "Off 2": "00:30"})
    assert shown(found)[0] == ("off", "SA", "00:30")
    assert sorted(shown(found)[1:]) == [("off", "FR", "08:00"), ("on", "FR", "06:00"), ("on", "FR", "18:00")]
    asked = events(
        tmp_path, text.replace(NEXT_DAY, ""), **{"On 1": "18:00", "On 2": "", "Off 1": "00:30", "Off 2": ""}
    )
    assert [row.reason for row in asked.rejections] == [ASKED]


def test_of_sensors_the_first_of_the_row_begins(tmp_path: Path) -> None:
    text = SEASON.replace('action = "on"', 'action = "suspend"').replace(
        'action = "off"', 'action = "resume"'
    )
    row = {"Days": "FR", "From": "", "Until": "", "Calendar": "", "On": "23:00", "Dim": "", "Off": "05:00"}
    assert shown(events(tmp_path, text.replace("KEY", NEXT_DAY), **row)) == [
        ("resume", "SA", "05:00"),
        ("suspend", "FR", "23:00"),
    ]


# 24:00 -----------------------------------------------------------------------------------------------------


def test_the_end_of_a_day_is_the_next_midnight_and_needs_no_key(tmp_path: Path) -> None:
    assert shown(week(tmp_path, "", Fri="06:00-24:00")) == [("off", "SA", "00:00"), ("on", "FR", "06:00")]
    assert shown(season(tmp_path, "", Off="24:00")) == [("off", "daily", "00:00"), ("on", "daily", "20:00")]


def test_a_stretch_that_begins_as_another_ends_leaves_the_light_on(tmp_path: Path) -> None:
    found = week(tmp_path, "", Fri="all day", Sat="0-24", Sun="06:00-22:00")
    assert shown(found) == [
        ("off", "SU", "00:00"),  # Friday's end is Saturday's beginning
        ("on", "FR", "00:00"),
        ("on", "SA", "00:00"),
        ("on", "SU", "06:00"),
        ("off", "SU", "22:00"),
    ]
    always = week(tmp_path, "", **dict.fromkeys(DAYS, "all day"))
    assert {step[0] for step in shown(always)} == {"on"}
    assert shown(season(tmp_path, Off="20:00")) == [("on", "daily", "20:00")]


def test_a_row_whose_end_is_anothers_beginning_is_kept(tmp_path: Path) -> None:
    text = """
[source]
files = "a.csv"
[[events]]
controller_id = "P1"
targets = "L1"
days = "{Days}"
action = "{What}"
when = "{At}"
"""
    (tmp_path / "a.csv").write_text("Days,What,At\nMO,on,06:00\nMO,off,24:00\nTU,on,00:00\nTU,off,22:00\n")
    (tmp_path / "m.toml").write_text(text)
    (table,) = mapped_tables([tmp_path / "m.toml"])[0]
    assert shown(table) == [("on", "MO", "06:00"), ("on", "TU", "00:00"), ("off", "TU", "22:00")]
    (account,) = counts([table], [])
    assert (account["rows"], account["kept"]) == (4, 4)


def test_a_bare_number_of_hours_says_what_to_do(tmp_path: Path) -> None:
    found = week(tmp_path, "", Fri="8-16")
    assert 'say which in words, such as words = { "16" = "16:00" }' in found.rejections[0].reason
