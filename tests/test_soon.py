"""What begins within 60 days of the newest reading."""

import csv
import re
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest

from auditor.audit import audit

from .conftest import Row, Tables, run_audit, small, write_folder

Soon = dict[str, list[dict[str, Any]]]


def audited(folder: Path, tables: Tables, days: int = 90, settings: str = "") -> Soon:
    """Rows of ``soon`` by subject, in order of date."""
    run_audit(write_folder(folder / "source", tables, settings), folder / "out", folder / "store", days)
    with duckdb.connect(str(folder / "store"), read_only=True) as store:
        answer = store.execute("SELECT * FROM soon ORDER BY date")
        names = [column[0] for column in answer.description]
        rows = [dict(zip(names, row, strict=True)) for row in answer.fetchall()]
    found: Soon = {}
    for row in rows:
        found.setdefault(row["subject_id"], []).append(row)
    return found


def page(folder: Path) -> str:
    """The list in the report."""
    report = (folder / "out" / "report.html").read_text(encoding="utf-8")
    (shown,) = re.findall(r'<section id="soon">.*?</section>', report, re.S)
    return shown


# clocks ----------------------------------------------------------------------------------------------------

SITES = {
    "ny": (40.7, -74.0, "America/New_York"),  # forward on 14 March 2027 at 02:00 (15 USC 260a)
    "az": (33.4, -112.1, "America/Phoenix"),  # keeps standard time
    "troll": (-72.0, 2.5, "Antarctica/Troll"),  # forward by two hours on 28 March 2027 at 01:00 UTC (tzdata)
}
# Device: site, rule, standard offset, reading at 2027-01-28T12:00Z.
DEVICES = {
    "none": ("ny", "none", "-05:00", "07:00"),
    "slow": ("ny", "none", "-05:00", "06:55"),
    "old": ("ny", "us-1987", "-05:00", "07:00"),
    "eu": ("ny", "eu", "-05:00", "07:00"),
    "zone": ("ny", "zone", "", "07:00"),
    "an hour late": ("ny", "us-2007", "-06:00", "06:00"),
    "always fast": ("ny", "", "", "08:00"),
    "drift": ("ny", "", "", "07:20"),
    "blank": ("ny", "", "", "07:00"),
    "unread": ("ny", "", "", ""),
    "arizona": ("az", "us-2007", "-07:00", "05:00"),
    "half": ("troll", "eu", "+00:00", "12:00"),
}


def clocks(read_at: str = "2027-01-28T12:00:00Z", devices: tuple[str, ...] = tuple(DEVICES)) -> Tables:
    chosen = {key: DEVICES[key] for key in devices}
    return {
        "sites": [
            {"site_id": key, "latitude": north, "longitude": east, "timezone": zone}
            for key, (north, east, zone) in SITES.items()
        ],
        "controllers": [
            {
                "controller_id": key,
                "site_id": site,
                "read_at": read_at,
                "dst_rule": rule,
                "utc_offset": offset,
                "clock_reading": f"2027-01-28T{shown}:00" if shown else "",
            }
            for key, (site, rule, offset, shown) in chosen.items()
        ],
        "circuits": [{"circuit_id": f"C {key}", "controller_id": key, "area": "sign"} for key in chosen],
        "events": [],
    } | {"events": [_step("e", devices[0], f"C {devices[0]}", "on", "20:00")]}


def _step(event_id: str, controller_id: str, targets: str, action: str, time: str, **more: object) -> Row:
    ids: Row = {"event_id": event_id, "controller_id": controller_id, "targets": targets, "action": action}
    return {**ids, "days": "daily", "anchor": "clock", "time": time, **more}


@pytest.fixture(scope="module")
def ahead(tmp_path_factory: pytest.TempPathFactory) -> tuple[Soon, Path]:
    """A whole year from January 2027."""
    folder = tmp_path_factory.mktemp("clocks")
    return audited(folder, clocks(), 365), folder


MISSED = "Local time goes forward 1 h at 02:00; this device does not follow. From then on it shows "


