"""A run that is killed: nothing is lost or half there, and the next one is as if nothing had been."""

import random
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from .conftest import Console, run_audit, small, write_folder
from .knocks_case import Hit, drafts, dump, end, is_of_one_run, moments, results, start

SEED = 8
# The last renames of a run of the small portfolio: 7 CSV files, 4 others, 2 pages, run.json, the store.
PLACED = 15


@dataclass(frozen=True)
class Month:
    """The second month of a portfolio: its tables; files and store before and after an undisturbed run."""

    source: Path
    old: dict[str, bytes]
    old_store: bytes
    new: dict[str, bytes]
    new_store: dict[str, list[tuple[object, ...]]]
    changes: int
    renames: int
    seconds: float

    def words(self, folder: Path) -> list[object]:
        return ["run", self.source, "--out", folder / "out", "--days", 7, "--store", folder / "audit.duckdb"]

    def lay_out(self, folder: Path) -> None:
        """The folder as it was after the first month, and a file of somebody else's among the results."""
        for name, content in self.old.items():
            (folder / "out" / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / "out" / name).write_bytes(content)
        (folder / "out" / "notes.txt").write_text("mine")
        (folder / "audit.duckdb").write_bytes(self.old_store)


@pytest.fixture(scope="module")
def month(tmp_path_factory: pytest.TempPathFactory) -> Month:
    folder = tmp_path_factory.mktemp("month")
    store = folder / "audit.duckdb"
    tables = small()
    tables["sites"].append({"site_id": "03", "latitude": 40.7, "longitude": -74.0})  # its page goes
    run_audit(write_folder(folder / "first", tables), folder / "out", store)
    old, old_store = results(folder / "out"), store.read_bytes()
    tables = small()
    tables["controllers"][0]["read_at"] = "2026-12-03T14:05:00Z"
    tables["circuits"][0]["hold"] = "off"
    source = write_folder(folder / "second", tables)
    words = ["run", source, "--out", folder / "out", "--days", 7, "--store", store]
    before = time.monotonic()
    status, said = end(start(words, folder / "tmp", Hit(0)))
    seconds = time.monotonic() - before
    assert status == 0, said
    new = results(folder / "out")
    assert {name for name in old if old[name] != new.get(name)} >= {"run.json", "findings.csv", "report.html"}
    assert set(old) - set(new)
    return Month(source, old, old_store, new, dump(store), *moments(said), seconds)


@pytest.fixture
def check(month: Month, tmp_path: Path, console: Callable[..., Console], monkeypatch) -> Callable[[], None]:
    """What must hold after a knock, and after the run that follows it."""

    def hold() -> None:
        found = results(tmp_path / "out")
        assert found.pop("notes.txt") == b"mine"
        assert {
            name: content
            for name, content in found.items()
            if content not in (month.old.get(name), month.new.get(name))
        } == {}
        assert set(month.old) & set(month.new) - {"run.json"} <= set(found)
        if is_of_one_run(tmp_path / "out"):
            assert found in (month.old, month.new)
        if (tmp_path / "audit.duckdb").read_bytes() != month.old_store:
            assert dump(tmp_path / "audit.duckdb") == month.new_store
        monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "tmp"))
        status, _, said = console(*month.words(tmp_path))
        assert status == 0, said
        assert results(tmp_path / "out") == month.new | {"notes.txt": b"mine"}
        assert dump(tmp_path / "audit.duckdb") == month.new_store
        assert drafts(tmp_path, tmp_path / "out") == []
        assert list((tmp_path / "tmp").iterdir()) == []

    return hold


def hit(month: Month, folder: Path, moment: Hit) -> None:
    month.lay_out(folder)
    status, said = end(start(month.words(folder), folder / "tmp", moment))
    assert (status, said) == (-moment.how, "")


@pytest.mark.parametrize("place", [0, *(pytest.param(n, marks=pytest.mark.nightly) for n in (1, 2))])
def test_a_run_that_is_killed_at_any_moment_is_made_good_by_the_next(
    month: Month, tmp_path: Path, check: Callable[[], None], place: int
) -> None:
    hit(month, tmp_path, Hit(random.Random(SEED).sample(range(1, month.changes), 3)[place]))
    check()


@pytest.mark.nightly
@pytest.mark.parametrize("place", range(20))
def test_a_run_that_is_killed_at_one_of_twenty_instants_is_made_good_by_the_next(
    month: Month, tmp_path: Path, check: Callable[[], None], place: int
) -> None:
    """By the clock, so that the engine and libraries are hit, too; what is asked holds wherever that is."""
    month.lay_out(tmp_path)
    process = start(month.words(tmp_path), tmp_path / "tmp")
    time.sleep(random.Random(SEED + place).uniform(0, month.seconds))
    process.kill()
    end(process)
    check()


@pytest.mark.nightly
@pytest.mark.parametrize("back", range(PLACED))
def test_a_run_that_is_killed_at_any_boundary_of_its_commit_is_made_good_by_the_next(
    month: Month, tmp_path: Path, check: Callable[[], None], back: int
) -> None:
    hit(month, tmp_path, Hit(month.renames - back, "os.rename"))
    assert is_of_one_run(tmp_path / "out") == (back == 0)  # in between a reader can tell
    assert (tmp_path / "audit.duckdb").read_bytes() == month.old_store
    check()
