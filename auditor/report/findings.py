"""Findings as a reader takes them in: one piece of work, its circuits, and what was seen at each."""

from collections.abc import Mapping, Sequence
from typing import Any

from auditor.model import Rule
from auditor.report.programs import duty_words
from auditor.report.rows import Groups, Row, by, by_key, fetch
from auditor.store import Connection
from auditor.wording import counted, short

_KINDS = {
    "controller": "Device",
    "step": "Step",
    "photocontrol": "Photocontrol",
    "occupancy": "Occupancy sensor",
}
_NOUNS = {"controller": "device"}
_KEPT_LIT = ("egress", "security")


def read_findings(
    connection: Connection, rules: Mapping[str, Rule], name: str = "findings", **params: Any
) -> list[Row]:
    """The rows of one of the queries of findings, in its order, each with what was done about it."""
    actions = by(fetch(connection, "actions"), "finding_id")
    return [named(row, rules, actions) for row in fetch(connection, name, **params)]


def named(finding: Row, rules: Mapping[str, Rule], actions: Groups) -> Row:
    """A finding with its rule's title, its subject's label, duty and history."""
    rule = rules[finding["rule"]]
    return finding | {
        "title": rule.title,
        "own": rule.own,
        "counts_energy": rule.money,
        "label": label(finding),
        "duty": duty_words(finding),
        "kept_lit": finding["area"] in _KEPT_LIT,
        "actions": actions.get(finding["finding_id"], []),
    }


def label(finding: Row) -> str:
    """What people call the subject; its id where it has no name."""
    kind = finding["subject_kind"]
    if kind == "site":
        return "This site"
    if kind == "circuit":
        return short(finding["name"] or finding["subject_id"])
    return f"{_KINDS[finding['name'] if kind == 'sensor' else kind]} {short(finding['subject_id'])}"


def work(findings: Sequence[Row]) -> list[Row]:
    """Findings of one rule that the same people answer, together; in each, subjects with one instruction."""
    groups = by(findings, "rule", "severity", "fix", "who")
    return [rows[0] | {"tasks": _tasks(rows)} for rows in groups.values()]


def _tasks(rows: list[Row]) -> list[Row]:
    """Each instruction with the cases that it answers: subjects of which the same was seen."""
    return [{"remedy": remedy, "cases": _cases(same)} for remedy, same in by(rows, "remedy").items()]


def _cases(rows: list[Row]) -> list[Row]:
    cases = by(rows, "summary", "seen")
    return [{"summary": said, "seen": seen, "subjects": cases[said, seen]} for said, seen in cases]


def reasons(findings: Sequence[Row], shown: int = 3) -> list[str]:
    """Why a site wants a look, in words: the titles of its worst findings and how many subjects each has."""
    groups = by(findings, "title")
    said = [title if len(rows) == 1 else f"{title} ({_subjects(rows)})" for title, rows in groups.items()]
    more = len(said) - shown
    return said[:shown] + ([f"and {counted(more, 'other kind')}"] if more > 0 else [])


def _subjects(findings: Sequence[Row]) -> str:
    """How many subjects of each kind: "2 circuits, 1 sensor"."""
    kinds = by(findings, "subject_kind")
    return ", ".join(counted(len(rows), _NOUNS.get(str(kind), str(kind))) for kind, rows in kinds.items())


def summaries(findings: Sequence[Row]) -> list[Row]:
    """Findings of one site for a list: subjects of which the same is said, together."""
    groups = by_key(findings, lambda row: (row["summary"], row["title"], row["fix"]))
    return [
        {"summary": key[0], "title": key[1], "fix": key[2], "subjects": rows}
        | {
            "unanswered": [row["label"] for row in rows if not row["actions"]],
            "contradicted": any(action["contradicted"] for row in rows for action in row["actions"]),
        }
        for key, rows in groups.items()
    ]
