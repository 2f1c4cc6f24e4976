"""A user's query reads the store's copy and nothing else, and writes nothing: whatever it tries."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import duckdb
import pytest

from auditor.errors import UserError
from auditor.ownrules.asking import ask
from auditor.ownrules.sandbox import locked as locked_at
from auditor.rules import load_rules
from auditor.store import copy_store, open_store

RULE = next(rule for rule in load_rules() if rule.name == "left-in-hand")

# What a query may try. {secret} is a file that holds "hush", {folder} one that it could write to.
READS = {
    "read_csv": "SELECT column0 FROM read_csv('{secret}', header = false)",
    "a file as a table": "SELECT column0 FROM '{secret}'",
    "read_text": "SELECT content FROM read_text('{secret}')",
    "read_blob": "SELECT content::VARCHAR FROM read_blob('{secret}')",
    "read_json": "SELECT json::VARCHAR FROM read_json_objects('{secret}')",
    "read_parquet": "SELECT file_name FROM parquet_metadata('{folder}/some.parquet')",
    "another database": "SELECT words FROM read_duckdb('{folder}/other.duckdb', table_name = 'other')",
    "glob": "SELECT file FROM glob('{folder}/*')",
    "sniff_csv": "SELECT delimiter FROM sniff_csv('{secret}')",
    "the network": "SELECT content FROM read_text('http://127.0.0.1:9/x')",
    "a file by a query as text": "SELECT content FROM query('FROM read_text(''{secret}'')')",
    "a file by a table as text": "SELECT column0 FROM query_table('{secret}')",
    "a file by a query as JSON": "SELECT content FROM json_execute_serialized_sql("
    "json_serialize_sql('FROM read_text(''{secret}'')'))",
    "the environment": "SELECT getenv('HOME')",
    "secrets": "SELECT name FROM duckdb_secrets()",
    "extensions": "SELECT extension_name FROM duckdb_extensions()",
    "a Python variable": "SELECT words FROM hidden",
    "logging": "SELECT 'x' FROM enable_logging(storage = 'file', storage_path = '{folder}/log')",
    "profiling": "SELECT 'x' FROM enable_profiling(save_location = '{folder}/profile')",
    "writing inside a query": "WITH taken AS (DELETE FROM sites RETURNING site_id) SELECT site_id FROM taken",
}
STATEMENTS = {
    "COPY": "COPY sites TO '{folder}/new.csv'",
    "COPY of a query": "COPY (SELECT 1) TO '{folder}/new.parquet'",
    "ATTACH a file": "ATTACH '{folder}/other.duckdb'",
    "ATTACH a new file": "ATTACH '{folder}/new.duckdb'",
    "ATTACH memory": "ATTACH ':memory:' AS m",
    "INSTALL": "INSTALL httpfs",
    "LOAD": "LOAD httpfs",
    "EXPORT": "EXPORT DATABASE '{folder}/new'",
    "IMPORT": "IMPORT DATABASE '{folder}/new'",
    "SET": "SET memory_limit = '100GB'",
    "SET external access": "SET enable_external_access = true",
    "RESET": "RESET lock_configuration",
    "PRAGMA": "PRAGMA memory_limit = '100GB'",
    "PRAGMA profiling": "PRAGMA enable_profiling",
    "INSERT": "INSERT INTO sites (site_id) VALUES ('x')",
    "UPDATE": "UPDATE sites SET name = 'x'",
    "DELETE": "DELETE FROM verdicts",
    "INSERT within WITH": "WITH x AS (INSERT INTO sites (site_id) VALUES ('c') RETURNING *) SELECT * FROM x",
    "UPDATE within WITH": "WITH x AS (UPDATE sites SET name = 'x' RETURNING *) SELECT * FROM x",
    "DELETE within WITH": "WITH x AS (DELETE FROM sites RETURNING *) SELECT * FROM x",
    "DROP": "DROP TABLE sites",
    "CREATE": "CREATE TABLE new (x INTEGER)",
    "CREATE MACRO": "CREATE MACRO new() AS 1",
    "CREATE SECRET": "CREATE SECRET new (TYPE http, BEARER_TOKEN 'x')",
    "CALL": "CALL enable_logging()",
}
HARMLESS = {  # the engine would let them pass, but they are no query
    "CREATE TEMP": "CREATE TEMP TABLE new (x INTEGER)",
    "SET VARIABLE": "SET VARIABLE x = 1",
    "PREPARE": "PREPARE x AS SELECT 1",
    "EXPLAIN": "EXPLAIN SELECT 1",
    "BEGIN": "BEGIN",
    "DETACH": "DETACH store",
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store of two sites, a secret, and another database."""
    folder = tmp_path_factory.mktemp("locked")
    with open_store(folder / "store.duckdb") as connection:
        connection.execute("INSERT INTO sites (site_id) VALUES ('a'), ('b')")
        connection.execute(f"COPY (SELECT 1 AS x) TO '{folder}/some.parquet'")
    with duckdb.connect(str(folder / "other.duckdb")) as other:
        other.execute("CREATE TABLE other AS SELECT 'hush' AS words")
    (folder / "secret.csv").write_text("hush\n")
    return folder


