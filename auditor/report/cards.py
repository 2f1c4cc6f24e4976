"""visits.html: a plan of visits, and a card for each stop to print and take along."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from auditor.model import SEVERITIES
from auditor.report.assets import assets
from auditor.report.devices import device_view
from auditor.report.findings import label, reasons, work
from auditor.report.page import templates
from auditor.report.programs import duty_words, programs
from auditor.report.rows import Groups, Row, by, counts_text, fetch, rows_of, scope
from auditor.resources import query
from auditor.results import write_text
from auditor.store import Connection
from auditor.wording import hours_text, place_words, short

_KINDS = 10  # of work named in a row of a table; the cards and lists have all
_ALL = 2**31 - 1  # sites; a plan may go to any of them


def write_cards(connection: Connection, path: Path, plan: Row) -> None:
    """Writes the page. ``plan`` has days with their stops, and what is not planned, in the order of both."""
    scope(connection, _ALL)
    findings = by(_findings(connection), "site_id")
    sites = {site["site_id"]: _labelled(site) for site in fetch(connection, "sites")}
    connection.execute(query("visits/scope.sql"))
    shelves = _Shelves(connection, findings, sites)
    view = plan | {
        "days": [day | {"stops": [shelves.card(stop) for stop in day["stops"]]} for day in plan["days"]],
        "unplanned": [
            row
            | {"site": sites[row["site_id"]], "what": reasons(row["findings"], _KINDS)}
            | {"answered": answered_before(row["findings"])}
            for row in plan["unplanned"]
        ],
        "aside": [row | {"site": sites[row["site_id"]]} for row in plan["aside"]],
        "desk": _desk(findings, sites),
    }
    page = templates(plan["portfolio"]["currency"]).get_template("visits.html.j2")
    write_text(path, page.render(view | assets(["report.css", "visits.css"])))


def answered_before(findings: Sequence[Row]) -> list[Row]:
    """Findings of which something was recorded before; what was said to be done, and is not, first."""
    return sorted((row for row in findings if row["answered"]), key=lambda row: not row["still_there"])


def _labelled(site: Row) -> Row:
    return site | {"label": short(site["name"] or site["site_id"])}


def _findings(connection: Connection) -> list[Row]:
    """Open findings with their rule's title, what their subject is called, and what was done about them."""
    known = {row["finding_id"]: row for row in rows_of(connection, query("visits/work.sql"))}
    told = ("title", "answered", "still_there", "aside")
    return [
        row
        | {"label": label(row), "duty": duty_words(row), "actions": []}  # "answered" says them
        | {key: known[row["finding_id"]][key] for key in told}
        for row in fetch(connection, "findings")
        if row["status"] == "open"
    ]


def _desk(findings: Groups, sites: Mapping[str, Row]) -> list[Row]:
    """Sites with something for the desk, in the order of rank, and what it is."""
    remote = {key: [row for row in rows if _waits(row, "remote")] for key, rows in findings.items()}
    return [
        {"site": sites[key], "counts": counts_text(rows, SEVERITIES), "work": work(rows)}
        for key, rows in remote.items()
        if rows
    ]


def _waits(finding: Row, fix: str) -> bool:
    """Whether it is work for a crew ("on-site") or a desk ("remote"), and not set aside."""
    return finding["fix"] == fix and not finding["aside"]


class _Shelves:
    """What cards draw from."""

    def __init__(self, connection: Connection, findings: Groups, sites: Mapping[str, Row]) -> None:
        self.findings, self.sites = findings, sites
        self.devices = by(fetch(connection, "devices"), "site_id")
        self.clock_errors = by(fetch(connection, "clock_errors"), "controller_id")
        self.hours = by(fetch(connection, "hours"), "site_id")
        self.circuits = by(fetch(connection, "circuits"), "site_id")
        self.sensors = by(fetch(connection, "sensors"), "circuit_id")
        self.steps = by(fetch(connection, "steps"), "for_sensor", "target")

    def card(self, stop: Row) -> Row:
        """A stop with everything that somebody needs who stands there."""
        key = stop["site_id"]
        findings, site = self.findings[key], self.sites[key]
        here = [row for row in findings if row["finding_id"] in stop["finding_ids"]]
        return stop | {
            "site": site,
            "place": place_words(site["latitude"], site["longitude"]),
            "hours": hours_text(self.hours.get(key, [])),
            "counts": counts_text(here, SEVERITIES),
            "what": reasons(here, _KINDS),
            "answered": answered_before(here),
            "work": work(here),
            "desk": [row for row in findings if _waits(row, "remote")],
            "later": [row for row in findings if _waits(row, "on-site") and row not in here],
            "aside": [row for row in findings if row["aside"]],
            "devices": self._devices(key, {row["controller_id"] for row in here}),
            "programs": self._programs(key, here),
        }

    def _devices(self, site_id: str, wanted: set[str | None]) -> list[Row]:
        return [
            device_view(row, self.clock_errors.get(row["controller_id"], []))
            for row in self.devices.get(site_id, [])
            if row["controller_id"] in wanted
        ]

    def _programs(self, site_id: str, here: Sequence[Row]) -> list[Row]:
        """The programs that findings are about: a circuit's, of what a sensor acts on, of a step's device."""
        subjects = {row["subject_id"] for row in here if row["subject_kind"] in ("circuit", "sensor")}
        subjects |= {row["controller_id"] for row in here if row["subject_kind"] == "step"}

        def about(circuit: Row) -> set[str]:
            acting = self.sensors.get(circuit["circuit_id"], [])
            return {circuit["circuit_id"], circuit["controller_id"], *(row["sensor_id"] for row in acting)}

        circuits = [row for row in self.circuits.get(site_id, []) if about(row) & subjects]
        return programs(circuits, self.sensors, self.steps)
