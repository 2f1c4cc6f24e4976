"""The year once more with right clocks: only where a clock is wrong, and just as if it had been set right."""

import csv
from datetime import datetime
from pathlib import Path
from typing import Any

import duckdb
import pytest

from auditor import audit, year
from auditor.report.links import page_name

from .conftest import Tables, run_audit, write_folder
from .reference.random_portfolio import write

TIMELINE = "circuit_id, start_utc, end_utc, level, conditional"


def two_devices() -> Tables:
    """In New York, where clocks go forward on 14 March 2027 at 02:00: A does not follow, B does."""
    return {
        "sites": [{"site_id": "S", "latitude": 40.7, "longitude": -74.0, "timezone": "America/New_York"}],
        "controllers": [
            {"controller_id": "A", "site_id": "S", "read_at": "2027-03-02T12:00:00Z", "dst_rule": "none"},
            {"controller_id": "B", "site_id": "S", "read_at": "2027-03-02T12:00:00Z", "dst_rule": "zone"},
        ],
        "circuits": [
            {"circuit_id": f"{device}1", "controller_id": device, "area": "interior"} for device in "AB"
        ],
        "events": [
            {
                "event_id": action,
                "controller_id": device,
                "targets": f"{device}1",
                "action": action,
                "days": "daily",
                "anchor": "clock",
                "time": time,
            }
            for device in "AB"
            for action, time in (("on", "20:00"), ("off", "22:00"))
        ],
    }


def ask(store: Path, sql: str, *values: object) -> list[tuple[Any, ...]]:
    with duckdb.connect(str(store), read_only=True) as connection:
        return connection.execute(sql, list(values)).fetchall()


def lit(store: Path, table: str, circuit: str) -> list[tuple[datetime, datetime]]:
    sql = f"SELECT start_utc, end_utc FROM {table} WHERE circuit_id = ? AND level > 0 ORDER BY 1"
    return [(start, end) for start, end in ask(store, sql, circuit)]


def test_a_missed_change_is_put_right_and_nothing_else_is(tmp_path: Path) -> None:
    store = tmp_path / "store.duckdb"
    run_audit(write_folder(tmp_path / "in", two_devices()), tmp_path / "out", store, days=20)
    # 20:00 is 01:00 UTC on the next day in winter, 00:00 in summer (15 USC 260a)
    winter = (datetime(2027, 3, 14, 1), datetime(2027, 3, 14, 3))
    summer = (datetime(2027, 3, 15, 0), datetime(2027, 3, 15, 2))
    late = (datetime(2027, 3, 15, 1), datetime(2027, 3, 15, 3))
    does, would = lit(store, "timeline", "A1"), lit(store, "right_clock_timeline", "A1")
    assert winter in does and winter in would
    assert late in does and late not in would
    assert summer in would and summer not in does
    assert ask(store, "SELECT DISTINCT circuit_id FROM right_clock_timeline") == [("A1",)]


def test_a_clock_is_wrong_from_more_than_a_minute_on(tmp_path: Path) -> None:
    tables = two_devices()  # both read at 07:00 local time
    tables["controllers"][0] |= {"clock_reading": "2027-03-02T07:01:00", "dst_rule": "zone"}
    tables["controllers"][1] |= {"clock_reading": "2027-03-02T07:01:01"}
    store = tmp_path / "store.duckdb"
    run_audit(write_folder(tmp_path / "in", tables), tmp_path / "out", store)
    assert ask(store, "FROM wrong_clocks") == [("B", "S")]


def _with_right_clocks(source: Path, target: Path) -> Path:
    """The same portfolio as if somebody had set every clock right."""
    target.mkdir()
    for path in source.iterdir():
        text = path.read_text(encoding="utf-8")
        if path.name == "controllers.csv":
            rows = list(csv.DictReader(text.splitlines()))
            for row in rows:
                row |= {"dst_rule": "zone", "clock_reading": "", "utc_offset": ""}
            with (target / path.name).open("w", encoding="utf-8", newline="") as file:
                writer = csv.DictWriter(file, list(rows[0]))
                writer.writeheader()
                writer.writerows(rows)
        else:
            (target / path.name).write_text(text, encoding="utf-8")
    return target


@pytest.mark.nightly
@pytest.mark.parametrize("seed", [3, 12])
def test_it_is_what_an_audit_of_right_devices_finds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    monkeypatch.setattr(year, "BATCH", 3)  # wrong ones are numbered anew, across batches
    wrong, right = tmp_path / "wrong", tmp_path / "right"
    write(wrong, seed)
    _with_right_clocks(wrong, right)
    for folder in (wrong, right):
        run_audit(
            folder, tmp_path / f"{folder.name}-out", tmp_path / f"{folder.name}.duckdb", days=60, pages=0
        )
    would = ask(tmp_path / "wrong.duckdb", f"SELECT {TIMELINE} FROM right_clock_timeline ORDER BY ALL")
    circuits = {row[0] for row in would}
    does = ask(tmp_path / "right.duckdb", f"SELECT {TIMELINE} FROM timeline ORDER BY ALL")
    assert len(circuits) > 5
    assert would == [row for row in does if row[0] in circuits]
    assert ask(tmp_path / "right.duckdb", "FROM right_clock_timeline") == []


def test_without_a_store_they_are_worked_out_for_the_pages_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tables = two_devices()
    other = two_devices()
    for table, rows in other.items():
        ids = {key for key in rows[0] if key.endswith("_id") or key == "targets"}
        tables[table] += [row | {key: f"{row[key]}x" for key in ids} for row in rows]
    folder, chosen = write_folder(tmp_path / "in", tables), []
    monkeypatch.setattr(audit, "run_right_clocks", lambda store, *_: chosen.append(fetched(store)))
    run_audit(folder, tmp_path / "kept", tmp_path / "kept.duckdb", days=20, pages=1)
    run_audit(folder, tmp_path / "not-kept", days=20, pages=1)
    assert chosen == [[("A", "S"), ("Ax", "Sx")], [("A", "S")]]


def test_pages_are_the_same_with_and_without_a_store(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "in", two_devices())
    run_audit(folder, tmp_path / "kept", tmp_path / "kept.duckdb", days=20)
    run_audit(folder, tmp_path / "not-kept", days=20)
    kept, not_kept = (tmp_path / out / "sites" / page_name("S") for out in ("kept", "not-kept"))
    assert "against a right clock" in kept.read_text("utf-8").lower()
    assert kept.read_bytes() == not_kept.read_bytes()


def fetched(store: duckdb.DuckDBPyConnection) -> list[tuple[Any, ...]]:
    return store.execute("SELECT controller_id, site_id FROM right_clock_devices ORDER BY ALL").fetchall()
