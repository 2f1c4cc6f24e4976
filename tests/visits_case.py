"""A portfolio of six sites around a base, for plans of visits: work for a crew, work for a desk, far away."""

import csv
import hashlib
from collections.abc import Callable
from pathlib import Path

from .conftest import Console, Row, Tables, run_audit, write_folder

BASE = "40.0,-3.7"
SETTINGS = """
[portfolio]
currency = "XTS"
rate_per_kwh = 0.2
[visits]
hand_minutes = 25
cost_per_visit = 180
"""


def finding_id(rule: str, kind: str, subject: str) -> str:
    """As the program makes them: the same from month to month for one rule and subject."""
    return hashlib.sha256("\x1f".join((rule, kind, subject)).encode()).hexdigest()[:12]


CLOCK = finding_id("clock-wrong-zone", "controller", "V2D")


def tables() -> Tables:
    """V1 is critical, for a crew; V2 has a wrong clock; V3 is for a desk; V4 is far; V5 has both; V6 none."""
    places = {"V1": 40.3, "V2": 40.1, "V3": 40.2, "V4": -33.9, "V5": 40.15, "V6": 40.25}
    names = {"V1": "=Cellar", "V5": "<b>Five</b>"}
    return {
        "sites": [
            {
                "site_id": site,
                "name": names.get(site, f"Site {site}"),
                "address": f"{site} Lane",
                "latitude": north,
                "longitude": -3.7 if north > 0 else 18.4,
                "timezone": "Europe/Madrid" if north > 0 else "Africa/Johannesburg",
            }
            for site, north in places.items()
        ],
        "controllers": [
            {
                "controller_id": f"{site}D",
                "site_id": site,
                "read_at": "2026-11-03T14:05:00Z",
                # 15:05 is right in Madrid; 03:05 is half a day off
                "clock_reading": {"V4": "2026-11-03T16:05:00"}.get(
                    site, f"2026-11-03T{'03' if site in ('V2', 'V3', 'V5') else '15'}:05:00"
                ),
                "dst_rule": "zone",
                "remote": "yes" if site in ("V3", "V5") else "no",
            }
            for site in places
        ],
        "circuits": [_circuit(site) for site in places],
        "events": [
            {
                "event_id": event,
                "controller_id": f"{site}D",
                "targets": f"{site}c",
                "action": action,
                "days": "daily",
                "anchor": anchor,
            }
            for site in places
            for event, action, anchor in (("1", "on", "sunset"), ("2", "off", "sunrise"))
        ],
        "hours": [{"site_id": site, "days": "daily", "opens": "09:00", "closes": "17:00"} for site in places],
        "actions": [{"finding_id": CLOCK, "disposition": "ordered", "note": "From the stores"}],
    }


def _circuit(site: str) -> dict[str, object]:
    held: dict[str, object] = {"hold": "off", "must_be_lit": "always"} if site == "V1" else {}
    held |= {"hold": "on"} if site in ("V4", "V5") else {}
    return {
        "circuit_id": f"{site}c",
        "controller_id": f"{site}D",
        "area": "security",
        "connected_watts": 100,
        **held,
    }


def keep(folder: Path, **changed: list[Row]) -> Path:
    """A store of these tables, ``changed`` ones instead of their own, audited for 30 days."""
    source = write_folder(folder / "portfolio", tables() | changed, SETTINGS)
    run_audit(source, folder / "out", folder / "kept.duckdb", days=30, pages=0)
    return folder / "kept.duckdb"


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def planner(store: Path, out: Path, console: Callable[..., Console]) -> Callable[..., tuple[Path, str]]:
    """A plan for these words of the command line: its folder, and what was said."""

    def plan(*words: object) -> tuple[Path, str]:
        status, said, wrong = console("visits", "--store", store, "--out", out, *words)
        assert (status, wrong) == (0, "")
        return out, said

    return plan
