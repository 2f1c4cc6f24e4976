"""What a finding says of its causes, and what it tells people to enter: worked by hand on one site."""

import csv
import re
from pathlib import Path

import duckdb
import pytest

from .conftest import Row, Tables, run_audit, write_folder

Finding = dict[str, str]


def lot(**circuit: object) -> Tables:
    """New York, open every day from 08:00 to 20:00; a car park without steps; read on 2 November 2026."""
    return {
        "sites": [{"site_id": "s", "latitude": 40.7, "longitude": -74.0, "timezone": "America/New_York"}],
        "controllers": [
            {"controller_id": "t", "site_id": "s", "read_at": "2026-11-02T15:00:00Z", "dst_rule": "zone"}
        ],
        "circuits": [{"circuit_id": "c", "controller_id": "t", "area": "parking", **circuit}],
        "events": [],
        "hours": [{"site_id": "s", "days": "daily", "opens": "08:00", "closes": "20:00"}],
    }


def step(event_id: str, action: str, at: str, days: str = "daily", target: str = "c") -> Row:
    """A step at a time such as 18:00, or by the sun: sunset+45."""
    found = re.fullmatch(r"([a-z]+)([+-]\d+)?", at)
    when = {"anchor": found[1], "offset_minutes": found[2]} if found else {"anchor": "clock", "time": at}
    return {
        "event_id": event_id,
        "controller_id": "t",
        "targets": target,
        "action": action,
        "days": days,
    } | when


def found(folder: Path, tables: Tables, rule: str, days: int = 90) -> Finding:
    """The one finding of a rule, with the evidence that the store has of it."""
    run_audit(write_folder(folder / "in", tables), folder / "out", folder / "s.duckdb", days)
    with (folder / "out" / "findings.csv").open(encoding="utf-8", newline="") as file:
        (finding,) = [
            row for row in csv.DictReader(file) if row["rule"] == rule and row["subject_id"] in "tcp"
        ]
    with duckdb.connect(str(folder / "s.duckdb"), read_only=True) as store:
        said = store.execute("SELECT seen, who FROM findings WHERE finding_id = ?", [finding["finding_id"]])
        seen, who = said.fetchone() or ("", "")
    return finding | {"seen": seen, "who": who}


# Dark while people are there --------------------------------------------------------------------------------


def test_an_on_that_comes_too_late_is_named_and_told_when_to_come(tmp_path: Path) -> None:
    tables = lot() | {"events": [step("1", "on", "18:00"), step("2", "off", "23:00")]}
    dark = found(tmp_path, tables, "dark-while-open")
    # The earliest sunset of New York is at about 16:28, in the first half of December (from memory, check).
    assert re.search(r"December 2026 the site is open and it is dark from 16:2[78] to 18:00", dark["seen"])
    assert "In force then: step 2 (off at 23:00, every day; events.csv row 3)." in dark["seen"]
    assert "Ended by step 1 (on at 18:00, every day; events.csv row 2)." in dark["seen"]
    assert re.search(
        r"Let step 1 \(on at 18:00, every day\) come at sunset at the latest \(16:2[78] on that",
        dark["remedy"],
    )


def test_an_off_that_comes_too_early_is_told_to_wait_for_the_last_to_leave(tmp_path: Path) -> None:
    tables = lot() | {
        "events": [
            step("1", "on", "sunset"),
            step("2", "off", "19:00", "MO,TU,WE"),
            step("3", "off", "23:00"),
        ]
    }
    dark = found(tmp_path, tables, "dark-while-open")
    assert "dark from 19:00 to 20:00, and this circuit is programmed off (1 h)" in dark["seen"]
    assert "In force then: step 2 (off at 19:00, Monday to Wednesday; events.csv row 3)." in dark["seen"]
    wait = (
        "Let step 2 (off at 19:00, Monday to Wednesday) "
        "wait until everybody has left, half an hour after closing (20:30 on that date)."
    )
    assert wait in dark["remedy"]


def test_a_date_without_any_on_is_said(tmp_path: Path) -> None:
    tables = lot() | {"events": [step("1", "on", "sunset", "SA,SU"), step("2", "off", "23:00")]}
    assert "Nothing turns it on in time on that date" in found(tmp_path, tables, "dark-while-open")["remedy"]


def test_a_wrong_clock_goes_before_the_program_and_shows_its_own_time(tmp_path: Path) -> None:
    # Read at 10:00 local time (15:00 UTC) as 12:00: two hours more, so that its 19:00 comes at 17:00.
    tables = lot() | {
        "events": [
            step("1", "on", "sunset"),
            step("2", "off", "19:00"),
            step("3", "on", "20:00"),
            step("4", "off", "23:00"),
        ]
    }
    tables["controllers"][0]["clock_reading"] = "2026-11-02T12:00:00"
    dark = found(tmp_path, tables, "dark-while-open")
    assert "dark from 17:00 (the device itself shows 19:00) to 18:00" in dark["seen"]
    assert (
        "Put the clock of the device right first: at that time it shows 2 h more than local time."
        in dark["remedy"]
    )
    assert "Let step" not in dark["remedy"]


