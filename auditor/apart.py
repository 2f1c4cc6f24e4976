"""The year in parts, each worked out by another process or machine; this one gathers what they found.

Sites are independent of each other up to the rules, so that some of them are a portfolio of their own. Who
hands the parts to workers is Dask; this is its only import.
"""

import logging
import signal
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from auditor.errors import UserError
from auditor.kept import attach
from auditor.loading import fill
from auditor.model import Period, Portfolio, Settings
from auditor.resources import query
from auditor.reuse import method
from auditor.store import Connection, Engine, open_store, run_script
from auditor.wording import counted
from auditor.workplace import scratch_room
from auditor.year import choose_right_clocks, run_right_clocks, run_year

if TYPE_CHECKING:
    from distributed import Client

PART = 500  # sites; of fewer the handing out takes longest, of more a lost worker loses much
_LOST = 3  # workers that may die over a part
_PATIENCE = "20s"  # for a scheduler to answer
_QUIET = {  # nothing is served, sampled or timed out that this does not need
    "distributed.scheduler.http.routes": [],
    "distributed.worker.http.routes": [],
    "distributed.worker.profile.enabled": False,
    "distributed.diagnostics.nvml": False,
    "distributed.deploy.lost-worker-timeout": "1 day",  # else one that is lost twice in 15 s is given up
    "distributed.scheduler.worker-ttl": None,  # laptops sleep: a worker is lost when its connection closes
    "distributed.scheduler.no-workers-timeout": "2 minutes",
    "distributed.scheduler.allowed-failures": _LOST,
}
_BY_SITE = ("sites", "controllers", "hours")
_BY_DEVICE = ("circuits", "sensors", "events")


def run_year_apart(
    connection: Connection,
    portfolio: Portfolio,
    settings: Settings,
    period: Period,
    engine: Engine,
    advance: Callable[[int], None],
    right_clocks: bool,
) -> None:
    """Fills the store's tables of the year from parts in the order of sites; ``right_clocks``: theirs, too.

    ``engine.cluster`` says who works them out; ``advance`` is told how many sites were done.
    Raises UserError where nobody does.
    """
    run_script(connection, query("prepare.sql"))
    parts = list(_parts(portfolio))
    how = settings, period, engine.memory_mib, right_clocks, method()
    with tempfile.TemporaryDirectory() as room, _client(engine.cluster) as client, _told(engine.cluster):
        for number, found in _worked_out(client, parts, how):
            _gather(connection, Path(room, f"{number}.duckdb"), found)
            advance(parts[number].tables["sites"].height)


def work_out(
    portfolio: Portfolio, settings: Settings, period: Period, memory_mib: int, right_clocks: bool, how: str
) -> bytes:
    """A store with the year of a portfolio. Runs on a worker, which must do it just as the one that asks."""
    if how != method():
        raise UserError("a worker has another version of this program or of its libraries; install the same.")
    engine = Engine(threads=1, memory_mib=memory_mib)
    with scratch_room() as room:
        path = room / "part.duckdb"
        with open_store(path, engine=engine) as connection:
            fill(connection, portfolio, settings, period)
            run_year(connection, lambda _: None, engine)
            if right_clocks and choose_right_clocks(connection):
                run_right_clocks(connection, lambda _: None, engine)
            run_script(connection, query("tidy.sql"))
        return path.read_bytes()


def of_sites(portfolio: Portfolio, site_ids: list[str]) -> Portfolio:
    """What a portfolio says of some of its sites, and of all of them."""
    own = dict(portfolio.tables)
    for table in _BY_SITE:
        own[table] = own[table].filter(pl.col("site_id").is_in(site_ids))
    devices = own["controllers"]["controller_id"].to_list()
    for table in _BY_DEVICE:
        own[table] = own[table].filter(pl.col("controller_id").is_in(devices))
    own["closures"] = own["closures"].filter(pl.col("site_id").is_in([*site_ids, "*"]))
    nothing = {table: own[table].clear() for table in ("waivers", "actions")}
    return Portfolio(own | nothing, [], [], [])


