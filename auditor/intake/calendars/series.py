"""VEVENTs as occurrences on the clock of the site: rules, further and excepted dates, changed occurrences."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import chain

from icalendar.parser import Parameters

from auditor.intake.calendars.lines import Component, Property
from auditor.intake.calendars.moments import (
    DATE,
    FLOATING,
    UTC,
    Clocks,
    Length,
    Moment,
    length,
    moment,
    moments,
)
from auditor.intake.calendars.recurrence import Budget, has_count, occurrences, until
from auditor.intake.program import UnfitError
from auditor.intake.steps import DAY

Key = tuple[str, int]
_ONCE = ("DTSTART", "DTEND", "DURATION", "RECURRENCE-ID", "UID", "STATUS", "RRULE")


@dataclass(frozen=True)
class Occurrence:
    """On from ``start`` to ``end``, seconds since 1970 on the site's clock, by the VEVENT in ``row``."""

    start: int
    end: int
    row: int


class Event:
    """One VEVENT. What it lacks, and what has no equal in the contract, raises UnfitError when asked for."""

    def __init__(self, component: Component) -> None:
        self.row = component.row
        self.lines = component.properties()
        for name in _ONCE:
            if len(self.lines.get(name, [])) > 1:
                raise self.lines[name][1].unfit(f"{name} stands there {len(self.lines[name])} times")

    def line(self, name: str) -> Property | None:
        """A property that stands there at most once."""
        return next(iter(self.lines.get(name, [])), None)

    @property
    def uid(self) -> str:
        """Its UID; one of its own where it has none."""
        line = self.line("UID")
        return line.value if line else f"row {self.row}"

    @property
    def cancelled(self) -> bool:
        """True where its STATUS takes it off."""
        line = self.line("STATUS")
        return line is not None and line.value.strip().upper() == "CANCELLED"

    @cached_property
    def start(self) -> Moment:
        """DTSTART."""
        line = self.line("DTSTART")
        if line is None:
            raise UnfitError("DTSTART", "", "DTSTART is missing; say when it begins")
        return moment(line, line.value)

    @cached_property
    def end(self) -> Moment | Length:
        """DTEND or DURATION; a date without either lasts a day."""
        end, lasts = self.line("DTEND"), self.line("DURATION")
        if end and lasts:
            raise lasts.unfit("DTEND and DURATION are both given; it can have one only")
        if lasts:
            found = length(lasts, lasts.value)
            if self.start.form == DATE and found.seconds:
                raise lasts.unfit("DURATION has hours where DTSTART is a date")
            return found
        if end:
            return self._checked_end(end)
        if self.start.form == DATE:
            return Length(1, 0)
        raise UnfitError("DTEND", "", "it ends as it begins, without DTEND and DURATION; say when it ends")

    def _checked_end(self, line: Property) -> Moment:
        found = moment(line, line.value)
        if found.zoned != self.start.zoned or (not found.zoned and found.form != self.start.form):
            raise line.unfit("DTEND and DTSTART are not of one kind: dates, times without zone, or with one")
        return found


