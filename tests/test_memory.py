"""A store's memory: what is new, persists or is gone, and why; runs and their dates."""

from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest

from auditor.errors import UserError

from .conftest import Tables, contents, report, run_audit, write_folder
from .memory_case import HELD, Keeper, action, portfolio


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    return Keeper(tmp_path)


# The story of two months -----------------------------------------------------------------------------------


def test_two_runs_a_month_apart_tell_what_came_of_it(keeper: Keeper) -> None:
    slow = {"controllers": {"clock_reading": "2026-10-20T11:30:00"}}
    keeper.run(portfolio(10, s1=HELD, s2=slow, s3=HELD, s4=HELD))
    wrong = action(keeper.finding("left-in-hand", "c1"), "2026-11-01", "done", "Switch turned")
    # s1 was marked as done and is not, the clock of s2 was set, s3 left the export, s4 is right, s5 new.
    later = portfolio(11, s1=HELD, s5=HELD) | {"actions": [wrong]}
    later["sites"] = [row for row in later["sites"] if row["site_id"] != "s3"]
    for table in ("controllers", "hours"):
        later[table] = [row for row in later[table] if row["site_id"] != "s3"]
    for table in ("circuits", "events"):
        later[table] = [row for row in later[table] if row["controller_id"] != "t3"]
    keeper.run(later, pages=9)
    changes = keeper.changes()
    assert changes["left-in-hand", "c1"] == ("persisting", "")
    assert changes["clock-wrong-zone", "t2"] == ("gone", "fixed")
    assert changes["left-in-hand", "c3"] == ("gone", "site missing")
    assert changes["left-in-hand", "c4"] == ("gone", "fixed")
    assert changes["left-in-hand", "c5"] == ("new", "")
    assert keeper.ask("SELECT site_id, reason FROM missing_sites") == [("s3", "no longer in the export")]
    assert keeper.ask("SELECT date, export_date, contradicted FROM answers") == [
        (date(2026, 11, 1), date(2026, 11, 20), True)
    ]
    page = report(keeper.out)
    assert "Since the run of 20 October 2026" in page
    assert (
        "Recorded as done 1 November 2026 by A, and still there in the export read on 20 November 2026."
        in page
    )
    assert (
        "1 site was in the run before and is not in this one:" in page
        and "s3, no longer in the export" in page
    )


def test_money_that_went_away_and_money_that_came_are_told_apart(keeper: Keeper) -> None:
    # 1 kW lit all day: about 11 h of daylight a date (12 h 8 min less 30 min at both ends) at 0.2 a kWh.
    keeper.run(portfolio(10, s1=HELD, s2=HELD))
    keeper.run(portfolio(11, s2=HELD, s3=HELD, s4=HELD))
    ((recovered, added),) = keeper.ask(
        "SELECT recovered_cost, added_cost FROM runs WHERE run_date = '2026-11-20'"
    )
    assert recovered == pytest.approx(365 * 11.1 * 0.2, rel=0.02)
    assert added == pytest.approx(2 * recovered, rel=0.01)


# Why a finding is gone -------------------------------------------------------------------------------------


def test_every_reason_for_which_a_finding_can_go_is_named(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD, s2=HELD, s3=HELD, s4=HELD, s5=HELD))
    later = portfolio(11, s1=HELD, s2={"circuits": {"hold": "on", "in_use": "no"}}, s4=HELD, s5=HELD)
    later["waivers"] = [{"site_id": "s1", "rule": "left-in-hand", "reason": "Cabinet on order"}]
    later["sites"][4]["latitude"] = "north"  # rejected
    later["circuits"][2] |= {"circuit_id": "c3b", "exempt_reason": "Cash machine"}
    later["events"] = [row | {"targets": "c3b"} if row["targets"] == "c3" else row for row in later["events"]]
    later["circuits"][3]["exempt_reason"] = "Cash machine"
    keeper.run(later)
    changes = keeper.changes()
    assert changes["left-in-hand", "c1"] == ("gone", "waived")
    assert changes["left-in-hand", "c2"] == ("gone", "left out of use")
    assert changes["left-in-hand", "c3"] == ("gone", "subject no longer in the export")
    assert changes["lit-in-daylight", "c4"] == ("gone", "exempt")
    assert changes["left-in-hand", "c5"] == ("gone", "site missing: its row was rejected")


