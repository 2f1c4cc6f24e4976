"""What begins within 60 days of the newest reading: light, listed dates, and the list itself."""

import csv
import re
from datetime import date
from pathlib import Path

import pytest

from .conftest import Tables, small
from .soon_case import Soon, audited, page, step

# light -----------------------------------------------------------------------------------------------------


def seasonal(*seasons: tuple[str, str]) -> Tables:
    """The small portfolio, read on 5 November, with its car park lit from 10:00 to 12:00 in some seasons."""
    tables = small()
    tables["controllers"][0]["remote"] = "yes"
    for number, (start, end) in enumerate(seasons):
        season = {"from": start, "until": end}
        tables["events"] += [
            step(f"a{number}", "01A", "011", "on", "10:00", **season),
            step(f"b{number}", "01A", "011", "off", "12:00", **season),
        ]
    return tables


def lit(found: Soon) -> list[tuple[date, str]]:
    return [(row["date"], row["what"]) for row in found.get("011", []) if row["rule"] == "lit-in-daylight"]


TITLE = "Exterior lights programmed on in daylight"


@pytest.mark.parametrize(
    ("seasons", "line"),
    [
        (
            [("12-10", "12-20")],
            (date(2026, 12, 10), f"{TITLE}: first from 10:00 to 12:00, last on 20 December 2026."),
        ),
        (
            [("11-01", "11-03"), ("12-10", "12-31")],
            (date(2026, 12, 10), f"{TITLE}: again from 10:00 to 12:00, last on 31 December 2026."),
        ),
        (
            [("2027-01-04", "2027-03-31")],  # sixty days ahead, and beyond the period
            (date(2027, 1, 4), f"{TITLE}: first from 10:00 to 12:00."),
        ),
    ],
)
def test_light_that_begins_or_comes_back_is_told_with_its_first_times(
    tmp_path: Path, seasons: list[tuple[str, str]], line: tuple[date, str]
) -> None:
    found = audited(tmp_path, seasonal(*seasons))
    assert lit(found) == [line]
    assert found["011"][0]["fix"] == "remote"


@pytest.mark.parametrize("season", [("11-01", "12-31"), ("11-01", "11-04"), ("2027-01-05", "2027-01-20")])
def test_what_holds_is_over_or_begins_later_is_not_told(tmp_path: Path, season: tuple[str, str]) -> None:
    assert lit(audited(tmp_path, seasonal(season))) == []


def test_what_is_waived_is_not_told(tmp_path: Path) -> None:
    tables = seasonal(("12-10", "12-20"))
    tables["waivers"].append({"site_id": "01", "rule": "lit-in-daylight", "subject_id": "011"})
    assert lit(audited(tmp_path, tables)) == []


def test_the_thresholds_are_those_of_the_portfolio(tmp_path: Path) -> None:
    # Two hours a day from 10 December on, and half an hour on 1 to 3 November.
    tables = seasonal(("12-10", "12-20"))
    season = {"from": "11-01", "until": "11-03"}
    tables["events"] += [
        step("c", "01A", "011", "on", "10:00", **season),
        step("d", "01A", "011", "off", "10:30", **season),
    ]
    ((day, what),) = lit(audited(tmp_path / "own", tables))
    assert day == date(2026, 12, 10) and what.startswith(f"{TITLE}: again from 10:00")
    settings = "[rules.lit-in-daylight]\nstretch_minutes = 31\n"  # now November's half hours do not count
    ((day, what),) = lit(audited(tmp_path / "set", tables, settings=settings))
    assert day == date(2026, 12, 10) and what.startswith(f"{TITLE}: first from 10:00")


# listed dates ----------------------------------------------------------------------------------------------


def test_every_listed_date_without_a_program_is_told(tmp_path: Path) -> None:
    # Room 012 is on 07:00 to 19:00, all of it closed time on a listed date; 013 for an hour, and no more.
    tables = small()
    tables["closures"] += [
        {"site_id": "01", "date": day, "calendar": "holidays"}
        for day in ("2026-11-04", "2027-01-01", "2027-01-05")  # past; within; 61 days ahead
    ]
    tables["circuits"].append({"circuit_id": "013", "controller_id": "01A", "area": "interior"})
    tables["events"] += [step("x", "01A", "013", "on", "07:00"), step("y", "01A", "013", "off", "08:00")]
    rows = audited(tmp_path, tables)["01A"]
    assert [(row["date"], row["kind"]) for row in rows] == [
        (date(2026, 12, 25), "holiday"),
        (date(2027, 1, 1), "holiday"),
    ]
    assert rows[0]["what"] == (
        "Listed in calendar holidays, and this device has no program for it: "
        "circuit 012 is programmed on for 12 h while the site is closed."
    )
    assert rows[0]["finding_id"] is not None


