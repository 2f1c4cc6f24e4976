"""Recurrence rules (RFC 5545, section 3.3.10), worked out by dateutil, with a bound on the work.

Where nothing matches a rule, dateutil looks for it up to the year 9999. So a rule is worked out in the last
of the 400-year cycles that the Gregorian calendar repeats to the day, which leaves it 400 years at most.
"""

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

from dateutil.rrule import rrulestr
from icalendar.parser import Parameters
from icalendar.prop import vRecur

from auditor.intake.calendars.lines import Property
from auditor.intake.calendars.moments import DATE, Moment, moment
from auditor.intake.steps import DAY

MOST, MOST_OF_ALL = (
    100_000,
    500_000,
)  # occurrences of one series, of one file: from DTSTART to the horizon's end
_FRUITLESS = 20_000  # what a rule costs that is searched for to the end of time
_CYCLE = 146_097 * DAY  # 400 years
_EPOCH = datetime(1970, 1, 1)
_LAST_YEAR = 9999
_BELOW_A_DAY = ("HOURLY", "MINUTELY", "SECONDLY")
_PARTS = {  # which parts a rule may have beside those that go with all: table of section 3.3.10
    "YEARLY": {"BYMONTH", "BYWEEKNO", "BYYEARDAY", "BYMONTHDAY", "BYDAY", "BYSETPOS"},
    "MONTHLY": {"BYMONTH", "BYMONTHDAY", "BYDAY", "BYSETPOS"},
    "WEEKLY": {"BYMONTH", "BYDAY", "BYSETPOS"},
    "DAILY": {"BYMONTH", "BYMONTHDAY", "BYDAY", "BYSETPOS"},
    **{name: {"BYDAY"} for name in _BELOW_A_DAY},
}
_TIMES = {"BYHOUR", "BYMINUTE", "BYSECOND"}
_ALWAYS = {"FREQ", "INTERVAL", "COUNT", "UNTIL", "WKST"}


class Budget:
    """Occurrences that one file may still have, and one series of it."""

    def __init__(self) -> None:
        self._all, self._own = MOST_OF_ALL, MOST

    def begin(self) -> None:
        """Another series."""
        self._own = MOST

    def spend(self, line: Property, number: int = 1) -> None:
        """Raises UnfitError where nothing is left."""
        self._all -= number
        self._own -= number
        if self._own < 0:
            raise line.unfit(f"it has more than {MOST} occurrences up to the audited year; begin it later")
        if self._all < 0:
            raise line.unfit(f"the file has more than {MOST_OF_ALL} occurrences up to here; split it")


def occurrences(
    line: Property, start: Moment, limit: int, budget: Budget, over: Callable[[int], bool]
) -> Iterator[int]:
    """Starts by a rule, in the form of ``start``, seconds since 1970: up to ``limit``, and until ``over``.

    Raises UnfitError where it is no rule of RFC 5545, or the budget is spent.
    """
    parts = _parts(line)
    _check(line, parts, start)
    if start.shown > limit:
        return
    budget.spend(line, 0)
    shift = (_LAST_YEAR - _year(limit)) // 400 * _CYCLE
    for seen in _worked_out(line, parts, _EPOCH + timedelta(seconds=start.shown + shift)):
        found = (seen - _EPOCH) // timedelta(seconds=1) - shift
        budget.spend(line)
        if found > limit or over(found):
            return
        yield found
    if "COUNT" not in parts:
        budget.spend(line, _FRUITLESS)


def has_count(line: Property) -> bool:
    """True where a rule says how many times."""
    return "COUNT" in _parts(line)


def until(line: Property) -> Moment | None:
    """UNTIL as it is written."""
    value = _parts(line).get("UNTIL")
    return moment(Property(line.name, Parameters(), value), value) if value else None


def _parts(line: Property) -> dict[str, str]:
    pairs = [part.partition("=") for part in line.value.strip().strip(";").split(";")]
    parts = {name.strip().upper(): value.strip().upper() for name, _, value in pairs}
    if len(line.value) > 4000 or len(parts) < len(pairs):
        raise line.unfit("RRULE says one thing twice, or is longer than 4000 characters")
    return parts


def _check(line: Property, parts: dict[str, str], start: Moment) -> None:
    known = _PARTS.get(parts.get("FREQ", ""))
    if known is None:
        raise line.unfit("RRULE has no FREQ that RFC 5545 knows")
    strange = sorted(parts.keys() - known - _TIMES - _ALWAYS)
    if strange:
        raise line.unfit(f"RRULE has {strange[0][:20]}, which does not go with {parts['FREQ']} here")
    if start.form == DATE and (parts["FREQ"] in _BELOW_A_DAY or parts.keys() & _TIMES):
        raise line.unfit("RRULE goes by times of day where DTSTART is a date")
    if "COUNT" in parts and "UNTIL" in parts:
        raise line.unfit("RRULE has COUNT and UNTIL; it can have one only")
    if "BYSETPOS" in parts and not parts.keys() & ((known | _TIMES) - {"BYSETPOS"}):
        raise line.unfit("RRULE has BYSETPOS and nothing to choose from")
    _check_numbers(line, parts)


def _check_numbers(line: Property, parts: dict[str, str]) -> None:
    for name in ("INTERVAL", "COUNT"):
        value = parts.get(name, "1")
        if not (value.isascii() and value.isdigit() and len(value) <= 12 and int(value) > 0):
            raise line.unfit(f"RRULE has {name} that is not a number from 1")
    numbered = any(day.strip("+-")[:1].isdigit() for day in parts.get("BYDAY", "").split(","))
    if numbered and (parts["FREQ"] not in ("MONTHLY", "YEARLY") or "BYWEEKNO" in parts):
        raise line.unfit("RRULE numbers its BYDAY, which goes with MONTHLY and YEARLY only")


def _worked_out(line: Property, parts: dict[str, str], start: datetime) -> Iterator[datetime]:
    bare = ";".join(f"{name}={value}" for name, value in parts.items() if name != "UNTIL")
    try:
        vRecur.from_ical(bare)
        yield from rrulestr(bare, dtstart=start)
    except (ValueError, TypeError, KeyError, IndexError, OverflowError):
        raise line.unfit("RRULE is none of RFC 5545, or nothing matches it") from None


def _year(seconds: int) -> int:
    return (_EPOCH + timedelta(seconds=seconds)).year
