"""What is fetched from the run before stands in its order, however many threads share the work.

Threads that pick rows of a table by another table give them back in whatever order they are done (seen in
DuckDB 2.0.1, of more than one row group): timeline.parquet, told in the order of its table, had other bytes
after each run over a kept store.
"""

from pathlib import Path

import pytest

from auditor.resources import query
from auditor.store import Connection, Engine, open_store, run_script

ROWS, EACH = 1_000_000, 500  # of the timeline, and of a circuit: eight row groups


@pytest.fixture(scope="module")
def earlier(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The store of a run before: each stretch begins a second after the one before it."""
    path = tmp_path_factory.mktemp("earlier") / "earlier.duckdb"
    store = open_store(path)
    for table in ("timeline", "right_clock_timeline"):
        store.execute(
            f"INSERT INTO {table} SELECT printf('C%05d', i // $each), make_timestamp(i * 1000000), "
            "make_timestamp((i + 1) * 1000000), i % 2, false FROM range($rows) AS numbers (i)",
            {"rows": ROWS, "each": EACH},
        )
    store.execute("CHECKPOINT")
    store.close()
    return path


@pytest.fixture
def store(earlier: Path, tmp_path: Path) -> Connection:
    """A store that takes one site of two, of a thousand circuits each, from that run, with four threads."""
    store = open_store(tmp_path / "store.duckdb", engine=Engine(threads=4))
    store.execute(f"ATTACH '{earlier}' AS earlier (READ_ONLY)")
    circuits = ROWS // EACH
    store.execute("INSERT INTO sites BY NAME SELECT i::VARCHAR AS site_id FROM range(2) AS numbers (i)")
    store.execute("INSERT INTO controllers BY NAME SELECT site_id AS controller_id, site_id FROM sites")
    store.execute(
        "INSERT INTO circuits BY NAME SELECT printf('C%05d', i) AS circuit_id, "
        "(i % 2)::VARCHAR AS controller_id FROM range($circuits) AS numbers (i)",
        {"circuits": circuits},
    )
    store.execute("CREATE TABLE site_numbers AS SELECT 1 AS site_no, '1' AS site_id")
    store.execute("CREATE TEMP TABLE right_clock_devices AS SELECT '1' AS site_id")
    store.execute("CREATE TEMP TABLE batch AS SELECT 1 AS first_site_no, 1 AS last_site_no")
    return store


@pytest.mark.parametrize(
    ("script", "table"),
    [("reuse/30_year", "timeline"), ("reuse/40_right_clock", "right_clock_timeline")],
)
def test_rows_stand_as_they_stood(store: Connection, script: str, table: str) -> None:
    run_script(store, query(f"{script}.sql"))
    found = store.execute(
        f"SELECT count(*), count(*) FILTER (start_utc < before) "
        f"FROM (SELECT start_utc, lag(start_utc) OVER (ORDER BY rowid) AS before FROM {table})"
    ).fetchall()
    assert found == [(ROWS // 2, 0)]