def test_what_is_no_longer_looked_at_is_not_called_fixed(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD, s2=HELD, s3=HELD))
    later = portfolio(11, s1=HELD, s2=HELD, s3=HELD)
    later["hours"] = later["hours"][1:]
    keeper.run(
        later,
        "[rules.left-in-hand]\nenabled = false\n[rules.lit-in-daylight]\ntotal_minutes = 1e8\n",
    )
    changes = keeper.changes()
    assert changes["no-night-cutoff", "c1"] == ("gone", "no longer evaluated: hours")
    assert changes["left-in-hand", "c2"] == ("gone", "rule switched off")
    assert changes["lit-in-daylight", "c3"] == (
        "gone",
        "no longer found; changed: thresholds, not the device",
    )


def gone(keeper: Keeper, rule: str, subject: str, before: Any, after: Any, settings: str = "") -> str:
    """Why a finding of October is gone in November; ``before`` and ``after`` bend the rows of site s1."""
    keeper.run(portfolio(10, s1=before))
    keeper.run(portfolio(11, s1=after), settings)
    change, reason = keeper.changes()[rule, subject]
    assert change == "gone"
    return reason


LOOSE = "[rules.lit-in-daylight]\ntotal_minutes = 1e8\n"


@pytest.mark.parametrize(
    ("rule", "subject", "before", "after", "settings", "reason"),
    [
        ("lit-in-daylight", "c1", HELD, {}, "", "fixed"),
        ("lit-in-daylight", "c1", HELD, {"circuits": {"hold": "on", "area": "security"}}, "",
         "no longer found; changed: area, not the device"),
        ("lit-in-daylight", "c1", HELD, {"circuits": {"hold": "on", "must_be_lit": "always"}}, "",
         "no longer found; changed: duty to light, not the device"),
        ("lit-in-daylight", "c1", HELD, {"circuits": {"area": "security"}}, "",
         "no longer found; changed: hand switch, area"),
        ("lit-in-daylight", "c1", HELD, HELD, LOOSE, "no longer found; changed: thresholds, not the device"),
        ("lit-in-daylight", "c1", HELD, {}, LOOSE, "no longer found; changed: hand switch, thresholds"),
        ("lit-in-daylight", "c1", HELD, {"hours": {"closes": "19:00"}}, "", "fixed"),  # not read by it
        ("short-backup", "t1",
         {"controllers": {"clock_backup_hours": 5}, "sites": {"energy_code": "iecc-2021"}},
         {"controllers": {"clock_backup_hours": 5}, "sites": {"energy_code": "none"}}, "",
         "no longer evaluated: energy_code"),
        ("short-backup", "t1",
         {"controllers": {"clock_backup_hours": 20}, "sites": {"energy_code": "title-24-2022"}},
         {"controllers": {"clock_backup_hours": 20}, "sites": {"energy_code": "iecc-2021"}}, "",
         "no longer found; changed: energy code, not the device"),
        ("dark-while-open", "c1", {"circuits": {"hold": "off"}},
         {"circuits": {"hold": "off"}, "hours": {"opens": "10:00", "closes": "15:00"}}, "",
         "no longer found; changed: opening hours, not the device"),
    ],
)  # fmt: skip
def test_only_what_was_changed_at_the_device_is_called_fixed(
    keeper: Keeper, rule: str, subject: str, before: Any, after: Any, settings: str, reason: str
) -> None:
    assert gone(keeper, rule, subject, before, after, settings) == reason