def test_a_hand_switch_goes_before_the_program(tmp_path: Path) -> None:
    tables = lot(hold="off") | {"events": [step("1", "on", "sunset"), step("2", "off", "23:00")]}
    dark = found(tmp_path, tables, "dark-while-open")
    assert "It is left by hand in off." in dark["seen"] and "step 1" not in dark["seen"]
    assert "Return it from the hand switch to its program" in dark["remedy"]


def test_a_photocontrol_out_of_service_is_named_with_the_step_that_suspends_it(tmp_path: Path) -> None:
    sensor = {"sensor_id": "p", "controller_id": "t", "kind": "photocontrol", "circuits": "c"}
    steps = [step("1", "suspend", "12:00", "FR", "p"), step("2", "resume", "12:00", "MO", "p")]
    tables = lot() | {"events": steps, "sensors": [sensor]}
    dark = found(tmp_path, tables, "dark-while-open")
    out = "Out of service then: photocontrol p, suspended by step 1 (out of service at 12:00, Friday)."
    assert out in dark["seen"]
    assert "Bring the photocontrol back into service that would light it: photocontrol p" in dark["remedy"]


@pytest.mark.parametrize("circuit", [{"area": "egress"}, {"must_be_lit": "dark"}])
def test_where_people_rely_on_the_light_no_step_is_to_be_moved(tmp_path: Path, circuit: Row) -> None:
    tables = lot(**circuit) | {"events": [step("1", "on", "18:00"), step("2", "off", "23:00")]}
    remedy = found(tmp_path, tables, "dark-while-open")["remedy"]
    assert "step" not in remedy and re.search(r"on that date from 16:2[78] to 20:00 at least", remedy)


# Lit in daylight --------------------------------------------------------------------------------------------


def test_an_early_on_and_a_late_off_are_told_to_follow_the_sun(tmp_path: Path) -> None:
    early = lot() | {"events": [step("1", "on", "sunset-90"), step("2", "off", "23:00")]}
    remedy = found(tmp_path / "a", early, "lit-in-daylight")["remedy"]
    assert re.search(
        r"let step 1 \(on 1 h 30 min before sunset, every day\) come at sunset at the earliest \(\d\d:",
        remedy,
    )
    late = lot() | {"events": [step("1", "on", "sunset"), step("2", "off", "sunrise+45")]}
    remedy = found(tmp_path / "b", late, "lit-in-daylight")["remedy"]
    assert re.search(
        r"let step 2 \(off 45 min after sunrise, every day\) come at sunrise at the latest \(\d\d:\d\d on",
        remedy,
    )


def test_a_duty_to_light_is_asked_for_before_any_step(tmp_path: Path) -> None:
    tables = lot(must_be_lit="open") | {"events": [step("1", "on", "sunset-90"), step("2", "off", "23:00")]}
    remedy = found(tmp_path, tables, "lit-in-daylight")["remedy"]
    assert remedy.startswith("A duty to light is recorded here: ask its source") and "step 1" not in remedy


# Sensors, clocks, people ------------------------------------------------------------------------------------


def test_a_resume_that_leaves_days_out_is_told_which(tmp_path: Path) -> None:
    sensor = {"sensor_id": "p", "controller_id": "t", "kind": "photocontrol", "circuits": "c"}
    steps = [step("1", "suspend", "23:00", target="p"), step("2", "resume", "05:00", "MO,TU,WE,TH,FR", "p")]
    gap = found(tmp_path, lot() | {"events": steps, "sensors": [sensor]}, "sensor-left-suspended")
    assert (
        "Brought back by step 2 (back in service at 05:00, Monday to Friday; events.csv row 3)."
        in gap["seen"]
    )
    assert "step 2 (back in service at 05:00, Monday to Friday) leaves out Saturday, Sunday." in gap["remedy"]


def test_a_missed_change_says_from_when_to_when_and_what_comes_of_it(tmp_path: Path) -> None:
    # Law: 15 USC 260a, from 14 March to 7 November 2027. On at 12:00, off at 13:00 by a clock that stays
    # behind: an hour of daylight on each of the 30 dates from 14 March to 12 April, the period's last.
    tables = lot() | {"events": [step("1", "on", "12:00"), step("2", "off", "13:00")]}
    tables["controllers"][0] |= {
        "dst_rule": "none",
        "utc_offset": "-05:00",
        "clock_reading": "2026-11-02T10:00:00",
    }
    missed = found(tmp_path, tables, "clock-dst-offset", days=163)
    assert (
        "On Monday 15 March 2027 at 12:00 the device shows 11:00 (1 h less than local time)" in missed["seen"]
    )
    assert "America/New_York (next changes on 14 March 2027 and 7 November 2027)" in missed["remedy"]
    assert "every clock step runs 1 h late from 14 March 2027 to 12 April 2027." in missed["remedy"]
    assert "In that time its clock steps leave circuits lit in daylight for 30 h." in missed["remedy"]