@pytest.fixture
def unchanged(folder: Path) -> Callable[[], bool]:
    """Says whether the folder is as it was at the start of the test."""

    def state() -> dict[str, bytes]:
        return {path.name: path.read_bytes() for path in folder.iterdir()}

    before = state()
    return lambda: state() == before


def written(query: str, folder: Path) -> str:
    return query.format(secret=folder / "secret.csv", folder=folder)


def rule_of(query: str) -> str:
    """A rule's SELECT that says in its summary what the query reads."""
    return (
        "SELECT site_id, 'site' AS subject_kind, site_id AS subject_id, NULL AS severity, NULL AS minutes, "
        "NULL AS kwh, NULL AS first_date, NULL AS last_date, "
        f"(SELECT max(x) FROM ({query}) AS tried(x)) AS summary, "
        "NULL AS seen, 'x' AS remedy, NULL AS missing FROM sites ORDER BY site_id"
    )


def asked(folder: Path, sql: str, seconds: int = 30, most: int = 10) -> list[list[object]]:
    return ask(folder / "store.duckdb", replace(RULE, sql=sql, path=Path("mine.sql")), {}, seconds, most)


def refusal(folder: Path, sql: str, seconds: int = 30) -> str:
    with pytest.raises(UserError) as refused:
        asked(folder, sql, seconds)
    sentence = str(refused.value)
    assert sentence.startswith("mine.sql: ") and sentence.endswith(".") and "\n" not in sentence
    assert "hush" not in sentence
    return sentence


def locked(folder: Path) -> duckdb.DuckDBPyConnection:
    return locked_at(str(folder / "store.duckdb"))


# What it may do ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "query",
    [
        "SELECT site_id FROM sites",
        "SELECT day_words(TIMESTAMP '2026-12-01')",
        "SELECT subject_id FROM relied_on",
        "SELECT max(t) FROM (SELECT 'x' AS t UNION ALL SELECT 'y');",
    ],
)
def test_it_may_read_tables_views_and_macros_of_the_store(folder: Path, query: str) -> None:
    assert [row[0] for row in asked(folder, rule_of(query.rstrip(";")))] == ["a", "b"]


def test_values_arrive_as_plain_ones(folder: Path) -> None:
    sql = rule_of("SELECT 'x'").replace("NULL AS minutes", "1.5::DECIMAL(9, 2) AS minutes")
    row = asked(folder, sql.replace("NULL AS first_date", "DATE '2026-12-01' AS first_date"))[0]
    assert row[:9] == ["a", "site", "a", None, 1.5, None, "2026-12-01", None, "x"]


def test_no_more_rows_come_back_than_there_can_be_subjects_and_one(folder: Path) -> None:
    endless = "sites, (WITH RECURSIVE r(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM r) SELECT i FROM r)"
    sql = rule_of("SELECT 'x'").replace("FROM sites ORDER BY site_id", f"FROM {endless}")
    assert len(asked(folder, sql, most=10)) == 11


# What it may not --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("attempt", READS)
def test_what_lies_beyond_the_store_is_not_read(
    folder: Path, unchanged: Callable[[], bool], attempt: str
) -> None:
    hidden = duckdb.sql("SELECT 'hush' AS words")  # a name that a query in this process would find
    assert hidden
    query = written(READS[attempt], folder)
    refusal(folder, rule_of(query) if "WITH" not in query else query)
    with locked(folder) as connection, pytest.raises(duckdb.Error):
        connection.execute(query).fetchall()
    assert unchanged()


@pytest.mark.parametrize("attempt", STATEMENTS)
def test_a_statement_is_no_query_and_would_be_stopped_by_the_engine_too(
    folder: Path, unchanged: Callable[[], bool], attempt: str
) -> None:
    statement = written(STATEMENTS[attempt], folder)
    assert "one SELECT and nothing else" in refusal(folder, statement)
    with locked(folder) as connection, pytest.raises(duckdb.Error):
        connection.execute(statement)
    assert unchanged()