def test_a_finding_that_went_by_itself_is_not_called_fixed(keeper: Keeper) -> None:
    leap_day = {"event_id": "9", "controller_id": "t1", "targets": "c1", "action": "off", "days": "daily"}
    leap_day |= {"anchor": "clock", "time": "03:00", "from": "02-29", "until": "02-29"}
    tables = portfolio(11)
    tables["events"].append(leap_day)
    keeper.run(tables)  # a year without a 29 February
    tables["controllers"][1] |= {"read_at": "2027-11-20T12:00:00Z", "clock_reading": "2027-11-20T12:00:00"}
    keeper.run(tables)  # 2028 has one
    said = keeper.changes()["step-never-fires", "t1/9"]
    assert said == ("gone", "no longer found, though nothing of it was changed")


def test_a_waived_finding_that_goes_is_listed_but_not_counted(keeper: Keeper) -> None:
    waiver = {"waivers": [{"site_id": "s1", "rule": "left-in-hand", "reason": "Cabinet on order"}]}
    keeper.run(portfolio(10, s1=HELD, s2=HELD) | waiver)
    keeper.run(portfolio(11, s2=HELD) | waiver, pages=9)
    assert keeper.changes()["left-in-hand", "c1"] == ("gone", "fixed")
    assert keeper.ask("SELECT was FROM changes WHERE rule = 'left-in-hand' AND change = 'gone'") == [
        ("waived",)
    ]
    ((new, persisting, away),) = keeper.ask(
        "SELECT new, persisting, gone FROM runs WHERE run_date = '2026-11-20'"
    )
    ((before,),) = keeper.ask("SELECT critical + high + medium + low FROM runs WHERE run_date = '2026-10-20'")
    ((now,),) = keeper.ask("SELECT critical + high + medium + low FROM runs WHERE run_date = '2026-11-20'")
    assert (before + new - away, persisting + new) == (now, now) and away > 0
    page = report(keeper.out)
    assert "Gone as well: 1 finding that was waived" in page and "Fixed. It was waived." in page


def test_a_waiver_that_lapses_says_so(keeper: Keeper) -> None:
    waiver = {"site_id": "s1", "rule": "left-in-hand", "expires": "2026-10-31"}
    keeper.run(portfolio(10, s1=HELD) | {"waivers": [waiver]})
    keeper.run(portfolio(11, s1=HELD) | {"waivers": [waiver]})
    assert keeper.changes()["left-in-hand", "c1"] == ("new", "its waiver no longer stands")


# Runs and their dates --------------------------------------------------------------------------------------


def test_a_run_that_is_repeated_replaces_itself(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD))
    keeper.run(portfolio(11, s1=HELD, s2=HELD))
    once = keeper.ask("FROM runs ORDER BY ALL"), keeper.ask("FROM changes ORDER BY ALL")
    files = contents(keeper.out)
    keeper.run(portfolio(11, s1=HELD, s2=HELD))
    assert (keeper.ask("FROM runs ORDER BY ALL"), keeper.ask("FROM changes ORDER BY ALL")) == once
    assert contents(keeper.out) == files


def test_a_finding_that_stays_is_counted_run_by_run_and_one_that_returns_starts_anew(keeper: Keeper) -> None:
    seen = []
    for month, held in ((9, True), (10, True), (11, False), (12, True)):
        keeper.run(portfolio(month, s1=HELD if held else {}))
        seen += keeper.ask(
            "SELECT first_seen, runs_seen FROM past_findings "
            "WHERE subject_id = 'c1' AND rule = 'left-in-hand' "
            "AND run_date = (SELECT max(run_date) FROM runs)"
        )
    assert seen == [(date(2026, 9, 20), 1), (date(2026, 9, 20), 2), (date(2026, 12, 20), 1)]


