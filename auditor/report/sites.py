"""What the pages of single sites say."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from auditor.model import SEVERITIES, Rule, Settings
from auditor.report.devices import device_view
from auditor.report.figures import whole
from auditor.report.findings import read_findings, work
from auditor.report.programs import programs
from auditor.report.rows import Groups, Row, by, counts_text, fetch
from auditor.store import Connection
from auditor.wording import hours_text, place_words, short


@dataclass(frozen=True)
class Shelves:
    """The rows of every table that sites draw from, under the id that they are asked for by."""

    findings: Groups
    devices: Groups
    clock_errors: Groups
    circuits: Groups
    sensors: Groups
    steps: Groups
    hours: Groups
    unseen: Groups


def site_views(connection: Connection, rules: Mapping[str, Rule], settings: Settings) -> list[Row]:
    """The sites that have a page, in the order of rank, with what it says."""
    shelves = _shelves(connection, rules)
    return [_site(row, shelves, settings) for row in fetch(connection, "sites")]


def _shelves(connection: Connection, rules: Mapping[str, Rule]) -> Shelves:
    unseen = [row | {"title": rules[row["rule"]].title} for row in fetch(connection, "unseen")]
    return Shelves(
        findings=by(read_findings(connection, rules), "site_id"),
        devices=by(fetch(connection, "devices"), "site_id"),
        clock_errors=by(fetch(connection, "clock_errors"), "controller_id"),
        circuits=by(fetch(connection, "circuits"), "site_id"),
        sensors=by(fetch(connection, "sensors"), "circuit_id"),
        steps=by(fetch(connection, "steps"), "for_sensor", "target"),
        hours=by(fetch(connection, "hours"), "site_id"),
        unseen=by(unseen, "site_id"),
    )


def _site(site: Row, shelves: Shelves, settings: Settings) -> Row:
    key = site["site_id"]
    findings = shelves.findings.get(key, [])
    opened = [row for row in findings if row["status"] == "open"]
    return site | {
        "label": short(site["name"] or key),
        "score_parts": score_parts(site, settings),
        "place": place_words(site["latitude"], site["longitude"]),
        "hours": hours_text(shelves.hours.get(key, [])),
        "open": opened,
        "counts": counts_text(opened, SEVERITIES),
        "work": work(opened),
        "apart": [row for row in findings if row["status"] != "open"],
        "devices": _devices(shelves.devices.get(key, []), shelves),
        "programs": programs(shelves.circuits.get(key, []), shelves.sensors, shelves.steps),
        "unseen": shelves.unseen.get(key, []),
    }


def _devices(devices: Sequence[Row], shelves: Shelves) -> list[Row]:
    return [device_view(row, shelves.clock_errors.get(row["controller_id"], [])) for row in devices]


def score_parts(site: Row, settings: Settings) -> str:
    """What a site's score is made of: "2 192 avoidable money, 2 000 critical"."""
    parts = {"avoidable money": site["avoidable_cost"] or 0}
    parts |= {severity: site[severity] * settings.score[severity] for severity in SEVERITIES}
    return ", ".join(f"{whole(value)} {name}" for name, value in parts.items() if value)
