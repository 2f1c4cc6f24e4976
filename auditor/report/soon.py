"""What begins within 60 days of the newest reading, as lines of one list."""

from collections.abc import Iterator, Mapping, Sequence

from auditor.model import Rule
from auditor.report.findings import label
from auditor.report.links import Places
from auditor.report.rows import Row, by, fetch
from auditor.store import Connection
from auditor.wording import counted

_APART = 5  # lines of one date and kind that stand one by one; more become one line
_SHOWN = 5  # of the subjects of such a line
_NOUNS = {"controller": "device"}
_TOGETHER = {  # what many subjects have in common, before their names
    "clock": "The clocks of these {} will be wrong from this date on, or more wrong than now",
    "clock-unknown": "The clocks change, and this export does not tell whether these {} follow. Look then",
    "holiday": "A listed date for which these {} have no program: lights stay on while the site is closed",
    "calendar": "These {} had this date on a calendar a year before, and its list has ended. Enter new dates",
}


def soon(connection: Connection, rules: Mapping[str, Rule], places: Places) -> list[Row]:
    """The lines in order of date: what a site's subjects have in common as one, and what a fleet has too."""
    rows = [_named(row, rules, places) for row in fetch(connection, "soon")]
    return [line for same in by(rows, "date", "kind", "rule", "severity").values() for line in _lines(same)]


def _named(row: Row, rules: Mapping[str, Rule], places: Places) -> Row:
    site = places(row, "site_name")
    said = (
        site["label"] if row["subject_kind"] == "site" else label(row)
    )  # "this site" says nothing in a list
    return row | {"site": site, "label": said, "title": rules[row["rule"]].title if row["rule"] else ""}


def _lines(rows: list[Row]) -> Iterator[Row]:
    """Rows of one date, kind, rule and severity: site by site, or the fleet's as one where they are many."""
    kind = rows[0]["kind"]
    # What is said of a device is said of "this device"; a finding's sentence may stand for several circuits.
    alike = by(rows, "site_id", "what", *(() if kind == "finding" else ("subject_id",)))
    lines = [same[0] | {"subjects": same} for same in alike.values()]
    apart = 1 if kind == "clock-unknown" else _APART
    if len(lines) <= apart:
        yield from lines
    else:
        yield rows[0] | {
            "site": None,
            "sites": len({row["site_id"] for row in rows}),
            "subjects": rows[:_SHOWN],
            "more": len(rows) - _SHOWN,
            "what": _together(rows),
        }


def _together(rows: Sequence[Row]) -> str:
    kind = str(rows[0]["subject_kind"])
    number = counted(len(rows), _NOUNS.get(kind, kind))
    words = _TOGETHER.get(rows[0]["kind"])
    return words.format(number) if words else f"{rows[0]['title']}, at {number}"
