"""A store's memory: what is new, persists or is gone, and why; what was done; which clocks drift."""

import csv
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest

from .conftest import Console, Row, Tables, run_audit, write_folder

Ask = Callable[..., Console]
Changes = dict[tuple[str, str], tuple[str, str]]


def portfolio(month: int, **sites: dict[str, Row]) -> Tables:
    """Five sites in Accra (UTC all year), each with a car park on from sunset to sunrise; read on the 20th.

    ``sites`` bend the rows of a site's tables: s1={"circuits": {"hold": "on"}}.
    """
    tables: Tables = {name: [] for name in ("sites", "controllers", "circuits", "events", "hours")}
    for number in range(1, 6):
        site = f"s{number}"
        rows: dict[str, Row] = {
            "sites": {
                "site_id": site,
                "latitude": 5.6,
                "longitude": -0.2,
                "timezone": "Africa/Accra",
                "rate_per_kwh": 0.2,
            },
            "controllers": {
                "controller_id": f"t{number}",
                "site_id": site,
                "read_at": f"2026-{month:02}-20T12:00:00Z",
                "clock_reading": f"2026-{month:02}-20T12:00:00",
                "dst_rule": "zone",
            },
            "circuits": {
                "circuit_id": f"c{number}",
                "controller_id": f"t{number}",
                "area": "parking",
                "connected_watts": 1000,
            },
            "hours": {"site_id": site, "days": "daily", "opens": "08:00", "closes": "20:00"},
        }
        for table, row in rows.items():
            tables[table].append(row | sites.get(site, {}).get(table, {}))
        for event_id, action, anchor in (
            ("1", "on", "sunset"),
            ("2", "level", "clock"),
            ("3", "off", "sunrise"),
        ):
            cells: Row = {"time": "23:00", "level": 40} if action == "level" else {}
            tables["events"].append(
                {"event_id": event_id, "controller_id": f"t{number}", "targets": f"c{number}"}
                | {"action": action, "days": "daily", "anchor": anchor}
                | cells
            )
    return tables


STEPS = (("1", "on", "sunset"), ("2", "level", "clock"), ("3", "off", "sunrise"))
HELD = {"circuits": {"hold": "on"}}


