"""A kept store as a calendar (iCalendar, RFC 5545): what is programmed on in its year, or when findings hold.

Everything in it comes from the store: identifiers from what an event is about, DTSTAMP from the reading of
its device. So the same store gives the same bytes. Findings are dates; stretches are instants in UTC.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_OID, uuid5

from icalendar import Calendar, Event, vText

from auditor.errors import UserError
from auditor.kept import FORMAT, kept_store
from auditor.resources import query
from auditor.results import replacing_alone
from auditor.store import Connection
from auditor.wording import nearest, short

Row = dict[str, Any]
_PRODUCT = "-//fleet-schedule-auditor//auditor export//EN"
_PROGRAMMED = (
    "What the export says is programmed on; whether it was lit, an export cannot tell. Times that hang on "
    "somebody being there are left out."
)
_CAUTION = (
    "Never switch off egress, emergency, security or care lighting on the strength of this entry; where "
    "there may be a duty to light, ask first. Local codes, the authority having jurisdiction and licensed "
    "practice decide."
)


@dataclass(frozen=True)
class Whose:
    """What a calendar is about: a controller with all that hangs on it, or a site; the other is blank."""

    controller: str | None
    site: str | None

    @property
    def words(self) -> str:
        """Such as: controller K1."""
        return f"controller {self.controller}" if self.controller is not None else f"site {self.site}"


def write_agenda(store_file: Path, whose: Whose, path: Path, findings: bool) -> tuple[int, int]:
    """Writes a calendar, and gives how many events are in it and how many findings have no date to be at.

    Raises UserError where the store cannot be read, does not know ``whose``, or has nothing to write.
    """
    with kept_store(store_file, FORMAT) as store:
        _check_known(store, whose)
        rows = _rows(store, "findings" if findings else "stretches", whose)
    dated = [row for row in rows if not findings or row["first_date"]]
    if not dated:
        what = "no open finding with a date" if findings else "no circuit that is programmed on"
        raise UserError(f"{whose.words} has {what} in the audited period; there is nothing to write.")
    calendar = _calendar(whose, findings)
    for event in map(_finding if findings else _stretch, dated):
        calendar.add_component(event)
    with replacing_alone(path) as draft:
        draft.write_bytes(calendar.to_ical())
    return len(dated), len(rows) - len(dated)


def _check_known(store: Connection, whose: Whose) -> None:
    table, key = ("controllers", whose.controller) if whose.controller is not None else ("sites", whose.site)
    column = f"{table[:-1]}_id"
    known = [name for (name,) in store.execute(f"SELECT {column} FROM {table} ORDER BY 1").fetchall()]
    if key not in known:
        near = nearest(key or "", known)
        raise UserError(f'there is no {table[:-1]} "{key}" in the store; did you mean "{near}"?')


def _rows(store: Connection, name: str, whose: Whose) -> list[Row]:
    answer = store.execute(query(f"agenda/{name}.sql"), {"controller": whose.controller, "site": whose.site})
    columns = [column[0] for column in answer.description]
    return [dict(zip(columns, row, strict=True)) for row in answer.fetchall()]


def _calendar(whose: Whose, findings: bool) -> Calendar:
    calendar = Calendar()
    calendar.add("prodid", _PRODUCT)
    calendar.add("version", "2.0")
    # NAME is no TEXT to the library, which would neither fold nor escape what stands in an id.
    calendar.add("name", vText(_plain(f"{'Findings' if findings else 'Programmed on'}: {whose.words}")))
    calendar.add("description", _CAUTION if findings else f"{_PROGRAMMED} {_CAUTION}")
    return calendar


def _stretch(row: Row) -> Event:
    what = "on" if row["level"] == 100 else f"at {row['level']:g} %"
    name = f"{row['name']} ({row['circuit_id']})" if row["name"] else row["circuit_id"]
    event = _event(row, "stretch", row["circuit_id"], f"{row['start_utc']:%Y%m%dT%H%M%S}")
    event.add("dtstart", _utc(row["start_utc"]))
    event.add("dtend", _utc(row["end_utc"]))
    event.add("summary", _plain(f"{short(name)}: {what}"))
    event.add("categories", [row["area"]])
    return event


def _finding(row: Row) -> Event:
    event = _event(row, "finding", row["finding_id"])
    event.add("dtstart", row["first_date"])
    event.add("dtend", (row["last_date"] or row["first_date"]) + timedelta(days=1))
    event.add("summary", _plain(f"{row['title']}: {row['subject_kind']} {short(row['subject_id'])}"))
    words = [row["summary"], row["seen"], row["remedy"], _CAUTION]
    event.add("description", _plain("\n".join(word for word in words if word)))
    event.add("categories", [row["severity"], row["rule"]])
    return event


def _event(row: Row, *about: str) -> Event:
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_OID, "\x1f".join(("fleet-schedule-auditor", *about)))))
    event.add("dtstamp", _utc(row["read_at_utc"]))
    event.add("transp", "TRANSPARENT")  # it takes up nobody's time
    return event


def _utc(moment: datetime) -> datetime:
    return moment.replace(tzinfo=UTC)


def _plain(words: str) -> str:
    """TEXT has no control characters but line breaks (RFC 5545, section 3.3.11)."""
    return "".join(_letters(words))


def _letters(words: str) -> Iterator[str]:
    for letter in words:
        control = ord(letter) < 32 or 127 <= ord(letter) < 160
        yield "\ufffd" if control and letter != "\n" else letter
