"""The other commands that write files, killed as they put them in place: each file old or new, never half."""

import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from .conftest import Console, run_audit, write_folder
from .knocks_case import Hit, drafts, end, results, start
from .visits_case import BASE, SETTINGS, tables

KEY = "0123456789ab"


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kept")
    path = folder / "audit.duckdb"
    run_audit(write_folder(folder / "portfolio", tables(), SETTINGS), folder / "out", path, pages=0)
    return path


def knocked(words: list[object], folder: Path, draft: Path) -> None:
    """Kills the command just before it puts the draft in its place."""
    hit = Hit(1, f"os.rename {draft}")
    assert end(start(words, folder / "tmp", hit)) == (-signal.SIGKILL, "")


CODES = ("evidence", "--site", "V1", "--code", "iecc-2018", "--site", "V2")  # V2 and the matrix go
FOLDERS = [  # what fills a folder, what fills it otherwise, the file that vouches for all
    (CODES, ("evidence", "--site", "V1", "--code", "iecc-2021"), "SHA256SUMS"),
    pytest.param(
        ("visits", "--days", 1, "--base", BASE),
        ("visits", "--days", 1, "--base", "40.0,-3.6"),
        "visits.html",
        marks=pytest.mark.nightly,
    ),
]


@pytest.mark.parametrize(("earlier", "now", "last"), FOLDERS, ids=["evidence", "visits"])
def test_a_folder_of_results_never_mixes_two_in_silence(
    store: Path,
    tmp_path: Path,
    console: Callable[..., Console],
    earlier: tuple[object, ...],
    now: tuple[object, ...],
    last: str,
) -> None:
    out, fresh = tmp_path / "out", tmp_path / "fresh"
    assert console(*earlier, "--store", store, "--out", out)[0] == 0
    old = results(out)
    assert console(*now, "--store", store, "--out", fresh)[0] == 0
    new = results(fresh)
    assert old[last] != new[last]
    (out / "notes.txt").write_text("mine")
    words = [*now, "--store", store, "--out", out]
    placed = sorted(new, key=lambda name: (name == last, name))
    for name in (placed[0], placed[-1]):
        knocked(words, tmp_path, out / f".{last}.part" / "room" / name)
        found = results(out)
        assert found.pop("notes.txt") == b"mine"
        assert last not in found
        assert set(found) >= set(old) & set(new) - {last}
        assert all(content in (old.get(name), new.get(name)) for name, content in found.items())
    assert console(*words)[0] == 0
    assert results(out) == new | {"notes.txt": b"mine"}
    assert drafts(out) == []


def test_a_calendar_is_the_old_one_or_the_new_one(
    store: Path, tmp_path: Path, console: Callable[..., Console]
) -> None:
    path = tmp_path / "V2.ics"
    path.write_text("old")
    words = ["export", "--store", store, "--site", "V2", "--ics", path]
    knocked(words, tmp_path, tmp_path / ".V2.ics.part" / "room" / "V2.ics")
    assert path.read_text() == "old"
    assert console(*words)[0] == 0
    assert path.read_text().endswith("END:VCALENDAR\n")
    assert drafts(tmp_path) == []


def test_an_action_is_a_whole_line_or_none(tmp_path: Path, console: Callable[..., Console]) -> None:
    (tmp_path / "sites.csv").write_text("site_id,latitude,longitude\n")
    words = ["act", KEY, "done", "--by", "A", "--date", "2026-11-25", "--portfolio", tmp_path]
    assert console(*words)[0] == 0
    before = (tmp_path / "actions.csv").read_bytes()
    knocked(words, tmp_path, tmp_path / ".actions.csv.part" / "room" / "actions.csv")
    assert (tmp_path / "actions.csv").read_bytes() == before
    assert console(*words)[0] == 0
    assert (tmp_path / "actions.csv").read_bytes() == before + before.splitlines(keepends=True)[-1]
    assert drafts(tmp_path) == []
