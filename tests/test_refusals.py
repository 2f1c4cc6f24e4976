"""Whatever keeps a command from running: exit status 2 and one sentence that says where and what to do."""

import os
from collections.abc import Callable
from pathlib import Path

import polars as pl
import pytest

from .conftest import small, write_folder
from .test_cli import Shell, refused, stands_for_an_audit


def spoil(name: str, content: str) -> Callable[[Path], object]:
    return lambda folder: (folder / name).write_text(content, encoding="utf-8")


def lose(*names: str) -> Callable[[Path], object]:
    return lambda folder: [(folder / name).unlink() for name in names]


def directory(name: str) -> Callable[[Path], object]:
    return lambda folder: [(folder / name).unlink(missing_ok=True), (folder / name).mkdir()]


def dangling(name: str) -> Callable[[Path], object]:
    return lambda folder: [(folder / name).unlink(), (folder / name).symlink_to(folder / "gone")]


def pipe(name: str) -> Callable[[Path], object]:
    """To open it would wait for ever."""
    return lambda folder: [(folder / name).unlink(missing_ok=True), os.mkfifo(folder / name)]


def doubled(folder: Path) -> None:
    pl.DataFrame({"site_id": ["01"]}).write_parquet(folder / "sites.parquet")


SPOILT = {
    "a table is missing": (lose("circuits.csv"), "table circuits is missing; add circuits.csv"),
    "nothing is there": (lose(*(f"{name}.csv" for name in small())), "table sites is missing"),
    "a column is missing": (
        spoil("sites.csv", "site_id,lattitude,longitude\n01,1,1\n"),
        'sites.csv, row 1: column "latitude" is missing; add it, or rename "lattitude" if that is it.',
    ),
    "a column is there twice": (spoil("hours.csv", "site_id,days,site_id\n"), 'row 1: column "site_id"'),
    "a table is empty": (spoil("events.csv", ""), "events.csv is empty"),
    "a quotation mark is left open": (spoil("waivers.csv", 'site_id,rule\n01,"x\n'), "waivers.csv, row 2"),
    "a table is a folder": (directory("sites.csv"), "sites.csv cannot be read (Is a directory)"),
    "a table is a link to nothing": (dangling("sites.csv"), "sites.csv cannot be read"),
    "a table is a link out of the folder": (
        lambda folder: [(folder / "hours.csv").unlink(), (folder / "hours.csv").symlink_to(__file__)],
        "hours.csv is a link that leads out of",
    ),
    "a table is a pipe": (pipe("hours.csv"), "hours.csv is no plain file; put a copy there"),
    "the settings are a pipe": (pipe("portfolio.toml"), "portfolio.toml is no plain file"),
    "a table is there twice": (doubled, "sites.csv and sites.parquet both hold sites"),
    "a parquet file is none": (
        lambda folder: (folder / "hours.csv").rename(folder / "hours.parquet"),
        "hours.parquet cannot be read as Parquet",
    ),
    "no site is good": (spoil("sites.csv", "site_id,latitude,longitude\n01,x,1\n"), "No row of sites"),
    "no site is there": (spoil("sites.csv", "site_id,latitude,longitude\n"), "sites.csv holds no row"),
    "no device is good": (
        spoil("controllers.csv", "controller_id,site_id,read_at\n01A,99,2026-11-03T00:00Z\n"),
        "No row of controllers",
    ),
    "the settings are no TOML": (
        spoil("portfolio.toml", "name = \n"),
        "portfolio.toml is not readable as TOML",
    ),
    "a setting is unknown": (
        spoil("portfolio.toml", "[portfolio]\nrates = 1\n"),
        'did you mean "rate_per_kwh"?',
    ),
    "the settings are a folder": (directory("portfolio.toml"), "portfolio.toml cannot be read"),
}


