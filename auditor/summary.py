"""A run in ten lines, fit for the body of a mail."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from auditor.letters import json_text, printable
from auditor.model import SEVERITIES
from auditor.resources import query
from auditor.store import Connection
from auditor.wording import counted, date_text, dates_text, grouped

Row = dict[str, Any]
FORMS = ("text", "markdown", "json")
_FIRST = 3  # sites
# What Markdown, or what shows it, takes for more than a letter; at the beginning it makes lists and headings.
_MEANT = re.compile(r"[\\`*_{}\[\]<>|~#!&@$]|^[-+=]|(?<=\d)[.)](?=\s|$)|:(?=//)|(?<=www)\.", re.IGNORECASE)


def summary_facts(connection: Connection, currency: str) -> Row:
    """What the lines say, as facts; dates as dates, money a year."""
    answer = connection.execute(query("summary.sql"))
    columns = [column[0] for column in answer.description]
    (row,) = answer.fetchall()
    first = connection.execute(query("first_sites.sql"), {"number": _FIRST}).fetchall()
    return dict(zip(columns, row, strict=True)) | {
        "currency": currency,
        "first_sites": [dict(zip(("site_id", "name", "score"), site, strict=True)) for site in first],
    }


def summary_text(facts: Row, form: str, report: Path) -> str:
    """The lines as text, as a Markdown list, or the facts as JSON."""
    if form == "json":
        return json_text(facts | {"report": str(report)}, default=str, indent=1)
    begin, word = ("- ", _markdown) if form == "markdown" else ("", printable)
    return "\n".join(f"{begin}{line}" for line in [*_lines(facts, word), f"Report: {word(str(report))}"])


def _markdown(name: str) -> str:
    """A name as Markdown shows it: no markup, no HTML, no link (CommonMark 0.31, section 2.4)."""
    return _MEANT.sub(r"\\\g<0>", printable(name))


def _lines(facts: Row, word: Callable[[str], str]) -> list[str]:
    """The lines; ``word`` makes names fit for them."""
    facts = facts | {"currency": word(facts["currency"])}
    first = [word(site["name"] or site["site_id"]) for site in facts["first_sites"]]
    return [
        f"{word(facts['portfolio'] or 'Lighting schedules')}, read to {date_text(facts['run_date'])}; "
        f"audited {dates_text(facts['first_date'], facts['last_date'])}.",
        f"{counted(facts['sites'], 'site')}, {counted(facts['circuits'], 'circuit')}; "
        f"{counted(facts['rejected'], 'input row')} rejected, "
        f"{counted(facts['not_judged'], 'judgement')} not possible.",
        f"Open findings: {', '.join(f'{grouped(facts[name])} {name}' for name in SEVERITIES)}.",
        f"Critical without an action: {grouped(facts['unanswered'])}. "
        f"Recorded as done and still there: {grouped(facts['still_there'])}.",
        _since(facts),
        f"Avoidable as programmed: {_money(facts, 'avoidable_cost')} a year.",
        f"Needs a visit: {counted(facts['visits'], 'site')}; "
        f"from a desk: {counted(facts['from_desk'], 'finding')}.",
        _soon(facts),
        f"First: {'; '.join(first) or 'no site'}.",
    ]


def _since(facts: Row) -> str:
    if facts["run_before"] is None:
        return "Nothing to compare with yet; runs that are kept in one store (--store) are compared."
    return (
        f"Since {date_text(facts['run_before'])}: {grouped(facts['new'])} new, "
        f"{grouped(facts['gone'])} gone, {_money(facts, 'recovered_cost')} a year recovered, "
        f"{_money(facts, 'added_cost')} added; "
        f"{counted(facts['missing_sites'], 'site')} missing."
    )


def _soon(facts: Row) -> str:
    if not facts["soon"]:
        return "Nothing more begins within 60 days."
    return f"Begins within 60 days: {grouped(facts['soon'])}, the first on {date_text(facts['soon_first'])}."


def _money(facts: Row, name: str) -> str:
    value = facts[name]
    return "not known" if value is None else f"{facts['currency']} {grouped(value)}".strip()