@pytest.mark.parametrize(
    ("device", "day", "what"),
    [
        ("none", date(2027, 3, 14), f"{MISSED}1 h less than local time."),
        ("slow", date(2027, 3, 14), f"{MISSED}1 h 5 min less than local time."),
        ("old", date(2027, 3, 14), f"{MISSED}1 h less than local time."),
        ("eu", date(2027, 3, 14), f"{MISSED}1 h less than local time."),  # right again on 28 March: no line
        (
            "arizona",
            date(2027, 3, 14),
            "This device goes forward 1 h by itself; local time does not. "
            "From then on it shows 1 h more than local time.",
        ),
        (
            "half",
            date(2027, 3, 28),
            "Local time goes forward 2 h at 01:00, and this device goes forward 1 h. "
            "From then on it shows 1 h less than local time.",
        ),
    ],
)
def test_a_clock_that_will_be_wrong_is_told_with_what_it_will_show(
    ahead: tuple[Soon, Path], device: str, day: date, what: str
) -> None:
    (row,) = ahead[0][device]
    assert (row["date"], row["kind"], row["what"]) == (day, "clock", what)
    assert (row["rule"], row["severity"], row["fix"]) == ("clock-dst-offset", "high", "on-site")
    assert row["finding_id"] is not None


@pytest.mark.parametrize("device", ["zone", "an hour late", "always fast", "drift"])
def test_a_clock_that_follows_or_comes_right_is_not_told(ahead: tuple[Soon, Path], device: str) -> None:
    assert device not in ahead[0]


@pytest.mark.parametrize("device", ["blank", "unread"])
def test_a_clock_of_which_nobody_can_tell_is_to_be_looked_at(ahead: tuple[Soon, Path], device: str) -> None:
    (row,) = ahead[0][device]
    assert (row["date"], row["kind"]) == (date(2027, 3, 14), "clock-unknown")
    assert (row["severity"], row["rule"], row["finding_id"]) == (None, None, None)
    assert row["what"] == (
        "Local time goes forward 1 h at 02:00. "
        "Whether this device follows nobody can tell from this export: look at it then."
    )


def test_a_period_that_ends_before_the_change_hides_no_clock(tmp_path: Path) -> None:
    found = audited(tmp_path, clocks(devices=("none", "blank")), days=28)
    (row,) = found["none"]
    assert row["date"] == date(2027, 3, 14) and row["finding_id"] is None
    assert found["blank"][0]["kind"] == "clock-unknown"
    assert "nothing after 28 January 2027, where the audited period ends" in page(tmp_path)


@pytest.mark.parametrize("year", [2024, 2030])
def test_a_period_of_other_years_hides_no_clock(tmp_path: Path, year: int) -> None:
    source = write_folder(tmp_path / "source", clocks(devices=("none", "blank")))
    audit(source, tmp_path / "out", date(year, 6, 1), 1, None, lambda stage, length: lambda step: None)
    with (tmp_path / "out" / "soon.csv").open(encoding="utf-8", newline="") as file:
        rows = [(row["date"], row["kind"], row["subject_id"]) for row in csv.DictReader(file)]
    assert rows == [("2027-03-14", "clock", "none"), ("2027-03-14", "clock-unknown", "blank")]


@pytest.mark.parametrize(
    ("read_at", "told"),
    [
        ("2027-01-13T12:00:00Z", True),  # sixty days before 14 March
        ("2027-01-13T04:59:59Z", False),  # in New York still the day before
        ("2027-03-14T06:59:59Z", True),  # a second before the clocks go forward
        ("2027-03-14T07:00:00Z", False),
    ],
)
def test_sixty_days_are_counted_at_the_site(tmp_path: Path, read_at: str, told: bool) -> None:
    tables = clocks(read_at, ("none",))
    tables["controllers"][0]["clock_reading"] = ""
    assert ("none" in audited(tmp_path, tables, days=1)) == told


