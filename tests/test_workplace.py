"""Places to work in: one process at a time, nothing of an earlier one in them, nothing left of them."""

import os
import platform
import signal
import tempfile
from pathlib import Path

import pytest

from auditor import workplace
from auditor.errors import UserError
from auditor.workplace import alone, out_of_room, scratch, scratch_room

from .knocks_case import Hit, end, start

WORKS = """
from pathlib import Path
from auditor.workplace import alone
with alone(Path(sys.argv[1]), Path("work")) as room:
    (room / "half").write_text("half a fi")
    (room / "half").unlink()
"""


def is_free(place: Path) -> bool:
    try:
        with alone(place, Path("work")):
            return True
    except UserError:
        return False


def killed(place: Path, scratch_folder: Path) -> Path:
    """A place that a process held and worked in when it was killed."""
    hit = Hit(1, f"os.remove {place / 'room' / 'half'}")
    assert end(start([place], scratch_folder, hit, WORKS))[0] == -signal.SIGKILL
    assert (place / "room" / "half").read_text() == "half a fi"
    return place


def test_a_place_is_empty_and_goes_with_all_that_was_put_in(tmp_path: Path) -> None:
    with alone(tmp_path / "new" / "place", Path("work")) as room:
        assert list(room.iterdir()) == []
        (room / "deep").mkdir()
        (room / "deep" / "file").write_text("x")
    assert list((tmp_path / "new").iterdir()) == []


def test_a_second_one_is_told_who_is_there(tmp_path: Path) -> None:
    with alone(tmp_path / "place", Path("results")) as room:
        (room / "mine").write_text("x")
        who = f"process {os.getpid()} on {platform.node()}"
        with (
            pytest.raises(UserError, match=f"^results is being written by {who}; try again when that has"),
            alone(tmp_path / "place", Path("results")),
        ):
            pytest.fail("both were there")
        assert (room / "mine").read_text() == "x"
    assert is_free(tmp_path / "place")


def test_what_a_killed_process_left_is_cleared_away(tmp_path: Path) -> None:
    place = killed(tmp_path / "place", tmp_path / "tmp")
    with alone(place, Path("work")) as room:
        assert list(room.iterdir()) == []
    assert not place.exists()


def test_a_link_in_its_place_is_refused_and_what_it_leads_to_stays(tmp_path: Path) -> None:
    (tmp_path / "mine" / "room").mkdir(parents=True)
    (tmp_path / "mine" / "process").write_text("notes")
    (tmp_path / "place").symlink_to(tmp_path / "mine")
    told = pytest.raises(
        UserError, match="place is a link, where this program makes a folder of its own; take"
    )
    with told, alone(tmp_path / "place", Path("work")):
        pytest.fail("it was taken for a place")
    assert (tmp_path / "mine" / "process").read_text() == "notes"
    assert (tmp_path / "mine" / "room").is_dir()


@pytest.mark.parametrize("name", ["process", "room"])
def test_a_link_within_it_is_never_followed(tmp_path: Path, name: str) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "file").write_text("notes")
    (tmp_path / "place").mkdir()
    leads_to = tmp_path / "mine" / ("file" if name == "process" else "")
    (tmp_path / "place" / name).symlink_to(leads_to)
    with (
        pytest.raises(OSError, match=r"File exists|Too many levels"),
        alone(tmp_path / "place", Path("work")),
    ):
        pytest.fail("it was followed")
    assert (tmp_path / "mine" / "file").read_text() == "notes"


def test_a_place_that_goes_is_locked_until_it_is_gone(tmp_path: Path) -> None:
    """Else the next one is in it when its lock and its folder are taken away."""
    hit = Hit(1, f"os.remove {tmp_path / 'place' / 'process'}", signal.SIGSTOP)
    first = start([tmp_path / "place"], tmp_path / "tmp", hit, WORKS)
    os.waitpid(first.pid, os.WUNTRACED)
    try:
        assert not is_free(tmp_path / "place")
    finally:
        first.send_signal(signal.SIGCONT)
    assert end(first) == (0, "")
    assert not (tmp_path / "place").exists()


