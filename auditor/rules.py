"""``queries/rules/*.sql`` to rules, and running them. A file is a header, its prose, and one SELECT."""

import re
from collections.abc import Callable, Iterable, Sequence
from graphlib import CycleError, TopologicalSorter
from pathlib import Path
from typing import Any

import duckdb

from auditor.errors import UserError
from auditor.files import read_file, toml_of
from auditor.model import PEOPLE, SEVERITIES, SUBJECT_KINDS, Rule, Settings
from auditor.resources import resource
from auditor.store import Connection

_HEADER = "--:"
_KEYS = {"name", "title", "severity", "subject", "needs", "fix", "params", "money", "after", "who"}
_NEEDED_KEYS = _KEYS - {"params", "money", "after", "who"}
LEADS = ("What goes wrong", "Why it matters", "On site", "What good looks like", "Source")  # of the prose
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


def load_rules() -> list[Rule]:
    """Every built-in rule, in the order in which they run."""
    return in_order([read_rule(path) for path in sorted(resource("queries/rules").glob("*.sql"))])


def in_order(rules: Sequence[Rule]) -> list[Rule]:
    """The rules, each after those of them that it builds on. Raises UserError where they go in a circle."""
    named = {rule.name: rule for rule in rules}
    before = {rule.name: [name for name in rule.after if name in named] for rule in rules}
    try:
        return [named[name] for name in TopologicalSorter(before).static_order()]
    except CycleError as error:
        circle = " after ".join(reversed(error.args[1]))
        raise UserError(f"these rules would run {circle}; take one of them out of an `after`.") from error


def read_rule(path: Path) -> Rule:
    """One rule file: TOML behind ``--:``, prose behind ``--``, then the query.

    Raises UserError where the file is not a rule.
    """
    lines = _text(path).splitlines()
    header = "\n".join(line.removeprefix(_HEADER).strip() for line in lines if line.startswith(_HEADER))
    prose = [line.removeprefix("--").strip() for line in _leading(lines) if not line.startswith(_HEADER)]
    facts = toml_of(header.encode(), f"{path.name}: its header", "mend that line")
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


def _text(path: Path) -> str:
    try:
        return read_file(path, path.name).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise UserError(f"{path.name} is not UTF-8 text; save it as UTF-8.") from error


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
    for key, (good, wanted) in _VALUES.items():
        if key in facts and not good(facts[key]):
            raise UserError(f"{path.name}: {key} in its header must be {wanted}.")


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and bool(value.strip())


def _are_texts(value: Any) -> bool:
    return isinstance(value, list) and all(map(_is_text, value))


def _are_kinds(value: Any) -> bool:
    return _is_text(value) and set(value.split(" or ")) <= set(SUBJECT_KINDS)


def _are_params(value: Any) -> bool:
    return isinstance(value, dict) and all(_is_param(*pair) for pair in value.items())


def _is_param(name: str, value: Any) -> bool:
    plain = re.fullmatch("[a-z][a-z0-9_]*", name) and name not in ("enabled", "severity")
    whole = isinstance(value, dict) and value.keys() == {"default", "unit", "meaning"}
    return bool(plain and whole and _is_amount(value["default"])) and all(
        _is_text(value[key]) for key in ("unit", "meaning")
    )


def _is_amount(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 1e9


_VALUES: dict[str, tuple[Callable[[Any], bool], str]] = {
    "title": (_is_text, "a text in quotes"),
    "subject": (_are_kinds, f'one of {", ".join(SUBJECT_KINDS)}, or several joined by " or "'),
    "needs": (_are_texts, 'a list of columns, such as ["hours"], or []'),
    "after": (_are_texts, 'a list of rules, such as ["lit-in-daylight"], or []'),
    "money": (lambda value: isinstance(value, bool), "true or false"),
    "params": (
        _are_params,
        'lines such as params.age_days = { default = 35, unit = "days", meaning = "older is a finding" }',
    ),
}


def bare(sql: str) -> str:
    """A query without its comments, texts and quoted names: what is left are its words."""
    return re.sub(r"--[^\n]*|/\*.*?\*/|'(?:[^']|'')*'|\"[^\"]*\"", " ", sql, flags=re.S)


def run_rules(
    connection: Connection, rules: Iterable[Rule], settings: Settings, advance: Callable[[str], None]
) -> None:
    """Fills ``verdicts`` with what every enabled rule finds or cannot judge."""
    for rule in rules:
        own = settings.rules.get(rule.name, {})
        if own.get("enabled", True):
            _run(connection, rule, own)
        advance(rule.name)


def params_of(rule: Rule, chosen: dict[str, Any]) -> dict[str, Any]:
    """The rule's thresholds as portfolio.toml chose them, else by default."""
    return {name: chosen.get(name, default) for name, default in rule.params.items()}


def _run(connection: Connection, rule: Rule, own: dict[str, Any]) -> None:
    try:
        connection.execute(f"CREATE OR REPLACE TEMP TABLE rule_rows AS {rule.sql}", params_of(rule, own))
    except duckdb.OutOfMemoryException:  # not the query's fault
        raise
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
            "who": rule.who or None,
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
    applied: list[tuple[Any, ...]] = []
    chosen: list[tuple[Any, ...]] = []
    for rule in rules:
        own = settings.rules.get(rule.name, {})
        if own.get("enabled", True):
            applied.append((rule.name, rule.title, own.get("severity", rule.severity)))
            chosen += [(rule.name, name, value) for name, value in params_of(rule, own).items()]
    _insert(connection, "applied_rules", applied)
    _insert(connection, "thresholds", chosen)


def _insert(connection: Connection, table: str, rows: list[tuple[Any, ...]]) -> None:
    if rows:  # in one statement: a hundred of them take longer than a rule
        columns = [list(column) for column in zip(*rows, strict=True)]
        places = ", ".join("unnest(?)" for _ in columns)
        connection.execute(f"INSERT INTO {table} SELECT {places}", columns)
