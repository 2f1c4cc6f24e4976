"""The files of a pack: whole or not at all, the same bytes, sums that can be checked."""

import hashlib
import json
import subprocess
from pathlib import Path

import pytest

from auditor.pack import writing
from auditor.report.links import page_name

from .conftest import contents
from .pack_case import kept, pack


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return kept(tmp_path_factory.mktemp("kept"))


@pytest.fixture(scope="module")
def out(store: Path) -> Path:
    folder = store.parent / "pack"
    pack(store, folder)
    return folder


def test_the_sums_are_those_that_sha256sum_checks(out: Path) -> None:
    lines = [line.split("  ") for line in (out / "SHA256SUMS").read_text("utf-8").splitlines()]
    assert {name for _, name in lines} == {path.name for path in out.iterdir()} - {"SHA256SUMS"}
    assert all(hashlib.sha256((out / name).read_bytes()).hexdigest() == digest for digest, name in lines)
    checked = subprocess.run(["sha256sum", "-c", "SHA256SUMS"], cwd=out, capture_output=True, check=False)
    assert checked.returncode == 0, checked.stderr


def test_a_second_run_gives_the_same_bytes(store: Path, out: Path, tmp_path: Path) -> None:
    pack(store, tmp_path / "again")
    assert contents(tmp_path / "again") == contents(out)


def test_what_an_earlier_pack_left_goes_and_what_is_not_ours_stays(store: Path, tmp_path: Path) -> None:
    pack(store, tmp_path)
    (tmp_path / "notes.html").write_text("mine")
    pack(store, tmp_path, "L")
    names = {path.name for path in tmp_path.iterdir()}
    page = Path(page_name("L"))
    wanted = {page.name, page.with_suffix(".json").name, "evidence.schema.json", "SHA256SUMS", "notes.html"}
    assert names == wanted


def test_a_pack_comes_whole_or_not_at_all(
    store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pack(store, tmp_path / "old", "L")
    before = contents(tmp_path / "old")
    monkeypatch.setattr(writing, "matrix_page", lambda sites: sites["none"])  # what fails, fails late
    for folder in (tmp_path / "old", tmp_path / "new"):
        with pytest.raises(TypeError):
            pack(store, folder)
    assert contents(tmp_path / "old") == before
    assert [path.name for path in tmp_path.iterdir()] == ["old"]


def test_the_files_and_their_hashes_are_those_of_the_audit(store: Path, out: Path) -> None:
    source = store.parent / "in"
    facts = json.loads((out / page_name("L")).with_suffix(".json").read_text("utf-8"))
    told = {row["file"]: row for row in facts["files"]}
    assert set(told) == {path.name for path in source.iterdir()}
    for name, row in told.items():
        assert row["sha256"] == hashlib.sha256((source / name).read_bytes()).hexdigest()
    assert (told["circuits.csv"]["rows"], told["circuits.csv"]["kept"], told["circuits.csv"]["rejected"]) == (
        8,
        8,
        0,
    )
