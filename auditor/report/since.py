"""What changed since the run before, and how the runs compare; nothing without a store that remembers."""

from collections.abc import Mapping

from auditor.model import Rule
from auditor.report.links import Places
from auditor.report.rows import Row, by, fetch
from auditor.store import Connection
from auditor.wording import drift_text

SHOWN = 40  # of new findings and of those that are gone; changes.csv has all
DRIFTING = 20  # clocks; auditor history has all
MONTHS = 13  # of runs; the store has all


def since(connection: Connection, rules: Mapping[str, Rule], places: Places) -> Row | None:
    """New and gone findings, missing sites, money and the runs so far; None without a store."""
    runs = fetch(connection, "runs")
    if not runs:
        return None
    changes = by([_told(row, rules, places) for row in fetch(connection, "changes")], "change")
    new, gone = changes.get("new", []), changes.get("gone", [])
    open_before = [row for row in gone if row["was"] == "open"]
    drifting = fetch(connection, "drifting")
    return {
        "runs": runs[-MONTHS:],
        "now": runs[-1],
        "before": runs[-2] if len(runs) > 1 else None,  # runs come in order only
        "new": new[:SHOWN],
        "gone": gone[:SHOWN],
        "new_count": len(new),
        "gone_count": len(gone),
        "reasons": {str(reason): len(rows) for reason, rows in by(open_before, "reason").items()},
        "not_open": len(gone) - len(open_before),
        "missing_sites": fetch(connection, "gone_sites"),
        "drifting": [drift_text(clock) for clock in drifting[:DRIFTING]],
        "drifting_count": len(drifting),
    }


def _told(row: Row, rules: Mapping[str, Rule], places: Places) -> Row:
    rule = rules.get(row["rule"])
    return row | {
        "title": rule.title if rule else row["rule"],
        "site": places(row, "site_name"),
    }
