"""A portfolio of four sites for the report's tests: hostile names, gaps, a waiver, an exemption, bad rows."""

import hashlib
from collections.abc import Iterator

from .conftest import Tables

IMAGE, BRACES, SCRIPT = "</td><img src=x onerror=alert(1)>", "{{ 7*7 }}", "<script>alert(1)</script>"
BAD_ROWS = 205
SETTINGS = f"""
[portfolio]
name = "{SCRIPT}"
currency = "XTS"
rate_per_kwh = 0.2
emission_kg_per_kwh = 0.5
[rules.clock-drift]
enabled = false
"""


def tables() -> Tables:
    """Four sites: dark at closing time; lit by day, and a duty; nothing wrong; waived and exempt.

    Around Madrid closing at 22:00 is after sunset all year.
    """
    return {
        "sites": [
            {
                "site_id": "S1",
                "name": IMAGE,
                "region": BRACES,
                "latitude": 40,
                "longitude": -3.7,
                "timezone": "Europe/Madrid",
            },
            {"site_id": "S2", "name": BRACES, "latitude": 40.5, "longitude": -3.7, "timezone": ""},
            {"site_id": "S3", "name": "Calm", "latitude": 41, "longitude": -3.7, "timezone": "Europe/Madrid"},
            {
                "site_id": "S4",
                "name": "Waived",
                "latitude": 42,
                "longitude": -3.7,
                "timezone": "Europe/Madrid",
            },
        ],
        "controllers": [
            device("D1", "S1", clock_reading="2026-11-03T14:05:00", dst_rule="none", utc_offset="+00:00"),
            device("D2", "S2", remote="yes", dst_rule="zone"),
            device("D3", "S3", clock_reading="2026-11-03T15:05:00", dst_rule="zone"),
            device("D4", "S4", clock_reading="2026-11-03T15:05:00", dst_rule="zone"),
        ],
        "circuits": [
            circuit("lot", "D1", "parking", name=SCRIPT, connected_watts=1000),
            circuit("exit", "D1", "egress", name="Way out", connected_watts=100),
            circuit("path", "D2", "walkway", name="Path"),
            circuit(
                "porch", "D2", "canopy", must_be_lit="dark", exempt_reason="Lease of 2019", combine="all"
            ),
            circuit("hall", "D3", "egress", connected_watts=10),
            circuit("sign", "D4", "sign", connected_watts=300),
            circuit("front", "D4", "facade", connected_watts=300, exempt_reason="Monument"),
        ],
        "sensors": [
            {"sensor_id": "P2", "controller_id": "D2", "kind": "photocontrol", "circuits": "porch"},
            {"sensor_id": "P3", "controller_id": "D3", "kind": "photocontrol", "circuits": "hall"},
        ],
        "events": [
            *_steps("D1", "lot;exit", on=("sunset", 20), off=("19:00", None)),
            *_steps("D2", "path", on=("08:00", None), off=("17:00", None)),
            *_steps("D2", "porch", level=("20:00", None), off=("23:00", None)),
            *_steps("D4", "sign;front", on=("sunset", 0), off=("sunrise", 0)),
            *(
                {"event_id": f"bad{n}", "controller_id": "D3", "targets": "hall", "action": SCRIPT}
                for n in range(BAD_ROWS)
            ),
        ],
        "hours": [
            {"site_id": site, "days": "daily", "opens": "09:00", "closes": "22:00"}
            for site in ("S1", "S3", "S4")
        ],
        "actions": [
            {
                "finding_id": finding_id("lit-in-daylight", "circuit", "path"),
                "date": "2026-10-01",
                "by": "T. O.",
                "disposition": "done",
                "note": "New times sent",
            },
        ],
        "waivers": [
            {
                "site_id": "S4",
                "subject_id": "sign",
                "rule": "no-night-cutoff",
                "reason": "Town fair",
                "approved_by": "A. V.",
                "expires": "2027-01-31",
            },
            {"site_id": "S2", "rule": "lit-in-daylight", "reason": "Works", "expires": "2026-06-30"},
        ],
    }


def finding_id(rule: str, subject_kind: str, subject_id: str) -> str:
    """The id that a finding has in every run."""
    return hashlib.sha256("\x1f".join((rule, subject_kind, subject_id)).encode()).hexdigest()[:12]


def device(controller_id: str, site_id: str, **more: object) -> dict[str, object]:
    return {"controller_id": controller_id, "site_id": site_id, "read_at": "2026-11-03T14:05:00Z", **more}


def circuit(circuit_id: str, controller_id: str, area: str, **more: object) -> dict[str, object]:
    return {"circuit_id": circuit_id, "controller_id": controller_id, "area": area, **more}


def _steps(controller_id: str, targets: str, **steps: tuple[str, int | None]) -> Iterator[dict[str, object]]:
    for action, (when, offset) in steps.items():
        clock = offset is None
        yield {
            "event_id": f"{targets}-{action}",
            "controller_id": controller_id,
            "level": 80 if action == "level" else "",
            "targets": targets,
            "action": action,
            "days": "daily",
            "anchor": "clock" if clock else when,
            "time": when if clock else "",
            "offset_minutes": offset,
        }
