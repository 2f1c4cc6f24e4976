"""What a command may write over: no file that it reads, no other output of its own, plain files alone."""

import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest

from auditor import audit
from auditor.errors import UserError
from auditor.files import check_targets, command, read_file, use
from auditor.results import NAMES

from .conftest import run_audit, small, write_folder
from .test_cli import Shell, refused

OBJECTS = Path(__file__).parent.parent / "fixtures/exports/objects"
READ = "is read by this command, and would be written over; name another place for it."
TWICE = "is written by this command already, and would be written over; name another place for it."


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a portfolio, its results and its store."""
    folder = tmp_path_factory.mktemp("kept")
    source = write_folder(folder / "portfolio", small(), "[portfolio]\n")
    run_audit(source, folder / "out", folder / "audit.duckdb", pages=0)
    return folder


@pytest.fixture
def here(kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it, in which commands are typed."""
    shutil.copytree(kept, tmp_path / "here")
    shutil.copytree(OBJECTS, tmp_path / "here" / "objects")
    os.mkfifo(tmp_path / "here" / "pipe")
    monkeypatch.chdir(tmp_path / "here")
    return tmp_path / "here"


def files(folder: Path) -> dict[str, bytes]:
    """Every plain file and its bytes, and that the pipe is one still."""
    assert (folder / "pipe").is_fifo()
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


MAPS = tuple(f"objects/maps/{name}.toml" for name in ("circuits", "places", "programs"))
STORE = ("--store", "audit.duckdb")
REFUSED = {
    "tables beside their settings": (
        ("run", "portfolio/portfolio.toml", "--out", "portfolio"),
        "portfolio holds the portfolio, whose tables the results would replace; name another.",
    ),
    "a file that maps read": (
        ("run", *MAPS, "--out", "objects"),
        f"objects/circuits.csv {READ}",
    ),
    "the settings, by the store": (
        ("run", "portfolio", "--out", "new", "--store", "portfolio/portfolio.toml"),
        f"portfolio/portfolio.toml {READ}",
    ),
    "a result, by the store": (
        ("run", "portfolio", "--out", "out", "--store", "out/soon.csv"),
        f"out/soon.csv {TWICE}",
    ),
    "what vouches for the results, by the store": (
        ("run", "portfolio", "--out", "out", "--store", "out/run.json"),
        f"out/run.json {TWICE}",
    ),
    "the export, by its draft": (
        ("map", "objects/places.csv", "--out", "objects/places.csv"),
        f"objects/places.csv {READ}",
    ),
    "the store, by its history": (("history", *STORE, "--out", "audit.duckdb"), f"audit.duckdb {READ}"),
    "the store's log": (("history", *STORE, "--out", "audit.duckdb.wal"), f"audit.duckdb.wal {READ}"),
    "the store, by a calendar": (
        ("export", *STORE, "--site", "01", "--ics", "portfolio/../audit.duckdb"),
        f"portfolio/../audit.duckdb {READ}",
    ),
    "a pipe": (("history", *STORE, "--out", "pipe"), "pipe is no plain file but a device or a pipe;"),
    "a pipe, for a calendar": (("export", *STORE, "--site", "01", "--ics", "pipe"), "pipe is no plain file"),
    "a pipe, for a draft": (("map", "objects/places.csv", "--out", "pipe"), "pipe is no plain file"),
    "a pipe, for the store": (("run", "portfolio", "--out", "new", "--store", "pipe"), "pipe is no plain"),
    "a name that the engine would cut, for the store": (
        ("run", "portfolio", "--out", "new", "--store", "a?b.duckdb"),
        "a?b.duckdb has a question mark in its path; name another place.",
    ),
    "a name that it cannot be told, for the store": (
        ("run", "portfolio", "--out", "new", "--store", "b\udcff.duckdb"),
        "b\ufffd.duckdb has letters that are not UTF-8 in its path; name another place.",
    ),
    "a name of the engine's own, for the store": (
        ("run", "portfolio", "--out", "new", "--store", "pg_catalog.duckdb"),
        "pg_catalog.duckdb is called like a part of the engine; name another file.",
    ),
    "such a name, for a folder": (
        ("run", "portfolio", "--out", "new?"),
        "new? has a question mark in its path; name another place.",
    ),
    "a pipe, for a folder": (("visits", *STORE, "--days", "1", "--out", "pipe"), "is a file and no folder"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_nothing_is_written_over_what_a_command_needs_itself(
    here: Path, console: Shell, monkeypatch: pytest.MonkeyPatch, what: str
) -> None:
    monkeypatch.setattr(audit, "fill", lambda *_: pytest.fail("the work began"))
    if what == "a result, by the store":  # one by whose name a store is there is read, too
        (here / "out" / "soon.csv").unlink()
    words, said = REFUSED[what]
    before = files(here)
    assert said in refused(console(*words))
    assert files(here) == before


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("matrix.html", ("evidence", "--all-sites", "--out", "out")),
        ("01-938db8c9.json", ("evidence", "--site", "02", "--out", "out")),  # of an earlier pack, by its name
        ("desk.csv", ("visits", "--days", "1", "--out", "out")),
    ],
)
def test_a_store_that_is_called_like_a_result_stays(
    here: Path, console: Shell, name: str, words: tuple[str, ...]
) -> None:
    (here / "audit.duckdb").rename(here / "out" / name)
    before = files(here)
    assert f"out/{name} {READ}" in refused(console(*words, "--store", f"out/{name}"))
    assert files(here) == before