@pytest.mark.parametrize("fault", SPOILT)
def test_a_portfolio_that_cannot_be_audited_is_refused(
    console: Shell, portfolio: Path, tmp_path: Path, fault: str
) -> None:
    change, words = SPOILT[fault]
    change(portfolio)
    assert words in refused(console("run", portfolio, "--out", tmp_path / "out"))
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["run"], "Missing argument 'PORTFOLIO...'"),
        (["run", "p"], "Missing option '--out'"),
        (["run", "p", "q", "--out", "o"], "q is neither a folder nor a workbook"),
        (["run", "gone", "--out", "o"], "gone is neither a folder nor a workbook"),
        (["run", "p/sites.csv", "--out", "o"], "is neither a folder nor a workbook"),
        (["run", "p", "--out", "o", "--days", "0"], "0 is not in the range 1<=x<=3660"),
        (["run", "p", "--out", "o", "--days", "3661"], "3661 is not in the range"),
        (["run", "p", "--out", "o", "--days", "week"], "'week' is not a valid integer"),
        (["run", "p", "--out", "o", "--start", "01/11/2026"], "write a date like 2026-11-01"),
        (["run", "p", "--out", "o", "--start", "2026-02-29"], "write a date like 2026-11-01"),
        (["run", "p", "--out", "o", "--start", ""], "write a date like 2026-11-01"),
        (["run", "p", "--out", "o", "--start", "0001-01-01"], "give a year from 1970 to 2199"),
        (["run", "p", "--out", "o", "--start", "9999-12-31"], "give a year from 1970 to 2199"),
        (["run", "p", "--out", "o", "--fail-on", "worst"], "'worst' is not one of 'critical', 'high'"),
        (["run", "p", "--out", "o", "--stroe", "s"], "--store"),
        (["run", "p", "--out", "file"], "auditor: file is a file and no folder; name another."),
        (["run", "p", "--out", "file/o"], "file/o cannot be written (Not a directory); name a folder"),
        (["run", "p", "--out", "p"], "p holds the portfolio, whose tables the results would replace"),
        (["run", "p", "--out", "p/../p/"], "holds the portfolio"),
        (["run", "p", "--out", "o", "--store", "p"], "'p' is a directory"),
        (["run", "p", "--out", "o", "--store", "gone/s.duckdb"], "gone is not a folder; make it"),
        (["rnu"], "Did you mean 'run'?"),
        (["rules", "clock-drifts"], 'there is no rule "clock-drifts"; did you mean "clock-drift"?'),
        (["rules", "clock-drift", "more"], "unexpected extra argument"),
        (["sun", "40.7"], "Missing argument 'LONGITUDE'"),
    ],
)
def test_words_that_make_no_command_are_refused(
    console: Shell,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    words: list[str],
    sentence: str,
) -> None:
    write_folder(tmp_path / "p", small())
    (tmp_path / "file").write_text("somebody's")
    monkeypatch.chdir(tmp_path)
    assert sentence in refused(console(*words))
    assert (tmp_path / "file").read_text() == "somebody's"
    assert len(list((tmp_path / "p").iterdir())) == len(small())


def test_a_folder_that_may_not_be_read_is_refused(
    console: Shell, portfolio: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def forbidden(path: Path) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "iterdir", forbidden)
    sentence = refused(console("run", portfolio, "--out", tmp_path / "out"))
    assert f"{portfolio}: Permission denied; check the path and its permissions." in sentence


def test_a_fault_of_the_program_shows_its_trace_and_exits_2(
    console: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stands_for_an_audit(monkeypatch, KeyError("a fault"))
    status, out, err = console("run", tmp_path, "--out", tmp_path / "out", "--fail-on", "low")
    assert (status, out) == (2, "")
    assert "KeyError: 'a fault'" in err
    assert "Traceback" in err


def test_an_interrupted_run_is_not_mistaken_for_findings(
    console: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stands_for_an_audit(monkeypatch, KeyboardInterrupt())
    assert console("run", tmp_path, "--out", tmp_path / "out")[0] == 130