def test_who_waited_at_a_door_that_went_opens_the_new_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between opening the file and locking it, the one who was there took the whole place away."""
    lock, place, times = workplace._lock, tmp_path / "place", []

    def late(*given: object) -> None:
        if not times:
            (place / "process").unlink()
            place.rmdir()
        times.append(lock(*given))

    monkeypatch.setattr(workplace, "_lock", late)
    with alone(place, Path("work")):
        assert len(times) == 2
        monkeypatch.undo()
        assert not is_free(place)


def test_a_system_of_files_without_locks_is_worked_on_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none_here(*_: object) -> None:
        raise OSError(37, "No locks available")

    monkeypatch.setattr("fcntl.flock", none_here)
    assert is_free(tmp_path / "place")


# Scratch ---------------------------------------------------------------------------------------------------


@pytest.fixture
def temporary(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "tmp").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "tmp"))
    return tmp_path / "tmp"


def test_temporary_files_of_everybody_are_made_in_one_folder_which_goes(temporary: Path) -> None:
    with scratch():
        left = Path(tempfile.mkstemp()[1])
        (folder,) = temporary.iterdir()
        assert left.is_relative_to(folder)
        assert folder.stat().st_mode & 0o077 == 0  # nobody else's to read
    assert list(temporary.iterdir()) == []
    assert tempfile.gettempdir() == str(temporary)


def test_scratch_of_killed_processes_goes_and_any_other_stays(temporary: Path, tmp_path: Path) -> None:
    killed(temporary / "auditor-dead1234.scratch", tmp_path / "other")
    (temporary / "auditor-new12345.scratch").mkdir()
    (temporary / "auditor-new12345.scratch" / "process").touch()  # in the making: it does not say whose it is
    (temporary / "auditor-results").mkdir()  # somebody's results
    (temporary / "auditor-results" / "process").write_text("notes")
    with alone(temporary / "auditor-live1234.scratch", Path("work")) as room, scratch():
        assert room.exists()
        names = {path.name for path in temporary.iterdir()}
    stay = {"auditor-new12345.scratch", "auditor-results", "auditor-live1234.scratch"}
    assert names >= stay
    assert len(names) == len(stay) + 1  # our own
    assert (temporary / "auditor-results" / "process").exists()


def test_what_somebody_writes_late_goes_with_the_next_command(
    temporary: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Workers of a cluster may still write into a folder that is being taken away."""
    with monkeypatch.context() as meanwhile, scratch_room() as room:
        meanwhile.setattr(workplace.shutil, "rmtree", lambda *_, **__: (room / "late").touch())
    assert (room / "late").exists()
    with scratch():
        pass
    assert list(temporary.iterdir()) == []


def test_a_link_is_no_scratch_of_ours(temporary: Path, tmp_path: Path) -> None:
    place = killed(tmp_path / "mine", tmp_path / "other")
    (temporary / "auditor-link1234.scratch").symlink_to(place)
    with scratch():
        pass
    assert (place / "room" / "half").exists()


def test_where_no_scratch_can_be_made_the_work_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "gone"))
    with scratch():
        assert tempfile.gettempdir() == str(tmp_path / "gone")


# A full disk -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "said",
    [
        'Failed to commit: Could not write file "/s/a.wal": No space left on device\nand more',
        "parquet: File out of specification: underlying IO error: File too large (os error 27)",
        "failed to offload data block of size 256.0 KiB. This limit was set by 'max_temp_directory_size'",
    ],
)
def test_a_full_disk_is_known_by_what_engine_and_libraries_make_of_it(said: str) -> None:
    told = out_of_room(RuntimeError(said))
    assert str(told).startswith(f"there is no room left ({said.splitlines()[0]}); make room there")


def test_a_full_disk_is_told_once_whoever_asks_again() -> None:
    told = out_of_room(OSError(28, "No space left on device"))
    assert told is not None and out_of_room(told) is told


def test_any_other_fault_is_none_of_a_full_disk() -> None:
    assert out_of_room(RuntimeError("Query interrupted")) is None
