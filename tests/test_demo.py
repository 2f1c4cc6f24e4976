"""The demo portfolio: what was planted is found, nothing else is, and near misses stay silent."""

import csv
from pathlib import Path

import pytest

FIXTURES = Path(__file__).parent.parent / "fixtures"
Subject = tuple[str, str, str]


@pytest.fixture(scope="module")
def results(demo: Path) -> Path:
    return demo


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def subjects(path: Path) -> set[Subject]:
    return {(row["rule"], row["subject_kind"], row["subject_id"]) for row in rows(path)}


def test_planted_and_found_agree_both_ways(results: Path) -> None:
    planted, found = subjects(FIXTURES / "planted.csv"), subjects(results / "findings.csv")
    assert planted - found == set(), "planted, but not found"
    assert found - planted == set(), "found, but not planted"


@pytest.mark.parametrize("name", ["planted.csv", "near_misses.csv"])
def test_every_rule_is_planted_at_least_once_and_nearly_missed_at_least_once(name: str) -> None:
    rules = {path.stem for path in (FIXTURES.parent / "queries/rules").glob("*.sql")}
    assert {rule for rule, _, _ in subjects(FIXTURES / name)} == rules


def test_near_misses_stay_silent(results: Path) -> None:
    near = subjects(FIXTURES / "near_misses.csv")
    assert near and not near & subjects(results / "findings.csv")


def test_rejected_rows_are_those_planted(results: Path) -> None:
    key = ("source_file", "source_row", "column")
    planted = [tuple(row[name] for name in key) for row in rows(FIXTURES / "planted_rejections.csv")]
    assert planted == [tuple(row[name] for name in key) for row in rows(results / "rejected.csv")]


def test_missing_data_is_said(results: Path) -> None:
    missing = {row["missing"] for row in rows(results / "not_evaluated.csv")}
    assert {"hours", "dst_rule", "clock_reading", "latitude;longitude", "clock_backup_hours"} <= missing


def test_a_waiver_stands_until_it_expires(results: Path) -> None:
    status = {(row["rule"], row["subject_id"]): row["status"] for row in rows(results / "findings.csv")}
    assert status["no-night-cutoff", "M-0321-A-3"] == "waived"
    assert status["no-night-cutoff", "L-0015-A-1"] == "open", "its waiver expired on 2026-06-30"
