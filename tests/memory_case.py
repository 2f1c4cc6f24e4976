"""Runs one after the other with one store, for the tests of what it remembers."""

from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

import duckdb

from auditor.rules import load_rules

from .conftest import Console, Row, Tables, run_audit, write_folder

Ask = Callable[..., Console]
Changes = dict[tuple[str, str], tuple[str, str]]


def portfolio(month: int, **sites: dict[str, Row]) -> Tables:
    """Five sites in Accra (UTC all year), each with a car park on from sunset to sunrise; read on the 20th.

    ``sites`` bend the rows of a site's tables: s1={"circuits": {"hold": "on"}}.
    """
    tables: Tables = {name: [] for name in ("sites", "controllers", "circuits", "events", "hours")}
    for number in range(1, 6):
        site = f"s{number}"
        rows: dict[str, Row] = {
            "sites": {
                "site_id": site,
                "latitude": 5.6,
                "longitude": -0.2,
                "timezone": "Africa/Accra",
                "rate_per_kwh": 0.2,
            },
            "controllers": {
                "controller_id": f"t{number}",
                "site_id": site,
                "read_at": f"2026-{month:02}-20T12:00:00Z",
                "clock_reading": f"2026-{month:02}-20T12:00:00",
                "dst_rule": "zone",
            },
            "circuits": {
                "circuit_id": f"c{number}",
                "controller_id": f"t{number}",
                "area": "parking",
                "connected_watts": 1000,
            },
            "hours": {"site_id": site, "days": "daily", "opens": "08:00", "closes": "20:00"},
        }
        for table, row in rows.items():
            tables[table].append(row | sites.get(site, {}).get(table, {}))
        for event_id, action, anchor in (
            ("1", "on", "sunset"),
            ("2", "level", "clock"),
            ("3", "off", "sunrise"),
        ):
            cells: Row = {"time": "23:00", "level": 40} if action == "level" else {}
            tables["events"].append(
                {"event_id": event_id, "controller_id": f"t{number}", "targets": f"c{number}"}
                | {"action": action, "days": "daily", "anchor": anchor}
                | cells
            )
    return tables


# Rules that these portfolios bring out: the others would take half of each run, and say nothing.
FEW = (
    *("clock-drift", "clock-wrong-zone", "dark-around-closing", "dark-while-open", "left-in-hand"),
    *("lit-in-daylight", "no-night-cutoff", "short-backup", "step-never-fires", "sun-location-off"),
)
_FEW = [rule for rule in load_rules() if rule.name in FEW]
STEPS = (("1", "on", "sunset"), ("2", "level", "clock"), ("3", "off", "sunrise"))
HELD = {"circuits": {"hold": "on"}}


class Keeper:
    """Runs one after the other with one store."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.store, self.out = folder, folder / "audit.duckdb", folder / "out"

    def run(self, tables: Tables, settings: str = "", pages: int = 0) -> Any:
        for path in (self.folder / "in").glob("*"):
            path.unlink()
        source = write_folder(self.folder / "in", tables, settings)
        with patch("auditor.audit.load_rules", lambda: _FEW):
            return run_audit(source, self.out, self.store, 365, pages)

    def ask(self, question: str) -> list[tuple[Any, ...]]:
        with duckdb.connect(str(self.store), read_only=True) as store:
            return store.execute(question).fetchall()

    def changes(self) -> Changes:
        rows = self.ask("SELECT rule, subject_id, change, coalesce(reason, '') FROM changes")
        return {(rule, subject): (change, reason) for rule, subject, change, reason in rows}

    def finding(self, rule: str, subject: str) -> str:
        ((key,),) = self.ask(
            f"SELECT finding_id FROM past_findings WHERE rule = '{rule}' AND subject_id = '{subject}' LIMIT 1"
        )
        return str(key)


def action(finding: str, day: str, disposition: str, note: str = "") -> Row:
    return {"finding_id": finding, "date": day, "by": "A", "disposition": disposition, "note": note}
