"""Small portfolios for the hand-worked tests: one site, one device, and what a test adds."""

import csv
from datetime import date
from pathlib import Path
from typing import Any

from .evaluate import evaluate

Row = dict[str, object]
NEW_YORK: Row = {"timezone": "America/New_York", "latitude": 40.7, "longitude": -74.0}
SINGAPORE: Row = {"timezone": "Asia/Singapore", "latitude": 0.0, "longitude": 103.8}
KATHMANDU: Row = {"timezone": "Asia/Kathmandu", "latitude": 27.7, "longitude": 85.3}
LONGYEARBYEN: Row = {"timezone": "Arctic/Longyearbyen", "latitude": 78.2, "longitude": 15.6}
KIRITIMATI: Row = {"timezone": "Pacific/Kiritimati", "latitude": 1.9, "longitude": -157.4}


def save(folder: Path, table: str, found: list[Row]) -> None:
    """One table as CSV; a column that a row lacks is blank."""
    columns = list(dict.fromkeys(column for row in found for column in row))
    with (folder / f"{table}.csv").open("w", encoding="utf-8", newline="") as lines:
        writer = csv.DictWriter(lines, columns)
        writer.writeheader()
        writer.writerows(found)


def steps(*texts: str, target: str = "C", **more: object) -> list[Row]:
    """Steps from texts such as `on 01:30`, `off sunrise -15`, `level 22:00 40`."""
    found = []
    for text in texts:
        action, when, *rest = text.split()
        clock = ":" in when
        row: Row = {
            "targets": target,
            "action": action,
            "days": "daily",
            "anchor": "clock" if clock else when,
        }
        row |= {"time": when} if clock else {"offset_minutes": rest[0] if rest else ""}
        found.append(row | ({"level": rest[0]} if action == "level" else {}) | more)
    return found


def save_case(folder: Path, place: Row, events: list[Row], **tables: list[Row]) -> None:
    """A site S, a device T with the circuit C (exterior, 1000 W), and the given steps; `tables` replaces
    or adds whole tables, and fills in S and T where their rows name none. An earlier case goes."""
    for earlier in folder.glob("*.csv"):
        earlier.unlink()
    keys = {"site_id": "S", "controller_id": "T"}
    base: dict[str, list[Row]] = {
        "sites": [place],
        "controllers": [{"read_at": "2026-11-10T15:00:00Z"}],
        "circuits": [{"circuit_id": "C", "area": "parking", "connected_watts": 1000}],
        "events": [{"event_id": f"E{number}", **event} for number, event in enumerate(events)],
    }
    for table, found in (base | tables).items():
        save(folder, table, [{**keys, **row} for row in found])


def circuit(
    folder: Path, start: str, days: int, place: Row, events: list[Row], **tables: list[Row]
) -> dict[str, Any]:
    """The figures of circuit C of such a portfolio."""
    save_case(folder, place, events, **tables)
    return evaluate(folder, date.fromisoformat(start), days)["C"]
