"""A store's memory: the story of two months, runs and their dates, and the order they come in."""

from datetime import date
from pathlib import Path

import duckdb
import pytest

from auditor.errors import UserError

from .conftest import contents, report, run_audit, write_folder
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


@pytest.mark.nightly
def test_money_that_went_away_and_money_that_came_are_told_apart(keeper: Keeper) -> None:
    # 1 kW lit all day: about 11 h of daylight a date (12 h 8 min less 30 min at both ends) at 0.2 a kWh.
    keeper.run(portfolio(10, s1=HELD, s2=HELD))
    keeper.run(portfolio(11, s2=HELD, s3=HELD, s4=HELD))
    ((recovered, added),) = keeper.ask(
        "SELECT recovered_cost, added_cost FROM runs WHERE run_date = '2026-11-20'"
    )
    assert recovered == pytest.approx(365 * 11.1 * 0.2, rel=0.02)
    assert added == pytest.approx(2 * recovered, rel=0.01)


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


@pytest.mark.nightly
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


@pytest.mark.nightly
def test_another_tariff_recovers_nothing_and_another_length_is_not_compared(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD))
    keeper.run(portfolio(11, s1=HELD | {"sites": {"rate_per_kwh": 0.1}}))
    assert keeper.ask("SELECT recovered_cost, added_cost FROM runs WHERE run_date = '2026-11-20'") == [(0, 0)]
    run_audit(write_folder(keeper.folder / "short", portfolio(12)), keeper.out, keeper.store, 30)
    assert keeper.ask("SELECT recovered_cost FROM runs WHERE run_date = '2026-12-20'") == [(None,)]


def test_actions_that_count_for_nothing_are_noted(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"circuits": {"hold": "off"}}))
    bare = action(keeper.finding("dark-while-open", "c1"), "2026-10-21", "declined")
    lost = action("ffffffffffff", "2026-10-21", "done")
    outcome = keeper.run(portfolio(11, s1={"circuits": {"hold": "off"}}) | {"actions": [bare, lost]})
    assert "row 2: the action counts for nothing, for a decline needs a note" in outcome.notices[-2]
    assert 'no run found "ffffffffffff"' in outcome.notices[-1]
    assert outcome.summary["unanswered"] == 1


@pytest.mark.nightly
def test_a_done_of_next_year_silences_nothing(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"circuits": {"hold": "off"}}))
    ahead = action(keeper.finding("dark-while-open", "c1"), "2027-10-21", "done")
    outcome = keeper.run(portfolio(11, s1={"circuits": {"hold": "off"}}) | {"actions": [ahead]})
    assert "row 2: the action counts for nothing, for it is dated long after" in outcome.notices[-1]
    assert outcome.summary["unanswered"] == 1
