"""The digest of a site forgets nothing that its year is worked out from, nor how that is done."""

import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from auditor import reuse
from auditor.loading import fill, read_judged, settings_of
from auditor.period import audited_period
from auditor.resources import query, resource
from auditor.store import Connection, open_store
from auditor.year import choose_right_clocks, run_right_clocks, run_year

from .conftest import Tables, small, write_folder

SETTINGS = "[portfolio]\nrate_per_kwh = 0.24\n"
# Beside the tables of the contract: settings, and what a device's clock is found to be. The laws of clocks
# and the sun of each day come from code and libraries alone, which the digest of the method holds.
MORE = ("period", "portfolio", "visit_settings", "device_clocks", "rejected", "inputs", "versions")
ANOTHER = {  # value than the one that is there, by type
    "VARCHAR": "concat({0}, 'x')",
    "VARCHAR[]": "list_append(coalesce({0}, []), 'x')",
    "BOOLEAN": "NOT coalesce({0}, false)",
    "DATE": "coalesce({0}, DATE '2026-01-01') + 1",
    "TIMESTAMP": "coalesce({0}, TIMESTAMP '2026-01-01') + INTERVAL 1 HOUR",
}
NUMBER = "coalesce({0}, 0) + 1"
SPECIAL = {  # a place in the order, and a number that stands for something
    ("events", "row_no"): "CASE WHEN {0} = (SELECT min(row_no) FROM audit.main.events AS of_device"
    " WHERE of_device.controller_id = events.controller_id) THEN 1000 ELSE -1 END",
    (
        "device_clocks",
        "clock_no",
    ): "(SELECT max(no.clock_no) FROM clocks AS no WHERE no.clock_no <> device_clocks.clock_no)",
} | {  # another device of the site
    (table, "controller_id"): "replace({0}, 'A', 'B')" for table in ("circuits", "sensors", "events")
}


def portfolio() -> Tables:
    """Rows of every table that the year reads, two devices a site; the clock of the first is wrong."""
    tables = small()
    tables["controllers"] += [row | {"controller_id": f"{row['site_id']}B"} for row in tables["controllers"]]
    tables["controllers"][0] |= {"dst_rule": "none", "utc_offset": "-04:00"}
    tables["controllers"][1] |= {"latitude": 61.0, "longitude": 25.5}
    tables["closures"].append({"site_id": "01", "date": "2026-11-10"})
    return tables


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Connection]:
    """A store as it is before the year is run."""
    folder = write_folder(tmp_path / "in", portfolio(), SETTINGS)
    _, settings = settings_of(folder, [])
    judged = read_judged(folder, None, 5)
    period = audited_period(judged, None, 5)
    assert period.first == date(2026, 11, 1)
    with open_store(tmp_path / "store.duckdb", 2) as connection:
        fill(connection, judged, settings, period)
        yield connection


def digests(store: Connection) -> dict[str, str]:
    store.execute("CREATE OR REPLACE TEMP TABLE site_digests (site_id VARCHAR, digest VARCHAR)")
    store.execute(query("reuse/10_digests.sql"), {"method": "m"})
    return dict(store.execute("FROM temp.site_digests").fetchall())


def held(store: Connection, table: str, column: str, kind: str, before: dict[str, str]) -> bool:
    """Whether the digests change with the column, whichever row it is that has another value."""
    another = SPECIAL.get((table, column), ANOTHER.get(kind, NUMBER)).format(f'"{column}"')
    (rows,) = store.execute(f"SELECT count(*) FROM audit.main.{table}").fetchone() or (0,)
    for row in range(rows):
        value = f'CASE WHEN rowid = {row} THEN {another} ELSE "{column}" END AS "{column}"'
        store.execute(f"CREATE TEMP TABLE {table} AS SELECT * REPLACE ({value}) FROM audit.main.{table}")
        after = digests(store)
        store.execute(f"DROP TABLE temp.{table}")
        if after == before:
            return False
    return bool(rows)


def columns_held(store: Connection, table: str) -> list[str]:
    """The columns without which the digests would not be the same."""
    before = digests(store)
    columns = store.execute(f"DESCRIBE audit.main.{table}").fetchall()
    return [name for name, kind, *_ in columns if held(store, table, name, kind, before)]


def test_the_year_reads_no_column_that_the_digest_forgets(store: Connection) -> None:
    kept = {table: columns_held(store, table) for table in (*small(), *MORE)}
    assert "name" not in kept["sites"] and kept["waivers"] == []  # rules alone look at these
    store.execute("DROP TABLE temp.site_digests")
    for table, columns in kept.items():
        if columns:
            names = ", ".join(f'"{name}"' for name in columns)
            store.execute(f"CREATE TABLE new AS SELECT {names} FROM {table}")
        store.execute(f"DROP TABLE {table}")
        if columns:
            store.execute(f"ALTER TABLE new RENAME TO {table}")
    run_year(store, lambda _: None)  # the engine names the column that it misses
    assert choose_right_clocks(store) == 1
    run_right_clocks(store, lambda _: None)


def test_a_device_on_which_nothing_hangs_has_its_id_in_the_digest(store: Connection) -> None:
    before = digests(store)
    for table in ("controllers", "device_clocks"):
        renamed = "replace(controller_id, '01B', '01C') AS controller_id"
        store.execute(f"CREATE TEMP TABLE {table} AS SELECT * REPLACE ({renamed}) FROM audit.main.{table}")
    after = digests(store)
    assert after["01"] != before["01"] and after["02"] == before["02"]


@pytest.mark.parametrize("name", [*reuse._LIBRARIES, "this program"])
def test_another_version_is_another_method(monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    before, plain = reuse.method(), reuse.version
    monkeypatch.setattr(reuse, "version", lambda asked: "0" if asked == name else plain(asked))
    if name == "this program":
        monkeypatch.setattr(reuse, "__version__", "0")
    assert reuse.method() != before


def test_another_query_or_other_code_is_another_method(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    shutil.copytree(resource("queries"), tmp_path / "queries")
    shutil.copytree(
        Path(reuse.__file__).parent,
        tmp_path / "auditor",
        ignore=lambda folder, names: [name for name in names if (Path(folder) / name).is_dir()],
    )
    monkeypatch.setattr(reuse, "resource", lambda name: tmp_path / name)
    monkeypatch.setattr(reuse, "__file__", str(tmp_path / "auditor" / "reuse.py"))
    known = {reuse.method()}
    queries = ["prepare.sql", "macros.sql", "schema.sql"]
    for folder in ("year", "right_clock", "reuse"):
        queries += [f"{folder}/{path.name}" for path in (tmp_path / "queries" / folder).iterdir()]
    code = [f"auditor/{name}.py" for name in ("year", "clocks", "zones", "sun")]
    for name in [*(f"queries/{name}" for name in queries), *code]:
        with (tmp_path / name).open("a", encoding="utf-8") as file:
            file.write("\n")
        assert reuse.method() not in known, name
        known.add(reuse.method())
