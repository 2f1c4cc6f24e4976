"""What a plan needs, out of a store that an audit kept. The store is opened read-only."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from auditor.kept import FORMAT, kept_store
from auditor.report.findings import label
from auditor.report.rows import Groups, Row, by, by_key, rows_of
from auditor.resources import query
from auditor.store import Connection, run_script


@dataclass(frozen=True)
class Work:
    """Sites with work for a crew in order of rank, and findings worst first.

    ``findings`` are for a crew, by site_id; ``desk`` are for a desk; ``aside`` are nobody's, for they were
    declined, or done since the export was read.
    """

    settings: Row
    portfolio: Row
    sites: list[Row]
    findings: Groups
    desk: list[Row]
    aside: list[Row]


@contextmanager
def work_store(path: Path, out: Path | None = None) -> Iterator[Connection]:
    """The store at ``path``, with the tables of this plan beside it, which go when it is closed.

    The plan may be written into the folder ``out``.
    Raises UserError where there is no such store, or none that this version kept.
    """
    with kept_store(path, FORMAT, out) as connection:
        run_script(connection, query("visits/00_work.sql"))
        yield connection


def read_work(connection: Connection) -> Work:
    """Everything that is planned from."""
    (settings,) = rows_of(connection, "FROM visit_settings")
    (portfolio,) = rows_of(connection, "FROM portfolio")
    rows = [row | {"label": label(row)} for row in rows_of(connection, query("visits/work.sql"))]
    work = by_key(rows, lambda row: "aside" if row["aside"] else row["fix"])
    return Work(
        settings,
        portfolio,
        rows_of(connection, query("visits/sites.sql")),
        by(work.get("on-site", []), "site_id"),
        work.get("remote", []),
        work.get("aside", []),
    )
