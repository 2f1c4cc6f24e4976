"""The year in parts by other processes: the same bytes, though one is killed; a sentence where none works."""

import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import distributed
import pytest
from distributed import Client, KilledWorker

from auditor import apart
from auditor.audit import audit
from auditor.errors import UserError
from auditor.model import Period, Settings
from auditor.store import Engine

from .conftest import Console, contents, run_audit, write_folder
from .memory_case import portfolio

HERE = (
    "tcp://127.0.0.1:9"  # the port of a service that throws all away (RFC 863): nobody hands out work there
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Five sites, of which two have wrong clocks: both passes of the year have work."""
    slow = {"controllers": {"clock_reading": "2026-11-20T11:40:00"}}
    return write_folder(tmp_path / "in", portfolio(11, s2=slow, s5=slow))


@contextmanager
def hit(
    monkeypatch: pytest.MonkeyPatch, workers: list[set[int]], how: signal.Signals
) -> Iterator[Callable[[int], None]]:
    """What a worker hears as the first part arrives. ``workers``: the processes before it and at the end."""
    client_of, clients = apart._client, list[Client]()

    @contextmanager
    def watched(cluster: str) -> Iterator[Client]:
        with client_of(cluster) as client:
            client.wait_for_workers(2, timeout=60)
            for address in (client.scheduler.address, *client.scheduler_info(n_workers=-1)["workers"]):
                assert address.startswith("tls://127.0.0.1:")  # nobody else can hand them work
            clients.append(client)
            yield client
            workers.append(processes(client))

    def kill(_: int) -> None:
        if not workers:
            workers.append(processes(clients[0]))
            os.kill(min(workers[0]), how)

    monkeypatch.setattr(apart, "_client", watched)
    yield kill


def processes(client: Client) -> set[int]:
    return set(client.run(os.getpid).values())


@pytest.mark.parametrize(
    ("how", "dies"), [(signal.SIGKILL, True), pytest.param(signal.SIGINT, False, marks=pytest.mark.nightly)]
)
def test_whatever_one_of_two_workers_hears_the_bytes_are_those_of_one_process(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, how: signal.Signals, dies: bool
) -> None:
    """Killed, its part is begun anew. Ctrl-C, which all processes of a terminal hear, is for the first."""
    monkeypatch.setattr(apart, "PART", 1)
    monkeypatch.setenv("TMPDIR", str(tmp_path / "tmp"))
    (tmp_path / "tmp").mkdir()
    seen: list[set[int]] = []
    with hit(monkeypatch, seen, how) as advance:
        engine, out = Engine(cluster="2"), tmp_path / "apart"
        audit(folder, out, None, 60, None, lambda stage, length: advance, pages=0, engine=engine)
    before, after = seen
    assert len(before) == 2 and (min(before) not in after) == dies  # a part or two were under way
    assert list((tmp_path / "tmp").iterdir()) == []  # what the killed one left went with this run's scratch
    run_audit(folder, tmp_path / "alone", days=60, pages=0)
    assert contents(out) == contents(tmp_path / "alone")


def test_parts_are_told_in_order_whoever_is_first(monkeypatch: pytest.MonkeyPatch) -> None:
    futures = [SimpleNamespace(key=place, release=lambda: None) for place in range(4)]
    given = iter(futures)
    client: Any = SimpleNamespace(submit=lambda *_, **__: next(given), loop=None)
    arriving = [(futures[place], bytes([place])) for place in (2, 0, 3, 1)]
    monkeypatch.setattr(distributed, "as_completed", lambda futures, **_: iter(arriving))
    parts: list[Any] = [None] * 4
    assert list(apart._worked_out(client, parts, ())) == [(place, bytes([place])) for place in range(4)]


def test_a_worker_that_would_do_it_otherwise_does_not(folder: Path) -> None:
    nothing: Any = None
    with pytest.raises(UserError, match="a worker has another version"):
        apart.work_out(nothing, Settings(), Period(nothing, 1), 600, True, "another way")


def test_a_part_that_ends_every_worker_is_told_in_a_sentence() -> None:
    lost: Any = SimpleNamespace(address="tls://127.0.0.1:1")
    with pytest.raises(UserError, match=r"ended 4 workers .*\(2 processes here\); give"), apart._told("2"):
        raise KilledWorker("part", lost, 3)


def test_where_nobody_works_a_sentence_says_so_and_nothing_is_left(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(apart, "_PATIENCE", "1s")
    with pytest.raises(UserError, match=f"--cluster {HERE}: nobody works there"):
        audit(folder, tmp_path / "out", None, 60, None, lambda *_: print, engine=Engine(cluster=HERE))
    assert not (tmp_path / "out").exists()


def test_an_address_that_needs_certificates_asks_for_them(folder: Path, tmp_path: Path) -> None:
    """Where Dask's settings name none its client gave up with a trace of eighty lines."""
    with pytest.raises(UserError, match="Dask's settings name no certificates"):
        audit(
            folder,
            tmp_path / "out",
            None,
            60,
            None,
            lambda *_: print,
            engine=Engine(cluster="tls" + HERE[3:]),
        )
    assert not (tmp_path / "out").exists()


def test_without_dask_a_sentence_says_what_to_install(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UserError, match="install auditor with its extra named cluster"), apart._client("2"):
        pass


@pytest.mark.parametrize("word", ["0", "two", "127.0.0.1:8786", "-1", "http://a:1"])
def test_a_cluster_is_a_number_or_an_address(
    word: str, console: Callable[..., Console], folder: Path, tmp_path: Path
) -> None:
    status, _, said = console("run", folder, "--out", tmp_path / "out", f"--cluster={word}")
    assert status == 2 and "tls://HOST:PORT" in said
