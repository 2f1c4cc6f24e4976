"""Schedule and Calendar objects of ANSI/ASHRAE 135 as JSON, by the shape of ``schedule.schema.json``.

``read_objects`` works out what each Schedule commands, date by date, and gives steps at the times at which
that changes. A device whose clock goes back would determine its value anew in the second of two like hours;
the contract fires a time once. So what changes within that hour is told for its first pass only.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import polars as pl

from auditor.intake.objects.dates import Matcher, matcher
from auditor.intake.objects.evaluation import Schedule
from auditor.intake.objects.shape import check, kind_of, objects
from auditor.intake.program import Entry, Horizon, Owner, Read, UnfitError, Work, told
from auditor.intake.steps import event_frame
from auditor.model import Period, Rejection

__all__ = ["read_objects"]

_PROGRAM = ("Effective_Period", "Weekly_Schedule", "Exception_Schedule", "Schedule_Default")
TargetsOf = Callable[[str], Sequence[str]]
MOST_WORK = 20_000_000  # of one file: dates looked at, times of day by time-values in force, rows


@dataclass(frozen=True)
class _Program:
    row: int
    targets: tuple[str, ...]
    frame: pl.DataFrame  # its steps
    dates: set[date]  # on which it is in force


def read_objects(
    content: bytes,
    file: str,
    owner: Owner,
    period: Period,
    targets_of: TargetsOf | None = None,
) -> Read:
    """The steps of every Schedule of one file, right for ``period`` and the year before it.

    ``targets_of`` gives what a Schedule acts on by its Object_Name, or raises ValueError with the reason why
    it cannot; without it all act on the owner's targets. Of two that act on one target on one date the second
    is rejected. Entries are the elements of the list, and ``source_row`` counts them from 1. Raises UserError
    where the file as a whole cannot be read.
    """
    horizon = Horizon.of(period)
    entries = objects(content, file)
    reader = _Reader(file, owner, horizon, targets_of)
    kinds = {row: reader.kind(entry, row) for row, entry in enumerate(entries, 1)}
    numbered = [(row, entry, kinds[row]) for row, entry in enumerate(entries, 1)]
    dates = reader.calendars([(row, entry) for row, entry, kind in numbered if kind == "calendar"])
    programs = reader.schedules([(row, entry) for row, entry, kind in numbered if kind == "schedule"], dates)
    reader.pass_over([(row, entry) for row, entry, kind in numbered if kind == "calendar"])
    frame = pl.concat([event_frame([], horizon, owner, file), *(one.frame for one in programs)])
    listed = [Entry(row, *_called(entry)) for row, entry in enumerate(entries, 1)]
    return told("events", file, content, frame, listed, reader.rejected, reader.skipped)


def _called(entry: Any) -> tuple[str, str]:
    """What an entry says it is, and its name."""
    found = entry if isinstance(entry, dict) else {}
    return str(found.get("Object_Identifier", "")), str(found.get("Object_Name", ""))


class _Reader:
    """Judges the objects of one file, and lists what it leaves out."""

    def __init__(self, file: str, owner: Owner, horizon: Horizon, targets_of: TargetsOf | None) -> None:
        self.file, self.owner, self.horizon, self.targets_of = file, owner, horizon, targets_of
        self.rejected: list[Rejection] = []
        self.skipped: list[Rejection] = []
        self.work = Work(MOST_WORK)
        self._identifiers: set[str] = set()
        self._referred: set[str] = set()
        self._date_lists: dict[str, Any] = {}

    def kind(self, entry: Any, row: int) -> str:
        """What an entry is, where it is of the published shape; blank where it is left out."""
        try:
            kind = kind_of(entry)
            if not kind:
                reason = "only Schedule and Calendar objects are programs"
                self.skipped.append(Rejection(self.file, row, "Object_Identifier", "", reason))
                return ""
            check(entry, kind)
            if entry["Object_Identifier"] in self._identifiers:
                reason = "an object with this Object_Identifier stands above; only the first counts"
                raise UnfitError("Object_Identifier", entry["Object_Identifier"], reason)
            self._identifiers.add(entry["Object_Identifier"])
            return kind
        except UnfitError as fault:
            self.rejected.append(fault.rejection(self.file, row))
            return ""

    def calendars(self, entries: list[tuple[int, Any]]) -> dict[str, Matcher]:
        """Which dates each Calendar holds, by its Object_Identifier."""
        found: dict[str, Matcher] = {}
        for row, entry in entries:
            try:
                tests = [matcher(one, "Date_List") for one in entry["Date_List"]]
                self.work.spend(len(tests) * self.horizon.days, "Date_List")
            except UnfitError as fault:
                self.rejected.append(fault.rejection(self.file, row))
                continue
            found[entry["Object_Identifier"]] = _dates(tests, self.horizon).__contains__
            self._date_lists[entry["Object_Identifier"]] = entry["Date_List"]
        return found

    def pass_over(self, calendars: list[tuple[int, Any]]) -> None:
        """Lists the Calendars to which no Schedule refers: nothing hangs on their dates here."""
        lost = {fault.source_row for fault in self.rejected}
        for row, entry in calendars:
            if row not in lost and entry["Object_Identifier"] not in self._referred:
                reason = "no Schedule that is kept refers to this Calendar"
                self.skipped.append(Rejection(self.file, row, "Object_Identifier", "", reason))

    def schedules(self, entries: list[tuple[int, Any]], dates: dict[str, Matcher]) -> list[_Program]:
        """What each Schedule does."""
        found: list[_Program] = []
        for row, entry in entries:
            try:
                program = self._program(row, entry, dates)
                _check_alone(program, found)
                found.append(program)
                self._referred |= {
                    event["period"].get("calendar-reference") for event in entry.get("Exception_Schedule", [])
                }
            except UnfitError as fault:
                self.rejected.append(fault.rejection(self.file, row))
        return found

    def _program(self, row: int, entry: Any, dates: dict[str, Matcher]) -> _Program:
        targets = self._targets(entry["Object_Name"])
        schedule = Schedule(entry, dates, self.work)
        changes = schedule.changes(row, self.horizon)
        if self.owner.actions != ("on", "off") and any(0 < change.level < 100 for change in changes):
            raise UnfitError("Weekly_Schedule", "", "it has levels, and acts on sensors, which have none")
        owner = replace(self.owner, targets=targets)
        frame = event_frame(changes, self.horizon, owner, self.file, self._said(entry))
        return _Program(row, targets, frame, _dates([schedule.in_force], self.horizon))

    def _said(self, entry: Any) -> str:
        """What a Schedule says, with the dates of its Calendars, without what changes from hour to hour."""
        shown = {name: entry[name] for name in _PROGRAM if name in entry}
        named = [event["period"].get("calendar-reference") for event in entry.get("Exception_Schedule", [])]
        return json.dumps([shown, [self._date_lists.get(name) for name in named]], sort_keys=True)

    def _targets(self, name: str) -> tuple[str, ...]:
        try:
            targets = self.owner.targets if self.targets_of is None else tuple(self.targets_of(name))
        except ValueError as error:
            raise UnfitError("Object_Name", name, str(error)) from error
        if not targets:
            raise UnfitError("Object_Name", name, "nothing says which circuits it acts on")
        return targets


def _dates(tests: list[Matcher], horizon: Horizon) -> set[date]:
    every = (horizon.first + timedelta(days=day) for day in range(horizon.days))
    return {day for day in every if any(matches(day) for matches in tests)}


def _check_alone(program: _Program, others: list[_Program]) -> None:
    """Two schedules that command one load on one date go by priorities that the contract does not have."""
    for other in others:
        both = program.dates & other.dates
        if set(program.targets) & set(other.targets) and both:
            reason = f"the Schedule in entry {other.row} acts on the same circuits on {min(both)}"
            raise UnfitError("Effective_Period", "", reason)