def test_an_earlier_store_is_replaced_and_a_line_of_actions_is_added(here: Path, console: Shell) -> None:
    """Both are read and written by one command, which is what it is for."""
    words = ("run", "portfolio", "--out", "out", "--days", "6", "--pages", "10", *STORE)
    assert console(*words)[0] == 0
    act = ("act", "0123456789ab", "done", "--by", "A", "--portfolio", "objects")
    (here / "objects" / "sites.csv").touch()
    assert [console(*act)[0], console(*act)[0]] == [0, 0]


def test_a_kept_store_of_a_name_that_the_engine_would_cut_is_refused(here: Path, console: Shell) -> None:
    (here / "audit.duckdb").rename(here / "a?b.duckdb")
    said = refused(console("history", "--store", "a?b.duckdb"))
    assert "a?b.duckdb has a question mark in its path; name another place." in said


@pytest.mark.parametrize(
    ("name", "status", "said"),
    [
        ("c=1", 0, ""),  # no column of whatever lies there
        ("[1]*", 0, ""),  # no pattern
        ("a?b", 2, "the folder for scratch files, which TMPDIR names, has a question mark in its path;"),
    ],
)
def test_scratch_files_may_lie_in_folders_of_any_name_that_the_engine_can_be_told(
    here: Path, console: Shell, monkeypatch: pytest.MonkeyPatch, name: str, status: int, said: str
) -> None:
    (here / name).mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(here / name))
    ended, *told = console("run", "portfolio", "--out", "new", "--days", "6", "--pages", "10")
    assert ended == status and said in "".join(told)


def test_the_results_known_before_the_work_are_all_that_a_run_writes(kept: Path) -> None:
    assert sorted(NAMES) == sorted(path.name for path in (kept / "out").iterdir() if path.is_file())


# One file after another ------------------------------------------------------------------------------------

NAMED: dict[str, Callable[[Path, Path], object]] = {
    "a link": lambda new, old: new.symlink_to(old),
    "another name": lambda new, old: new.hardlink_to(old),
}


@pytest.mark.parametrize("how", NAMED)
def test_a_file_is_known_by_whatever_name(tmp_path: Path, how: str) -> None:
    (tmp_path / "old").write_text("x")
    NAMED[how](tmp_path / "new", tmp_path / "old")
    with command():
        read_file(tmp_path / "old", "old")
        with pytest.raises(UserError, match=f"new {READ}"):
            check_targets(tmp_path / "other", tmp_path / "new")


def test_a_file_that_is_still_to_come_is_known(tmp_path: Path) -> None:
    with command():
        use(tmp_path / "new")
        with pytest.raises(UserError, match=f"new {READ}"):
            check_targets(tmp_path / "x" / ".." / "new")


def test_what_another_command_read_may_be_written(tmp_path: Path) -> None:
    (tmp_path / "old").write_text("x")
    with command():
        read_file(tmp_path / "old", "old")
    with command():
        check_targets(tmp_path / "old")


def test_a_file_that_standard_output_goes_to_stays(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "said").touch()
    with capfd.disabled(), (tmp_path / "said").open("w") as file:
        before = os.dup(1)
        os.dup2(file.fileno(), 1)
        try:
            with pytest.raises(UserError, match="said is where this command's own input or output goes"):
                check_targets(tmp_path / "said")
        finally:
            os.dup2(before, 1)
            os.close(before)
