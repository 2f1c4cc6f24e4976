"""`auditor rules`: the list, one rule in full, and its SQL for a shell."""

import json
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import duckdb
import pytest

from auditor.explain import explained, rule_list, shell_sql
from auditor.model import SEVERITIES, Rule
from auditor.rules import COLUMNS, LEADS, load_rules
from auditor.settings import read_settings
from auditor.store import open_store

from .conftest import Console

RULES = load_rules()
every_rule = pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)


@pytest.fixture(scope="module")
def store() -> duckdb.DuckDBPyConnection:
    """An empty store."""
    return open_store(Path(":memory:"))


def part(rule: Rule, start: str) -> str:
    """What stands behind the name of a part, or blank."""
    found = re.search(rf"^{start}: (.*)\.$", explained(rule), re.MULTILINE)
    return found[1] if found else ""


def test_the_list_has_every_rule_with_its_severity_and_title_worst_first(
    console: Callable[..., Console],
) -> None:
    status, out, err = console("rules")
    assert (status, err) == (0, "")
    listed = sorted(RULES, key=lambda rule: (SEVERITIES.index(rule.severity), rule.name))
    assert [line.split()[:2] for line in out.splitlines()] == [[rule.name, rule.severity] for rule in listed]
    assert all(line.endswith(rule.title) for rule, line in zip(listed, out.splitlines(), strict=True))


@every_rule
def test_a_rule_is_told_with_its_title_its_prose_in_paragraphs_and_its_sql(
    console: Callable[..., Console], rule: Rule
) -> None:
    status, out, err = console("rules", rule.name)
    assert (status, err) == (0, "")
    assert out.startswith(f"{rule.name}: {rule.title}\nseverity {rule.severity}, subject {rule.subject}\n")
    assert " ".join(out.split()).count(" ".join(rule.prose.split())) == 1
    assert all(re.search(rf"^\n{lead}[.:]", out, re.MULTILINE) for lead in LEADS)
    assert out.endswith(f"\n{rule.sql}\n")


@every_rule
def test_its_thresholds_can_be_pasted_into_the_settings_as_they_stand(rule: Rule, tmp_path: Path) -> None:
    block = re.search(r"(?<=portfolio.toml takes them:\n\n)(  .*\n)+", explained(rule))
    assert (block is None) == (not rule.params)
    if block:
        (tmp_path / "portfolio.toml").write_text(block[0], encoding="utf-8")
        assert read_settings(tmp_path / "portfolio.toml", RULES).rules == {rule.name: rule.params}
        meanings = re.findall(r"(\w+) = .*?# (.*)", block[0])
        assert dict(meanings) == rule.units


@every_rule
def test_the_tables_that_it_reads_are_those_that_the_engine_finds(
    rule: Rule, store: duckdb.DuckDBPyConnection
) -> None:
    tree = store.execute("SELECT json_serialize_sql($sql)", {"sql": rule.sql}).fetchone()
    catalogue = "SELECT table_name FROM information_schema.tables"  # views too
    known = {name for (name,) in store.execute(catalogue).fetchall()}
    assert part(rule, "Reads").split(", ") == sorted(known & set(table_names(json.loads((tree or ("",))[0]))))


def table_names(node: Any) -> Iterator[str]:
    """The tables, views and CTEs that a syntax tree of the engine names."""
    if isinstance(node, dict) and node.get("type") == "BASE_TABLE":
        yield node["table_name"]
    children = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    for child in children:
        yield from table_names(child)


@every_rule
def test_needs_money_order_and_who_puts_it_right_are_said(rule: Rule) -> None:
    assert part(rule, "Not evaluated without").startswith(", ".join(rule.needs) or "nothing")
    assert ("could be saved" in part(rule, "Money")) == rule.money
    assert part(rule, "Runs after") == ", ".join(rule.after)
    assert ("at a desk" in part(rule, "Put right")) == (rule.fix == "device")


@every_rule
def test_its_sql_alone_runs_in_a_shell(
    console: Callable[..., Console], rule: Rule, store: duckdb.DuckDBPyConnection
) -> None:
    status, out, err = console("rules", rule.name, "--sql")
    assert (status, err) == (0, "")
    for statement in store.extract_statements(out):
        found = store.execute(statement)
    assert tuple(column[0] for column in found.description) == COLUMNS


def test_the_sql_alone_has_the_thresholds_defaults() -> None:
    (rule,) = (rule for rule in RULES if rule.name == "stale-export")
    assert shell_sql(rule).endswith("\nEXECUTE rule(age_days := 35);")


def test_sql_is_about_one_rule(console: Callable[..., Console]) -> None:
    status, out, err = console("rules", "--sql")
    assert (status, out) == (2, "")
    assert err == "auditor: --sql is about one rule; name it, as in auditor rules NAME --sql.\n"


def test_the_list_makes_room_for_long_names(tmp_path: Path) -> None:
    long = replace(RULES[0], name="a" * 40, own=True)
    lines = rule_list([*RULES, long]).splitlines()
    column = next(line.index(long.severity) for line in lines if line.startswith(long.name))
    assert {line[column - 1 : column] for line in lines} == {" "}
    assert any(line.endswith(f"{long.title} (your own)") for line in lines)
