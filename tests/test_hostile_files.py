"""Files that are no such thing: pipes, bombs, names that are no text, TOML that nobody reads."""

import os
from collections.abc import Callable
from pathlib import Path
from threading import Thread

import polars as pl
import pytest

from auditor.errors import UserError
from auditor.files import read_file, toml_of
from auditor.intake import not_read, read_portfolio
from auditor.mapping.drafts.writing import quoted

from .conftest import small, write_folder
from .names_case import PAYLOADS
from .test_cli import Shell, refused

ODD = {
    "arrays without end": ("x = " + "[" * 100_000, "brackets too deep within each other"),
    "arrays in arrays": ("x = " + "[" * 2000 + "]" * 2000, "brackets too deep within each other"),
    "a number of 5000 digits": ("x = " + "9" * 5000, "a number of too many digits"),
    "half a pair": ('x = "\\ud800"', "not a Unicode scalar value"),
    "no UTF-8": ("x = '\udcff'", "can't decode byte 0xff"),
}
READERS: dict[str, tuple[str, Callable[[Path], tuple[object, ...]]]] = {
    "portfolio.toml": ("{}", lambda folder: ("run", folder, "--out", folder / "out")),
    "map.toml": ("{}", lambda folder: ("check", folder / "map.toml")),
    "town.toml": ("{}", lambda folder: ("codes", "--codes", folder)),
    "mine.sql": ("--: {}", lambda folder: ("rules", "--rules", folder)),
}


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("name", READERS)
def test_toml_that_no_reader_was_made_for_gets_a_sentence(
    console: Shell, tmp_path: Path, name: str, odd: str
) -> None:
    (text, words), (line, command) = ODD[odd], READERS[name]
    (tmp_path / name).write_bytes(line.format(text).encode("utf-8", "surrogateescape"))
    said = refused(console(*command(tmp_path)))
    assert name in said and (words in said or "not UTF-8" in said)


@pytest.mark.parametrize("payload", PAYLOADS)
def test_a_draft_reads_as_the_words_that_it_was_made_of(payload: str) -> None:
    assert toml_of(f"x = {quoted(PAYLOADS[payload])}".encode(), "draft", "") == {"x": PAYLOADS[payload]}
    assert "\x1b" not in quoted(PAYLOADS[payload]) and "\u202e" not in quoted(PAYLOADS[payload])


# A pipe that nobody writes into keeps its reader waiting for ever.
PIPES: dict[str, Callable[[Path], tuple[object, ...]]] = {
    "sites.csv": lambda folder: ("run", folder, "--out", folder / "out"),
    "portfolio.toml": lambda folder: ("day", "01", "2026-11-04", "--portfolio", folder),
    "actions.csv": lambda folder: ("act", "0" * 12, "done", "--by", "A. V.", "--portfolio", folder),
    "map.toml": lambda folder: ("check", folder / "map.toml"),
    "export.csv": lambda folder: ("map", folder / "export.csv"),
    "book.xlsx": lambda folder: ("run", folder / "book.xlsx", "--out", folder / "out"),
    "town.toml": lambda folder: ("codes", "--codes", folder),
    "mine.sql": lambda folder: ("rules", "--rules", folder),
    "kept.duckdb": lambda folder: ("history", "--store", folder / "kept.duckdb"),
}


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes in folders")
@pytest.mark.parametrize("name", PIPES)
def test_nobody_waits_at_a_pipe(console: Shell, portfolio: Path, name: str) -> None:
    (portfolio / name).unlink(missing_ok=True)
    os.mkfifo(portfolio / name)
    ended = Thread(target=_end, args=(portfolio / name,), daemon=True)
    ended.start()
    try:
        assert f"{name} is no plain file" in refused(console(*PIPES[name](portfolio)))
    finally:
        os.close(os.open(portfolio / name, os.O_RDONLY | os.O_NONBLOCK))
        ended.join()


def _end(pipe: Path) -> None:
    """Gives the first that reads it nothing, so that a reader would read on, and this test would not hang."""
    os.close(os.open(pipe, os.O_WRONLY))


def test_a_table_that_unpacks_without_measure_is_refused(portfolio: Path) -> None:
    (portfolio / "sites.csv").unlink()
    path = portfolio / "sites.parquet"
    pl.DataFrame({"site_id": pl.repeat("01", 21_000_000, eager=True)}).write_parquet(path)
    assert path.stat().st_size < 100_000
    with pytest.raises(UserError) as refusal:
        read_portfolio(portfolio)
    assert str(refusal.value) == (
        "sites.parquet unpacks to 21,000,000 cells, which no table of its size does; export it again."
    )


def test_a_name_that_is_no_text_is_refused_before_any_result_must_tell_it(tmp_path: Path) -> None:
    path = Path(os.fsdecode(os.fsencode(tmp_path) + b"/b\xff\x1b.toml"))
    try:
        path.write_text("x = 1")
    except OSError:
        pytest.skip("this file system has no such names")
    with pytest.raises(UserError) as refusal:
        read_file(path, path.name)
    assert str(refusal.value) == "b\ufffd\ufffd.toml has a name that is not UTF-8; rename the file."


def test_a_file_that_is_not_read_is_named_in_letters(tmp_path: Path) -> None:
    folder = write_folder(tmp_path, small())
    try:
        Path(os.fsdecode(os.fsencode(folder) + b"/si\xff\x1btes.csv")).write_text("site_id\n")
    except OSError:
        pytest.skip("this file system has no such names")
    (said,) = not_read(folder)
    assert said.startswith("si\ufffd\ufffdtes.csv was not read") and said.encode()


def test_a_table_is_no_link_out_of_its_folder(portfolio: Path, tmp_path: Path) -> None:
    (portfolio / "sites.csv").rename(tmp_path / "elsewhere.csv")
    (portfolio / "sites.csv").symlink_to(tmp_path / "elsewhere.csv")
    with pytest.raises(UserError, match=r"^sites\.csv is a link that leads out of"):
        read_portfolio(portfolio)
