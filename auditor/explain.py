"""The rules in words for the command line: the list, one rule in full, its SQL for a shell."""

import re
from collections.abc import Sequence

from auditor.model import PEOPLE, SEVERITIES, Rule
from auditor.resources import query
from auditor.rules import LEADS, bare
from auditor.store import SCHEMAS

_FIXES = {
    "device": "at a desk where the device can be changed from afar, else on site",
    "on-site": "on site",
}


def rule_list(rules: Sequence[Rule]) -> str:
    """A line a rule, worst first."""
    width = max(len(rule.name) for rule in rules) + 2
    return "\n".join(
        f"{rule.name:{width}}{rule.severity:10}{rule.title}{' (your own)' if rule.own else ''}"
        for rule in _worst_first(rules)
    )


def rule_table(rules: Sequence[Rule]) -> str:
    """The list as a Markdown table."""
    rows = [
        f"| `{rule.name}` | {rule.severity} | {rule.subject} | {rule.title} |" for rule in _worst_first(rules)
    ]
    return "\n".join(["| rule | severity | subject | what it says |", "|---|---|---|---|", *rows])


def _worst_first(rules: Sequence[Rule]) -> list[Rule]:
    return sorted(rules, key=lambda rule: (SEVERITIES.index(rule.severity), rule.name))


def explained(rule: Rule) -> str:
    """Everything that a rule's file says, part by part."""
    head = f"{rule.name}: {rule.title}\nseverity {rule.severity}, subject {rule.subject}"
    own = f"\nyour own rule, from {rule.path}" if rule.own else ""
    prose = re.sub(rf"\n(?=({'|'.join(LEADS)})[.:])", "\n\n", rule.prose)
    parts = [head + own, prose, _thresholds(rule), _facts(rule), f"SQL:\n\n{rule.sql}"]
    return "\n\n".join(part for part in parts if part)


def _thresholds(rule: Rule) -> str:
    """Lines that portfolio.toml takes as they are, each with its unit and meaning."""
    settings = {key: f"{key} = {value}" for key, value in rule.params.items()}
    width = max(map(len, settings.values()), default=0)
    lines = [f"  {line:{width}}   # {rule.units[key]}" for key, line in settings.items()]
    head = f"Thresholds, as portfolio.toml takes them:\n\n  [rules.{rule.name}]"
    return "\n".join([head, *lines]) if lines else "It has no thresholds."


def _facts(rule: Rule) -> str:
    money = "its kWh are energy that could be saved, and its findings say what that costs a year"
    facts = {
        "Reads": ", ".join(_tables(rule)),
        "Not evaluated without": ", ".join(rule.needs) or "nothing: it can always look",
        "Money": money if rule.money else "none",
        "Put right": f"{_FIXES[rule.fix]} by {rule.who or PEOPLE[0]}",
        "Runs after": ", ".join(rule.after),
    }
    return "\n".join(f"{name}: {words}." for name, words in facts.items() if words)


def _tables(rule: Rule) -> list[str]:
    """The store's tables and views that the query reads."""
    schema = "".join(query(part) for part in SCHEMAS)
    known = set(re.findall(r"^CREATE (?:TABLE|VIEW) (\w+)", schema, re.MULTILINE))
    return sorted(known & set(re.findall(r"\b(?:FROM|JOIN)\s+(\w+)", bare(rule.sql), re.IGNORECASE)))


def shell_sql(rule: Rule) -> str:
    """The query alone, as any DuckDB shell runs it on a kept store, with the thresholds' defaults."""
    sql = rule.sql.rstrip().rstrip(";")
    if not rule.params:
        return f"{sql};"
    values = ", ".join(f"{name} := {value}" for name, value in rule.params.items())
    return f"PREPARE rule AS\n{sql};\nEXECUTE rule({values});"
