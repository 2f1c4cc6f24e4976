"""What the report says of the whole fleet: first page, rules, regions, data, method."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from auditor.model import SEVERITIES, Rule, Settings
from auditor.report.figures import threshold
from auditor.report.findings import label, reasons, summaries
from auditor.report.links import Places
from auditor.report.rows import Row, by, fetch
from auditor.rules import LEADS
from auditor.store import Connection

FIRST_SITES = 10
SAID = 200  # sites whose critical findings are told at length; of the others they are named
APART = 200  # waived and exempt findings that are shown; findings.csv has all
FIRST_REJECTED = 200
_LEADS = re.compile(rf"^({'|'.join(LEADS)})[.:]\s*", re.M)


def safety(connection: Connection, findings: Sequence[Row], places: Places) -> Row:
    """Every open critical finding, site by site in the order of rank; the first sites at length.

    ``findings``: those of the first ``SAID`` sites. Critical ones stand first in the order of rank.
    """
    critical = fetch(connection, "critical")
    told = [row for row in findings if row["rank"] <= SAID and row["severity"] == "critical"]
    said = by([row for row in told if row["status"] == "open"], "site_id")
    rest = by([row for row in critical if row["rank"] > SAID], "site_id")
    return {
        "number": len(critical),
        "unanswered": sum(row["disposition"] is None for row in critical),  # waived ones are not open
        "declined": sum(row["disposition"] == "declined" for row in critical),  # with a reason
        "at_length": [_at_length(rows, places) for rows in said.values()],
        "named": [_in_short(rows, places) for rows in rest.values()],
    }


def _at_length(rows: Sequence[Row], places: Places) -> Row:
    return places(rows[0], "site_name") | {"rows_lost": rows[0]["rows_lost"], "said": summaries(rows)}


def _in_short(rows: Sequence[Row], places: Places) -> Row:
    return places(rows[0], "site_name") | {"subjects": [row | {"label": label(row)} for row in rows]}


def contradicted(findings: Sequence[Row], places: Places) -> list[Row]:
    """Findings that were recorded as done and are still there, with that record."""
    return [
        row | {"site": places(row, "site_name"), "action": action}
        for row in findings
        for action in row["actions"][-1:]
        if row["status"] == "open" and action["contradicted"]
    ]


def first_sites(sites: Sequence[Row], findings: Sequence[Row], places: Places) -> list[Row]:
    """The sites to look at first: those that weigh anything at all, ten at most."""
    opened = by([row for row in findings if row["status"] == "open"], "site_id")
    return [
        site
        | places(site)
        | {"why": opened.get(site["site_id"], []), "reasons": reasons(opened.get(site["site_id"], []), 1)}
        for site in sites[:FIRST_SITES]
        if site["score"] > 0
    ]


def apart(findings: Sequence[Row], totals: Row, places: Places) -> Row:
    """Findings that are waived or claimed exempt, and so counted nowhere; ``findings``: the first of them."""
    rows = [row | {"site": places(row, "site_name")} for row in findings]
    return {"rows": rows, "number": totals["waived"] + totals["exempt"]}


def rule_views(
    connection: Connection, rules: Mapping[str, Rule], settings: Settings, places: Places
) -> list[Row]:
    """Every rule with its counts (worst first), thresholds, prose and the first sites with open findings."""
    counted = {row["rule"]: row for row in fetch(connection, "rules")}
    order = [*counted, *(name for name in rules if name not in counted)]
    sites = by([row | places(row) for row in fetch(connection, "rule_sites")], "rule")
    return [
        _rule_view(rules[name], settings.rules.get(name, {}), counted.get(name, {}), sites.get(name, []))
        for name in order
    ]


def _rule_view(rule: Rule, own: Mapping[str, Any], counts: Row, sites: list[Row]) -> Row:
    tallies = (*SEVERITIES, "waived", "exempt", "not_evaluated")
    return {
        "name": rule.name,
        "title": rule.title,
        "own_file": rule.path.name if rule.own else "",
        "spoke": bool(counts),
        "enabled": own.get("enabled", True),
        "counts_energy": rule.money,
        "kwh": counts.get("kwh"),
        "cost": counts.get("cost"),
        "without_kwh": counts.get("without_kwh") or 0,
        "prose": prose_parts(rule.prose),
        "severity": own.get("severity", rule.severity),
        "thresholds": [threshold(own.get(key, value), rule.units[key]) for key, value in rule.params.items()],
        "sites": sites,
        "of_sites": sites[0]["of_sites"] if sites else 0,
    } | {name: counts.get(name) or 0 for name in tallies}


def prose_parts(prose: str) -> list[tuple[str, str]]:
    """A rule's prose as (lead, text) pairs; the lead is blank for words before the first."""
    first, *rest = _LEADS.split(prose)
    pairs = list(zip(rest[::2], rest[1::2], strict=True))
    said = [("", first), *pairs]
    return [(lead, _sentence_case(" ".join(text.split()))) for lead, text in said if text.strip()]


def _sentence_case(text: str) -> str:
    return text[:1].upper() + text[1:]


def data_view(connection: Connection, rules: Mapping[str, Rule], facts: Mapping[str, Any]) -> Row:
    """How complete the data was: rejected rows, judgements not made, notices."""
    unseen = fetch(connection, "not_evaluated")
    return {
        "rejected": fetch(connection, "rejected", first_rows=FIRST_REJECTED),
        "not_evaluated": [
            row | {"title": rules[row["rule"]].title, "severity": rules[row["rule"]].severity}
            for row in unseen
        ],
        "missing": _missing(unseen),
        "notices": facts["notices"],
    }


def _missing(rows: Sequence[Row]) -> list[tuple[str, int]]:
    """Judgements not made by the column they lacked, most first."""
    sums = {missing: sum(row["subjects"] for row in same) for missing, same in by(rows, "missing").items()}
    return sorted(sums.items(), key=lambda pair: (-pair[1], pair[0]))
