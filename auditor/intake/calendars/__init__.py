"""iCalendar (RFC 5545): a calendar of one circuit or sensor, on from the start of each event to its end.

``read_calendar`` takes the union of all occurrences: where one event ends as another begins, or lies within
it, the light stays on. Times with a zone are instants, and become steps at what the clock of the site's zone
shows then; dates and times without zone are what the device shows (see ``moments``). An end that is given as
DTEND in the zone of its DTSTART is a time on the wall: a light that goes on at 20:00 and off at 05:00 does so
on the nights of a change, too, as calendar programs show it (RFC 5545, section 3.8.5.3, would keep the exact
length). DURATION is exact but for its days and weeks. IANA names of zones mean the pinned database, whatever
a VTIMEZONE says; other names mean the VTIMEZONE of the file.

An event that has no equal in the contract is rejected as a whole, and so is the series that it belongs to:
what is left of a series without one of its changes would be another program.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator

import polars as pl

from auditor.intake.calendars.lines import Component, components
from auditor.intake.calendars.moments import DATE, UTC, Clocks
from auditor.intake.calendars.observances import zone_of
from auditor.intake.calendars.recurrence import Budget
from auditor.intake.calendars.series import Event, Occurrence, Reckoner
from auditor.intake.program import Entry, Horizon, Owner, Read, UnfitError, told
from auditor.intake.steps import DAY, Change, day_of, event_frame
from auditor.model import Period, Rejection
from auditor.zones import Clock, zone_clock, zone_names

__all__ = ["read_calendar", "read_closures"]

_ANEW = ("DTSTAMP", "CREATED", "LAST-MODIFIED", "SEQUENCE")
_SLACK = 2 * DAY  # no two zones are further apart


def read_calendar(content: bytes, file: str, owner: Owner, period: Period) -> Read:
    """The steps of one calendar, right for ``period`` and the year before it.

    Entries are the components of the file but for VTIMEZONE, each known by the row of its BEGIN. Raises
    UserError where the file as a whole cannot be read.
    """
    horizon = Horizon.of(period)
    found, read = _read(content, file, owner.zone, horizon)
    program = "\n".join(_said(components(content, file)))
    frame = event_frame(_changes(found, owner.level), horizon, owner, file, program)
    return told("events", file, content, frame, *read)


def read_closures(content: bytes, file: str, site_id: str, calendar: str, period: Period) -> Read:
    """The dates of whole-day events as rows of ``closures``, blank ``calendar``: they only close.

    ``site_id`` may be ``*``. Events with times of day are rejected, for a closure is a date.
    """
    horizon = Horizon.of(period)
    found, read = _read(content, file, "UTC", horizon, dates_only=True)
    first, end = day_of(horizon.first), day_of(horizon.last) + 1
    spans = [(max(one.start // DAY, first), min(one.end // DAY, end), one.row) for one in found]
    rows = {(day, row) for start, stop, row in spans for day in range(start, stop)}
    days = pl.Series("date", [day for day, _ in sorted(rows)], pl.Int32).cast(pl.Date).dt.to_string()
    frame = pl.DataFrame(
        {
            "site_id": pl.Series([site_id] * len(rows), dtype=pl.String),
            "date": days,
            "calendar": pl.Series([calendar or None] * len(rows), dtype=pl.String),
            "source_row": pl.Series([row for _, row in sorted(rows)], dtype=pl.Int64),
        }
    )
    once = frame.unique("date", keep="first", maintain_order=True)
    return told("closures", file, content, once, *read)


def _said(parts: Iterable[Component]) -> Iterator[str]:
    """What a calendar says, without what each export writes anew (RFC 5545, section 3.8.7)."""
    for part in parts:
        yield part.name
        yield from (text for _, text in part.lines if not text.upper().startswith(_ANEW))
        yield from _said(part.within)


_Found = tuple[list[Entry], list[Rejection], list[Rejection]]  # entries, rejected, skipped


def _read(
    content: bytes, file: str, zone: str, horizon: Horizon, dates_only: bool = False
) -> tuple[list[Occurrence], _Found]:
    parts = components(content, file)
    first, last = day_of(horizon.first) * DAY - _SLACK, day_of(horizon.last) * DAY + _SLACK
    audited = day_of(horizon.audited) * DAY
    budget = Budget()
    clocks = Clocks(zone_clock(zone), _clocks(parts, last, budget))
    reckoner = Reckoner(clocks, first, last, budget)
    skipped: list[Rejection] = []
    found: list[Occurrence] = []
    entries = [part for part in parts if part.name != "VTIMEZONE"]
    for part in entries:
        if part.name != "VEVENT":
            skipped.append(_skip(file, part.row, part.name, "only VEVENT components switch anything"))
    groups, rejected = _groups([part for part in entries if part.name == "VEVENT"], file, dates_only)
    for events in groups:
        own, faults = _occurrences(reckoner, events, file)
        rejected += faults
        if any(one.end > audited and one.start < last - _SLACK + DAY for one in own):
            found += own
        elif not faults:
            reason = f"it is called off, or nothing of it lies between {horizon.audited} and {horizon.last}"
            skipped += [_skip(file, event.row, "DTSTART", reason) for event in events]
    return found, ([Entry(part.row, part.name, part.called) for part in entries], rejected, skipped)


def _skip(file: str, row: int, column: str, reason: str) -> Rejection:
    return Rejection(file, row, column[:40], "", reason)


def _clocks(parts: Iterable[Component], limit: int, budget: Budget) -> dict[str, Clock]:
    """Clocks by TZID. A VTIMEZONE that cannot be read leaves its name unknown, and its events say so."""
    named = {}
    for part in parts:
        if part.name == "VTIMEZONE":
            budget.begin()
            try:
                name, clock = zone_of(part, limit, budget)
            except UnfitError:
                continue
            named[name] = clock
    return _Zones(named)


class _Zones(dict[str, Clock]):
    """Clocks by TZID: the pinned database first, then the VTIMEZONEs of the file."""

    def __getitem__(self, name: str) -> Clock:
        return zone_clock(name) if name == UTC or name in zone_names() else super().__getitem__(name)


def _groups(parts: list[Component], file: str, dates_only: bool) -> tuple[list[list[Event]], list[Rejection]]:
    """Events by UID, in order, without those that cannot be read and the series that these belong to."""
    groups: dict[str, list[Event]] = defaultdict(list)
    spoilt: dict[str, int] = {}
    rejected = []
    for part in parts:
        try:
            event = Event(part)
            _check_event(event, groups[event.uid], dates_only)
            groups[event.uid].append(event)
        except UnfitError as fault:
            rejected.append(fault.rejection(file, part.row))
            if fault.column != "UID":
                spoilt |= {text[4:]: part.row for _, text in part.lines if text[:4].upper() == "UID:"}
    for uid, row in spoilt.items():
        rejected += [_of_series(file, event.row, row) for event in groups.pop(uid, [])]
    return [group for group in groups.values() if group], rejected


def _check_event(event: Event, own: list[Event], dates_only: bool) -> None:
    if dates_only and event.start.form != DATE:
        raise event.lines["DTSTART"][0].unfit("it has a time of day; a closure is a whole date")
    first = not event.line("RECURRENCE-ID")
    if first and any(not one.line("RECURRENCE-ID") for one in own):
        raise UnfitError("UID", event.uid, "a VEVENT with this UID stands above; only the first counts")


def _of_series(file: str, row: int, culprit: int) -> Rejection:
    return Rejection(file, row, "UID", "", f"it belongs to the VEVENT in row {culprit}, which is rejected")


def _occurrences(
    reckoner: Reckoner, events: list[Event], file: str
) -> tuple[list[Occurrence], list[Rejection]]:
    """Occurrences of one UID, or why there are none: a fault of one VEVENT takes the others with it."""
    try:
        return reckoner.series(events), []
    except UnfitError as fault:
        culprit = reckoner.row
        others = [_of_series(file, event.row, culprit) for event in events if event.row != culprit]
        return [], [fault.rejection(file, culprit), *others]


def _changes(found: list[Occurrence], level: float) -> list[Change]:
    """On where an occurrence begins outside all others, off where the last of them ends."""
    changes: list[Change] = []
    end, row = None, 0
    for one in sorted(found, key=lambda one: (one.start, -one.end, one.row)):
        if end is None or one.start > end:
            changes += [] if end is None else [Change(end, 0, row)]
            if one.end > one.start:
                changes.append(Change(one.start, level, one.row))
            else:
                continue
            end, row = one.end, one.row
        elif one.end > end:
            end, row = one.end, one.row
    return changes + ([] if end is None else [Change(end, 0, row)])
