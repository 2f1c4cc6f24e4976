"""The rules, one by one against their cases, and what every rule owes its reader."""

import re
from collections import Counter
from pathlib import Path
from typing import Any

import duckdb
import pytest

from auditor.model import SEVERITIES, Rule
from auditor.rules import COLUMNS, load_rules

from .cases import (
    KINDS,
    Answer,
    Case,
    Row,
    Run,
    answers,
    ask,
    case_files,
    load_cases,
    moved,
    settings_text,
)

RULES = {rule.name: rule for rule in load_rules()}
every_rule = pytest.mark.parametrize("rule", RULES.values(), ids=RULES)
SECTIONS = ("What goes wrong.", "Why it matters.", "On site.", "What good looks like.", "Source:")


# Every case -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", load_cases(), ids=lambda case: f"{case.rule}: {case.name}")
def test_the_rule_finds_what_the_case_expects_and_nothing_else(case: Case) -> None:
    assert differences(case, answers(case.run)[case]) == []


def differences(case: Case, answer: Answer) -> list[str]:
    """How the program's rows of the case's rule differ from what the case expects, both ways."""
    rows = [row for row in answer.findings if row["rule"] == case.rule]
    found = [f"{subject(row)} {row['severity']} {row['status']}" for row in rows]
    unseen = [f"{subject(row)} {row['missing']}" for row in answer.not_evaluated if row["rule"] == case.rule]
    wrong = surplus("found", found, case.findings) + surplus("not found", case.findings, found)
    wrong += surplus("not evaluated", unseen, case.not_evaluated)
    wrong += surplus("evaluated", case.not_evaluated, unseen)
    return wrong + [f"{subject(row)}: {text}" for row in rows for text in wrong_figures(case, row)]


def surplus(word: str, some: list[str] | tuple[str, ...], others: list[str] | tuple[str, ...]) -> list[str]:
    """What is in ``some`` more often than in ``others``."""
    return [f"{word}: {text}" for text in sorted((Counter(some) - Counter(others)).elements())]


def subject(row: Row) -> str:
    return f"{row['subject_kind']} {row['subject_id']}"


def wrong_figures(case: Case, row: Row) -> list[str]:
    wanted: dict[str, Any] = {"within": 0.01} | case.figures
    exact = {key: wanted[key] for key in ("first_date", "last_date", "fix") if key in wanted}
    wrong = [f"{key} is {row[key]}, not {value}" for key, value in exact.items() if row[key] != value]
    for key, words in {"says": "summary", "seen": "seen", "remedy": "remedy"}.items():
        if wanted.get(key, "") not in row[words] or wanted.get("unsaid", "\n") in row[words]:
            wrong.append(f"its {words} is {row[words]!r}")
    for key in [key for key in ("minutes", "kwh") if key in wanted]:
        number = float(row[key] or "nan")  # of which no comparison is true
        if not abs(number - wanted[key]) <= wanted["within"]:
            wrong.append(f"{key} are {row[key]}, not {wanted[key]}")
    return wrong


# The folder of rules and the folder of cases ----------------------------------------------------------------


def test_every_rule_has_its_cases_and_every_file_of_cases_its_rule() -> None:
    assert case_files().keys() == RULES.keys()


@every_rule
def test_a_rule_has_a_case_of_every_kind(rule: Rule) -> None:
    cases = [case for case in load_cases() if case.rule == rule.name]
    assert {case.kind for case in cases} >= {kind for kind in KINDS if kind != "not evaluated" or rule.needs}
    # What the cases show to be missing is what the header says that the rule needs.
    assert {text.split(" ")[2] for case in cases for text in case.not_evaluated} == set(rule.needs)


@pytest.mark.parametrize("case", load_cases(), ids=lambda case: f"{case.rule}: {case.name}")
def test_the_kind_of_a_case_is_what_it_expects(case: Case) -> None:
    assert (case.kind == "not evaluated") == bool(case.not_evaluated)
    assert case.kind != "fires" or case.findings
    assert case.kind != "silent" or not case.findings


