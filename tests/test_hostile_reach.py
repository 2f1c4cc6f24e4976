"""What a command reaches: no network, and no place to write to but those that it was given."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from .conftest import small, write_folder
from .own_rules import folder_of, rule_text

# Python tells an audit hook of whatever it opens, before it does so: docs.python.org, "Audit events table".
WATCHED = """
import os, sys

def told(event, words):
    if event.startswith(("socket.", "urllib.", "http.", "ftplib.", "smtplib.")):
        print("asked", event, *words, file=sys.stderr)
    elif event == "open" and isinstance(words[0], (str, bytes)):
        changes = words[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
        changes and print("wrote", os.path.abspath(os.fsdecode(words[0])), file=sys.stderr)
    elif event in ("os.mkdir", "os.rename", "os.link", "os.symlink", "shutil.rmtree"):
        for word in words[: 1 if event in ("os.mkdir", "shutil.rmtree") else 2]:
            print("wrote", os.path.abspath(os.fsdecode(word)), file=sys.stderr)
    elif event in ("os.remove", "os.rmdir") and words[1] == -1:  # else a name within what rmtree takes away
        print("wrote", os.path.abspath(os.fsdecode(words[0])), file=sys.stderr)

from auditor.__main__ import main
sys.addaudithook(told)
main()
"""


def watched(folder: Path, *words: object) -> list[tuple[str, str]]:
    """What a command did by its own account, as pairs of a word and a place; it runs in ``folder``."""
    scratch = folder / "scratch"
    scratch.mkdir(exist_ok=True)
    more = {"TMPDIR": str(scratch), "PYTHONDONTWRITEBYTECODE": "1", "HOME": str(folder / "home")}
    command = [sys.executable, "-c", WATCHED, *map(str, words)]
    done = subprocess.run(
        command, cwd=folder, env=os.environ | more, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    pairs = (line.partition(" ") for line in done.stderr.splitlines())
    return [(word, place) for word, _, place in pairs if word in ("asked", "wrote")]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_folder(tmp_path / "in", small())
    folder_of(tmp_path / "rules", rule_text())
    return tmp_path


def test_a_run_asks_no_network_and_writes_only_where_it_was_told(folder: Path) -> None:
    run = ("run", "in", "--out", "out", "--store", "kept.duckdb", "--days", 1, "--rules", "rules")
    did = watched(folder, *run)
    assert [place for word, place in did if word == "asked"] == []
    given = tuple(str(folder / name) for name in ("out", "scratch", "kept.duckdb", ".kept.duckdb.part"))
    assert [place for word, place in did if word == "wrote" and not place.startswith(given)] == []
    assert {"out", "scratch"} <= {Path(place).relative_to(folder).parts[0] for _, place in did}
    assert not list((folder / "scratch").iterdir())  # and nothing stays there
    names = {path.name for path in folder.iterdir()}
    assert names == {"in", "rules", "out", "scratch", "kept.duckdb"}
