"""Runs the year: ``queries/year`` in batches of sites, so that memory does not grow with the fleet."""

from collections.abc import Callable

from auditor.resources import query, resource
from auditor.store import Connection, run_script

BATCH = 250  # sites; larger batches are no faster and take more memory


def run_year(connection: Connection, advance: Callable[[int], None]) -> None:
    """Fills the store's tables of the year. ``advance`` is told how many sites were done, batch by batch."""
    run_script(connection, query("prepare.sql"))
    (count,) = connection.execute("SELECT count(*) FROM site_numbers").fetchone() or (0,)
    scripts = [path.read_text(encoding="utf-8") for path in sorted(resource("queries/year").glob("*.sql"))]
    for first in range(1, count + 1, BATCH):
        connection.execute("DELETE FROM batch")
        connection.execute("INSERT INTO batch VALUES (?, ?)", [first, first + BATCH - 1])
        for script in scripts:
            run_script(connection, script)
        advance(min(BATCH, count - first + 1))
