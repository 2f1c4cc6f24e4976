"""The DuckDB store: what others read in it, what it remembers, and that a run that fails leaves it alone."""

import re
from datetime import date
from pathlib import Path

import duckdb
import polars as pl
import pytest

from auditor.errors import UserError
from auditor.resources import query
from auditor.store import Engine, comments, load, open_store, replacing_store

from .conftest import run_audit, small, write_folder

RESULT_TABLES = [
    "findings",
    "circuit_figures",
    "site_ranks",
    "not_evaluated",
    "rejected",
    "timeline",
    "period",
]


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_folder(tmp_path_factory.mktemp("source"), small())


@pytest.fixture(scope="module")
def store(source: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The store that an audit of the small portfolio keeps."""
    folder = tmp_path_factory.mktemp("kept")
    run_audit(source, folder / "out", folder / "audit.duckdb")
    return folder / "audit.duckdb"


def ask(store: Path, question: str) -> list[tuple[object, ...]]:
    """What any client gets that knows nothing of this program."""
    with duckdb.connect(str(store), read_only=True) as connection:
        return connection.execute(question).fetchall()


# What others read ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("table", small())
def test_the_input_tables_are_there_with_their_rows(store: Path, table: str) -> None:
    assert ask(store, f"SELECT count(*) FROM {table}") == [(len(small()[table]),)]


@pytest.mark.parametrize("table", RESULT_TABLES)
def test_the_result_tables_are_there_under_their_names(store: Path, table: str) -> None:
    ((count,),) = ask(store, f"SELECT count(*) FROM {table}")
    assert count == 0 if table == "rejected" else count > 0


def test_the_store_and_the_result_files_say_the_same(store: Path) -> None:
    written = pl.read_csv(store.parent / "out" / "findings.csv", infer_schema=False)
    assert sorted(written["finding_id"]) == sorted(
        row[0] for row in ask(store, "SELECT finding_id FROM findings")
    )
    timeline = pl.read_parquet(store.parent / "out" / "timeline.parquet")
    rows = ask(store, "SELECT circuit_id, start_utc, end_utc, level, conditional FROM timeline")
    assert sorted(rows) == sorted(timeline.rows())


def test_a_store_can_be_joined_in_plain_sql(store: Path) -> None:
    rows = ask(
        store,
        """
        SELECT circuits.circuit_id, area, on_minutes FROM circuit_figures
        JOIN circuits USING (circuit_id) JOIN sites USING (site_id) WHERE site_id = '02'
        """,
    )
    assert rows == [("021", "sign", 7 * 1440.0)]


def test_nothing_that_only_the_run_needed_is_left(store: Path) -> None:
    names = {str(row[0]) for row in ask(store, "SELECT table_name FROM duckdb_tables()")}
    schema = query("schema.sql") + query("schema_findings.sql") + query("memory/schema.sql")
    named = set(re.findall(r"CREATE TABLE (\w+)", schema))
    assert names <= named
    assert not names & {"batch", "sun_days"}
    assert [path.name for path in store.parent.iterdir() if path.name != "out"] == ["audit.duckdb"]


def test_every_measure_has_its_unit_in_its_comment(store: Path) -> None:
    rows = ask(store, "SELECT table_name, column_name, comment FROM duckdb_columns()")
    found = {(table, column): str(words) for table, column, words in rows}
    expected = {
        ("circuits", "connected_watts"): "watts",
        ("circuits", "mounting_height_m"): "metres",
        ("sites", "latitude"): "degrees north",
        ("sites", "rate_per_kwh"): "money a kWh",
        ("events", "time_s"): "seconds after 00:00",
        ("controllers", "read_at_utc"): "instant, UTC",
        ("circuit_figures", "on_minutes"): "minutes",
        ("circuit_figures", "avoidable_kwh"): "kWh",
        ("findings", "cost"): "money a year",
        ("findings", "kwh"): "kWh",
        ("site_ranks", "score"): "money-equivalents a year",
        ("timeline", "level"): "0 to 100",
    }
    assert {key: words for key, words in expected.items() if words not in found[key]} == {}


def test_no_number_or_instant_is_without_a_comment(store: Path) -> None:
    bare = ask(
        store,
        """
        SELECT table_name, column_name FROM duckdb_columns()
        WHERE comment IS NULL AND table_name IN (SELECT table_name FROM duckdb_tables())
            AND (data_type LIKE 'DOUBLE%' OR data_type LIKE 'TIMESTAMP%')
        """,
    )
    assert bare == []


# Comments --------------------------------------------------------------------------------------------------


def test_the_words_beside_a_column_become_its_comment() -> None:
    schema = """
-- A schema.
CREATE TYPE sort AS ENUM ('a');      -- no table
CREATE TABLE lamps (                 -- what hangs there
    lamp_id VARCHAR PRIMARY KEY,     -- its name
    "by" VARCHAR, spare_m DOUBLE,    -- who put it up
                                     -- and where
    power_watts DOUBLE, sort VARCHAR,
    PRIMARY KEY (lamp_id, sort)
);
CREATE TABLE poles (pole_no INTEGER, height_m DOUBLE);  -- they stand
CREATE VIEW tall AS
SELECT pole_no, height_m FROM poles;  -- no table
"""
    assert comments(schema) == {
        "TABLE lamps": "what hangs there",
        'COLUMN lamps."lamp_id"': "its name",
        'COLUMN lamps."by"': "who put it up and where",
        'COLUMN lamps."spare_m"': "metres, who put it up and where",
        'COLUMN lamps."power_watts"': "watts",
        "TABLE poles": "they stand",
        'COLUMN poles."height_m"': "metres",
    }


# From run to run -------------------------------------------------------------------------------------------


def first_seen(store: Path) -> dict[object, object]:
    rows = ask(store, "SELECT rule, subject_id, first_seen FROM findings")
    return {(rule, subject): seen for rule, subject, seen in rows}


def test_a_first_run_dates_its_findings_by_the_newest_reading(store: Path) -> None:
    seen = first_seen(store)
    assert ("left-in-hand", "021") in seen
    assert set(seen.values()) == {date(2026, 11, 5)}
    written = pl.read_csv(store.parent / "out" / "findings.csv", infer_schema=False)
    assert set(written["first_seen"]) == {"2026-11-05"}


def test_a_later_run_keeps_the_dates_and_gives_new_findings_its_own(store: Path, tmp_path: Path) -> None:
    kept = tmp_path / "audit.duckdb"
    kept.write_bytes(store.read_bytes())
    tables = small()
    tables["controllers"][0]["read_at"] = "2026-12-03T14:05:00Z"
    tables["circuits"][0]["hold"] = "off"
    run_audit(write_folder(tmp_path / "later", tables), tmp_path / "out", kept)
    seen = first_seen(kept)
    assert seen["left-in-hand", "021"] == date(2026, 11, 5)
    assert seen["left-in-hand", "011"] == date(2026, 12, 3)


# When it fails ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "content", [b"", b"not a store, but somebody's notes\n", b"\x00" * 5000], ids=["empty", "text", "zeros"]
)
def test_a_file_that_is_no_store_is_refused_and_left_as_it_was(
    source: Path, tmp_path: Path, content: bytes
) -> None:
    path = tmp_path / "notes.duckdb"
    path.write_bytes(content)
    with pytest.raises(UserError, match=r"notes\.duckdb is no store of this program; name another file"):
        run_audit(source, tmp_path / "out", path)
    assert path.read_bytes() == content


def test_a_store_of_something_else_is_refused(source: Path, tmp_path: Path) -> None:
    path = tmp_path / "other.duckdb"
    with duckdb.connect(str(path)) as connection:
        connection.execute("CREATE TABLE findings (page INTEGER)")
    with pytest.raises(UserError, match="is a database, but no store of this program; name another file"):
        run_audit(source, tmp_path / "out", path)


def test_a_store_of_a_newer_version_is_refused(source: Path, tmp_path: Path) -> None:
    path = tmp_path / "audit.duckdb"
    run_audit(source, tmp_path / "out", path)
    with duckdb.connect(str(path)) as connection:
        connection.execute("UPDATE store_format SET version = version + 1")
    with pytest.raises(UserError, match="was written by a newer version of this program"):
        run_audit(source, tmp_path / "out", path)


def test_a_run_that_fails_leaves_the_old_store_and_no_draft(tmp_path: Path) -> None:
    path = tmp_path / "audit.duckdb"
    path.write_bytes(b"the old store")
    with pytest.raises(RuntimeError), replacing_store(path) as draft:
        open_store(draft).close()
        draft.with_name(f"{draft.name}.wal").write_bytes(b"half a log")
        raise RuntimeError
    assert {entry.name: entry.read_bytes() for entry in tmp_path.iterdir()} == {
        "audit.duckdb": b"the old store"
    }


def test_a_run_that_is_refused_at_its_end_leaves_the_old_file(source: Path, tmp_path: Path) -> None:
    path = tmp_path / "notes.duckdb"
    path.write_bytes(b"notes")
    with pytest.raises(UserError):
        run_audit(source, tmp_path / "out", path)
    assert {entry.name for entry in tmp_path.iterdir()} <= {"notes.duckdb", "out"}
    assert path.read_bytes() == b"notes"


def test_a_new_store_takes_the_old_ones_place_with_nothing_of_it_left(tmp_path: Path) -> None:
    path = tmp_path / "audit.duckdb"
    path.write_bytes(b"old")
    path.with_name("audit.duckdb.wal").write_bytes(b"a log of the old one")
    left = path.with_name(".audit.duckdb.part")
    left.write_bytes(b"of an older program that was killed")
    with replacing_store(path) as draft:
        open_store(draft).close()
    left.mkdir()
    (left / "room").mkdir()
    (left / "room" / "audit.duckdb").write_bytes(b"of a run that was killed")
    with replacing_store(path) as draft:
        assert not draft.exists()
        open_store(draft).close()
    assert [entry.name for entry in tmp_path.iterdir()] == ["audit.duckdb"]
    assert ask(path, "SELECT count(*) FROM findings") == [(0,)]


def test_a_store_in_a_folder_that_is_not_there_is_refused_before_any_work(tmp_path: Path) -> None:
    refused = pytest.raises(UserError, match="gone is not a folder; make it")
    with refused, replacing_store(tmp_path / "gone" / "audit.duckdb"):
        pytest.fail("the work began")


def test_a_store_that_cannot_take_its_place_is_said(tmp_path: Path) -> None:
    refused = pytest.raises(UserError, match=r"audit\.duckdb cannot be written")
    with refused, replacing_store(tmp_path / "audit.duckdb") as draft:
        draft.write_bytes(b"new")
        (tmp_path / "audit.duckdb").mkdir()


def test_without_a_store_file_the_store_lives_among_the_temporary_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with replacing_store(None) as path:
        assert path.is_relative_to(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_link_to_a_store_stays_one(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    store, link = tmp_path / "far" / "audit.duckdb", tmp_path / "audit.duckdb"
    store.write_bytes(b"old")
    link.symlink_to(store)
    with replacing_store(link) as draft:
        draft.write_bytes(b"new")
    assert (link.is_symlink(), store.read_bytes()) == (True, b"new")


# Loading ---------------------------------------------------------------------------------------------------


def test_frames_are_loaded_by_column_name_and_strange_columns_stay_out() -> None:
    connection = open_store(Path(":memory:"))
    load(connection, "closures", pl.DataFrame({"calendar": ["x"], "strange": [1], "site_id": ["01"]}))
    load(connection, "closures", pl.DataFrame({"site_id": ["02"], "date": [date(2026, 12, 25)]}))
    rows = connection.execute("SELECT site_id, date, calendar FROM closures").fetchall()
    assert rows == [("01", None, "x"), ("02", date(2026, 12, 25), None)]


@pytest.mark.parametrize(("sites", "threads"), [(0, 3), (1000, 3), (10, 1)])
def test_the_engine_takes_what_it_may_of_the_machine(tmp_path: Path, sites: int, threads: int) -> None:
    """Of a few sites no statement is shared out among threads."""
    store = open_store(tmp_path / "store.duckdb", sites, Engine(threads=3, memory_mib=321))
    asked = "SELECT current_setting('threads'), current_setting('memory_limit')"
    assert store.execute(asked).fetchall() == [(threads, "321.0 MiB")]
