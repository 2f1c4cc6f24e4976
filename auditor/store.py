"""The DuckDB store: opening it, its tables, and loading frames into them."""

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import duckdb
import polars as pl

from auditor.errors import UserError
from auditor.resources import query

Connection = duckdb.DuckDBPyConnection


def open_store(path: Path) -> Connection:
    """A new store with empty tables. The engine's own time zones are never used; every instant is UTC."""
    connection = duckdb.connect(str(path))
    connection.execute("SET preserve_insertion_order = true")
    run_script(connection, query("schema.sql"))
    run_script(connection, query("macros.sql"))
    return connection


def run_script(connection: Connection, sql: str) -> None:
    """Runs every statement of a SQL text."""
    for statement in connection.extract_statements(sql):
        connection.execute(statement)


def load(connection: Connection, table: str, frame: pl.DataFrame) -> None:
    """Adds the frame's rows, columns matched by name; columns that the table lacks are left out.

    By way of a Parquet file, because the engine reads frames directly only through a further large library.
    """
    known = {row[0] for row in connection.execute(f"DESCRIBE {table}").fetchall()}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rows.parquet"
        frame.select(name for name in frame.columns if name in known).write_parquet(path)
        connection.execute(f"INSERT INTO {table} BY NAME SELECT * FROM read_parquet($path)", {"path": str(path)})


@contextmanager
def replacing_store(store_file: Path | None, scratch: Path) -> Iterator[Path]:
    """A path for a new store, which takes the place of ``store_file`` when all went well (None: it goes)."""
    if store_file is None:
        yield scratch / "audit.duckdb"
        return
    draft = store_file.with_name(f".{store_file.name}.part")
    draft.unlink(missing_ok=True)
    try:
        yield draft
        draft.replace(store_file)
    except OSError as error:
        raise UserError(f"{store_file} cannot be written ({error.strerror}); check the folder.") from error
    finally:
        draft.unlink(missing_ok=True)
        draft.with_name(f"{draft.name}.wal").unlink(missing_ok=True)


def seen_before(store_file: Path) -> pl.DataFrame:
    """finding_id and first_seen of the findings of an earlier run; no rows where there was none."""
    rows: list[tuple[str, date]] = []
    if store_file.exists():
        try:
            with duckdb.connect(str(store_file), read_only=True) as earlier:
                rows = earlier.execute("SELECT finding_id, first_seen FROM findings").fetchall()
        except duckdb.Error as error:
            raise UserError(f"{store_file} is not a store of this program; name another file.") from error
    return pl.DataFrame(rows, schema={"finding_id": pl.String, "first_seen": pl.Date}, orient="row")