def test_a_run_that_dies_leaves_what_the_store_remembered(
    keeper: Keeper, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper.run(portfolio(10, s1=HELD))
    before = keeper.store.read_bytes()

    def dies(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("auditor.audit.write_report", dies)
    with pytest.raises(KeyboardInterrupt):
        keeper.run(portfolio(11, s2=HELD))
    assert keeper.store.read_bytes() == before


def test_a_store_of_before_it_remembered_counts_as_the_run_before(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD, s2=HELD))
    with duckdb.connect(str(keeper.store)) as store:
        for view in ("drifts", "answers"):
            store.execute(f"DROP VIEW {view}")
        for table in ("store_format", "runs", "changes", "missing_sites"):
            store.execute(f"DROP TABLE {table}")
        for (table,) in store.execute(
            "SELECT table_name FROM duckdb_tables() WHERE table_name LIKE 'past%'"
        ).fetchall():
            store.execute(f"DROP TABLE {table}")
    keeper.run(portfolio(11, s1=HELD))
    assert keeper.changes()["left-in-hand", "c1"] == ("persisting", "")
    assert keeper.changes()["left-in-hand", "c2"] == (
        "gone",
        "no longer found; what was set before is not known",
    )
    assert keeper.ask("SELECT run_date, critical FROM runs ORDER BY 1") == [
        (date(2026, 10, 20), 0),
        (date(2026, 11, 20), 0),
    ]


# In order -------------------------------------------------------------------------------------------------


def test_an_older_run_after_a_newer_one_is_refused_and_the_store_stays(keeper: Keeper) -> None:
    keeper.run(portfolio(11, s1=HELD))
    before = keeper.store.read_bytes()
    with pytest.raises(
        UserError, match=r"holds a run of 20 November 2026, and the newest reading here is of"
    ):
        keeper.run(portfolio(10))
    assert keeper.store.read_bytes() == before


def test_a_fault_that_comes_back_is_not_answered_by_what_was_done_before(keeper: Keeper) -> None:
    dark = {"circuits": {"hold": "off"}}
    keeper.run(portfolio(9, s1=dark))
    done = {"actions": [action(keeper.finding("dark-while-open", "c1"), "2026-10-01", "done")]}
    keeper.run(portfolio(10) | done)
    outcome = keeper.run(portfolio(11, s1=dark) | done)
    assert (outcome.summary["unanswered"], outcome.summary["still_there"]) == (1, 0)


def test_a_clock_that_was_corrected_is_not_said_to_drift(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"controllers": {"clock_reading": "2026-10-20T12:08:00"}}))
    keeper.run(portfolio(11, s1={"controllers": {"clock_reading": "2026-11-20T12:00:10"}}))
    assert keeper.ask("SELECT controller_id FROM drifts WHERE controller_id = 't1'") == []


def test_another_tariff_recovers_nothing_and_another_length_is_not_compared(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD))
    keeper.run(portfolio(11, s1=HELD | {"sites": {"rate_per_kwh": 0.1}}))
    assert keeper.ask("SELECT recovered_cost, added_cost FROM runs WHERE run_date = '2026-11-20'") == [(0, 0)]
    run_audit(write_folder(keeper.folder / "short", portfolio(12)), keeper.out, keeper.store, 30)
    assert keeper.ask("SELECT recovered_cost FROM runs WHERE run_date = '2026-12-20'") == [(None,)]


def test_a_fault_that_only_changed_its_name_is_not_called_fixed(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"controllers": {"clock_reading": "2026-10-20T12:08:00"}}))
    keeper.run(portfolio(11, s1={"controllers": {"clock_reading": "2026-11-20T14:00:00"}}))
    assert keeper.changes()["clock-drift", "t1"] == ("gone", "no longer found; new there: clock-wrong-zone")


def test_actions_that_count_for_nothing_are_noted(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"circuits": {"hold": "off"}}))
    bare = action(keeper.finding("dark-while-open", "c1"), "2026-10-21", "declined")
    lost = action("ffffffffffff", "2026-10-21", "done")
    outcome = keeper.run(portfolio(11, s1={"circuits": {"hold": "off"}}) | {"actions": [bare, lost]})
    assert "row 2: the action counts for nothing, for a decline needs a note" in outcome.notices[-2]
    assert 'no run found "ffffffffffff"' in outcome.notices[-1]
    assert outcome.summary["unanswered"] == 1