@every_rule
def test_names_of_cases_differ(rule: Rule) -> None:
    names = Counter(case.name for case in load_cases() if case.rule == rule.name)
    assert [name for name, times in names.items() if times > 1] == []


@every_rule
def test_a_rule_is_waived_in_some_case(rule: Rule) -> None:
    assert any("waived" in text for case in load_cases() if case.rule == rule.name for text in case.findings)


# What a rule says of itself ---------------------------------------------------------------------------------


@every_rule
def test_prose_says_what_goes_wrong_why_and_by_what_source(rule: Rule) -> None:
    starts = [rule.prose.find(section) for section in SECTIONS]
    assert -1 not in starts and starts == sorted(starts), "a section is missing, or out of order"
    source = rule.prose[starts[-1] + len("Source:") :].strip()
    named = re.search(r"\d|“|\"|\.(org|com|gov)\b", source)  # a section number, a title, an address
    assert named or "common practice, no source" in source


@every_rule
def test_every_threshold_of_the_header_is_in_the_query_and_the_other_way_round(rule: Rule) -> None:
    code = re.sub(r"--[^\n]*|'(?:[^']|'')*'", " ", rule.sql)
    assert set(re.findall(r"\$(\w+)", code)) == set(rule.params)


@pytest.fixture(scope="module")
def store(demo_store: Path) -> Path:
    """The store that a run of the demo leaves behind."""
    return demo_store


@every_rule
def test_the_query_runs_by_itself_on_a_store_that_was_kept(rule: Rule, store: Path) -> None:
    with duckdb.connect(str(store), read_only=True) as connection:
        found = connection.execute(rule.sql, rule.params)
        assert tuple(column[0] for column in found.description) == COLUMNS
        kinds = {row[COLUMNS.index("subject_kind")] for row in found.fetchall()}
    assert kinds <= set(rule.subject.split(" or "))
    assert re.search(r"\nORDER BY site_id[a-z_, ]*\Z", rule.sql), "the same store must give the same order"


# portfolio.toml ---------------------------------------------------------------------------------------------


@every_rule
def test_the_cases_move_every_threshold(rule: Rule) -> None:
    assert moved(rule.name).keys() == rule.params.keys()
    assert all(moved(rule.name)[name] != default for name, default in rule.params.items())


MOST_THRESHOLDS = max(len(rule.params) for rule in RULES.values())


@pytest.mark.parametrize("place", range(MOST_THRESHOLDS))
def test_every_threshold_changes_what_is_found(place: int) -> None:
    """With one threshold of each rule left at its default, the cases that move it must fail."""
    run = Run("2026-12-01", 73, moved=True)
    cases = [case for case in load_cases() if case.run == run]
    kept = {rule.name: list(rule.params)[place] for rule in RULES.values() if len(rule.params) > place}
    chosen = {
        rule: {name: value for name, value in moved(rule).items() if name != kept.get(rule)} for rule in RULES
    }
    found = ask(cases, settings_text(chosen), run)
    changed = {case.rule for case in cases if differences(case, found[case])}
    assert changed == kept.keys()


FIRST = {
    case.rule: case for case in reversed(load_cases()) if case.findings
}  # the first of each rule that fires


def test_a_rule_that_is_not_enabled_says_nothing() -> None:
    cases = [case for case in load_cases() if case.run == FIRST["always-on"].run]
    found = ask(cases, settings_text({rule: {"enabled": "false"} for rule in RULES}), cases[0].run)
    assert all(not answer.findings and not answer.not_evaluated for answer in found.values())


@pytest.mark.nightly
def test_a_chosen_severity_goes_before_the_rules_own() -> None:
    others = {name: SEVERITIES[SEVERITIES.index(rule.severity) - 1] for name, rule in RULES.items()}
    chosen = settings_text({rule: {"severity": f'"{severity}"'} for rule, severity in others.items()})
    for run in {case.run for case in FIRST.values()}:
        cases = [case for case in FIRST.values() if case.run == run]
        for case, answer in ask(cases, chosen, run).items():
            severities = {row["severity"] for row in answer.findings if row["rule"] == case.rule}
            assert severities == {others[case.rule]}, case.rule