def _parts(portfolio: Portfolio) -> Iterator[Portfolio]:
    """Portfolios of some sites each, in the order in which the year tells of sites."""
    sites = portfolio.tables["sites"]["site_id"].sort()
    for first in range(0, len(sites), PART):
        yield of_sites(portfolio, sites[first : first + PART].to_list())


def _worked_out(
    client: "Client", parts: list[Portfolio], more: tuple[Any, ...]
) -> Iterator[tuple[int, bytes]]:
    """The number of each part and its store, in order. What has arrived is let go on the workers: one that
    dies later costs nothing of it.
    """
    from distributed import as_completed

    futures = [client.submit(work_out, part, *more, pure=False) for part in parts]
    number = {future.key: place for place, future in enumerate(futures)}
    arriving, ready = as_completed(futures, loop=client.loop, with_results=True), dict[int, bytes]()
    del futures
    following = 0
    for future, found in arriving:
        ready[number[future.key]] = found
        future.release()
        while following in ready:
            yield following, ready.pop(following)
            following += 1


def _gather(connection: Connection, path: Path, found: bytes) -> None:
    path.write_bytes(found)
    attach(connection, path)
    run_script(connection, query("reuse/50_part.sql"))
    connection.execute("DETACH earlier")
    path.unlink()


@contextmanager
def _client(cluster: str) -> Iterator["Client"]:
    """Who hands parts out: a scheduler at an address, or one with so many processes here, until it ends."""
    try:
        import dask
        from distributed import Client, LocalCluster, Security
    except ImportError as error:
        raise UserError("--cluster needs Dask; install auditor with its extra named cluster.") from error
    logging.getLogger("distributed").setLevel(logging.CRITICAL)  # what goes wrong is said in our own words
    with ExitStack() as stack:
        stack.enter_context(dask.config.set(_QUIET))
        if cluster.startswith("tls:") and not Security().get_connection_args("client").get("ssl_context"):
            lacking = "Dask's settings name no certificates (distributed.comm.tls)"
            raise UserError(f"--cluster {cluster}: {lacking}; name them, or use an address that needs none.")
        where: Any = cluster
        if cluster.isdigit():
            where = stack.enter_context(LocalCluster(n_workers=int(cluster), **_here(stack)))
        with _told(cluster):
            client = stack.enter_context(Client(where, timeout=_PATIENCE, set_as_default=False))
            client.wait_for_workers(1, timeout=_PATIENCE)
        yield client


def _here(stack: ExitStack) -> dict[str, Any]:
    """A cluster on this machine that nobody else can talk to: bound to it, with keys of its own."""
    return {
        "threads_per_worker": 1,
        "processes": True,
        "host": "tls://127.0.0.1",
        "security": True,
        "dashboard_address": None,
        "memory_limit": 0,
        "local_directory": (folder := stack.enter_context(tempfile.TemporaryDirectory())),
        "env": {"TMPDIR": folder},  # what a killed run leaves lies in its scratch folder, and goes with it
        "preload": __name__,
        "silence_logs": "CRITICAL",
    }


def dask_setup(_: object) -> None:
    """What a worker does first: Ctrl-C, which every process of a terminal hears, is for the first alone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _told(cluster: str) -> Iterator[None]:
    """What became of workers, in words."""
    from distributed import KilledWorker
    from distributed.scheduler import NoWorkerError

    who = f"{counted(int(cluster), 'process', 'processes')} here" if cluster.isdigit() else cluster
    try:
        yield
    except KilledWorker as error:
        lost = f"a part of the sites ended {_LOST + 1} workers one after the other"
        raise UserError(f"{lost} ({who}); give each more memory, or leave --cluster out.") from error
    except (NoWorkerError, OSError, TimeoutError, ValueError) as error:
        raise UserError(f"--cluster {cluster}: nobody works there ({error}); start workers first.") from error
