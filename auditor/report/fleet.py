"""What the report says of the whole fleet: first page, rules, regions, data, method."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from auditor.model import SEVERITIES, Rule, Settings
from auditor.report.findings import summaries
from auditor.report.rows import Row, by, fetch
from auditor.rules import LEADS
from auditor.store import Connection

FIRST_SITES = 10
FIRST_REJECTED = 200
_LEADS = re.compile(rf"^({'|'.join(LEADS)})[.:]\s*", re.M)


def safety(sites: Sequence[Row]) -> list[Row]:
    """Every open critical finding, site by site in the order of rank."""
    worst = [(site, [row for row in site["open"] if row["severity"] == "critical"]) for site in sites]
    return [{"site": site, "said": summaries(rows)} for site, rows in worst if rows]


def unanswered(sites: Sequence[Row]) -> int:
    """How many open critical findings nobody has answered for; waived ones are not open."""
    return sum(row["severity"] == "critical" and not row["actions"] for site in sites for row in site["open"])


def first_sites(sites: Sequence[Row]) -> list[Row]:
    """The sites to look at first: those that weigh anything at all, ten at most."""
    return [site for site in sites if site["score"] > 0][:FIRST_SITES]


def rule_views(
    connection: Connection, rules: Mapping[str, Rule], settings: Settings, sites: Sequence[Row]
) -> list[Row]:
    """Every rule with its counts (worst first), thresholds, prose and the sites with open findings."""
    counted = {row["rule"]: row for row in fetch(connection, "rules")}
    order = [*counted, *(name for name in rules if name not in counted)]
    places = _places(sites)
    return [
        _rule_view(rules[name], settings.rules.get(name, {}), counted.get(name, {}), places.get(name, []))
        for name in order
    ]


def _places(sites: Sequence[Row]) -> dict[str, list[Row]]:
    places: dict[str, list[Row]] = {}
    for site in sites:
        for name in by(site["open"], "rule"):
            places.setdefault(name, []).append(site)
    return places


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
        "thresholds": [(own.get(key, value), rule.units[key]) for key, value in rule.params.items()],
        "sites": sites,
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
    unseen = by(fetch(connection, "not_evaluated"), "rule", "missing")
    return {
        "rejected": fetch(connection, "rejected", first_rows=FIRST_REJECTED),
        "not_evaluated": [
            {
                "name": name,
                "title": rules[name].title,
                "severity": rules[name].severity,
                "missing": missing,
                "sites": len(rows),
                "subjects": _sum(rows),
            }
            for (name, missing), rows in unseen.items()
        ],
        "missing": _missing([row for rows in unseen.values() for row in rows]),
        "notices": facts["notices"],
    }


def _missing(rows: Sequence[Row]) -> list[tuple[str, int]]:
    """Judgements not made by the column they lacked, most first."""
    sums = {missing: _sum(found) for missing, found in by(rows, "missing").items()}
    return sorted(sums.items(), key=lambda pair: (-pair[1], pair[0]))


def _sum(rows: Sequence[Row]) -> int:
    return sum(row["subjects"] for row in rows)
