"""Runs the year: ``queries/year`` in batches of sites, so that memory does not grow with the fleet."""

import os
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor

from auditor.resources import query, resource
from auditor.store import Connection, run_script

BATCH = 200  # sites; larger batches are no faster and take more memory
_PUBLISH = "70_publish.sql"  # the one file that writes to the store's own tables


def run_year(connection: Connection, advance: Callable[[int], None]) -> None:
    """Fills the store's tables of the year. ``advance`` is told how many sites were done, batch by batch.

    Much of a batch is too small for the engine to share among cores, so batches are computed side by side,
    each in a session with temporary tables of its own. They are published one by one and in order: the store
    must not depend on who was first.
    """
    run_script(connection, query("prepare.sql"))
    (count,) = connection.execute("SELECT count(*) FROM site_numbers").fetchone() or (0,)
    publish = query(f"year/{_PUBLISH}")
    for session, sites in _computed(connection, count):
        run_script(session, publish)
        session.close()
        advance(sites)


def _computed(connection: Connection, count: int) -> Iterator[tuple[Connection, int]]:
    """Sessions in which a batch is ready, in the order of the sites; few are under way at a time."""
    cores = os.cpu_count() or 1
    under_way: deque[tuple[Future[Connection], int]] = deque()
    with ThreadPoolExecutor(cores) as pool:
        for first in range(1, count + 1, BATCH):
            last = min(first + BATCH - 1, count)
            under_way.append((pool.submit(compute, connection.cursor(), first, last), last - first + 1))
            if len(under_way) > cores:
                job, sites = under_way.popleft()
                yield job.result(), sites
        for job, sites in under_way:
            yield job.result(), sites


def compute(session: Connection, first: int, last: int) -> Connection:
    """The session, with the year of sites number ``first`` to ``last`` in its temporary tables ``b_…``."""
    session.execute("CREATE TEMP TABLE batch (first_site_no INTEGER, last_site_no INTEGER)")
    session.execute("INSERT INTO batch VALUES (?, ?)", [first, last])
    for path in sorted(resource("queries/year").glob("*.sql")):
        if path.name != _PUBLISH:
            run_script(session, path.read_text(encoding="utf-8"))
    return session
