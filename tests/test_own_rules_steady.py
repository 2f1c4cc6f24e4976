"""A user's query answers the same another day, on another machine, in another folder: else it is refused."""

from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from auditor.ownrules.sandbox import _faults, locked

from .test_own_rules_locked import asked, folder, refusal, rule_of

__all__ = ["folder"]  # the fixture

UNSTEADY = {  # and what is named
    "SELECT age(TIMESTAMP '2020-01-01')": "age",
    'SELECT "now"()': "now",
    'SELECT "random"()': "random",
    "SELECT main.now()": "now",
    'SELECT "current_timestamp"': "current_timestamp",
    "SELECT LocalTime": "LocalTime",
    "SELECT current_date.year()": "current_date",
    "SELECT period.newest_read_at_utc.age() FROM period": "age",
    'SELECT "AGO"(INTERVAL 1 DAY)': "current_timestamp",
    "SELECT current_localtimestamp()": "current_localtimestamp",
    "SELECT ago(INTERVAL 1 DAY)": "current_timestamp",  # a macro of the engine's
    "SELECT list_transform([1], lambda x: x + random())": "random",
    "SELECT site_id FROM sites ORDER BY uuid() LIMIT 1": "uuid",
    "SELECT sum(random()) OVER ()": "random",
    "SELECT count(*) FILTER (random() > 0.5) FROM sites": "random",
    "SELECT site_id FROM sites TABLESAMPLE 10%": "a sample",
    "SELECT site_id FROM sites USING SAMPLE 1": "a sample",
    "SELECT current_setting('temp_directory')": "current_setting",
    "SELECT current_query()": "current_query",
    "SELECT current_database()": "current_database",
    "SELECT txid_current()": "txid_current",
    "SELECT sleep_ms(1)": "sleep_ms",
}
BEYOND = {
    "SELECT * FROM query('SELECT n' || 'ow()')": "query",
    "SELECT * FROM query_table('si' || 'tes')": "query_table",
    "FROM json_execute_serialized_sql(json_serialize_sql('SELECT now()'))": "json_execute_serialized_sql",
    "SELECT string_agg(path, ',') FROM duckdb_databases()": "duckdb_databases",
    "SELECT comment FROM duckdb_tables": "duckdb_tables",
    "SELECT file FROM pragma_database_list": "pragma_database_list",
    "SELECT name FROM pragma_table_info('sites')": "pragma_table_info",
    "SELECT utc_offset FROM pg_timezone_names()": "pg_timezone_names",
    "SELECT table_name FROM Information_Schema.tables": "tables",
    "SELECT sql FROM sqlite_master": "sqlite_master",
    "SELECT relname FROM pg_catalog.pg_class": "pg_class",
    "SELECT bin FROM histogram(sites, latitude)": "histogram",
}
STEADY = [
    "SELECT age(newest_read_at_utc, TIMESTAMP '2020-01-01')::VARCHAR FROM period",
    "SELECT strftime(first_date, '%Y') || date_trunc('month', first_date)::VARCHAR FROM period",
    "SELECT (newest_read_at_utc AT TIME ZONE 'Europe/Berlin' + INTERVAL 1 DAY)::VARCHAR FROM period",
    "SELECT max(i)::VARCHAR FROM range(3) AS r(i), generate_series(1, 2), unnest([1, 2])",
    "WITH today AS (SELECT 1 AS now, 2 AS random) SELECT now::VARCHAR FROM today",
    "SELECT string_agg(site_id, ';' ORDER BY site_id) FROM main.sites",
    "SELECT CASE WHEN count(*) > 1000 THEN error('many') ELSE 'few' END FROM sites",
]


@pytest.fixture(scope="module")
def engine(folder: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    """The engine as the sandbox has it, in this process."""
    with locked(str(folder / "store.duckdb")) as connection:
        yield connection


@pytest.mark.parametrize("query", UNSTEADY)
def test_what_another_run_would_answer_otherwise_is_refused(
    engine: duckdb.DuckDBPyConnection, query: str
) -> None:
    assert next(_faults(engine, query)) == ("unsteady", UNSTEADY[query])


@pytest.mark.parametrize("query", BEYOND)
def test_the_engine_is_not_asked_about_itself_nor_told_a_query_in_a_text(
    engine: duckdb.DuckDBPyConnection, query: str
) -> None:
    assert next(_faults(engine, query)) == ("PermissionException", BEYOND[query])


def test_sentences_name_what_is_refused(folder: Path) -> None:
    may = "the answer of age may change from run to run or with the machine; for a date, take newest_read_at"
    assert may in refusal(folder, rule_of("SELECT age(TIMESTAMP '2020-01-01')::VARCHAR"))
    beyond = "reaches beyond the store, and a rule may read nothing else (duckdb_databases)"
    assert beyond in refusal(folder, rule_of("SELECT path FROM duckdb_databases()"))


@pytest.mark.parametrize("query", STEADY)
def test_what_depends_on_the_store_alone_runs(engine: duckdb.DuckDBPyConnection, query: str) -> None:
    assert list(_faults(engine, query)) == []
    assert engine.execute(query).description  # no fault


def test_a_sum_of_many_terms_runs(folder: Path) -> None:  # each term is a level of the engine's tree
    row = asked(folder, rule_of(f"SELECT {' || '.join(['site_id'] * 400)} FROM sites"))[0]
    assert row[8] == "b" * 400


def test_an_instant_is_written_the_same_in_every_zone(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    query = (
        "SELECT (TIMESTAMP '2026-12-01 12:00:00'::TIMESTAMPTZ::VARCHAR || year('2026-12-01'::TIMESTAMPTZ))"
    )
    row = asked(folder, rule_of(query))[0]
    assert row[8] == "2026-12-01 12:00:00+002026"


def test_every_macro_of_the_store_may_be_called(engine: duckdb.DuckDBPyConnection) -> None:
    macros = "SELECT macro_definition FROM duckdb_functions() WHERE NOT internal"
    found = [text for (text,) in engine.execute(macros).fetchall()]
    assert len(found) > 20
    assert list(_faults(engine, f"SELECT {', '.join(found)}")) == []
