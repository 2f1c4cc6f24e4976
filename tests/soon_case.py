"""A portfolio of clocks, and audits of which only what begins soon is wanted."""

import re
from pathlib import Path
from typing import Any

import duckdb

from .conftest import Row, Tables, front, run_audit, write_folder

Soon = dict[str, list[dict[str, Any]]]


def audited(folder: Path, tables: Tables, days: int = 90, settings: str = "") -> Soon:
    """Rows of ``soon`` by subject, in order of date."""
    run_audit(write_folder(folder / "source", tables, settings), folder / "out", folder / "store", days)
    with duckdb.connect(str(folder / "store"), read_only=True) as store:
        answer = store.execute("SELECT * FROM soon ORDER BY date")
        names = [column[0] for column in answer.description]
        rows = [dict(zip(names, row, strict=True)) for row in answer.fetchall()]
    found: Soon = {}
    for row in rows:
        found.setdefault(row["subject_id"], []).append(row)
    return found


def page(folder: Path) -> str:
    """The list in the report."""
    (shown,) = re.findall(r'<section id="soon">.*?</section>', front(folder / "out"), re.S)
    return shown


SITES = {
    "ny": (40.7, -74.0, "America/New_York"),  # forward on 14 March 2027 at 02:00 (15 USC 260a)
    "az": (33.4, -112.1, "America/Phoenix"),  # keeps standard time
    "troll": (-72.0, 2.5, "Antarctica/Troll"),  # forward by two hours on 28 March 2027 at 01:00 UTC (tzdata)
}
# Device: site, rule, standard offset, reading at 2027-01-28T12:00Z.
DEVICES = {
    "none": ("ny", "none", "-05:00", "07:00"),
    "slow": ("ny", "none", "-05:00", "06:55"),
    "old": ("ny", "us-1987", "-05:00", "07:00"),
    "eu": ("ny", "eu", "-05:00", "07:00"),
    "zone": ("ny", "zone", "", "07:00"),
    "an hour late": ("ny", "us-2007", "-06:00", "06:00"),
    "always fast": ("ny", "", "", "08:00"),
    "drift": ("ny", "", "", "07:20"),
    "blank": ("ny", "", "", "07:00"),
    "unread": ("ny", "", "", ""),
    "arizona": ("az", "us-2007", "-07:00", "05:00"),
    "half": ("troll", "eu", "+00:00", "12:00"),
}


def clocks(read_at: str = "2027-01-28T12:00:00Z", devices: tuple[str, ...] = tuple(DEVICES)) -> Tables:
    chosen = {key: DEVICES[key] for key in devices}
    return {
        "sites": [
            {"site_id": key, "latitude": north, "longitude": east, "timezone": zone}
            for key, (north, east, zone) in SITES.items()
        ],
        "controllers": [
            {
                "controller_id": key,
                "site_id": site,
                "read_at": read_at,
                "dst_rule": rule,
                "utc_offset": offset,
                "clock_reading": f"2027-01-28T{shown}:00" if shown else "",
            }
            for key, (site, rule, offset, shown) in chosen.items()
        ],
        "circuits": [{"circuit_id": f"C {key}", "controller_id": key, "area": "sign"} for key in chosen],
        "events": [],
    } | {"events": [step("e", devices[0], f"C {devices[0]}", "on", "20:00")]}


def step(event_id: str, controller_id: str, targets: str, action: str, time: str, **more: object) -> Row:
    ids: Row = {"event_id": event_id, "controller_id": controller_id, "targets": targets, "action": action}
    return {**ids, "days": "daily", "anchor": "clock", "time": time, **more}
