"""A small portfolio for packs: a library with many kinds of circuits, and sites without a known code."""

from collections.abc import Sequence
from pathlib import Path

from auditor.codes import load_codes
from auditor.kept import FORMAT, kept_store
from auditor.pack import Asked, write_packs
from auditor.pack.paper import Paper
from auditor.report.rows import Row

from .conftest import Tables, run_audit, write_folder

SCRIPT = '<script>alert("x")</script>'


def tables() -> Tables:
    """L: IECC 2021, two devices, a clock an hour fast. D: no code, one circuit, a place too far east. E: a
    strange code, nothing else.
    """
    step = {"days": "daily", "anchor": "clock"}
    return {
        "sites": [
            {
                "site_id": "L",
                "name": "Library",
                "latitude": 40.7,
                "longitude": -74.0,
                "energy_code": "iecc-2021",
            },
            {"site_id": "D", "name": f"Depot {SCRIPT}", "latitude": 41.0, "longitude": -74.5},
            {"site_id": "E", "name": "", "latitude": 41.2, "longitude": -74.2, "energy_code": "nowhere-1999"},
        ],
        "controllers": [
            {"controller_id": "LA", "site_id": "L", "read_at": "2026-11-03T14:05:00Z", "dst_rule": "zone"}
            | {"clock_reading": "2026-11-03T09:05:00", "clock_backup_hours": 9},
            {"controller_id": "LB", "site_id": "L", "read_at": "2026-11-03T14:00:00Z", "dst_rule": "none"}
            | {"clock_reading": "2026-11-03T10:00:00"},
            {"controller_id": "DA", "site_id": "D", "read_at": "2026-11-02T14:00:00Z", "dst_rule": "zone"}
            | {"latitude": 41, "longitude": -60},
        ],
        "circuits": [
            {"circuit_id": "L1", "controller_id": "LA", "area": "interior", "connected_watts": 450.5},
            {"circuit_id": "L2", "controller_id": "LA", "area": "interior", "connected_watts": 1200},
            {"circuit_id": "L3", "controller_id": "LB", "area": "parking", "connected_watts": 2000},
            {"circuit_id": "L4", "controller_id": "LB", "area": "walkway"},
            {"circuit_id": "L5", "controller_id": "LA", "area": "egress", "connected_watts": 80}
            | {"exempt_reason": "Exit route", "must_be_lit": "always"},
            {"circuit_id": "L6", "controller_id": "LA", "area": "security", "connected_watts": 60},
            {"circuit_id": "L7", "controller_id": "LA", "area": "facade", "connected_watts": 300}
            | {"in_use": "false"},
            {"circuit_id": "D1", "controller_id": "DA", "area": "facade", "connected_watts": 100},
        ],
        "sensors": [
            {"sensor_id": "LP", "controller_id": "LB", "kind": "photocontrol", "circuits": "L3;L4"},
            {"sensor_id": "DP", "controller_id": "DA", "kind": "photocontrol", "circuits": ""},
            {"sensor_id": "LR", "controller_id": "LA", "kind": "occupancy", "circuits": "L1", "in_use": "no"},
        ],
        "events": [
            step
            | {
                "event_id": "1",
                "controller_id": "LA",
                "targets": "L1;L2;L5;L6",
                "action": "on",
                "time": "07:00",
            },
            step
            | {"event_id": "2", "controller_id": "LA", "targets": "L1", "action": "off", "time": "20:00"},
            step
            | {"event_id": "3", "controller_id": "LA", "targets": "L2", "action": "off", "time": "23:30"},
            step
            | {"event_id": "4", "controller_id": "DA", "targets": "D1", "action": "on", "anchor": "sunset"},
            step
            | {"event_id": "5", "controller_id": "DA", "targets": "D1", "action": "off", "time": "22:00"},
        ],
        "hours": [{"site_id": "L", "days": "MO,TU,WE,TH,FR", "opens": "08:00", "closes": "19:00"}],
        "closures": [{"site_id": "*", "date": "2026-11-26", "calendar": "holidays"}],
        "waivers": [
            {"site_id": "L", "subject_id": "L5", "rule": "always-on", "reason": "Fire plan"}
            | {"approved_by": "R. Fielding"},
        ],
    }


def kept(folder: Path) -> Path:
    """A store of the portfolio, 60 days from 1 November 2026."""
    source = write_folder(folder / "in", tables())
    run_audit(source, folder / "out", folder / "kept.duckdb", days=60, pages=0)
    return folder / "kept.duckdb"


def pack(
    store: Path,
    out: Path,
    sites: Sequence[str] = "LDE",
    edition: str | None = None,
    paper: Paper | None = None,
) -> dict[str, Row]:
    """The facts of each site, after writing its pack."""
    with kept_store(store, FORMAT) as connection:
        made = write_packs(connection, Asked(tuple(sites), edition, load_codes(), paper), out)
    return {facts["site"]["site_id"]: facts for facts in made}
