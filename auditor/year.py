"""Runs the year: ``queries/year`` in batches of sites, so that memory does not grow with the fleet."""

import os
from collections import deque
from collections.abc import Callable, Generator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing

from auditor.resources import query, resource
from auditor.store import Connection, run_script

BATCH = 200  # sites; larger batches are no faster and take more memory
_PUBLISH = "70_publish.sql"  # the one file that writes to the store's own tables
_FIGURES = "60_figures.sql"  # needs what circuits do, and tells nothing new of it

Job = Callable[[Connection, int, int], Connection]


def run_year(connection: Connection, advance: Callable[[int], None]) -> None:
    """Fills the store's tables of the year. ``advance`` is told how many sites were done, batch by batch."""
    run_script(connection, query("prepare.sql"))
    (count,) = connection.execute("SELECT count(*) FROM site_numbers").fetchone() or (0,)
    _run(connection, count, compute, query(f"year/{_PUBLISH}"), advance)


def sites_with_wrong_clocks(connection: Connection) -> int:
    """How many sites ``run_right_clocks`` has to look at."""
    (count,) = connection.execute("SELECT count(DISTINCT site_id) FROM wrong_clocks").fetchone() or (0,)
    return int(count)


def run_right_clocks(connection: Connection, advance: Callable[[int], None]) -> None:
    """Fills ``right_clock_timeline``: the year once more, where a clock is wrong, as if it were right.

    Comes after ``run_year``. Nothing else in the store changes.
    """
    publish = query("right_clock/20_publish.sql")
    _run(connection, sites_with_wrong_clocks(connection), _compute_right, publish, advance)


def _run(connection: Connection, count: int, job: Job, publish: str, advance: Callable[[int], None]) -> None:
    """Much of a batch is too small for the engine to share among cores, so batches are computed side by side,
    each in a session with temporary tables of its own. They are published one by one and in order: the store
    must not depend on who was first.
    """
    with closing(_computed(connection, count, job)) as computed:  # where it breaks off, nobody works on
        for session, sites in computed:
            run_script(session, publish)
            session.close()
            advance(sites)


def _computed(connection: Connection, count: int, job: Job) -> Generator[tuple[Connection, int]]:
    """Sessions in which a batch is ready, in the order of the sites; few are under way at a time."""
    cores = os.cpu_count() or 1
    under_way: deque[tuple[Future[Connection], int]] = deque()
    with ThreadPoolExecutor(cores) as pool:
        for first in range(1, count + 1, BATCH):
            last = min(first + BATCH - 1, count)
            under_way.append((pool.submit(job, connection.cursor(), first, last), last - first + 1))
            if len(under_way) > cores:
                done, sites = under_way.popleft()
                yield done.result(), sites
        for done, sites in under_way:
            yield done.result(), sites


def compute(session: Connection, first: int, last: int) -> Connection:
    """The session, with the year of sites number ``first`` to ``last`` in its temporary tables ``b_…``."""
    return _compute(session, first, last, _PUBLISH)


def _compute_right(session: Connection, first: int, last: int) -> Connection:
    """The same with right clocks, up to what circuits do; sites are numbered among those of wrong clocks."""
    run_script(session, query("right_clock/10_devices.sql"))
    return _compute(session, first, last, _FIGURES)


def _compute(session: Connection, first: int, last: int, before: str) -> Connection:
    session.execute("CREATE TEMP TABLE batch (first_site_no INTEGER, last_site_no INTEGER)")
    session.execute("INSERT INTO batch VALUES (?, ?)", [first, last])
    for path in sorted(resource("queries/year").glob("*.sql")):
        if path.name < before:
            run_script(session, path.read_text(encoding="utf-8"))
    return session
