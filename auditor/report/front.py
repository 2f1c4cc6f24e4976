"""What the front page says: the fleet on one screen, and then list by list."""

from collections.abc import Mapping
from typing import Any

from auditor.model import SEVERITIES, Rule, Settings
from auditor.report import fleet
from auditor.report.findings import read_findings
from auditor.report.index import LISTED, site_list
from auditor.report.links import Places
from auditor.report.map import map_view
from auditor.report.rows import Row, fetch
from auditor.report.since import since
from auditor.report.soon import soon
from auditor.store import Connection


def front_view(
    connection: Connection,
    rules: Mapping[str, Rule],
    settings: Settings,
    facts: Mapping[str, Any],
    places: Places,
) -> Row:
    """Everything that the front page's templates ask for. ``facts`` is the content of run.json."""
    (totals,) = fetch(connection, "totals")
    findings = read_findings(connection, rules, "first_findings", sites=fleet.SAID)
    apart = read_findings(connection, rules, "apart", shown=fleet.APART)
    sites = fetch(connection, "index", listed=LISTED)
    return {
        "facts": facts,
        "settings": settings,
        "severities": SEVERITIES,
        "totals": totals,
        "safety": fleet.safety(connection, findings, places),
        "contradicted": fleet.contradicted(findings, places),
        "since": since(connection, rules, places),
        "first_sites": fleet.first_sites(sites, findings, places),
        "firmness": fetch(connection, "firmness"),
        "map": map_view(connection, lambda row: str(places(row)["page"])),
        "soon": soon(connection, rules, places),
        "rules": fleet.rule_views(connection, rules, settings, places),
        "regions": fetch(connection, "regions"),
        "apart": fleet.apart(apart, totals, places),
        "sites": site_list(
            sites, totals["sites"], {name: rule.title for name, rule in rules.items()}, places
        ),
        "data": fleet.data_view(connection, rules, facts),
    } | _dates(connection)


def _dates(connection: Connection) -> Row:
    ((*period, newest, ahead),) = connection.execute(
        "SELECT first_date, (first_date + days - 1)::DATE, days, newest_read_at_utc::DATE AS newest, "
        "newest + soon_days() FROM period"
    ).fetchall()
    return {
        "period": dict(zip(("first", "last", "days"), period, strict=True)),
        "newest": newest,
        "ahead": ahead,
    }