@pytest.mark.parametrize("subject", ["", "none"])
def test_a_waived_clock_stays_out_whether_there_is_a_finding_or_not(tmp_path: Path, subject: str) -> None:
    tables = clocks(devices=("none", "blank"))
    tables["waivers"] = [{"site_id": "ny", "rule": "clock-dst-offset", "subject_id": subject}]
    assert set(audited(tmp_path, tables, days=28)) == ({"blank"} if subject else set())


def test_a_rule_that_is_switched_off_says_nothing_of_clocks(tmp_path: Path) -> None:
    settings = "[rules.clock-dst-offset]\nenabled = false\n"
    assert audited(tmp_path, clocks(devices=("none", "blank")), settings=settings) == {}


# light -----------------------------------------------------------------------------------------------------


def seasonal(*seasons: tuple[str, str]) -> Tables:
    """The small portfolio, read on 5 November, with its car park lit from 10:00 to 12:00 in some seasons."""
    tables = small()
    tables["controllers"][0]["remote"] = "yes"
    for number, (start, end) in enumerate(seasons):
        season = {"from": start, "until": end}
        tables["events"] += [
            _step(f"a{number}", "01A", "011", "on", "10:00", **season),
            _step(f"b{number}", "01A", "011", "off", "12:00", **season),
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
        _step("c", "01A", "011", "on", "10:00", **season),
        _step("d", "01A", "011", "off", "10:30", **season),
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
    tables["events"] += [_step("x", "01A", "013", "on", "07:00"), _step("y", "01A", "013", "off", "08:00")]
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
    tables["events"].append(_step("z", "01A", "012", "off", "00:10", calendar="holidays"))
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


def test_the_report_tells_a_line_with_its_link(ahead: tuple[Soon, Path]) -> None:
    soon, folder = ahead
    link = f'<a href="#f{soon["arizona"][0]["finding_id"]}">Device arizona</a>'
    assert f"High: {link}. This device goes forward 1 h by itself" in page(folder)


def test_clocks_of_which_nobody_can_tell_are_one_line_of_a_date(ahead: tuple[Soon, Path]) -> None:
    words = "The clocks change, and this export does not tell whether these 2 devices follow. Look then: "
    assert f"<td>1 site</td>\n<td>{words}Device blank, Device unread.</td>" in page(ahead[1])


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


def test_many_lines_of_one_kind_and_date_are_one_in_the_report_and_all_in_the_csv(tmp_path: Path) -> None:
    tables = clocks(devices=("none",))
    tables["controllers"] = [tables["controllers"][0] | {"controller_id": f"d{n}"} for n in range(8)]
    tables["circuits"][0]["controller_id"] = tables["events"][0]["controller_id"] = "d0"
    audited(tmp_path, tables, days=28)
    shown = page(tmp_path)
    assert "The clocks of these 8 devices will be wrong from this date on" in shown
    assert "Device d0, Device d1, Device d2, Device d3, Device d4 and 3 more." in shown
    with (tmp_path / "out" / "soon.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["subject_id"] for row in rows] == [f"d{n}" for n in range(8)]
    assert {(row["date"], row["kind"], row["site_id"]) for row in rows} == {("2027-03-14", "clock", "ny")}


def test_circuits_of_a_site_of_which_the_same_is_said_share_a_line(tmp_path: Path) -> None:
    tables = seasonal(("12-10", "12-20"))
    tables["circuits"].append(tables["circuits"][0] | {"circuit_id": "010", "name": "Path"})
    for event in tables["events"][-2:]:
        event["targets"] = "010;011"
    audited(tmp_path, tables)
    assert re.search(rf">Path</a>, <a href=\"#f\w+\">011</a>\. {TITLE}: first from", page(tmp_path))


def test_a_quiet_portfolio_says_that_nothing_begins(tmp_path: Path) -> None:
    tables = small()
    del tables["closures"]
    assert audited(tmp_path, tables, days=7) == {}
    assert "Nothing that is not there already begins within 60 days" in page(tmp_path)