# Found by using it -----------------------------------------------------------------------------------------


def renamed(tables: Tables, device: str) -> Tables:
    """Device t1 under another id, with the same circuit and program."""
    swap = {"t1": device}
    return {
        name: [
            row
            | (
                {"controller_id": swap.get(str(row["controller_id"]))}
                if row.get("controller_id") == "t1"
                else {}
            )
            for row in rows
        ]
        for name, rows in tables.items()
    }


def test_a_device_under_another_id_is_no_accident(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD))
    keeper.run(renamed(portfolio(11, s1=HELD), "t1x"))
    assert keeper.changes()["left-in-hand", "c1"] == ("persisting", "")


def test_a_clock_that_only_drifts_fixes_nothing(keeper: Keeper) -> None:
    # Off at 20:29 by the clock, closing at 21:00: dark for 31 min, then for 29.
    def early(month: int, shown: str) -> Tables:
        tables = portfolio(month, s1={"controllers": {"clock_reading": f"2026-{month}-20T{shown}"}})
        tables["hours"][0]["closes"] = "21:00"
        tables["events"] += [
            {"event_id": "4", "controller_id": "t1", "targets": "c1", "action": "off", "days": "daily"}
            | {"anchor": "clock", "time": "20:29"},
        ]
        return tables

    alone = "[rules.dark-around-closing]\nenabled = false\n"
    keeper.run(early(10, "12:00:00"), alone)
    assert keeper.changes() == {}
    keeper.run(early(11, "11:58:00"), alone)  # now the off comes two minutes later
    reason = "no longer found, though nobody changed anything: its clock has drifted"
    assert keeper.changes()["dark-while-open", "c1"] == ("gone", reason)


def test_what_was_not_looked_at_for_a_month_comes_back_with_its_first_date(keeper: Keeper) -> None:
    keeper.run(portfolio(9, s1=HELD, s2=HELD))
    bad = portfolio(10, s1=HELD, s2=HELD)
    for place in (0, 1):
        bad["circuits"][place]["connected_watts"] = "3 kW"
    keeper.run(bad)
    reason = "subject missing: rows of this site were rejected"
    assert keeper.changes()["left-in-hand", "c1"] == ("gone", reason)
    keeper.run(portfolio(11, s1=HELD))
    changes = keeper.changes()
    back = "it was found before, and not looked at in the run before"
    assert changes["left-in-hand", "c1"] == ("new", back)
    assert changes["left-in-hand", "c2"] == ("gone", "fixed")
    since = keeper.ask("SELECT since, was FROM changes WHERE rule = 'left-in-hand' ORDER BY subject_id")
    assert since == [(date(2026, 9, 20), "unseen"), (date(2026, 9, 20), "unseen")]
    assert keeper.ask("SELECT gone FROM runs ORDER BY run_date DESC LIMIT 1") == [(0,)]


@pytest.mark.parametrize(
    "told",
    [
        {"circuits": {"hold": "on", "area": "security"}},
        {"circuits": {"hold": "on", "connected_watts": 400}},
        {"circuits": {"hold": "on"}, "hours": {"days": "MO"}},
    ],
)
def test_nothing_is_recovered_by_writing_a_table_otherwise(keeper: Keeper, told: Any) -> None:
    keeper.run(portfolio(10, s1=HELD))
    keeper.run(portfolio(11, s1=told))
    assert keeper.ask("SELECT recovered_cost FROM runs WHERE run_date = '2026-11-20'") == [(0,)]


def test_a_done_of_next_year_silences_nothing(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"circuits": {"hold": "off"}}))
    ahead = action(keeper.finding("dark-while-open", "c1"), "2027-10-21", "done")
    outcome = keeper.run(portfolio(11, s1={"circuits": {"hold": "off"}}) | {"actions": [ahead]})
    assert "row 2: the action counts for nothing, for it is dated long after" in outcome.notices[-1]
    assert outcome.summary["unanswered"] == 1
