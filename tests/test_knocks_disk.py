"""A disk that is full, places that may not be written to or vanish: a sentence, and all as it was."""

import os
import re
import resource
import shutil
import subprocess
import tempfile
from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest

from auditor import audit

from .conftest import Console, run_audit, small, write_folder
from .knocks_case import break_off, drafts, end, results, start

Kept = tuple[Path, dict[str, bytes], bytes]
MIB = 2**20


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Kept:
    """A portfolio, and the results and the store of a run of it."""
    folder = tmp_path_factory.mktemp("kept")
    source = write_folder(folder / "portfolio", small())
    run_audit(source, folder / "out", folder / "audit.duckdb", pages=0)
    return source, results(folder / "out"), (folder / "audit.duckdb").read_bytes()


@pytest.fixture
def words(kept: Kept, tmp_path: Path) -> list[object]:
    """A run that would replace the results and the store in ``tmp_path``."""
    source, old, store = kept
    (tmp_path / "out").mkdir()
    for name, content in old.items():
        (tmp_path / "out" / name).write_bytes(content)
    (tmp_path / "audit.duckdb").write_bytes(store)
    return ["run", source, "--out", tmp_path / "out", "--days", 7, "--store", tmp_path / "audit.duckdb"]


def is_as_it_was(kept: Kept, folder: Path) -> bool:
    store = (folder / "audit.duckdb").read_bytes()
    return (results(folder / "out"), store, drafts(folder, folder / "out")) == (*kept[1:], [])


def sentence(process: "subprocess.Popen[str]") -> str:
    """The one sentence that a refused command says."""
    status, said = end(process)
    lines = [line for line in said.splitlines() if not line.startswith("moments ")]
    assert (status, len(lines)) == (2, 1), said
    return lines[0]


# A full disk -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limit", "what"),
    [
        (20_000, r"parquet: .*"),  # a table on its way into the store
        (4 * MIB, r"IO Error: Checkpoint failed .*/audit\.duckdb.*"),  # at the very end; the store has 13 MB
    ],
    ids=["on the way", "at the end"],
)
def test_a_store_that_finds_no_room_is_said_and_the_old_one_stays(
    kept: Kept, words: list[object], tmp_path: Path, limit: int, what: str
) -> None:
    """No file may grow beyond a limit: what a full disk comes to, on every system."""

    def small_files() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))

    said = sentence(start(words, tmp_path / "tmp", preexec_fn=small_files))
    assert re.match(rf"auditor: there is no room left \({what}: File too large.*\); make room there", said)
    assert is_as_it_was(kept, tmp_path)
    assert list((tmp_path / "tmp").iterdir()) == []


def test_a_log_of_old_that_finds_no_room_in_its_store_is_said_and_stays(
    kept: Kept, words: list[object], tmp_path: Path
) -> None:
    """Closing the old store would keep silent, and a half-written file would be carried along."""
    log = break_off(tmp_path / "audit.duckdb", "UPDATE past_findings SET summary = 'looked at'")

    def small_files() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))

    said = sentence(start(words, tmp_path / "tmp", preexec_fn=small_files))
    assert re.match(r"auditor: there is no room left \(FATAL Error: Failed to create checkpoint", said)
    assert log.exists() and results(tmp_path / "out") == kept[1]
    with duckdb.connect(str(tmp_path / "audit.duckdb")) as connection:
        told = connection.execute("SELECT DISTINCT summary FROM past_findings").fetchall()
    assert told == [("looked at",)]


SMALL = """
mount -t tmpfs -o size=$1 none $2 && cp -a $3 $2/ || exit 99
disk=$2; saved=$4; shift 4; "$@"; status=$?
cp -a $disk/. $saved; exit $status
"""
OWN_MOUNTS = ["unshare", "--user", "--map-root-user", "--mount"]


@pytest.fixture
def disk(tmp_path: Path) -> Path:
    (tmp_path / "disk").mkdir()
    try:
        probe = subprocess.run([*OWN_MOUNTS, "mount", "-t", "tmpfs", "none", tmp_path / "disk"], check=False)
    except OSError:
        pytest.skip("this machine has no unshare")
    if probe.returncode:
        pytest.skip("this machine lets nobody mount a disk of their own")
    return tmp_path / "disk"