def test_a_device_with_steps_of_the_calendar_is_not_told(tmp_path: Path) -> None:
    tables = small()
    tables["events"].append(step("z", "01A", "012", "off", "00:10", calendar="holidays"))
    assert "01A" not in audited(tmp_path, tables)


def test_the_dates_are_those_that_the_finding_counts(tmp_path: Path) -> None:
    tables = small()
    tables["closures"].append({"site_id": "01", "date": "2026-12-31", "calendar": "other"})
    rows = audited(tmp_path, tables)["01A"]
    with (tmp_path / "out" / "findings.csv").open(encoding="utf-8", newline="") as file:
        (found,) = [row for row in csv.DictReader(file) if row["rule"] == "holiday-program-missing"]
    assert [str(rows[0]["date"]), str(rows[-1]["date"])] == [found["first_date"], found["last_date"]]
    assert f"on {len(rows)} listed dates" in found["summary"]


@pytest.mark.parametrize(
    ("dates", "told"),
    [
        (["2025-12-31"], True),
        (["2025-12-31", "2026-12-16"], True),  # fifteen days before
        (["2025-12-31", "2026-12-17"], False),  # a feast that moves
        (["2025-12-31", "2027-05-01"], False),  # later dates are listed
        (["2025-11-05"], False),  # a year ago today
        (["2026-01-05"], False),  # 61 days ahead
        (["2026-11-26"], False),  # nothing was on the list a year before
    ],
)
def test_a_calendar_whose_list_has_ended_is_told_once(tmp_path: Path, dates: list[str], told: bool) -> None:
    tables = small()
    tables["closures"] = [{"site_id": "01", "date": day, "calendar": "fairs"} for day in dates]
    rows = [row for row in audited(tmp_path, tables, days=7).get("01", []) if row["kind"] == "calendar"]
    assert [row["date"] for row in rows] == ([date(2026, 12, 31)] if told else [])
    if told:
        last = date.fromisoformat(dates[-1])
        assert rows[0]["what"] == (
            f"Calendar fairs is listed to {last.day} December {last.year} only, "
            "and this date was on it a year before: enter the next dates."
        )


# the report and soon.csv -----------------------------------------------------------------------------------


def test_ended_calendars_of_many_sites_are_one_line_with_their_names(tmp_path: Path) -> None:
    tables = small()
    tables["sites"] += [tables["sites"][0] | {"site_id": f"s{n}", "name": f"Town {n}"} for n in range(5)]
    tables["closures"] = [{"site_id": "*", "date": "2025-12-31", "calendar": "fairs"}]
    audited(tmp_path, tables, days=7)
    words = (
        "These 7 sites had this date on a calendar a year before, and its list has ended. Enter new dates: "
    )
    assert f"<td>7 sites</td>\n<td>{words}" in page(tmp_path)
    assert "Town 0" in page(tmp_path) and "This site" not in page(tmp_path)


def test_circuits_of_a_site_of_which_the_same_is_said_share_a_line(tmp_path: Path) -> None:
    tables = seasonal(("12-10", "12-20"))
    tables["circuits"].append(tables["circuits"][0] | {"circuit_id": "010", "name": "Path"})
    for event in tables["events"][-2:]:
        event["targets"] = "010;011"
    audited(tmp_path, tables)
    assert re.search(rf">Path</a>, <a href=\"[^\"]+#f\w+\">011</a>\. {TITLE}: first from", page(tmp_path))


def test_a_quiet_portfolio_says_that_nothing_begins(tmp_path: Path) -> None:
    tables = small()
    del tables["closures"]
    assert audited(tmp_path, tables, days=7) == {}
    assert "Nothing that is not there already begins within 60 days" in page(tmp_path)
