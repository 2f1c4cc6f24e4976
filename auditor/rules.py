"""``queries/rules/*.sql`` to rules, and running them. A file is a header, its prose, and one SELECT."""

import tomllib
from collections.abc import Callable, Iterable
from graphlib import TopologicalSorter
from pathlib import Path
from typing import Any

import duckdb

from auditor.errors import UserError
from auditor.model import PEOPLE, SEVERITIES, Rule, Settings
from auditor.resources import resource
from auditor.store import Connection

_HEADER = "--:"
_KEYS = {"name", "title", "severity", "subject", "needs", "fix", "params", "money", "after", "who"}
_NEEDED_KEYS = _KEYS - {"params", "money", "after", "who"}
COLUMNS = (
    "site_id",
    "subject_kind",
    "subject_id",
    "severity",
    "minutes",
    "kwh",
    "first_date",
    "last_date",
    "summary",
    "seen",
    "remedy",
    "missing",
)


def load_rules(folder: Path | None = None) -> list[Rule]:
    """Every rule of the folder, in the order in which they run: each after those it builds on.

    Raises UserError where a file is not a rule.
    """
    rules = {
        path.stem: read_rule(path) for path in sorted((folder or resource("queries/rules")).glob("*.sql"))
    }
    order = TopologicalSorter({name: rules[name].after for name in rules}).static_order()
    return [rules[name] for name in order]


def read_rule(path: Path) -> Rule:
    """One rule file: TOML behind ``--:``, prose behind ``--``, then the query."""
    lines = path.read_text(encoding="utf-8").splitlines()
    header = "\n".join(line.removeprefix(_HEADER).strip() for line in lines if line.startswith(_HEADER))
    prose = [line.removeprefix("--").strip() for line in _leading(lines) if not line.startswith(_HEADER)]
    try:
        facts = tomllib.loads(header)
    except tomllib.TOMLDecodeError as error:
        raise UserError(f"{path.name}: its header is not readable as TOML ({error}).") from error
    _check_header(path, facts)
    params = facts.pop("params", {})
    return Rule(
        **{**facts, "needs": tuple(facts["needs"]), "after": tuple(facts.get("after", ()))},
        params={key: param["default"] for key, param in params.items()},
        units={key: f"{param['unit']}; {param['meaning']}" for key, param in params.items()},
        prose="\n".join(prose).strip(),
        sql="\n".join(lines[len(_leading(lines)) :]).strip(),
        path=path,
    )


def _leading(lines: list[str]) -> list[str]:
    """The comment lines with which a file begins."""
    end = next((place for place, line in enumerate(lines) if not line.startswith("--")), len(lines))
    return lines[:end]


def _check_header(path: Path, facts: dict[str, Any]) -> None:
    wrong = sorted(_NEEDED_KEYS - facts.keys()) or sorted(facts.keys() - _KEYS)
    if wrong:
        wanted = ", ".join(sorted(_NEEDED_KEYS))
        raise UserError(f'{path.name}: its header must have {wanted}; see "{wrong[0]}".')
    if facts["name"] != path.stem:
        raise UserError(f'{path.name}: its header says "{facts["name"]}"; name and file must be the same.')
    if facts["severity"] not in SEVERITIES or facts["fix"] not in ("device", "on-site"):
        severities = ", ".join(SEVERITIES)
        raise UserError(f"{path.name}: severity must be one of {severities}, and fix device or on-site.")
    if facts.get("who", PEOPLE[0]) not in PEOPLE:
        raise UserError(f"{path.name}: who must be one of {', '.join(PEOPLE)}.")


def run_rules(
    connection: Connection, rules: Iterable[Rule], settings: Settings, advance: Callable[[str], None]
) -> None:
    """Fills ``verdicts`` with what every enabled rule finds or cannot judge."""
    for rule in rules:
        own = settings.rules.get(rule.name, {})
        if own.get("enabled", True):
            _run(connection, rule, own)
        advance(rule.name)


def _run(connection: Connection, rule: Rule, own: dict[str, Any]) -> None:
    params = {name: own.get(name, default) for name, default in rule.params.items()}
    try:
        connection.execute(f"CREATE OR REPLACE TEMP TABLE rule_rows AS {rule.sql}", params)
    except duckdb.Error as error:
        raise UserError(f"{rule.path.name}: its query does not run: {str(error).splitlines()[0]}") from error
    _check_columns(connection, rule)
    connection.execute(
        """
        INSERT INTO verdicts BY NAME
        SELECT $rule AS rule, $money AS money, $fix AS rule_fix, $who AS rule_who,
            coalesce($chosen, severity, $severity) AS severity, rows.* EXCLUDE (severity)
        FROM rule_rows AS rows
        """,
        {
            "rule": rule.name,
            "money": rule.money,
            "fix": rule.fix,
            "who": rule.who,
            "chosen": own.get("severity"),
            "severity": rule.severity,
        },
    )


def _check_columns(connection: Connection, rule: Rule) -> None:
    found = tuple(row[0] for row in connection.execute("DESCRIBE rule_rows").fetchall())
    if found != COLUMNS:
        raise UserError(f"{rule.path.name}: its query must return {', '.join(COLUMNS)}, in this order.")


def record_rules(connection: Connection, rules: Iterable[Rule], settings: Settings) -> None:
    """Fills ``applied_rules`` and ``thresholds``: what was judged, and by which numbers."""
    for rule in rules:
        own = settings.rules.get(rule.name, {})
        if not own.get("enabled", True):
            continue
        row = [rule.name, rule.title, own.get("severity", rule.severity)]
        connection.execute("INSERT INTO applied_rules VALUES (?, ?, ?)", row)
        for name, default in rule.params.items():
            value = [rule.name, name, own.get(name, default)]
            connection.execute("INSERT INTO thresholds VALUES (?, ?, ?)", value)
