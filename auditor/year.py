"""Runs the year: ``queries/year`` in batches of sites, so that memory does not grow with the fleet."""

from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing
from dataclasses import dataclass
from itertools import groupby

from auditor.resources import query, resource
from auditor.store import Connection, Engine, run_script, session

BATCH = 100  # sites at most; larger batches are no faster and take more memory
_SMALLEST = 20  # sites; of smaller batches the planning of their queries takes longest
_SITE_MIB = 3  # memory that a batch takes a site, four circuits each, measured on a year
FEW = 5  # sites; so few are worked out again sooner than fetched from the run before
_PUBLISH = "70_publish.sql"  # the one file that writes to the store's own tables
_SITE = "50_site.sql"  # from here on it is told what circuits do

Job = Callable[[Connection, int, int], Connection]


@dataclass(frozen=True)
class _Part:
    """Sites by number, ``first`` to ``last``; ``known``: the run before worked out the same."""

    first: int
    last: int
    known: bool


@dataclass(frozen=True)
class Work:
    """What is done with each part: ``job`` where it is worked out, then the script that tells the store."""

    engine: Engine
    job: Job
    publish: str
    fetch: str

    @property
    def batch(self) -> int:
        """Sites at a time, so that what is under way fits into memory."""
        fitting = int(self.engine.memory_mib / self.engine.threads / _SITE_MIB)
        return min(BATCH, max(_SMALLEST, fitting))


def run_year(connection: Connection, advance: Callable[[int], None], engine: Engine | None = None) -> None:
    """Fills the store's tables of the year. ``advance`` is told how many sites were done, batch by batch.

    Of ``unchanged_sites`` it takes them from the store at hand as ``earlier``.
    """
    run_script(connection, query("prepare.sql"))
    work = Work(engine or Engine(), compute, query(f"year/{_PUBLISH}"), query("reuse/30_year.sql"))
    _run(connection, "SELECT site_id FROM site_numbers ORDER BY site_no", work, advance)


def choose_right_clocks(connection: Connection, pages: int | None = None) -> int:
    """At how many sites ``run_right_clocks`` has devices to look at: those of wrong clocks, at sites that
    have a page (None: at all). Comes after ``run_year``, with ``pages`` after the sites have ranks.
    """
    connection.execute(query("right_clock/05_choice.sql"), {"pages": pages})
    sql = "SELECT count(DISTINCT site_id) FROM right_clock_devices"
    (count,) = connection.execute(sql).fetchone() or (0,)
    return int(count)


def run_right_clocks(
    connection: Connection, advance: Callable[[int], None], engine: Engine | None = None
) -> None:
    """Fills ``right_clock_timeline``: the year of the chosen devices as if their clocks were right.

    Comes after ``choose_right_clocks``. Nothing else in the store changes.
    """
    publish, fetch = query("right_clock/20_publish.sql"), query("reuse/40_right_clock.sql")
    work = Work(engine or Engine(), _compute_right, publish, fetch)
    _run(connection, "SELECT DISTINCT site_id FROM right_clock_devices ORDER BY site_id", work, advance)


def _parts(connection: Connection, sites: str, batch: int) -> list[_Part]:
    """Stretches of the sites that a query names in order: those to be worked out in batches."""
    asked = f"SELECT site_id IN (FROM unchanged_sites) FROM ({sites})"
    flags = [known for (known,) in connection.execute(asked).fetchall()]
    runs = [(known, len(list(run))) for known, run in groupby(flags)]
    runs = [(known and number >= FEW, number) for known, number in runs]
    parts, first = [], 1
    for known, same in groupby(runs, key=lambda run: run[0]):
        last = first + sum(number for _, number in same) - 1
        step = last - first + 1 if known else batch
        parts += [_Part(at, min(at + step - 1, last), known) for at in range(first, last + 1, step)]
        first = last + 1
    return parts


def _run(connection: Connection, sites: str, work: Work, advance: Callable[[int], None]) -> None:
    """Much of a batch is too small for the engine to share among cores, so batches are computed side by side,
    each in a session with temporary tables of its own. They are published one by one and in order: the store
    must not depend on who was first.
    """
    parts = _parts(connection, sites, work.batch)
    with closing(_computed(connection, parts, work)) as computed:  # where it breaks off, nobody works on
        for session, part in computed:
            run_script(session, work.fetch if part.known else work.publish)
            session.close()
            advance(part.last - part.first + 1)


def _computed(
    connection: Connection, parts: Iterable[_Part], work: Work
) -> Generator[tuple[Connection, _Part]]:
    """Sessions in which a part is ready, in the order of the sites; few are under way at a time."""
    under_way: deque[tuple[Future[Connection], _Part]] = deque()
    with ThreadPoolExecutor(work.engine.threads) as pool:
        for part in parts:
            job = _begin if part.known else work.job
            under_way.append((pool.submit(job, session(connection), part.first, part.last), part))
            if len(under_way) > work.engine.threads:
                done, ready = under_way.popleft()
                yield done.result(), ready
        for done, ready in under_way:
            yield done.result(), ready


def compute(session: Connection, first: int, last: int) -> Connection:
    """The session, with the year of sites number ``first`` to ``last`` in its temporary tables ``b_…``."""
    return _compute(session, first, last, _PUBLISH)


def _compute_right(session: Connection, first: int, last: int) -> Connection:
    """The same with right clocks, up to what circuits do; sites are numbered among those of wrong clocks."""
    run_script(session, query("right_clock/10_devices.sql"))
    return _compute(session, first, last, _SITE)


def _compute(session: Connection, first: int, last: int, before: str) -> Connection:
    _begin(session, first, last)
    for path in sorted(resource("queries/year").glob("*.sql")):
        if path.name < before:
            run_script(session, path.read_text(encoding="utf-8"))
    return session


def _begin(session: Connection, first: int, last: int) -> Connection:
    """The session, told which sites are meant."""
    session.execute("CREATE TEMP TABLE batch (first_site_no INTEGER, last_site_no INTEGER)")
    session.execute("INSERT INTO batch VALUES (?, ?)", [first, last])
    return session
