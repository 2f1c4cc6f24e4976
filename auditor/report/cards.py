"""visits.html: a plan of visits, and a card for each stop to print and take along."""

from collections.abc import Mapping
from pathlib import Path

from auditor.model import SEVERITIES
from auditor.report.devices import device_view
from auditor.report.findings import label, work
from auditor.report.page import templates
from auditor.report.programs import duty_words
from auditor.report.rows import Groups, Row, by, counts_text, fetch, rows_of
from auditor.resources import query
from auditor.results import write_text
from auditor.store import Connection
from auditor.wording import hours_text, place_words, short

_ALL = 2**31 - 1  # sites; a plan may go to any of them


def write_cards(connection: Connection, path: Path, plan: Row) -> None:
    """Writes the page. ``plan`` has days with their stops, and what is not planned, in the order of both."""
    connection.execute(query("report/00_scope.sql"), {"pages": _ALL})
    findings = by(_findings(connection), "site_id")
    sites = {site["site_id"]: _labelled(site) for site in fetch(connection, "sites")}
    shelves = _Shelves(connection, findings, sites)
    view = plan | {
        "days": [day | {"stops": [shelves.card(stop) for stop in day["stops"]]} for day in plan["days"]],
        "unplanned": [row | {"site": sites[row["site_id"]]} for row in plan["unplanned"]],
        "desk": _desk(findings, sites),
    }
    write_text(path, templates(plan["portfolio"]["currency"]).get_template("visits.html.j2").render(view))


def _labelled(site: Row) -> Row:
    return site | {"label": short(site["name"] or site["site_id"])}


def _findings(connection: Connection) -> list[Row]:
    """Open findings with their rule's title, what their subject is called, and what was done about them."""
    actions = by(fetch(connection, "actions"), "finding_id")
    titles = {row["rule"]: row["title"] for row in rows_of(connection, query("visits/titles.sql"))}
    return [
        row
        | {"title": titles[row["rule"]], "label": label(row), "duty": duty_words(row)}
        | {"actions": actions.get(row["finding_id"], [])}
        for row in fetch(connection, "findings")
        if row["status"] == "open"
    ]


def _desk(findings: Groups, sites: Mapping[str, Row]) -> list[Row]:
    """Sites with something for the desk, in the order of rank, and what it is."""
    remote = {key: [row for row in rows if row["fix"] == "remote"] for key, rows in findings.items()}
    return [
        {"site": sites[key], "counts": counts_text(rows, SEVERITIES), "work": work(rows)}
        for key, rows in remote.items()
        if rows
    ]


class _Shelves:
    """What cards draw from."""

    def __init__(self, connection: Connection, findings: Groups, sites: Mapping[str, Row]) -> None:
        self.findings, self.sites = findings, sites
        self.devices = by(fetch(connection, "devices"), "site_id")
        self.clock_errors = by(fetch(connection, "clock_errors"), "controller_id")
        self.hours = by(fetch(connection, "hours"), "site_id")

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
            "work": work(here),
            "desk": [row for row in findings if row["fix"] == "remote"],
            "later": [row for row in findings if row["fix"] != "remote" and row not in here],
            "devices": self._devices(key, {row["controller_id"] for row in here}),
        }

    def _devices(self, site_id: str, wanted: set[str | None]) -> list[Row]:
        return [
            device_view(row, self.clock_errors.get(row["controller_id"], []))
            for row in self.devices.get(site_id, [])
            if row["controller_id"] in wanted
        ]
