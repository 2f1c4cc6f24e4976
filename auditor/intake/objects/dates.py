"""Which dates a Calendar entry matches (ANSI/ASHRAE 135, BACnetDate, BACnetDateRange, BACnetWeekNDay)."""

from calendar import monthrange
from collections.abc import Callable
from datetime import date
from typing import Any

from auditor.intake.program import UnfitError

Matcher = Callable[[date], bool]
_ANY, _ODD_MONTHS, _EVEN_MONTHS = 255, 13, 14
_LAST_DAY, _ODD_DAYS, _EVEN_DAYS = 32, 33, 34
_ALL = [_ANY] * 4


def matcher(entry: dict[str, Any], column: str) -> Matcher:
    """A test of dates for a BACnetCalendarEntry of the published shape. Raises UnfitError."""
    ((kind, value),) = entry.items()
    if kind == "date":
        return _pattern(value, column)
    if kind == "weekNDay":
        return _week_and_day(value)
    return period(value, column)


def period(value: dict[str, Any], column: str) -> Matcher:
    """A test of dates for a BACnetDateRange: both ends count, and one that is unspecified is open."""
    first, last = (_edge(value[name], column) for name in ("start-date", "end-date"))
    return lambda day: (first is None or first <= day) and (last is None or day <= last)


def _edge(value: Any, column: str) -> date | None:
    if value == _ALL:
        return None
    if isinstance(value, list):
        year, month, day, _ = value
        if year == _ANY or month > 12 or day > 31:
            raise UnfitError(
                column, str(value), f"{column} has a range with one end half open; write its date"
            )
        value = f"{year:04}-{month:02}-{day:02}"
    return _date(value, column)


def _date(value: str, column: str) -> date:
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise UnfitError(column, value, f"{column} has a date that is none; write 2026-12-24") from None


def _pattern(value: Any, column: str) -> Matcher:
    if isinstance(value, str):
        exact = _date(value, column)
        return lambda day: day == exact
    year, month, day_of_month, weekday = value
    return lambda day: (
        year in (_ANY, day.year)
        and _month(month, day)
        and _day(day_of_month, day)
        and weekday in (_ANY, day.isoweekday())
    )


def _month(pattern: int, day: date) -> bool:
    if pattern in (_ODD_MONTHS, _EVEN_MONTHS):
        return day.month % 2 == (pattern == _ODD_MONTHS)
    return pattern in (_ANY, day.month)


def _day(pattern: int, day: date) -> bool:
    if pattern in (_ODD_DAYS, _EVEN_DAYS):
        return day.day % 2 == (pattern == _ODD_DAYS)
    return pattern in (_ANY, day.day) or (pattern == _LAST_DAY and day.day == _length(day))


def _week_and_day(value: list[int]) -> Matcher:
    month, week, weekday = value
    return lambda day: _month(month, day) and _week(week, day) and weekday in (_ANY, day.isoweekday())


def _week(pattern: int, day: date) -> bool:
    """Weeks 1 to 5 are sevens of days from the 1st on; 6 is the last seven days, 7 to 9 those before it."""
    from_end = (_length(day) - day.day) // 7
    return pattern == _ANY or (pattern == (day.day - 1) // 7 + 1 if pattern <= 5 else pattern == 6 + from_end)


def _length(day: date) -> int:
    return monthrange(day.year, day.month)[1]
