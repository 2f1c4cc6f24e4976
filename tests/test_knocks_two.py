"""Two commands at one place at once: the second says who is there, and the first goes on undisturbed.

The first is halted (SIGSTOP) in the middle of its work, so that nothing hangs on who is quicker.
"""

import os
import signal
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from auditor.results import replacing_in
from auditor.store import replacing_store

from .conftest import Console, run_audit, small, write_folder
from .knocks_case import Hit, drafts, dump, end, results, start

KEY = "0123456789ab"
Halt = Callable[..., "subprocess.Popen[str]"]


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_folder(tmp_path_factory.mktemp("two") / "portfolio", small())


@pytest.fixture
def halted() -> Iterator[Halt]:
    """A command that stands still where it is told to."""
    begun = []

    def halt(words: list[object], scratch: Path, number: int, event: str) -> "subprocess.Popen[str]":
        process = start(words, scratch, Hit(number, event, signal.SIGSTOP))
        begun.append(process)
        os.waitpid(process.pid, os.WUNTRACED)
        return process

    yield halt
    for process in begun:
        process.kill()


def go_on(process: "subprocess.Popen[str]") -> tuple[int, str]:
    process.send_signal(signal.SIGCONT)
    return end(process)


@pytest.mark.nightly
def test_a_second_run_on_a_store_is_refused_and_the_first_comes_to_its_end(
    source: Path,
    tmp_path: Path,
    console: Callable[..., Console],
    halted: Halt,
) -> None:
    store = tmp_path / "audit.duckdb"
    run_audit(source, tmp_path / "out", store, days=6)
    words = ["run", source, "--days", 7, "--store", store, "--out"]
    first = halted([*words, tmp_path / "out"], tmp_path / "tmp", 3, "os.rename")
    status, _, said = console(*words, tmp_path / "other")
    assert (status, said.count("\n"), (tmp_path / "other").exists()) == (2, 1, False)
    assert f"audit.duckdb is being written by process {first.pid} on " in said
    assert console("history", "--store", store)[0] == 0  # whoever only reads goes on reading
    assert go_on(first) == (0, "")
    assert drafts(tmp_path, tmp_path / "out") == []
    fresh = tmp_path / "fresh.duckdb"
    run_audit(source, tmp_path / "fresh", fresh)
    assert results(tmp_path / "out") == results(tmp_path / "fresh")
    assert dump(store) == dump(fresh)


@pytest.mark.parametrize("shared", ["store", "out"])
def test_a_run_at_a_place_that_is_taken_is_refused_before_any_work(
    tmp_path: Path, console: Callable[..., Console], shared: str
) -> None:
    words = [
        "run",
        tmp_path / "no portfolio",
        "--store",
        tmp_path / "audit.duckdb",
        "--out",
        tmp_path / "out",
    ]
    place = tmp_path / ("audit.duckdb" if shared == "store" else "out")
    taken = replacing_store(place) if shared == "store" else replacing_in(place, "run.json")
    with taken as draft:
        status, _, said = console(*words)
        assert (status, f"{place} is being written by process {os.getpid()}" in said) == (2, True)
        assert draft.parent.is_dir()
        if shared == "store":
            draft.write_bytes(b"a store")


def test_nobodys_action_gets_lost_between_two_who_record(
    tmp_path: Path, console: Callable[..., Console], halted: Halt
) -> None:
    (tmp_path / "sites.csv").write_text("site_id,latitude,longitude\n")
    words = ["act", KEY, "done", "--portfolio", tmp_path, "--by"]
    first = halted([*words, "A"], tmp_path / "tmp", 1, "os.rename")
    status, _, said = console(*words, "B")
    assert (status, f"actions.csv is being written by process {first.pid} on " in said) == (2, True)
    assert go_on(first) == (0, "")
    assert console(*words, "B")[0] == 0
    lines = (tmp_path / "actions.csv").read_text().splitlines()
    assert [line.split(",")[2] for line in lines] == ["by", "A", "B"]