class Reckoner:
    """Works out occurrences between ``first`` and ``limit``, seconds since 1970, on the clocks of a calendar.

    Both are wide enough for any zone; what lies wholly outside is known by its key, and comes as None.
    """

    def __init__(self, clocks: Clocks, first: int, limit: int, budget: Budget) -> None:
        self.clocks, self.first, self.limit, self.budget = clocks, first, limit, budget
        self.row = 0  # of the VEVENT that is being worked out: to blame where that fails

    def series(self, events: list[Event]) -> list[Occurrence]:
        """The occurrences of all VEVENTs of one UID: at most one series, and changes of its occurrences."""
        self.budget.begin()
        whole = [event for event in events if not event.line("RECURRENCE-ID")]
        changes = [event for event in events if event.line("RECURRENCE-ID")]
        found: dict[Key, Occurrence | None] = {}
        if any(event.cancelled for event in whole):
            return []
        for event in whole:
            self.row = event.row
            found |= self._recurrences(event)
        series, changed = set(found) if whole else None, set[Key]()
        for change in changes:
            self.row = change.row
            key = self._changed(change, series, changed)
            changed.add(key)
            found[key] = None if change.cancelled else self._occurrence(change, change.start)
        return [one for one in found.values() if one]

    def _changed(self, change: Event, series: set[Key] | None, changed: set[Key]) -> Key:
        """Which occurrence a change names: one of the series, where that is here, and none twice."""
        line = change.lines["RECURRENCE-ID"][0]
        if line.parameter("RANGE"):
            raise line.unfit(
                "it changes this and all later occurrences; end the series before, and begin another"
            )
        named = moment(line, line.value)
        key = self.key(line, named)
        if key in changed:
            raise line.unfit("a change of this occurrence stands above")
        if series is not None and key not in series and named.shown <= self.limit:
            raise line.unfit("its series has no occurrence then")
        return key

    def key(self, line: Property, found: Moment) -> Key:
        """What identifies a moment. Raises UnfitError where its zone is not known."""
        try:
            return self.clocks.key(found)
        except KeyError:
            raise line.unfit(
                f'TZID "{found.form[:80]}" is no IANA name, and no VTIMEZONE here tells it'
            ) from None

    def _recurrences(self, event: Event) -> Iterator[tuple[Key, Occurrence | None]]:
        starts = {self._first(event): event.start}
        _ = event.end  # which says so where it is none, before any work is done
        except_for = {key for _, key in self._listed(event, "EXDATE")}
        starts |= {self.clocks.key(one): one for one in self._ruled(event, except_for)}
        periods: dict[Key, Occurrence | None] = {}
        for line in event.lines.get("RDATE", []):
            if line.parameter("VALUE").upper() == "PERIOD":
                periods |= dict(self._periods(event, line))
        starts |= {key: one for one, key in self._listed(event, "RDATE")}
        for key in sorted(starts.keys() - except_for - periods.keys()):
            yield key, self._occurrence(event, starts[key])
        yield from ((key, one) for key, one in periods.items() if key not in except_for)

    def _first(self, event: Event) -> Key:
        start = event.start  # which says so where it is missing
        return self.key(event.lines["DTSTART"][0], start)

    def _ruled(self, event: Event, except_for: set[Key]) -> Iterator[Moment]:
        if "EXRULE" in event.lines:
            raise event.lines["EXRULE"][0].unfit("EXRULE went with RFC 2445; write EXDATE")
        line = event.line("RRULE")
        if not line:
            return
        start, last = event.start, self._until(event, line)

        def over(at: int) -> bool:
            return last is not None and self.clocks.key(Moment(start.form, at))[1] > last

        found = occurrences(line, start, self.limit, self.budget, over)
        first = next(found, None)
        if start.shown <= self.limit:
            self._check_first(event, line, first, except_for)
        if first is not None:
            yield from (Moment(start.form, at) for at in chain([first], found))

    def _check_first(self, event: Event, line: Property, first: int | None, except_for: set[Key]) -> None:
        """RFC 5545, section 3.8.5.3: a DTSTART that its rule does not have makes the whole set undefined."""
        if first == event.start.shown:
            return
        if self.clocks.key(event.start) not in except_for or has_count(line):
            raise line.unfit(
                "DTSTART is no date of the rule, and then RFC 5545 leaves all open; let it begin with one"
            )

    def _until(self, event: Event, line: Property) -> int | None:
        found, start = until(line), event.start
        if found is None:
            return None
        if found.form != (UTC if start.zoned else start.form):
            wanted = {DATE: "a date", FLOATING: "a time without Z"}.get(start.form, "a time in UTC, with Z")
            raise line.unfit(f"UNTIL does not go with its DTSTART (RFC 5545, section 3.3.10); write {wanted}")
        return found.shown

    def _listed(self, event: Event, name: str) -> Iterator[tuple[Moment, Key]]:
        for line in event.lines.get(name, []):
            if name == "RDATE" and line.parameter("VALUE").upper() == "PERIOD":
                continue
            for one in moments(line):
                self.budget.spend(line)
                if one.zoned != event.start.zoned or (not one.zoned and one.form != event.start.form):
                    raise line.unfit(
                        f"{name} is {one.form} and DTSTART {event.start.form}; they must be alike"
                    )
                yield one, self.key(line, one)

    def _periods(self, event: Event, line: Property) -> Iterator[tuple[Key, Occurrence | None]]:
        others = {name: value for name, value in line.parameters.items() if name.upper() != "VALUE"}
        bare = Property(line.name, Parameters(others), line.value)
        for value in line.value.split(","):
            self.budget.spend(line)
            begins, slash, ends = value.partition("/")
            start = moment(bare, begins)
            if not slash or start.form == DATE or start.zoned != event.start.zoned:
                raise line.unfit("RDATE is no period like 20261103T140000Z/PT2H of the kind of its DTSTART")
            end = length(line, ends) if ends[:1] in "+P" else moment(bare, ends)
            yield self.key(line, start), self._between(event.row, start, end, line)

    def _occurrence(self, event: Event, start: Moment) -> Occurrence | None:
        self._first(event)
        line = event.line("DTEND") or event.lines["DTSTART"][0]
        end = event.end
        if isinstance(end, Length):
            return self._between(event.row, start, end, line)
        if end.form == event.start.form:  # by the clock on the wall, on every date
            if end.shown <= event.start.shown:
                raise line.unfit("it ends before it begins, or as it begins")
            return self._between(
                event.row, start, Moment(end.form, start.shown + end.shown - event.start.shown), line
            )
        self.key(line, end)
        exact = self.clocks.instant(end) - self.clocks.instant(event.start)
        if exact <= 0:
            raise line.unfit("it ends before it begins, or as it begins")
        return self._between(event.row, start, Length(0, exact), line)

    def _between(self, row: int, start: Moment, end: Moment | Length, line: Property) -> Occurrence | None:
        self.key(line, start)
        last = start.shown + end.days * DAY + end.seconds if isinstance(end, Length) else end.shown
        if last < self.first or start.shown > self.limit:
            return None
        begins = self.clocks.on_site(start)
        if isinstance(end, Length):
            later = Moment(start.form, start.shown + end.days * DAY)
            return Occurrence(begins, self.clocks.on_site(later, end.seconds), row)
        self.key(line, end)
        return Occurrence(begins, self.clocks.on_site(end), row)
