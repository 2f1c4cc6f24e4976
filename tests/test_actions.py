"""``auditor act``: a line more in actions.csv, and nothing else."""

import csv
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path

import pytest

from .conftest import Console

Act = Callable[..., Console]
KEY = "0123456789ab"


@pytest.fixture
def act(tmp_path: Path, console: Act) -> Act:
    (tmp_path / "sites.csv").write_text("site_id,latitude,longitude\n")

    def run(*words: object) -> Console:
        return console("act", *words, "--portfolio", tmp_path)

    return run


def rows(folder: Path) -> list[dict[str, str]]:
    with (folder / "actions.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_first_action_makes_the_table_and_the_next_is_added(tmp_path: Path, act: Act) -> None:
    assert act(KEY, "ordered", "--by", "A. V.", "--date", "2026-11-20")[0] == 0
    assert act(KEY, "done", "--by", "A. V.", "--note", 'Set to "zone", tried', "--date", "2026-11-25")[0] == 0
    assert rows(tmp_path) == [
        {"finding_id": KEY, "date": "2026-11-20", "by": "A. V.", "disposition": "ordered", "note": ""},
        {
            "finding_id": KEY,
            "date": "2026-11-25",
            "by": "A. V.",
            "disposition": "done",
            "note": 'Set to "zone", tried',
        },
    ]


def test_columns_of_the_table_keep_their_order_and_its_rows_their_bytes(tmp_path: Path, act: Act) -> None:
    before = "note,finding_id,ticket,disposition,by,date\r\n'=1,aaaaaaaaaaaa,7,done,B,2026-10-01"
    (tmp_path / "actions.csv").write_text(before, encoding="utf-8", newline="")
    assert act(KEY, "done", "--by", "A", "--note", "=2+2", "--date", "2026-11-25")[0] == 0
    after = (tmp_path / "actions.csv").read_bytes().decode()
    assert after.startswith(before) and after.endswith(f"\n'=2+2,{KEY},,done,A,2026-11-25\n")


def test_a_decline_says_why(tmp_path: Path, act: Act) -> None:
    status, _, err = act(KEY, "declined", "--by", "A")
    assert status == 2 and "declined needs a note" in err and not (tmp_path / "actions.csv").exists()
    assert act(KEY, "declined", "--by", "A", "--note", "The town wants it lit")[0] == 0


@pytest.mark.parametrize("key", ["left-in-hand", "0123", "0123456789AB", ""])
def test_what_is_no_finding_id_is_refused(tmp_path: Path, act: Act, key: str) -> None:
    status, _, err = act(key, "done", "--by", "A")
    assert status == 2 and "finding_id" in err and not (tmp_path / "actions.csv").exists()


def test_what_cannot_be_recorded_is_refused_and_nothing_is_written(tmp_path: Path, act: Act) -> None:
    tomorrow = date.today() + timedelta(days=1)
    assert "is still to come" in act(KEY, "done", "--by", "A", "--date", tomorrow)[2]
    assert "write --by NAME" in act(KEY, "done", "--by", " ")[2]
    (tmp_path / "sites.csv").unlink()
    assert "holds no portfolio" in act(KEY, "done", "--by", "A")[2]
    assert list(tmp_path.iterdir()) == []


def test_nothing_is_added_inside_an_open_quotation_mark(tmp_path: Path, act: Act) -> None:
    text = f'finding_id,date,by,disposition,note\n{KEY},2026-10-01,A,done,"asked\n'
    (tmp_path / "actions.csv").write_text(text)
    assert "close its quotation marks" in act(KEY, "done", "--by", "A")[2]
    assert (tmp_path / "actions.csv").read_text() == text


def test_a_table_is_found_whatever_the_case_of_its_name(tmp_path: Path, act: Act) -> None:
    (tmp_path / "Actions.CSV").write_text("finding_id,date,by,disposition,note\n")
    assert act(KEY, "done", "--by", "A")[0] == 0
    assert (tmp_path / "Actions.CSV").read_text().count(KEY) == 1 and not (tmp_path / "actions.csv").exists()


def test_a_table_that_cannot_be_added_to_is_refused(tmp_path: Path, act: Act) -> None:
    (tmp_path / "actions.csv").write_text("finding,what\n")
    assert "has no column by" in act(KEY, "done", "--by", "A")[2]
    (tmp_path / "actions.csv").rename(tmp_path / "actions.parquet")
    assert "add the line where that table is made" in act(KEY, "done", "--by", "A")[2]
