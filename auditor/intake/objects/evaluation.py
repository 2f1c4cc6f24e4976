"""What a Schedule object says on a date (ANSI/ASHRAE 135, clause 12.24.4, protocol revision 4 and later).

The value is determined anew at 00:00 and at each time of a time-value: the special event of highest priority
(1 before 16; of equal ones the first in the list) whose latest time-value of this date is there and not NULL;
else the latest time-value of the weekday, unless NULL; else Schedule_Default. So a value never reaches over
midnight. Before protocol revision 4 an exception stood for its whole day; such objects look the same as JSON,
and are read by the later rule.
"""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from auditor.intake.objects.dates import Matcher, matcher, period
from auditor.intake.program import Horizon, UnfitError, Work
from auditor.intake.steps import DAY, Change, day_of

Levels = tuple[tuple[int, ...], tuple[float | None, ...]]  # times of day in seconds, levels; None is NULL
_CHANGE = 10  # work; a change becomes a row, which costs more than to look at one
_NAMES = {"inactive": 0, "active": 100}


@dataclass(frozen=True)
class Special:
    """One element of Exception_Schedule."""

    matches: Matcher
    levels: Levels


class Schedule:
    """A Schedule object of the published shape; ``dates`` are the matchers of Calendars by identifier."""

    def __init__(self, entry: dict[str, Any], dates: dict[str, Matcher], work: Work) -> None:
        self._work = work
        if entry.get("Out_Of_Service"):
            reason = "the object is out of service, so its program does not run; give its circuits a hold"
            raise UnfitError("Out_Of_Service", "true", reason)
        self._kinds: dict[str, str] = {}
        self.in_force = period(entry["Effective_Period"], "Effective_Period")
        self.default = self._level(entry["Schedule_Default"], "Schedule_Default")
        self.weekly = [
            self._levels(day["day-schedule"], f"Weekly_Schedule[{number}]")
            for number, day in enumerate(entry.get("Weekly_Schedule", [{"day-schedule": []}] * 7), 1)
        ]
        specials = list(enumerate(entry.get("Exception_Schedule", []), 1))
        specials.sort(
            key=lambda numbered: numbered[1]["event-priority"]
        )  # stable: of equals the first counts
        self.special = [self._special(event, number, dates) for number, event in specials]
        self._days: dict[tuple[int, ...], list[tuple[int, float | None]]] = {}

    def _special(self, event: dict[str, Any], number: int, dates: dict[str, Matcher]) -> Special:
        column = f"Exception_Schedule[{number}]"
        ((kind, value),) = event["period"].items()
        if kind == "calendar-entry":
            matches = matcher(value, column)
        elif value in dates:
            matches = dates[value]
        else:
            raise UnfitError(
                column, value, f"{column} refers to {value}, which this file does not have or is rejected"
            )
        return Special(matches, self._levels(event["list-of-time-values"], column))

    def _levels(self, values: list[dict[str, Any]], column: str) -> Levels:
        found = {}
        for value in values:
            hours, minutes, seconds = (*value["time"].removesuffix(".00").split(":"), "0")[:3]
            time = int(hours) * 3600 + int(minutes) * 60 + int(seconds)
            if time in found:
                raise UnfitError(
                    column, value["time"], f"{column} has {value['time']} twice; one time has one value"
                )
            found[time] = self._level(value["value"], column)
        return tuple(sorted(found)), tuple(level for _, level in sorted(found.items()))

    def _level(self, value: Any, column: str) -> float | None:
        """0 to 100; None for NULL. All values of a schedule are of one type (clause 12.24.4)."""
        if value is None:
            return None
        if isinstance(value, dict):
            ((kind, number),) = value.items()
            level = float(number) if kind == "real" else 100.0 * number
        else:
            kind = "boolean" if isinstance(value, bool) else "enumerated"
            level = 100.0 * value if isinstance(value, bool) else float(_NAMES[value])
        self._kinds.setdefault(kind, column)
        if len(self._kinds) > 1:
            raise UnfitError(
                column, str(value), f"values are of several types: {' and '.join(sorted(self._kinds))}"
            )
        return level

    def on(self, day: date) -> list[tuple[int, float | None]]:
        """Times of the day in seconds from 00:00 on, and the level from then; None: it commands nothing."""
        active = tuple(number for number, one in enumerate(self.special) if one.matches(day))
        key = (day.weekday(), *active)
        if key not in self._days:
            self._days[key] = self._day(
                [*(self.special[number].levels for number in active), self.weekly[key[0]]]
            )
        return self._days[key]

    def _day(self, lists: list[Levels]) -> list[tuple[int, float | None]]:
        times = sorted({0, *(time for own, _ in lists for time in own)})
        self._work.spend(len(times) * len(lists), "Exception_Schedule")
        return [(time, self._at(time, lists)) for time in times]

    def _at(self, time: int, lists: list[Levels]) -> float | None:
        """Of the lists by priority the first that has a value by now, other than NULL; else the default."""
        for times, levels in lists:
            place = bisect_right(times, time)
            if place and levels[place - 1] is not None:
                return levels[place - 1]
        return self.default

    def changes(self, row: int, horizon: Horizon) -> list[Change]:
        """What it commands over the horizon; outside its Effective_Period it writes nothing, and all stays.

        Raises UnfitError where NULL is left: then the load is left to others, of which it does not tell.
        """
        found = []
        for number in range(day_of(horizon.first), day_of(horizon.last) + 1):
            day = horizon.first + timedelta(days=number - day_of(horizon.first))
            self._work.spend(len(self.special), "Exception_Schedule")
            for time, level in self.on(day) if self.in_force(day) else []:
                if level is None:
                    reason = (
                        f"on {day} it comes to NULL, which leaves its load to others; give a Schedule_Default"
                    )
                    raise UnfitError("Schedule_Default", "null", reason)
                self._work.spend(_CHANGE, "Weekly_Schedule")
                found.append(Change(number * DAY + time, level, row))
        return found