@pytest.mark.parametrize(
    ("remote", "who", "words"),
    [("yes", "desk", "from a desk."), ("no", "site staff", "behind a cover a qualified electrician only.")],
)
def test_who_may_do_it_is_always_said(tmp_path: Path, remote: str, who: str, words: str) -> None:
    tables = lot() | {"events": [step("1", "on", "12:00")]}
    tables["controllers"][0]["remote"] = remote
    always = found(tmp_path, tables, "always-on" if remote == "no" else "on-without-off")
    assert always["who"] == who and always["remedy"].endswith(words)


def test_what_is_behind_a_cover_is_left_to_an_electrician(tmp_path: Path) -> None:
    tables = lot()
    tables["sites"][0]["energy_code"] = "iecc-2021"
    tables["controllers"][0] |= {"clock_backup_hours": 4, "remote": "yes"}
    tables["events"] = [step("1", "on", "12:00")]
    short = found(tmp_path, tables, "short-backup")
    assert short["who"] == "qualified electrician" and "10 h or more" in short["remedy"]


# Peers ------------------------------------------------------------------------------------------------------


def signs(closings: list[str], offs: list[str | None]) -> Tables:
    """A sign at every site, each with its own closing time; on at 06:00, off as given (None: never)."""
    tables: Tables = {name: [] for name in ("sites", "controllers", "circuits", "events", "hours")}
    for number, (closes, off) in enumerate(zip(closings, offs, strict=True)):
        site, device, circuit = f"s{number}", f"t{number}", "c" if number == 0 else f"c{number}"
        tables["sites"].append(
            {"site_id": site, "latitude": 40.7, "longitude": -74.0, "timezone": "America/New_York"}
        )
        tables["controllers"].append(
            {"controller_id": device, "site_id": site, "read_at": "2026-11-02T15:00:00Z"}
        )
        tables["circuits"].append({"circuit_id": circuit, "controller_id": device, "area": "sign"})
        for event_id, action, at in [("1", "on", "06:00"), ("2", "off", off)]:
            if at:
                tables["events"].append(
                    step(event_id, action, at, target=circuit) | {"controller_id": device}
                )
        tables["hours"].append({"site_id": site, "days": "daily", "opens": "08:00", "closes": closes})
    return tables


CLOSINGS = ["21:00", "18:00", "19:00", "20:00", "22:00"]


def test_what_peers_do_after_closing_is_told_with_the_time_that_it_comes_to_here(tmp_path: Path) -> None:
    tables = signs(CLOSINGS, [None, "18:30", "19:30", "20:30", "22:30"])
    remedy = found(tmp_path, tables, "on-without-off")["remedy"]
    assert (
        "4 of 5 sign circuits in this portfolio go off 30 min after closing, which here is 21:30." in remedy
    )


def test_what_peers_do_at_a_time_of_day_is_told_with_the_closing_time_here(tmp_path: Path) -> None:
    tables = signs(CLOSINGS, [None, "23:00", "23:00", "23:00", "22:30"])
    remedy = found(tmp_path, tables, "on-without-off")["remedy"]
    assert "3 of 5 sign circuits in this portfolio go off at 23:00; this site closes at 21:00." in remedy


def test_peers_that_agree_on_nothing_are_told_by_their_middle(tmp_path: Path) -> None:
    # After closing: 11 h (until the next opening), 10, 20, 40 and 50 min; the middle one is 40.
    tables = signs(CLOSINGS, [None, "18:10", "19:20", "20:40", "22:50"])
    remedy = found(tmp_path, tables, "on-without-off")["remedy"]
    assert (
        "Half of the 5 sign circuits in this portfolio go off no later than 40 min after closing, "
        "which here is 21:40." in remedy
    )


def test_fewer_than_five_are_no_habit(tmp_path: Path) -> None:
    tables = signs(CLOSINGS[:4], [None, "18:30", "19:30", "20:30"])
    assert "in this portfolio" not in found(tmp_path, tables, "on-without-off")["remedy"]


def test_of_a_day_with_two_openings_the_last_closing_counts(tmp_path: Path) -> None:
    tables = signs(CLOSINGS, [None, "18:30", "19:30", "20:30", "22:30"])
    tables["hours"] += [{"site_id": "s0", "days": "SA", "opens": "06:00", "closes": "07:00"}]
    tables["hours"] += [{"site_id": "s0", "days": "SU", "opens": "21:00", "closes": "23:00"}]
    remedy = found(tmp_path, tables, "on-without-off")["remedy"]
    assert "which here is 21:30 (Monday to Saturday), 23:30 (Sunday)." in remedy
