"""What a store remembers: every run as a dated snapshot, and what changed since the run before."""

from pathlib import Path

import duckdb

from auditor.errors import UserError
from auditor.resources import query
from auditor.store import Connection, run_script
from auditor.wording import date_text

FORMAT = (
    3  # of queries/memory/schema.sql; 1: stores of before they remembered; 2: without what findings rest on
)


def remember(connection: Connection, store_file: Path) -> None:
    """Fills the tables of queries/memory/schema.sql; ``store_file`` is the store that this run replaces.

    Raises UserError where that file is no store of this program, or one of a newer version.
    """
    connection.execute("CREATE TEMP VIEW this_run AS SELECT newest_read_at_utc::DATE AS run_date FROM period")
    if store_file.exists():
        _carry(connection, store_file)
    for step in ("17_grounds", "20_changes", "30_keep"):
        run_script(connection, query(f"memory/{step}.sql"))
    connection.execute("INSERT INTO store_format VALUES (?)", [FORMAT])


def _carry(connection: Connection, store_file: Path) -> None:
    try:
        _attach(connection, store_file)
        remembers = _format(connection, store_file) > 1
        run_script(connection, query("memory/10_carry.sql" if remembers else "memory/15_carry_plain.sql"))
        connection.execute("DETACH earlier")
        _in_order(connection, store_file)
    except duckdb.Error as error:
        why = "is in use, or not a store of this program; close it there, or name another file"
        raise UserError(f"{store_file} {why}.") from error


def _attach(connection: Connection, store_file: Path) -> None:
    path = str(store_file).replace("'", "''")
    connection.execute(f"ATTACH '{path}' AS earlier (READ_ONLY)")


def _format(connection: Connection, store_file: Path) -> int:
    """The layout of the store attached as ``earlier``."""
    tables = "SELECT table_name FROM duckdb_tables() WHERE database_name = 'earlier'"
    if ("store_format",) not in connection.execute(tables).fetchall():
        return 1
    ((version,),) = connection.execute("SELECT version FROM earlier.store_format").fetchall()
    if version > FORMAT:
        raise UserError(f"{store_file} was written by a newer version of this program; install that one.")
    return int(version)


def _in_order(connection: Connection, store_file: Path) -> None:
    """A later run was told what came before it; an earlier one can no longer slip in between."""
    later = connection.execute(
        "SELECT max(runs.run_date), any_value(this_run.run_date) FROM runs JOIN this_run "
        "ON runs.run_date > this_run.run_date"
    ).fetchone()
    if later and later[0]:
        raise UserError(
            f"{store_file} holds a run of {date_text(later[0])}, and the newest reading here is of "
            f"{date_text(later[1])}; name another file for older exports, or check read_at."
        )
