"""What a plan needs, out of a store that an audit kept. The store is opened read-only."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import duckdb

from auditor.errors import UserError
from auditor.report.rows import Groups, Row, by, rows_of
from auditor.resources import query
from auditor.store import Connection, run_script


@dataclass(frozen=True)
class Work:
    """Sites with work for a crew in order of rank, their findings worst first, and what is for the desk."""

    settings: Row
    portfolio: Row
    sites: list[Row]
    findings: Groups
    desk: list[Row]


@contextmanager
def kept_store(path: Path) -> Iterator[Connection]:
    """The store at ``path``, with the tables of this plan beside it, which go when it is closed.

    Raises UserError where there is no such store, or none that this version kept.
    """
    if not path.is_file():
        raise UserError(f"{path} is not there; keep it with auditor run PORTFOLIO --out DIR --store {path}.")
    try:
        connection = duckdb.connect(str(path), read_only=True)
    except duckdb.Error as error:
        why = "is in use, or not a store of this program; close it there, or name another file"
        raise UserError(f"{path} {why}.") from error
    with connection:
        try:
            run_script(connection, query("visits/00_work.sql"))
        except duckdb.Error as error:
            why = "is not a store that this version of the program kept; audit again with --store"
            raise UserError(f"{path} {why} {path}.") from error
        yield connection


def read_work(connection: Connection) -> Work:
    """Everything that is planned from."""
    (settings,) = rows_of(connection, "FROM visit_settings")
    (portfolio,) = rows_of(connection, "FROM portfolio")
    return Work(
        settings,
        portfolio,
        rows_of(connection, query("visits/sites.sql")),
        by(rows_of(connection, query("visits/work.sql")), "site_id"),
        rows_of(connection, query("visits/desk.sql")),
    )
