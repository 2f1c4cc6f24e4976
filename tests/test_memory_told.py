"""What was done, which clocks drift, history and summary, from a store that remembers."""

import csv
import json
from datetime import date
from pathlib import Path

import pytest

from .conftest import front, report, write_folder
from .memory_case import HELD, Ask, Keeper, action, portfolio


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    return Keeper(tmp_path)


# Answers ---------------------------------------------------------------------------------------------------


def test_done_after_the_reading_is_not_contradicted_by_it(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD))
    keeper.run(
        portfolio(11, s1=HELD)
        | {"actions": [action(keeper.finding("left-in-hand", "c1"), "2026-11-20", "done")]},
        pages=9,
    )
    assert keeper.ask("SELECT contradicted FROM answers") == [(False,)]
    assert "is no newer, so that the next one will tell" in report(keeper.out)


def test_a_critical_finding_without_an_action_stands_on_the_first_page_as_unanswered(keeper: Keeper) -> None:
    dark = {"circuits": {"hold": "off"}}
    keeper.run(portfolio(10, s1=dark, s2=dark))
    answered = action(
        keeper.finding("dark-while-open", "c1"), "2026-11-01", "ordered", "Electrician on 3 December"
    )
    outcome = keeper.run(portfolio(11, s1=dark, s2=dark) | {"actions": [answered]})
    page = " ".join(front(keeper.out).split())
    assert "<strong>1 of them has no action and no waiver.</strong>" in page
    assert page.count("<strong>No answer yet.</strong>") == 1
    assert outcome.summary["unanswered"] == 1


# Clocks that drift -----------------------------------------------------------------------------------------


def test_two_readings_tell_the_drift_and_when_it_is_five_minutes(keeper: Keeper, console: Ask) -> None:
    fast = {"controllers": {"clock_reading": "2026-10-20T12:01:05"}}
    faster = {"controllers": {"clock_reading": "2026-11-20T12:02:05"}}
    keeper.run(portfolio(10, s1=fast))
    keeper.run(portfolio(11, s1=faster))
    # A minute in 31 days is 30.4375 / 31 min a month; 175 s more take 90.4 days from 20 November.
    ((rate, on),) = keeper.ask(
        "SELECT minutes_a_month, five_minutes_on FROM drifts WHERE controller_id = 't1'"
    )
    assert rate == pytest.approx(30.4375 / 31) and on == date(2027, 2, 18)
    _, said, _ = console("history", "--store", keeper.store)
    line = "t1 gains 1.0 min a month (readings of 20 October 2026 and 20 November 2026); "
    assert f"{line}5 minutes off on 18 February 2027" in said


def test_a_clock_that_was_set_in_between_is_not_said_to_drift(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"controllers": {"clock_reading": "2026-10-20T12:40:00"}}))
    keeper.run(portfolio(11))
    assert keeper.ask("SELECT controller_id FROM drifts WHERE controller_id = 't1'") == []


def read_on(keeper: Keeper, *shown: str) -> list[tuple[float]]:
    """Runs from September on, each with what the clock of t1 shows at 12:00; the drift that they tell."""
    for month, clock in enumerate(shown, 9):
        keeper.run(portfolio(month, s1={"controllers": {"clock_reading": f"2026-{month:02}-20T{clock}"}}))
    return keeper.ask("SELECT minutes_a_month FROM drifts WHERE controller_id = 't1'")


@pytest.mark.nightly
def test_a_minute_between_readings_without_seconds_is_no_drift(keeper: Keeper) -> None:
    # 12:00:59 and 12:01:00 may both stand behind these: the clocks may be a second apart.
    assert read_on(keeper, "12:00:00", "12:01:00") == []


@pytest.mark.nightly
def test_all_readings_since_the_clock_was_set_tell_its_drift(keeper: Keeper) -> None:
    # Set in October: of the readings after that, the first and the last count, 61 days and 2 minutes apart.
    ((rate,),) = read_on(keeper, "12:20:00", "12:00:30", "12:01:00", "12:02:30")
    assert rate == pytest.approx(2 * 30.4375 / 61)


@pytest.mark.nightly
def test_a_reading_of_a_run_that_was_repeated_is_forgotten(keeper: Keeper) -> None:
    read_on(keeper, "12:00:10", "12:04:10")
    again = {"controllers": {"read_at": "2026-10-20T12:30:00Z", "clock_reading": "2026-10-20T12:30:10"}}
    keeper.run(portfolio(10, s1=again))
    assert keeper.ask("FROM drifts") == []
    assert keeper.ask("SELECT count(*) FROM past_readings WHERE controller_id = 't1'") == [(2,)]


def test_the_report_says_which_clocks_drift(keeper: Keeper) -> None:
    read_on(keeper, "12:00:10", "12:02:10")
    page = front(keeper.out)
    assert (
        "<li>t1 gains 2.0 min a month (readings of 20 September 2026 and 20 October 2026); 5 minutes" in page
    )


# The commands ----------------------------------------------------------------------------------------------


def test_history_is_a_line_a_month_to_read_and_to_keep(keeper: Keeper, console: Ask) -> None:
    for month in (9, 10, 11):
        keeper.run(portfolio(month, s1=HELD if month > 9 else {}))
    out = keeper.folder / "history.csv"
    status, said, _ = console("history", "--store", keeper.store, "--out", out)
    lines = said.splitlines()
    assert status == 0 and lines[0].split()[:2] == ["month", "last"]
    assert [line.split()[0] for line in lines[1:4]] == ["2026-09", "2026-10", "2026-11"]
    with out.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [(row["month"], row["high"], row["new"]) for row in rows] == [
        ("2026-09", "0", ""),
        ("2026-10", "2", "3"),  # in hand, lit in daylight, no cutoff at night
        ("2026-11", "2", "0"),
    ]


@pytest.mark.parametrize("make", ["nothing", "notes"])
def test_history_of_what_is_no_store_is_one_sentence(tmp_path: Path, console: Ask, make: str) -> None:
    path = tmp_path / "a.duckdb"
    if make == "notes":
        path.write_bytes(b"notes")
    status, said, err = console("history", "--store", path)
    assert (status, said, err.count("\n")) == (2, "", 1) and str(path) in err


@pytest.mark.parametrize("form", ["text", "markdown", "json"])
def test_a_summary_is_ten_lines_or_facts(keeper: Keeper, console: Ask, form: str) -> None:
    source = write_folder(keeper.folder / "in", portfolio(10, s1=HELD))
    status, said, err = console("run", source, "--out", keeper.out, "--summary", form)
    assert (status, err) == (0, "")
    if form == "json":
        assert json.loads(said)["high"] == 2 and json.loads(said)["first_date"] == "2026-10-01"
    else:
        assert len(said.splitlines()) == 10
        assert all(line.startswith("- ") == (form == "markdown") for line in said.splitlines())
