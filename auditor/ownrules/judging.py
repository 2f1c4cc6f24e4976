"""What a user's rule answered, judged row by row: findings hold nothing that a rule of ours could not say."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from auditor.errors import UserError
from auditor.model import SEVERITIES, Rule
from auditor.rules import COLUMNS

Row = dict[str, Any]
Key = tuple[str, str, str]  # site_id, subject_kind, subject_id
_LARGEST = 1e12  # minutes or kWh
_LONGEST = 2000  # characters of a text
RELIED_ON = (
    "People rely on light here: it stays lit, and nothing is changed before those who rely on it were asked. "
    "Your own rule says: "
)


@dataclass(frozen=True)
class Subject:
    """What a verdict must know of whom it names; ``times`` more than one where two steps look alike."""

    in_use: bool
    relied_on: bool
    times: int


def verdicts(
    rule: Rule, answer: Sequence[Sequence[Any]], subjects: Mapping[Key, Subject], chosen: str | None
) -> list[Row]:
    """The rows of the table ``verdicts`` that the rule's answer comes to, in the order of their subjects.

    ``chosen`` is the severity that portfolio.toml gives. Subjects out of use have no verdicts. Raises
    UserError at the first row that cannot be one: a rule that is wrong once may be wrong in silence too.
    """
    rows = [dict(zip(COLUMNS, cells, strict=True)) for cells in answer]
    told: Counter[Key] = Counter()
    for place, row in enumerate(rows, 1):
        for wrong in _faults(rule, row, subjects, told):
            raise UserError(f"{rule.path.name}: row {place} of its answer{_about(row)}: {wrong}.")
    kept = sorted((row for row in rows if subjects[_key(row)].in_use), key=_key)
    return [_verdict(rule, row, subjects[_key(row)], chosen) for row in kept]


def _key(row: Row) -> Key:
    return row["site_id"], row["subject_kind"], row["subject_id"]


def _about(row: Row) -> str:
    site, kind, subject = _key(row)
    return f" ({kind} {subject})" if site and kind and subject else ""


def _faults(rule: Rule, row: Row, subjects: Mapping[Key, Subject], told: Counter[Key]) -> Iterator[str]:
    key = _key(row)
    if row["subject_kind"] not in rule.subject.split(" or "):
        yield f"subject_kind is {_shown(row['subject_kind'])}, and the header says {rule.subject}"
    if key not in subjects:
        yield f"there is no such {row['subject_kind']} at site {_shown(row['site_id'])}"
    told[key] += 1
    if told[key] > subjects[key].times:
        yield "its subject was there before; return one row a subject"
    if row["missing"] is None:
        yield from _finding_faults(row)
    elif row["missing"] not in rule.needs:
        yield f"missing is {_shown(row['missing'])}, which is not among the needs of its header"


def _finding_faults(row: Row) -> Iterator[str]:
    if row["severity"] not in (None, *SEVERITIES):
        yield f"severity is {_shown(row['severity'])}; it must be NULL or one of {', '.join(SEVERITIES)}"
    for name in ("minutes", "kwh"):
        if row[name] is not None and not 0 <= row[name] <= _LARGEST:  # nor NaN
            yield f"{name} is {row[name]}; it must be NULL or a number from 0 to {_LARGEST:.0f}"
    yield from _date_faults(row)
    for name in ("summary", "seen", "remedy"):
        text = row[name] or ""
        if len(text) > _LONGEST:
            yield f"{name} is longer than {_LONGEST} characters"
        if not text.strip() and name != "seen":
            yield f"{name} is blank; say it in a sentence"


def _date_faults(row: Row) -> Iterator[str]:
    given = [row[name] for name in ("first_date", "last_date") if row[name] is not None]
    try:
        days = [date.fromisoformat(text) for text in given]
    except ValueError:
        yield f"first_date or last_date is no date of the calendar ({', '.join(given)})"
        return
    if len(days) == 1 or days != sorted(days):
        yield "first_date and last_date must both be given, in order, or both be NULL"


def _shown(value: Any) -> str:
    return "NULL" if value is None else f'"{str(value)[:80]}"'


def _sentence(text: str) -> str:
    """The text with its full stop: other words may follow."""
    plain = text.strip()
    return plain if plain.endswith((".", "!", "?")) or not plain else f"{plain}."


def _verdict(rule: Rule, row: Row, subject: Subject, chosen: str | None) -> Row:
    dates = {name: row[name] and date.fromisoformat(row[name]) for name in ("first_date", "last_date")}
    caution = RELIED_ON if subject.relied_on and row["missing"] is None else ""
    return {
        **row,
        **dates,
        "rule": rule.name,
        "money": rule.money,
        "rule_fix": rule.fix,
        "rule_who": rule.who or None,
        "severity": chosen or row["severity"] or rule.severity,
        "remedy": caution + _sentence(row["remedy"] or ""),
    }
