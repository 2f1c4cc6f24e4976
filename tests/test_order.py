"""The year's queries take rows as they stand in a table made with ORDER BY: what they count on of the engine.

The SQL standard does not promise it; the engine keeps rows in order (``preserve_insertion_order``) and goes
through windows without ORDER BY row by row. A version that did otherwise would have to fail here first.
"""

from pathlib import Path

import pytest

from auditor.store import Connection, Engine, open_store

ROWS = 400_000  # more than one row group, so that threads have something to share


@pytest.fixture(scope="module", params=[1, 4])
def told(request: pytest.FixtureRequest) -> Connection:
    store = open_store(Path(":memory:"), engine=Engine(threads=request.param))
    store.execute(
        "CREATE TEMP TABLE told AS SELECT hash(i) % 700 AS target_no, hash(i + 1000000) % 90000 AS at_s, "
        "i AS turn, CASE WHEN i % 3 = 0 THEN i END AS step_no FROM range($rows) AS numbers (i) "
        "ORDER BY target_no, at_s, turn",
        {"rows": ROWS},
    )
    return store


def unlike(store: Connection, asked: str, plain: str) -> int:
    """Rows for which two expressions over ``told``, some of them left out, are not the same."""
    sql = f"""
        SELECT count(*) FROM (SELECT {asked} AS asked, {plain} AS plain FROM told WHERE turn % 5 <> 0)
        WHERE asked IS DISTINCT FROM plain
    """
    return store.execute(sql).fetchall()[0][0]


@pytest.mark.parametrize("neighbour", ["lag(turn)", "lead(turn)"])
def test_neighbours_are_those_of_the_order(told: Connection, neighbour: str) -> None:
    assert unlike(told, f"{neighbour} OVER ()", f"{neighbour} OVER (ORDER BY target_no, at_s, turn)") == 0


@pytest.mark.parametrize("running", ["last_value(step_no IGNORE NULLS)", "sum(at_s::DOUBLE)", "max(at_s)"])
def test_what_runs_on_runs_in_the_order(told: Connection, running: str) -> None:
    so_far = "ROWS UNBOUNDED PRECEDING"
    in_order = f"{running} OVER (ORDER BY target_no, at_s, turn {so_far})"
    assert unlike(told, f"{running} OVER ({so_far})", in_order) == 0
