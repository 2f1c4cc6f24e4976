"""Runs a user's rules on a copy of the store and puts what they find among the verdicts."""

import tempfile
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import polars as pl

from auditor.model import Rule, Settings
from auditor.ownrules.asking import ask
from auditor.ownrules.judging import Key, Row, Subject, verdicts
from auditor.resources import query
from auditor.rules import params_of
from auditor.store import Connection, connected, copy_store, load, open_store

SECONDS = 60  # that one query may take
_VERDICTS: dict[str, pl.DataType] = {
    **dict.fromkeys(("rule", "rule_fix", "rule_who", "site_id", "subject_kind", "subject_id"), pl.String()),
    **dict.fromkeys(("severity", "summary", "seen", "remedy", "missing"), pl.String()),
    "money": pl.Boolean(),
    **dict.fromkeys(("minutes", "kwh"), pl.Float64()),
    **dict.fromkeys(("first_date", "last_date"), pl.Date()),
}


def run_own_rules(
    connection: Connection,
    rules: Sequence[Rule],
    settings: Settings,
    seconds: int,
    advance: Callable[[str], None],
) -> None:
    """Adds to ``verdicts`` what every enabled rule finds or cannot judge; each sees what was said before it.

    Raises UserError at the first rule that gives no good answer within ``seconds``.
    """
    subjects = _subjects(connection)
    most = sum(subject.times for subject in subjects.values())
    with tempfile.TemporaryDirectory(prefix="auditor-") as folder:
        copy = Path(folder) / "store.duckdb"
        copy_store(connection, copy)
        for rule in rules:
            chosen = settings.rules.get(rule.name, {})
            if chosen.get("enabled", True):
                answer = ask(copy, rule, params_of(rule, chosen), seconds, most)
                _add(connection, copy, verdicts(rule, answer, subjects, chosen.get("severity")))
            advance(rule.name)


def try_own_rules(rules: Iterable[Rule], seconds: int = SECONDS) -> None:
    """Asks every rule once, of an empty store. Raises UserError at the first that gives no answer."""
    with tempfile.TemporaryDirectory(prefix="auditor-") as folder:
        empty = Path(folder) / "store.duckdb"
        open_store(empty).close()
        for rule in rules:
            ask(empty, rule, rule.params, seconds, 0)


def _subjects(connection: Connection) -> dict[Key, Subject]:
    rows = connection.execute(query("own_subjects.sql")).fetchall()
    return {(site, kind, subject): Subject(*facts) for site, kind, subject, *facts in rows}


def _add(connection: Connection, copy: Path, rows: list[Row]) -> None:
    frame = pl.DataFrame(rows, _VERDICTS)
    load(connection, "verdicts", frame)
    with connected(copy) as later:  # where the next rule looks
        load(later, "verdicts", frame)
