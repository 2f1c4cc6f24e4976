"""The audit, step by step: read top to bottom, this is the program."""

import hashlib
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from auditor import __version__
from auditor.apart import run_year_apart
from auditor.files import check_targets
from auditor.loading import Given, fill, fill_origin, maps_of, read_judged, settings_of
from auditor.memory import check_earlier, remember
from auditor.model import CODE_EDITIONS, SEVERITIES, Period, Portfolio, Rule, Settings
from auditor.ownrules import SECONDS, own_rules, run_own_rules
from auditor.period import audited_period
from auditor.report import PAGES, pages_in, write_report
from auditor.resources import query, resource
from auditor.results import NAMES, RUN, replacing_in, write_run, write_tables
from auditor.reuse import shared_out, year_before
from auditor.rules import load_rules, record_rules, run_rules
from auditor.store import (
    Connection,
    Engine,
    confine,
    describe,
    log_of,
    open_store,
    replacing_store,
    run_script,
    settle,
)
from auditor.summary import summary_facts
from auditor.waivers import action_doubts, waiver_doubts
from auditor.wording import nearest
from auditor.workbook import write_workbook
from auditor.year import FEW, choose_right_clocks, run_right_clocks, run_year
from auditor.zones import tzdb_version

# A stage and its length give a function that says how far it is.
Progress = Callable[[str, int], Callable[[Any], None]]


@dataclass(frozen=True)
class Outcome:
    """What a run has to say at its end: notices, open findings by severity, and the facts of its summary.

    ``sites``: how many were worked out, and how many taken from the run before; results do not say so.
    """

    notices: list[str]
    facts: dict[str, Any]
    open_findings: dict[str, int]
    summary: dict[str, Any] = field(default_factory=dict)
    sites: tuple[int, int] = (0, 0)


def audit(
    source: Given,
    out: Path,
    first: date | None,
    days: int,
    store_file: Path | None,
    progress: Progress,
    rules_folder: Path | None = None,
    rule_seconds: int = SECONDS,
    pages: int = PAGES,
    engine: Engine | None = None,
) -> Outcome:
    """Audits the portfolio in ``source``, or several sources together, and writes results into ``out``.

    The period is ``days`` dates from ``first`` (None: the first of the UTC month of the newest reading).
    ``rules_folder`` holds rules of the user's own, of which each may take ``rule_seconds``. The first
    ``pages`` sites by rank get a page of their own. ``engine``: what it may take of the machine.
    Raises UserError, and leaves ``store_file`` as it was, where the run cannot go on. Results and store are
    drafts until all is written; then they take their places, ``run.json`` and the store at the very end.
    """
    engine = engine or Engine()
    built_in = load_rules()
    own = own_rules(rules_folder, built_in) if rules_folder else []
    rules = built_in + own
    settings_file, settings = settings_of(source, rules)
    with ExitStack() as stack:
        path = stack.enter_context(replacing_store(store_file))  # in place last, when the results are
        results = stack.enter_context(replacing_in(out, RUN, pages_in))
        if store_file:
            check_earlier(store_file)
        portfolio = _judged(source, settings, first, days)
        check_targets(*(out / name for name in NAMES))  # now that all is read, and before all work
        period = audited_period(portfolio, first, days)
        facts = _facts(portfolio, settings_file, settings, period, rules)
        facts["maps"] = [_file_fact(path) for path in maps_of(source)]
        connection = stack.enter_context(open_store(path, portfolio.tables["sites"].height, engine))
        confine(connection, results, *([store_file, log_of(store_file)] if store_file else []))
        fill(connection, portfolio, settings, period)
        fill_origin(connection, facts)
        everywhere = bool(store_file or own)  # a store and a rule of the user's own may ask of any site
        with year_before(connection, None if engine.cluster else store_file):
            advance = progress("sites", portfolio.tables["sites"].height)
            if engine.cluster:
                run_year_apart(connection, portfolio, settings, period, engine, advance, everywhere)
            else:
                run_year(connection, advance, engine)
                if everywhere:
                    _run_right_clocks(connection, engine, progress)
        sites = shared_out(connection, FEW)
        run_script(connection, query("habits.sql"))
        run_rules(connection, built_in, settings, progress("rules", len(built_in)))
        record_rules(connection, rules, settings)
        if own:
            run_own_rules(connection, own, settings, rule_seconds, progress("own rules", len(own)))
        _rank(connection)
        if not everywhere:
            _run_right_clocks(connection, engine, progress, pages)
        if store_file:
            remember(connection, store_file)
        facts["notices"] += waiver_doubts(connection, facts["rules"], rules) + action_doubts(connection)
        write_tables(connection, results)
        write_workbook(connection, results / "findings.xlsx", settings.currency)
        write_report(connection, results, rules, settings, facts, pages)
        write_run(results / RUN, facts)
        if store_file:
            describe(connection)
            run_script(connection, query("tidy.sql"))
            settle(connection)
        told = summary_facts(connection, settings.currency)
        return Outcome(facts["notices"], facts, _open_findings(connection), told, sites)


