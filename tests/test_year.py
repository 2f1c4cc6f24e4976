"""Batches: how the sites are cut into them, and who is done first, changes nothing."""

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from auditor import store, year
from auditor.audit import audit
from auditor.store import Engine

from .conftest import contents
from .reference.random_portfolio import write


@pytest.mark.nightly
@pytest.mark.parametrize("size", [pytest.param(1, marks=pytest.mark.nightly), 3])
def test_smaller_batches_side_by_side_give_the_same_bytes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, size: int
) -> None:
    folder = tmp_path / "portfolio"
    write(folder, 7)
    files = {}
    for batch in (1000, size, size):
        monkeypatch.setattr(year, "BATCH", batch)
        out = tmp_path / f"{batch}-{len(files)}"
        audit(folder, out, None, 40, None, lambda stage, length: lambda step: None)
        files[out] = contents(out)
    first, *others = files.values()
    assert all(other == first for other in others)


def test_a_plan_that_nobody_improved_gives_the_same_bytes(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A run of few sites takes its statements as they stand, and one thread."""
    write(tmp_path / "portfolio", 9)
    for few in (0, 1000):
        monkeypatch.setattr(store, "_FEW_SITES", few)
        audit(tmp_path / "portfolio", tmp_path / f"{few}", None, 40, None, lambda *_: lambda step: None)
    assert contents(tmp_path / "0") == contents(tmp_path / "1000")


def test_progress_counts_every_site_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(year, "BATCH", 5)
    folder = tmp_path / "portfolio"
    write(folder, 8)
    done: dict[str, list[int]] = {}
    lengths = {}

    def progress(stage: str, length: int) -> Callable[[Any], None]:
        lengths[stage] = length
        return lambda step: done.setdefault(stage, []).append(step)

    audit(folder, tmp_path / "out", None, 10, None, progress)
    assert sum(done["sites"]) == lengths["sites"] and len(done["sites"]) > 1
    assert len(done["rules"]) == lengths["rules"]


def test_batches_are_as_large_as_memory_and_threads_allow() -> None:
    sizes = {(threads, memory): batch(threads, memory) for threads in (1, 8) for memory in (200, 600, 9000)}
    assert sizes == {(1, 200): 66, (1, 600): 100, (1, 9000): 100, (8, 200): 20, (8, 600): 25, (8, 9000): 100}


def batch(threads: int, memory_mib: int) -> int:
    return year.Work(Engine(threads, memory_mib), year.compute, "", "").batch


def test_where_a_run_breaks_off_nobody_works_on_in_its_store(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(year, "BATCH", 1)
    write(tmp_path / "portfolio", 8)
    before = threading.active_count()

    def breaks_off(step: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt) as stopped:
        audit(tmp_path / "portfolio", tmp_path / "out", None, 10, None, lambda stage, length: breaks_off)
    assert threading.active_count() == before, stopped  # while its trace still holds on to everything
