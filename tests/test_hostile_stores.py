"""A store from elsewhere is a database: its views and macros reach nothing, nor does its name."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import duckdb
import pytest

from auditor import audit
from auditor.kept import FORMAT, kept_store
from auditor.store import confine, connected, open_store

from .conftest import contents, run_audit, small, write_folder
from .names_case import command

SECRET = "quernholt under the stairs"
OFF = (
    *("autoinstall_known_extensions", "autoload_known_extensions", "allow_community_extensions"),
    "python_enable_replacements",
)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a store of ours, the portfolio it is of, and a file that is nobody's business."""
    folder = tmp_path_factory.mktemp("kept")
    run_audit(write_folder(folder / "in", small()), folder / "out", folder / "kept.duckdb", pages=0)
    return folder


@pytest.fixture
def folder(kept: Path, tmp_path: Path) -> Path:
    """The same, to be changed; the secret lies beside the scratch folder, which the engine may read."""
    for name in ("kept.duckdb", "in"):
        copy = shutil.copytree if (kept / name).is_dir() else shutil.copy
        copy(kept / name, tmp_path / name)
    (tmp_path / "secret.txt").write_text(SECRET)
    return tmp_path


@pytest.fixture(autouse=True)
def elsewhere(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Scratch files go where a command puts them: into a folder of their own, not beside everything."""
    with monkeypatch.context() as changed:
        changed.setattr("tempfile.tempdir", str(tmp_path_factory.mktemp("scratch")))
        yield


def change(folder: Path, *statements: str) -> Path:
    with duckdb.connect(str(folder / "kept.duckdb")) as store:
        for statement in statements:
            store.execute(statement.format(secret=folder / "secret.txt"))
    return folder / "kept.duckdb"


# Circuits seen through a view that reads a file for each name, and a macro that reads one for each cell.
READS = {
    "a view": (
        "ALTER TABLE circuits RENAME TO plain",
        "CREATE VIEW circuits AS SELECT * REPLACE ((SELECT content FROM read_text('{secret}')) AS name) "
        "FROM plain",
    ),
    "a macro": (
        "CREATE OR REPLACE MACRO csv_cell(cell) AS (SELECT content FROM read_text('{secret}'))",
    ),
    "a view of what it remembers": (
        "ALTER TABLE past_sites RENAME TO plain",
        "CREATE VIEW past_sites AS "
        "SELECT * REPLACE ((SELECT content FROM read_text('{secret}')) AS name) FROM plain",
    ),
}  # fmt: skip


@pytest.mark.parametrize("attempt", ["a view", "a macro"])
@pytest.mark.parametrize("words", [("visits", "--days", "1"), ("evidence", "--site", "01")])
def test_what_a_store_says_reaches_no_file(folder: Path, attempt: str, words: tuple[str, ...]) -> None:
    store = change(folder, *READS[attempt])
    status, said, wrong = command(*words, "--store", store, "--out", folder / "out")
    assert status in (0, 2) and "Traceback" not in wrong
    assert SECRET not in said + wrong
    assert not [path for path, content in contents(folder / "out").items() if SECRET.encode() in content]


def test_nor_does_what_it_remembers(folder: Path) -> None:
    store = change(folder, *READS["a view of what it remembers"])
    words = ("run", folder / "in", "--store", store, "--days", 7, "--out", folder / "out")
    status, _, wrong = command(*words)
    assert status == 2 and "(the engine says: Permission Error" in wrong


def test_the_engine_itself_stops_it(folder: Path) -> None:
    """Without this, the test above might pass because nobody looks at the view."""
    store = change(folder, *READS["a view"])
    with duckdb.connect(str(store), read_only=True) as connection:
        assert SECRET in str(connection.execute("SELECT name FROM circuits").fetchall())
    with connected(store, read_only=True) as connection:
        confine(connection, folder / "out")
        for reach in (
            "SELECT name FROM circuits",
            f"COPY (SELECT 1) TO '{folder / 'new.csv'}'",
            f"ATTACH '{folder / 'new.duckdb'}'",
            "SELECT content FROM read_text('http://127.0.0.1:9/x')",
            "SET enable_external_access = true",
            "INSTALL httpfs",
            "LOAD httpfs",
        ):
            with pytest.raises(duckdb.Error, match=r"disabled|locked|Cannot|Permission"):
                connection.execute(reach).fetchall()
        (folder / "out").mkdir()
        connection.execute(f"COPY (SELECT 1) TO '{folder / 'out' / 'new.csv'}'")
    assert not {"new.csv", "new.duckdb"} & {path.name for path in folder.iterdir()}


def test_every_command_reads_a_store_that_way(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with kept_store(folder / "kept.duckdb", FORMAT) as store:
        settings = dict(store.execute("SELECT name, value FROM duckdb_settings()").fetchall())
    assert settings["enable_external_access"] == "false" and settings["lock_configuration"] == "true"
    assert {settings[name] for name in OFF} == {"false"}

    confined = []
    monkeypatch.setattr("auditor.audit.confine", lambda *places: confined.append(places))
    audit.audit(folder / "in", folder / "out", None, 1, None, lambda *_: lambda _: None, pages=0)
    assert len(confined) == 1


def test_the_engine_is_opened_in_one_place(tmp_path: Path) -> None:
    package = Path(audit.__file__).parent
    opened = [path.name for path in package.rglob("*.py") if "duckdb.connect(" in path.read_text("utf-8")]
    assert sorted(opened) == ["sandbox.py", "store.py"]  # the sandbox has locks of its own
    with open_store(tmp_path / "new.duckdb") as store:
        settings = dict(store.execute("SELECT name, value FROM duckdb_settings()").fetchall())
    assert {settings[name] for name in OFF} == {"false"}


@pytest.mark.parametrize(
    "name", ["sqlite:x", *(pytest.param(n, marks=pytest.mark.nightly) for n in ("md:x", "s3:x"))]
)
def test_a_store_is_a_file_whatever_it_is_called(
    folder: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """To the engine, names that begin like this mean another program's database, or one of the network."""
    monkeypatch.chdir(folder)
    for _ in range(2):  # a new one, and one that remembers
        status, _, wrong = command("run", "in", "--out", "out", "--days", 1, "--store", name)
        assert status == 0, wrong
    status, said, wrong = command("history", "--store", name)
    assert status == 0 and re.search(r"^2026-11 ", said, re.M), wrong