class Keeper:
    """Runs one after the other with one store."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.store, self.out = folder, folder / "audit.duckdb", folder / "out"

    def run(self, tables: Tables, settings: str = "") -> Any:
        for path in (self.folder / "in").glob("*"):
            path.unlink()
        return run_audit(write_folder(self.folder / "in", tables, settings), self.out, self.store, 365)

    def ask(self, question: str) -> list[tuple[Any, ...]]:
        with duckdb.connect(str(self.store), read_only=True) as store:
            return store.execute(question).fetchall()

    def changes(self) -> Changes:
        rows = self.ask("SELECT rule, subject_id, change, coalesce(reason, '') FROM changes")
        return {(rule, subject): (change, reason) for rule, subject, change, reason in rows}

    def finding(self, rule: str, subject: str) -> str:
        ((key,),) = self.ask(
            f"SELECT finding_id FROM past_findings WHERE rule = '{rule}' AND subject_id = '{subject}' LIMIT 1"
        )
        return str(key)


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    return Keeper(tmp_path)


def action(finding: str, day: str, disposition: str, note: str = "") -> Row:
    return {"finding_id": finding, "date": day, "by": "A", "disposition": disposition, "note": note}


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
    keeper.run(later)
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
    page = " ".join((keeper.out / "report.html").read_text(encoding="utf-8").split())
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
    assert changes["lit-in-daylight", "c3"] == ("gone", "no longer found, by other thresholds")


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
    files = {path.name: path.read_bytes() for path in keeper.out.iterdir() if path.suffix != ".duckdb"}
    keeper.run(portfolio(11, s1=HELD, s2=HELD))
    assert (keeper.ask("FROM runs ORDER BY ALL"), keeper.ask("FROM changes ORDER BY ALL")) == once
    assert {name: (keeper.out / name).read_bytes() for name in files} == files


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
    assert keeper.changes()["left-in-hand", "c2"] == ("gone", "fixed")
    assert keeper.ask("SELECT run_date, critical FROM runs ORDER BY 1") == [
        (date(2026, 10, 20), 0),
        (date(2026, 11, 20), 0),
    ]


# Answers ---------------------------------------------------------------------------------------------------


def test_done_after_the_reading_is_not_contradicted_by_it(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD))
    keeper.run(
        portfolio(11, s1=HELD)
        | {"actions": [action(keeper.finding("left-in-hand", "c1"), "2026-11-20", "done")]}
    )
    assert keeper.ask("SELECT contradicted FROM answers") == [(False,)]
    assert "is no newer, so that the next one will tell" in (keeper.out / "report.html").read_text(
        encoding="utf-8"
    )


def test_a_critical_finding_without_an_action_stands_on_the_first_page_as_unanswered(keeper: Keeper) -> None:
    dark = {"circuits": {"hold": "off"}}
    keeper.run(portfolio(10, s1=dark, s2=dark))
    answered = action(
        keeper.finding("dark-while-open", "c1"), "2026-11-01", "ordered", "Electrician on 3 December"
    )
    outcome = keeper.run(portfolio(11, s1=dark, s2=dark) | {"actions": [answered]})
    page = " ".join((keeper.out / "report.html").read_text(encoding="utf-8").split())
    assert "<strong>1 of them has no action and no waiver.</strong>" in page
    assert page.count("<strong>No answer yet.</strong>") == 1
    assert outcome.summary["unanswered"] == 1


# Clocks that drift -----------------------------------------------------------------------------------------


def test_two_readings_tell_the_drift_and_when_it_is_five_minutes(keeper: Keeper, console: Ask) -> None:
    fast = {"controllers": {"clock_reading": "2026-10-20T12:01:00"}}
    faster = {"controllers": {"clock_reading": "2026-11-20T12:02:00"}}
    keeper.run(portfolio(10, s1=fast))
    keeper.run(portfolio(11, s1=faster))
    # A minute in 31 days is 30.4375 / 31 min a month; three more minutes take 93 days from 20 November.
    ((rate, on),) = keeper.ask(
        "SELECT minutes_a_month, five_minutes_on FROM drifts WHERE controller_id = 't1'"
    )
    assert rate == pytest.approx(30.4375 / 31) and on == date(2027, 2, 21)
    _, said, _ = console("history", "--store", keeper.store)
    line = "t1 gains 1.0 min a month (readings of 20 October 2026 and 20 November 2026); "
    assert f"{line}5 minutes off on 21 February 2027" in said


def test_a_clock_that_was_set_in_between_is_not_said_to_drift(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"controllers": {"clock_reading": "2026-10-20T12:40:00"}}))
    keeper.run(portfolio(11))
    assert keeper.ask("SELECT controller_id FROM drifts WHERE controller_id = 't1'") == []


# The commands ----------------------------------------------------------------------------------------------


def test_history_is_a_line_a_month_to_read_and_to_keep(keeper: Keeper, console: Ask) -> None:
    for month in (9, 10, 11):
        keeper.run(portfolio(month, s1=HELD if month > 9 else {}))
    out = keeper.folder / "history.csv"
    status, said, _ = console("history", "--store", keeper.store, "--out", out)
    lines = said.splitlines()
    assert status == 0 and lines[0].split()[:2] == ["month", "last"]
    assert [line.split()[0] for line in lines[1:4]] == ["2026-09", "2026-10", "2026-11"]
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["month"], row["high"], row["new"]) for row in rows] == [
        ("2026-09", "0", ""),
        ("2026-10", "2", "3"),  # in hand, lit in daylight, no cutoff at night
        ("2026-11", "2", "0"),
    ]


@pytest.mark.parametrize("make", ["nothing", "notes"])
def test_history_of_what_is_no_store_is_one_sentence(tmp_path: Path, console: Ask, make: str) -> None:
    path = tmp_path / "a.duckdb"
    if make == "notes":
        path.write_bytes(b"notes")
    status, said, err = console("history", "--store", path)
    assert (status, said, err.count("\n")) == (2, "", 1) and str(path) in err


@pytest.mark.parametrize("form", ["text", "markdown", "json"])
def test_a_summary_is_ten_lines_or_facts(keeper: Keeper, console: Ask, form: str) -> None:
    source = write_folder(keeper.folder / "in", portfolio(10, s1=HELD))
    status, said, err = console("run", source, "--out", keeper.out, "--summary", form)
    assert (status, err) == (0, "")
    if form == "json":
        assert json.loads(said)["high"] == 2 and json.loads(said)["first_date"] == "2026-10-01"
    else:
        assert len(said.splitlines()) == 10
        assert all(line.startswith("- ") == (form == "markdown") for line in said.splitlines())
