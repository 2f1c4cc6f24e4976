"""What stores of earlier layouts remember, and what a session that broke off left, comes along."""

from datetime import date
from pathlib import Path

import duckdb
import pytest

from auditor.memory import check_earlier

from .knocks_case import break_off
from .memory_case import HELD, Keeper, portfolio

RUNS = [(date(2026, 10, 20), 2), (date(2026, 11, 20), 1)]
# What later layouts added, as auditor/memory.py lists it, and what the schema of that time had instead.
SINCE_3 = """
DROP TABLE inputs;
DROP TABLE versions;
"""
SINCE_2 = """
DROP VIEW drifts;
DROP VIEW answers;
CREATE OR REPLACE TABLE past_findings AS SELECT * EXCLUDE (facts) FROM past_findings;
CREATE OR REPLACE TABLE past_circuits AS
    SELECT run_date, circuit_id, avoidable_kwh AS avoidable_cost FROM past_circuits;
CREATE OR REPLACE TABLE past_readings AS SELECT * EXCLUDE (run_date, to_the_minute) FROM past_readings;
CREATE OR REPLACE TABLE runs AS SELECT * EXCLUDE (persisting) FROM runs;
"""


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The store of a first run, in which two sites were held."""
    keeper = Keeper(tmp_path_factory.mktemp("first"))
    keeper.run(portfolio(10, s1=HELD, s2=HELD))
    return keeper.store.read_bytes()


@pytest.fixture
def keeper(first: bytes, tmp_path: Path) -> Keeper:
    """After that run."""
    keeper = Keeper(tmp_path)
    keeper.store.write_bytes(first)
    return keeper


def made_older(store: Path, layout: int) -> None:
    changes = {2: SINCE_3 + SINCE_2, 3: SINCE_3, 4: ""}[layout]
    with duckdb.connect(str(store)) as connection:
        for statement in connection.extract_statements(changes):
            connection.execute(statement)
        connection.execute("UPDATE store_format SET version = ?", [layout])


@pytest.mark.parametrize("layout", [2, 3, 4])
def test_a_store_of_an_earlier_layout_is_carried_along(keeper: Keeper, layout: int) -> None:
    made_older(keeper.store, layout)
    keeper.run(portfolio(11, s1=HELD))
    changes = keeper.changes()
    assert changes["left-in-hand", "c1"] == ("persisting", "")
    gone = "fixed" if layout > 2 else "no longer found; what was set before is not known"
    assert changes["left-in-hand", "c2"] == ("gone", gone)
    held = (
        "SELECT run_date, count(*) FROM past_findings JOIN runs USING (run_date) WHERE rule = 'left-in-hand'"
    )
    assert keeper.ask(f"{held} GROUP BY ALL ORDER BY ALL") == RUNS
    assert keeper.ask("SELECT count(*) FROM past_readings") == [(10,)]  # five devices, two months
    again = "SELECT DISTINCT subject_id, first_seen, runs_seen FROM past_findings WHERE runs_seen > 1"
    assert keeper.ask(again) == [("c1", date(2026, 10, 20), 2)]


def test_what_a_broken_off_session_changed_is_kept_and_its_log_is_not_in_the_way(keeper: Keeper) -> None:
    """The engine would refuse to open a new store beside which the log of the old one still stands."""
    looked_at = "UPDATE past_findings SET summary = 'looked at' WHERE subject_id = 'c2'"
    log = break_off(keeper.store, looked_at)
    assert log.exists()
    check_earlier(keeper.store)  # before any work: a run that is killed later meets no log of old
    assert not log.exists()
    keeper.run(portfolio(11, s1=HELD))
    assert keeper.ask("SELECT DISTINCT summary FROM past_findings WHERE subject_id = 'c2'") == [
        ("looked at",)
    ]