@pytest.mark.parametrize(
    ("place", "size"),
    [
        ("out", "250k"),
        pytest.param("tmp", "40k", marks=pytest.mark.nightly),  # small audits need hardly any scratch
        pytest.param("audit.duckdb", "17m", marks=pytest.mark.nightly),
    ],
)
def test_a_small_disk_that_is_full_is_said_and_what_was_on_it_stays(
    kept: Kept, words: list[object], tmp_path: Path, disk: Path, place: str, size: str
) -> None:
    """A disk in memory, which only the command sees; what is on it at the end is copied out."""
    for name in ("saved", "tmp"):
        (tmp_path / name).mkdir()
    mounted = ["sh", "-c", SMALL, "sh", size, disk, tmp_path / place, tmp_path / "saved"]
    words = [disk / place if word == tmp_path / place else word for word in words]
    if place == "tmp":
        words, mounted = words[:-2], [*mounted, "env", f"TMPDIR={disk / place}"]  # no store: it is scratch
    said = sentence(start(words, tmp_path / "tmp", before=[*OWN_MOUNTS, *mounted]))
    assert "space" in said and said.count("there is no room left") == 1
    left = tmp_path / "saved" / place
    expected = {"out": kept[1], "tmp": {}, "audit.duckdb": kept[2]}[place]
    assert (left.read_bytes() if left.is_file() else results(left)) == expected
    assert drafts(left.parent, *([left] if left.is_dir() else [])) == []
    assert is_as_it_was(kept, tmp_path)


# Cleared away ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("place", ["scratch", "out"])
def test_a_folder_that_somebody_clears_away_is_named_and_no_other(
    words: list[object],
    tmp_path: Path,
    console: Callable[..., Console],
    monkeypatch: pytest.MonkeyPatch,
    place: str,
) -> None:
    """The workbook is made in scratch before it is written among the drafts of the results."""
    write, gone = audit.write_workbook, []

    def late(*given: object) -> None:
        gone.append(Path(tempfile.gettempdir()).parent if place == "scratch" else tmp_path / "out")
        shutil.rmtree(gone[0])
        write(*given)

    monkeypatch.setattr(audit, "write_workbook", late)
    status, _, said = console(*words[:-2])
    cleared = "somebody cleared away what this command was working on there"
    assert (status, said) == (2, f"auditor: {gone[0]}: {cleared}; run it again, and let it be meanwhile.\n")


# Read-only -------------------------------------------------------------------------------------------------

RIGHTS = "-dac_override,-dac_read_search"  # by which root writes wherever it likes


def bound() -> list[str]:
    """A command for processes that have to obey permissions, root's too."""
    if os.geteuid():
        return []
    if not shutil.which("setpriv"):
        pytest.skip("root obeys no permissions, and there is no setpriv to make it")
    return ["setpriv", f"--bounding-set={RIGHTS}", f"--inh-caps={RIGHTS}"]


@pytest.mark.parametrize(
    ("place", "mode", "told"),
    [
        ("audit.duckdb", 0o444, "audit.duckdb is read-only; make it writable, or name another file"),
        ("", 0o555, "audit.duckdb cannot be written (Permission denied); check the folder."),
        ("out", 0o555, "out cannot be written (Permission denied); name a folder, and check its permissions"),
    ],
    ids=["store", "folder of the store", "results"],
)
def test_what_is_read_only_is_said_before_any_work_and_stays(
    kept: Kept, words: list[object], tmp_path: Path, place: str, mode: int, told: str
) -> None:
    words[1] = tmp_path / "no portfolio"  # would be refused as soon as anybody looked
    (tmp_path / "tmp").mkdir()
    target = tmp_path / place
    before = target.stat().st_mode
    target.chmod(mode)
    said = sentence(start(words, tmp_path / "tmp", before=bound()))
    target.chmod(before)
    assert told in said
    assert is_as_it_was(kept, tmp_path)