@pytest.mark.parametrize("attempt", HARMLESS)
def test_whatever_else_is_no_query_is_refused(folder: Path, attempt: str) -> None:
    assert "one SELECT and nothing else" in refusal(folder, HARMLESS[attempt])


@pytest.mark.parametrize("more", ["SELECT 1", "DROP TABLE sites", "COPY sites TO '{folder}/new.csv'"])
def test_a_second_statement_is_refused(folder: Path, unchanged: Callable[[], bool], more: str) -> None:
    both = f"{rule_of('SELECT 1')}; {written(more, folder)}"
    assert "one SELECT and nothing else" in refusal(folder, both)
    assert unchanged()


def test_a_sentence_says_that_a_rule_may_read_nothing_but_the_store(folder: Path) -> None:
    sentence = refusal(folder, rule_of(written(READS["read_text"], folder)))
    assert "reaches beyond the store, and a rule may read nothing else" in sentence


@pytest.mark.parametrize(
    ("sql", "words"),
    [
        ("SELEC 1", "does not run (Parser Error"),
        ("SELECT * FROM site", "does not run (Catalog Error: Table with name site does not exist!"),
        ("SELECT $minutes", "does not run (Invalid Input Error: Values were not provided"),
        ("SELECT error('mine\nown')", "does not run (Invalid Input Error: mine)"),
        ("SELECT error(repeat('long ', 1000))", "…); mend it"),
        ("", "one SELECT and nothing else"),
        ("SELECT 1 AS site_id", "must return site_id, subject_kind, subject_id, severity, minutes"),
        ("DESCRIBE sites", "one SELECT and nothing else"),
    ],
)
def test_a_query_that_does_not_run_says_why_in_one_sentence(folder: Path, sql: str, words: str) -> None:
    assert words in refusal(folder, sql)


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("minutes", "'x'", "minutes must be a number, and its query gives VARCHAR"),
        ("minutes", "true", "gives BOOLEAN"),
        ("minutes", "[1.5]", "gives DECIMAL(2,1)[]"),
        ("kwh", "INTERVAL 1 DAY", "gives INTERVAL"),
        ("first_date", "'2026-12-01'", "first_date must be a date, and its query gives VARCHAR"),
        ("last_date", "TIMESTAMP '2026-12-01'", "gives TIMESTAMP"),
        ("last_date", "TIMESTAMPTZ '2026-12-01'", "gives TIMESTAMP WITH TIME ZONE"),
        ("severity", "1", "severity must be a text"),
        ("seen", "DATE '2026-12-01'", "seen must be a text, and its query gives DATE"),
        ("missing", "'\\x00'::BLOB", "gives BLOB"),
    ],
)
def test_a_column_of_the_wrong_type_is_named(folder: Path, column: str, value: str, words: str) -> None:
    assert words in refusal(
        folder, rule_of("SELECT 'x'").replace(f"NULL AS {column}", f"{value} AS {column}")
    )


def test_the_engine_is_told_what_it_may_take_and_that_it_only_reads(folder: Path) -> None:
    told = (
        "SELECT current_setting('memory_limit'), current_setting('threads'), current_setting('access_mode')"
    )
    with locked(folder) as connection:
        # README, "Security": 1 GB (of 10^9 bytes, in MiB), one core
        assert connection.execute(told).fetchall() == [("953.6 MiB", 1, "read_only")]


def test_others_may_read_the_copy_meanwhile(folder: Path) -> None:
    with locked(folder):  # which a process that may write would have to itself
        assert asked(folder, rule_of("SELECT 'x'"))


# The copy ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["audit.duckdb", "it's.duckdb", 'a "b".duckdb', ".hidden.part"])
def test_a_store_of_any_name_is_copied_whole_and_tidied(tmp_path: Path, name: str) -> None:
    with open_store(tmp_path / name) as connection:
        connection.execute("INSERT INTO sites (site_id) VALUES ('a')")
        copy_store(connection, tmp_path / "the copy's.duckdb")
        tables = "SELECT table_name FROM duckdb_tables() WHERE NOT temporary"
        own = {row[0] for row in connection.execute(tables).fetchall()}
    with duckdb.connect(str(tmp_path / "the copy's.duckdb"), read_only=True) as copy:
        assert copy.execute("SELECT site_id FROM sites").fetchall() == [("a",)]
        assert {row[0] for row in copy.execute(tables).fetchall()} == own - {"sun_days", "unchanged_sites"}
