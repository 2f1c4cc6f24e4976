"""How result files take their places: all that a reader relies on to tell one run from two."""

import os
from pathlib import Path

import pytest

from auditor import results
from auditor.errors import UserError
from auditor.results import replacing_alone, replacing_in

from .conftest import contents


def test_files_of_earlier_runs_go_and_files_of_others_stay(tmp_path: Path) -> None:
    (tmp_path / "pages").mkdir()
    for name in ("pages/1.html", "pages/2.html", "pages/mine.html", "notes.txt"):
        (tmp_path / name).write_text("old")
    with replacing_in(tmp_path, "last", lambda out: ["pages/1.html", "pages/2.html"]) as draft:
        (draft / "pages").mkdir()
        for name in ("pages/2.html", "last"):
            (draft / name).write_text("new")
        assert (tmp_path / "pages" / "1.html").exists()
    assert contents(tmp_path) == {
        "last": b"new",
        "notes.txt": b"old",
        "pages/2.html": b"new",
        "pages/mine.html": b"old",
    }


def test_the_file_that_vouches_goes_first_and_comes_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "last").write_text("old")
    steps, replace = [], Path.replace

    def watched(path: Path, target: Path) -> Path:
        steps.append((target.name, (tmp_path / "last").exists()))
        return replace(path, target)

    monkeypatch.setattr(Path, "replace", watched)
    with replacing_in(tmp_path, "last") as draft:
        for name in ("a", "last", "z"):
            (draft / name).write_text("new")
        assert (tmp_path / "last").read_text() == "old"
    assert steps == [("a", False), ("z", False), ("last", False)]


def test_a_folder_where_a_file_must_go_is_said_while_all_is_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "z").mkdir()
    for name in ("a", "last"):
        (tmp_path / name).write_text("old")
    refused = pytest.raises(
        UserError, match="/z is a folder, where a file of that name must go; move it away"
    )
    with refused, replacing_in(tmp_path, "last") as draft:
        for name in ("a", "last", "z"):
            (draft / name).write_text("new")
    assert contents(tmp_path) == {"a": b"old", "last": b"old"}


def test_a_folder_that_was_made_for_nothing_goes_again(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError), replacing_in(tmp_path / "new", "last"):
        raise RuntimeError
    assert list(tmp_path.iterdir()) == []


def test_a_link_to_a_file_stays_one(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "actions.csv").write_text("old")
    (tmp_path / "actions.csv").symlink_to(tmp_path / "far" / "actions.csv")
    with replacing_alone(tmp_path / "actions.csv") as draft:
        draft.write_text("new")
    assert (tmp_path / "actions.csv").is_symlink()
    assert contents(tmp_path / "far") == {"actions.csv": b"new"}


def test_a_file_is_on_the_disk_before_it_takes_the_place_of_another(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else a power cut may leave a file of no bytes under the old one's name."""
    (tmp_path / "actions.csv").write_text("old")
    synced, sync = [], os.fsync

    def watched(number: int) -> None:
        synced.append((os.fstat(number).st_size, (tmp_path / "actions.csv").read_text()))
        sync(number)

    monkeypatch.setattr(results.os, "fsync", watched)
    with replacing_alone(tmp_path / "actions.csv") as draft:
        draft.write_text("all of it")
    assert synced == [(len("all of it"), "old")]
    assert (tmp_path / "actions.csv").read_text() == "all of it"
