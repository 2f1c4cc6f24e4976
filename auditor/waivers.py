"""Waivers that excuse nothing and actions that answer nothing: whoever signed them must know."""

from collections.abc import Sequence
from typing import Any

from auditor.model import Rule
from auditor.resources import query
from auditor.store import Connection
from auditor.wording import nearest

Row = dict[str, Any]


def waiver_doubts(connection: Connection, enabled: Sequence[str], rules: Sequence[Rule]) -> list[str]:
    """A sentence for every waiver that can match nothing, or that stands and matched no finding."""
    known = [rule.name for rule in rules]
    answer = connection.execute(query("idle_waivers.sql"))
    names = [column[0] for column in answer.description]
    idle = [dict(zip(names, row, strict=True)) for row in answer.fetchall()]
    said = [(row, _impossible(row, known) or _idle(row, enabled)) for row in idle]
    return [
        f"{row['source_file']}, row {row['source_row']}: the waiver {words}" for row, words in said if words
    ]


def _impossible(row: Row, known: Sequence[str]) -> str:
    rule, subject, site = row["rule"], row["subject_id"], row["site_id"]
    if rule not in known:
        return f'stands for nothing, for there is no rule "{rule}"; did you mean "{nearest(rule, known)}"?'
    if row["subject_known"]:
        return ""
    if row["other_site"]:
        return f'stands for nothing, for "{subject}" is at site "{row["other_site"]}"; check site "{site}".'
    return f'stands for nothing, for nothing accepted is called "{subject}"; check the id.'


def _idle(row: Row, enabled: Sequence[str]) -> str:
    if not row["stands"]:
        return ""
    where = f'"{row["subject_id"] or row["site_id"]}"'
    if row["rule"] not in enabled:
        return f"matches no finding, for portfolio.toml switches {row['rule']} off; it waits until that ends."
    if row["not_evaluated"]:
        return f"matches no finding, for {row['rule']} could not look at {where}; see not_evaluated.csv."
    return f"matches no finding, for {row['rule']} finds nothing at {where}; take it out if that is settled."


def action_doubts(connection: Connection) -> list[str]:
    """A sentence for every action that counts for nothing."""
    why = {
        "note": "a decline needs a note that says why",
        "date": "it is dated long after the newest reading; check its date",
        "finding": 'no run found "{}"; check the id',
    }
    return [
        f"{file}, row {row}: the action counts for nothing, for {why[lacking].format(finding)}."
        for file, row, finding, lacking in connection.execute(query("idle_actions.sql")).fetchall()
    ]