def _run_right_clocks(
    connection: Connection, engine: Engine, progress: Progress, pages: int | None = None
) -> None:
    """The year once more where a clock is wrong (``pages``: at the sites that have a page)."""
    if wrong := choose_right_clocks(connection, pages):
        run_right_clocks(connection, progress("clocks", wrong), engine)


def demo_folder() -> Path:
    """The committed demo portfolio."""
    return resource("fixtures/demo")


def _judged(source: Given, settings: Settings, first: date | None, days: int) -> Portfolio:
    portfolio = read_judged(source, first, days)
    doubts = _edition_doubts(settings) + _type_doubts(portfolio)
    return replace(portfolio, notices=portfolio.notices + doubts)


def _edition_doubts(settings: Settings) -> list[str]:
    code = settings.energy_code
    if not code or code in CODE_EDITIONS:
        return []
    near = nearest(code, CODE_EDITIONS)
    what = "what depends on it is not evaluated"
    return [f'portfolio.toml: energy_code "{code}" is not known here; {what}. Did you mean "{near}"?']


def _type_doubts(portfolio: Portfolio) -> list[str]:
    few = portfolio.tables["circuits"].height <= 12  # then nobody would have peers anyway
    if few or portfolio.tables["sites"]["site_type"].count():
        return []
    return ["no site has a site_type, so that no circuit has peers: the rule outlier compares nothing."]


def _rank(connection: Connection) -> None:
    for script in sorted(resource("queries/rank").glob("*.sql")):
        run_script(connection, script.read_text(encoding="utf-8"))


def _facts(
    portfolio: Portfolio, settings_file: Path, settings: Settings, period: Period, rules: list[Rule]
) -> dict[str, Any]:
    """The content of ``run.json``."""
    return {
        "program": {"name": "auditor", "version": __version__},
        "tzdb": tzdb_version(),
        "portfolio": settings.name,
        "period": {"first_date": str(period.first), "last_date": str(period.last), "days": period.days},
        "inputs": portfolio.inputs,
        "settings": _file_fact(settings_file),
        "rows": {
            key: sum(table[key] for table in portfolio.inputs)
            for key in ("rows", "kept", "rejected", "skipped")
        },
        "rules": [rule.name for rule in rules if settings.rules.get(rule.name, {}).get("enabled", True)],
        "own_rules": [_file_fact(rule.path) for rule in rules if rule.own],
        "notices": list(portfolio.notices),
    }


def _file_fact(path: Path) -> dict[str, str] | None:
    if not path.exists():
        return None
    return {"file": path.name, "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}


def _open_findings(connection: Connection) -> dict[str, int]:
    rows = connection.execute(
        "SELECT severity, count(*) FROM findings WHERE status = 'open' GROUP BY severity"
    )
    counted = dict(rows.fetchall())
    return {severity: counted.get(severity, 0) for severity in SEVERITIES}
