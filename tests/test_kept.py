"""A kept store that is read again: each kind of trouble has a sentence of its own, with what to do."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import duckdb
import pytest

from auditor.errors import UserError
from auditor.kept import FORMAT, told_apart

from .conftest import Console, run_audit, small, write_folder

READERS = [("history",), ("visits", "--days", 1), ("evidence", "--all-sites")]


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_folder(tmp_path_factory.mktemp("kept") / "portfolio", small())


@pytest.fixture(scope="module")
def made(source: Path) -> bytes:
    path = source.parent / "made.duckdb"
    run_audit(source, source.parent / "out", path)
    return path.read_bytes()


@pytest.fixture
def store(made: bytes, tmp_path: Path) -> Path:
    path = tmp_path / "audit.duckdb"
    path.write_bytes(made)
    return path


@pytest.fixture
def refused(console: Callable[..., Console], tmp_path: Path) -> Callable[..., str]:
    """What a command that reads the store says when it cannot."""

    def ask(words: tuple[object, ...], path: Path) -> str:
        out = tmp_path / "none"
        status, said, wrong = console(*words, "--store", path, "--out", out)
        assert (status, said, wrong.count("\n"), out.exists()) == (2, "", 1, False)
        return wrong.removeprefix("auditor: ").strip().replace(str(path), "STORE")

    return ask


def changed(path: Path, sql: str) -> Path:
    with duckdb.connect(str(path)) as connection:
        connection.execute(sql)
    return path


@pytest.mark.parametrize("words", READERS)
def test_a_file_that_is_not_there(refused: Callable[..., str], tmp_path: Path, words: tuple[object]) -> None:
    how = "keep a store first, with auditor run PORTFOLIO --out DIR --store STORE"
    assert refused(words, tmp_path / "audit.duckdb") == f"STORE is not there; {how}."


@pytest.mark.parametrize("words", READERS)
@pytest.mark.parametrize(
    "content",
    [b"", b"hours,of,words\n" * 500, b"\0" * 5000, b"SQLite format 3\0" + b"\0" * 5000],
    ids=["empty", "text", "zeros", "of another engine"],
)
def test_a_file_that_is_no_store_is_not_to_be_run_onto(
    refused: Callable[..., str], tmp_path: Path, words: tuple[object], content: bytes
) -> None:
    (tmp_path / "notes").write_bytes(content)
    instead = "name the file that auditor run --store kept"
    assert refused(words, tmp_path / "notes") == f"STORE is no store of this program; {instead}."


@pytest.mark.parametrize("words", READERS)
def test_a_database_of_something_else(
    refused: Callable[..., str], tmp_path: Path, words: tuple[object]
) -> None:
    path = changed(tmp_path / "other.duckdb", "CREATE TABLE findings (page INTEGER)")
    assert refused(words, path).startswith("STORE is a database, but no store of this program; name the file")


def test_a_folder_is_no_store(refused: Callable[..., str], tmp_path: Path) -> None:
    assert refused(("visits", "--days", 1), tmp_path).startswith("STORE is a folder and no store; name the")


@pytest.mark.parametrize("words", READERS)
def test_a_store_of_an_older_layout_is_audited_once_more(
    refused: Callable[..., str], store: Path, words: tuple[object]
) -> None:
    changed(store, "UPDATE store_format SET version = version - 1")
    sentence = refused(words, store)
    assert sentence.startswith("STORE was kept by an older version of this program; audit the newest export")
    changed(store, "DROP TABLE store_format")  # as of before stores remembered
    assert refused(words, store) == sentence


def test_what_an_older_store_is_told_to_do_works(
    refused: Callable[..., str], console: Callable[..., Console], store: Path, source: Path
) -> None:
    changed(store, f"UPDATE store_format SET version = {FORMAT} - 1")
    run_audit(source, source.parent / "out", store)
    assert console("history", "--store", store)[0] == 0


@pytest.mark.parametrize("words", READERS)
def test_a_store_of_a_newer_layout_asks_for_the_newer_program(
    refused: Callable[..., str], store: Path, words: tuple[object]
) -> None:
    changed(store, "UPDATE store_format SET version = version + 1")
    newer = "was written by a newer version of this program; install that one"
    assert refused(words, store) == f"STORE {newer}."


def test_a_store_of_a_newer_engine_asks_for_the_newer_program(
    refused: Callable[..., str], store: Path, source: Path
) -> None:
    """Bytes 12 to 19 are the storage version, and 0 to 7 the sum of what follows to byte 4095.

    That is an exclusive or of 5381 and each eight bytes times 0xbf58476d1ce4e5b9: so in files of DuckDB 2.0.
    """
    content = bytearray(store.read_bytes())
    content[12:20] = (100_000).to_bytes(8, "little")
    total = 5381
    for at in range(8, 4096, 8):
        total ^= int.from_bytes(content[at : at + 8], "little") * 0xBF58476D1CE4E5B9 % 2**64
    content[:8] = total.to_bytes(8, "little")
    store.write_bytes(content)
    newer = "was written by a newer version of this program or of its engine; install that one"
    assert refused(("history",), store) == f"STORE {newer}."
    with pytest.raises(UserError, match=newer):
        run_audit(source, source.parent / "out", store)
    assert store.read_bytes() == content


@pytest.mark.parametrize("words", READERS)
def test_a_store_that_does_not_say_its_layout_is_damaged(
    refused: Callable[..., str], store: Path, words: tuple[object]
) -> None:
    assert "STORE is damaged: its table store_format is empty" in refused(
        words, changed(store, "DELETE FROM store_format")
    )


@pytest.mark.parametrize("part", ["TABLE inputs", "TABLE runs", "VIEW drifts"])
@pytest.mark.parametrize("words", READERS)
def test_a_store_that_is_not_whole_is_damaged(
    refused: Callable[..., str], store: Path, words: tuple[object], part: str
) -> None:
    lacking = f"STORE is damaged: it lacks {part.split()[1]}; take a copy from your backup"
    assert lacking in refused(words, changed(store, f"DROP {part}"))


@pytest.mark.parametrize(("layout", "part"), [(FORMAT, "exposures"), (3, "past_rules"), (2, "runs")])
def test_a_run_onto_a_store_that_is_not_whole_is_refused_and_it_stays(
    store: Path, source: Path, layout: int, part: str
) -> None:
    changed(store, f"DROP TABLE {part}")
    changed(store, f"UPDATE store_format SET version = {layout}")
    before = store.read_bytes()
    with pytest.raises(UserError, match=rf"is damaged: it lacks {part}; .* or name another file"):
        run_audit(source, source.parent / "out", store)
    assert store.read_bytes() == before


def test_a_run_onto_a_store_that_it_cannot_carry_along_is_refused_before_any_work(
    store: Path, tmp_path: Path
) -> None:
    changed(store, "UPDATE store_format SET version = version + 1")
    with pytest.raises(UserError, match="was written by a newer version"):
        run_audit(tmp_path / "no portfolio", tmp_path / "out", store)
    assert [path.name for path in tmp_path.iterdir()] == ["audit.duckdb"]


def test_a_run_onto_such_a_store_is_refused_in_a_sentence_too(store: Path, source: Path) -> None:
    changed(store, "DELETE FROM store_format")
    before = store.read_bytes()
    with pytest.raises(UserError, match=r"its table store_format is empty.*or name another file"):
        run_audit(source, source.parent / "out", store)
    assert store.read_bytes() == before


@pytest.mark.parametrize("words", READERS)
def test_a_store_in_use_by_another_program(
    refused: Callable[..., str], store: Path, words: tuple[object]
) -> None:
    holds = "import duckdb, sys; held = duckdb.connect(sys.argv[1]); print(flush=True); sys.stdin.read()"
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    with subprocess.Popen([sys.executable, "-c", holds, str(store)], **pipes) as other:
        other.stdout.readline()
        assert refused(words, store) == "STORE is in use; close it in the other program, and try again."


@pytest.mark.parametrize("words", READERS)
def test_a_store_that_was_cut_short(refused: Callable[..., str], store: Path, words: tuple[object]) -> None:
    store.write_bytes(store.read_bytes()[:20000])
    assert "STORE cannot be read and may be damaged; take a copy from your backup" in refused(words, store)


def test_a_fault_of_our_own_is_not_blamed_on_the_file(store: Path) -> None:
    with pytest.raises(duckdb.CatalogException), told_apart(store, ""), duckdb.connect() as connection:
        connection.execute("FROM no_such_table")
