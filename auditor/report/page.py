"""Puts the report together: the only import of jinja2."""

from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import jinja2

from auditor.model import SEVERITIES, Rule, Settings
from auditor.report import figures, fleet
from auditor.report.rows import Row, fetch
from auditor.report.since import since
from auditor.report.sites import site_views
from auditor.report.soon import soon
from auditor.resources import query, resource
from auditor.results import write_text
from auditor.store import Connection, run_script
from auditor.wording import counted, date_text, dates_text, moment_text, short


def write_report(
    connection: Connection, path: Path, rules: Sequence[Rule], settings: Settings, facts: Mapping[str, Any]
) -> None:
    """Writes report.html from the store's findings.

    ``facts`` is the content of run.json. No time of day is in it: the same store gives the same bytes.
    """
    run_script(connection, query("report/00_scope.sql"))
    view = _view(connection, {rule.name: rule for rule in rules}, settings, facts)
    write_text(path, templates(settings.currency).get_template("report.html.j2").render(view))


def _view(
    connection: Connection, rules: Mapping[str, Rule], settings: Settings, facts: Mapping[str, Any]
) -> Row:
    sites = site_views(connection, rules, settings)
    (totals,) = fetch(connection, "totals")
    ((*period, newest, ahead),) = connection.execute(
        "SELECT first_date, (first_date + days - 1)::DATE, days, newest_read_at_utc::DATE AS newest, "
        "newest + soon_days() FROM period"
    ).fetchall()
    return {
        "facts": facts,
        "settings": settings,
        "severities": SEVERITIES,
        "period": dict(zip(("first", "last", "days"), period, strict=True)),
        "totals": totals,
        "safety": fleet.safety(sites),
        "unanswered": fleet.unanswered(sites),
        "since": since(connection, rules, sites),
        "first_sites": fleet.first_sites(sites),
        "firmness": fetch(connection, "firmness"),
        "soon": soon(connection, sites),
        "newest": newest,
        "ahead": ahead,
        "rules": fleet.rule_views(connection, rules, settings, sites),
        "regions": fetch(connection, "regions"),
        "sections": [site for site in sites if site["open"]],
        "others": [site for site in sites if not site["open"]],
        "data": fleet.data_view(connection, rules, facts),
    }


@cache  # reading the templates takes longer than filling them in
def templates(currency: str) -> jinja2.Environment:
    """Every value is escaped: names come from other people's files."""
    templates = jinja2.Environment(
        loader=jinja2.FileSystemLoader(resource("reports"), encoding="utf-8"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    money = figures.Money(currency)
    templates.filters |= {
        "whole": figures.whole,
        "hours": figures.hours,
        "kwh": figures.kwh,
        "plain": figures.plain,
        "money": money,
        "counted": counted,
        "short": short,
        "lacking": figures.lacking,
        "sentence": figures.sentence,
        "day": date_text,
        "moment": moment_text,
    }
    templates.globals |= {"money_column": money.column, "dates": dates_text}
    return templates
