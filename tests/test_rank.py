"""The order of the sites: people in the dark first, whatever the money; then score; then site_id."""

from pathlib import Path

import pytest

from auditor.model import SEVERITIES
from auditor.report.rows import fetch
from auditor.resources import query
from auditor.store import Connection, open_store, run_script

# site: open findings by severity, avoidable money in a period of 73 days, status of its findings
SITES = {
    "dark": ({"critical": 1}, 0.0),
    "rich": ({"high": 40, "medium": 40}, 9_000_000.0),
    "small-a": ({"low": 1}, 4.0),
    "small-b": ({"low": 1}, 4.0),
    "waived": ({}, 0.0),
}


@pytest.fixture
def store() -> Connection:
    connection = open_store(Path(":memory:"))
    connection.execute("INSERT INTO period VALUES ('2026-11-01', 73, '2026-11-20', 1800, 3600, 1800)")
    connection.execute("INSERT INTO portfolio VALUES ('', 'EUR', 1.0, NULL, NULL, '', 1000, 250, 60, 10)")
    for site, (counts, cost) in SITES.items():
        connection.execute("INSERT INTO sites (site_id) VALUES (?)", [site])
        connection.execute(
            "INSERT INTO circuit_figures (site_id, circuit_id, avoidable_cost) VALUES (?, ?, ?)",
            [site, site, cost],
        )
        for severity, number in counts.items():
            for place in range(number):
                _finding(connection, f"{site}{severity}{place}", site, severity, "open")
    _finding(connection, "w", "waived", "critical", "waived")
    run_script(connection, query("rank/20_sites.sql"))
    return connection


def _finding(connection: Connection, key: str, site: str, severity: str, status: str) -> None:
    connection.execute(
        "INSERT INTO findings (finding_id, site_id, severity, status, fix) VALUES (?, ?, ?, ?, 'remote')",
        [key, site, severity, status],
    )


def test_a_dark_lot_outranks_any_money(store: Connection) -> None:
    order = store.execute("SELECT site_id FROM site_ranks ORDER BY rank").fetchall()
    assert [site for (site,) in order] == ["dark", "rich", "small-a", "small-b", "waived"]


def test_the_score_is_money_a_year_and_a_weight_for_each_open_finding(store: Connection) -> None:
    scores = dict(store.execute("SELECT site_id, score FROM site_ranks").fetchall())
    # 4 in 73 days is 20 in 365; one low finding weighs 10. A waived critical finding weighs nothing.
    assert (scores["small-a"], scores["dark"], scores["waived"]) == (30, 1000, 0)
    assert scores["rich"] == 45_000_000 + 40 * 250 + 40 * 60


def test_no_weight_halved_or_doubled_moves_a_short_list(store: Connection) -> None:
    found = fetch(store, "firmness")
    assert {(row["weight"], row["factor"]) for row in found} == {
        (weight, factor) for weight in (*SEVERITIES, "money") for factor in (0.5, 2)
    }
    assert {(row["stay"], row["of_sites"]) for row in found} == {(5, 5)}


def test_the_weight_that_decides_who_is_among_the_first_ten_is_named(store: Connection) -> None:
    # Nine sites that nothing moves, then one with 15 low findings (150) and one with 140 of money: doubled
    # money (280) or halved low findings (75) swap these two; no other weight does.
    store.execute("DELETE FROM site_ranks")
    rows = [(place, f"a{place}", 0, 0, 99) for place in range(1, 10)]
    for rank, site, cost, low, critical in [*rows, (10, "low", 0, 15, 0), (11, "money", 140, 0, 0)]:
        store.execute(
            "INSERT INTO site_ranks VALUES (?, ?, 0, 0, ?, ?, 0, 0, ?, false)",
            [rank, site, cost, critical, low],
        )
    moved = {(row["weight"], float(row["factor"])) for row in fetch(store, "firmness") if row["stay"] < 10}
    assert moved == {("money", 2.0), ("low", 0.5)}
