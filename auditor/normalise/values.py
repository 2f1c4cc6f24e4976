"""One function a kind of cell: text in, value out; ValueError says what is wrong and what to write.

Instants come out as naive datetimes in UTC, clock readings as naive datetimes on the device's clock,
durations and times of day as whole seconds, days as a bit mask (Monday = 1 … Sunday = 64).
"""

import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from typing import Any

from auditor.model import ERROR, FORMULA

Parser = Callable[[str], Any]
WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")  # RFC 5545 names
TRUTH = {"true": True, "yes": True, "1": True, "false": False, "no": False, "0": False}


NO_VALUE = {  # how cells begin that hold no value of any kind: why
    ERROR: "is an error of a spreadsheet; mend its formula, or clear the cell",
    FORMULA: "is a formula without a stored result; open the workbook in a spreadsheet program, and save it",
}
# The day zero of spreadsheets, and the first days of calendars: a time kept as a moment has one of them.
_NO_DATE = re.compile(r"(?:1899-12-3[01]|1900-01-01|1904-01-01)[T ](\d\d:\d\d:\d\d)(?:\.0+)?", re.ASCII)


def text(cell: str) -> str:
    """Any text, as written."""
    return cell


@dataclass(frozen=True)
class Number:
    """A parser of decimal numbers from ``low`` to ``high``, both allowed."""

    low: float
    high: float

    def __call__(self, cell: str) -> float:
        """The number."""
        if not re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", cell, re.ASCII):
            raise ValueError("is not a number; write digits with a decimal point")
        value = float(cell)
        if not self.low <= value <= self.high:
            raise ValueError(f"is out of range; give a number from {self.low:.10g} to {self.high:.10g}")
        return value


@dataclass(frozen=True)
class Percent(Number):
    """The same for a number of per cent: its sign may stand behind it, as spreadsheets show it."""

    def __call__(self, cell: str) -> float:
        """The number."""
        return super().__call__(cell.removesuffix("%").rstrip())


@dataclass(frozen=True)
class Choice:
    """A parser of a fixed set of words, spelt exactly."""

    words: tuple[str, ...]

    def __call__(self, cell: str) -> str:
        """The word."""
        if cell not in self.words:
            near = difflib.get_close_matches(cell.lower(), self.words, 1)
            hint = f'did you mean "{near[0]}"' if near else f"write one of {', '.join(self.words)}"
            raise ValueError(f"is not known here; {hint}")
        return cell


def boolean(cell: str) -> bool:
    """true/false, yes/no or 1/0, in any case."""
    if cell.lower() not in TRUTH:
        raise ValueError("is neither true nor false; write true or false")
    return TRUTH[cell.lower()]


def instant(cell: str) -> datetime:
    """ISO 8601 with an offset, from 1970 to 2199; out comes naive UTC, whole seconds."""
    value = _iso(cell, "2026-11-03T14:05:00Z")
    if value.tzinfo is None:
        raise ValueError("lacks its offset from UTC; write an instant like 2026-11-03T14:05:00Z")
    return _within(1970, value, UTC)


def local_datetime(cell: str) -> datetime:
    """ISO 8601 date and time without an offset, from 1900 (clocks lose their date) to 2199, whole seconds."""
    value = _iso(cell, "2026-11-03T14:05:00")
    if value.tzinfo is not None:
        raise ValueError("has an offset; write what the device showed, like 2026-11-03T14:05:00")
    return _within(1900, value, None)


def _iso(cell: str, example: str) -> datetime:
    try:
        if not re.search(r"[T ]\d\d", cell):
            raise ValueError
        return datetime.fromisoformat(cell)
    except (ValueError, OverflowError):
        raise ValueError(f"is not an ISO 8601 date and time; write it like {example}") from None


def _within(first_year: int, value: datetime, zone: tzinfo | None) -> datetime:
    """Beyond these years neither calendars nor the sun's tables reach, and nobody's device was read then."""
    if not first_year <= value.year <= 2199:
        raise ValueError(f"is out of range; give a year from {first_year} to 2199")
    return (value.astimezone(zone) if zone else value).replace(tzinfo=None, microsecond=0)


def iso_date(cell: str) -> date:
    """An ISO 8601 calendar date; also its 00:00, as which spreadsheets and data frames keep a date."""
    try:
        match = re.fullmatch(r"(\d{4}-\d\d-\d\d)([T ]00:00(:00)?)?", cell, re.ASCII)
        return date.fromisoformat(match[1] if match else "")
    except ValueError:
        hint = "; is it a date? Give the cell a date format" if re.fullmatch(r"\d{5}(\.\d+)?", cell) else ""
        raise ValueError(f"is not a date; write it like 2026-11-03{hint}") from None


def utc_offset(cell: str) -> int:
    """An offset like -05:00, in seconds."""
    match = re.fullmatch(r"([+-])(\d\d):([0-5]\d)", cell, re.ASCII)
    if not match or int(match[2]) > 15:
        raise ValueError("is not an offset from UTC; write it like -05:00")
    seconds = int(match[2]) * 3600 + int(match[3]) * 60
    return -seconds if match[1] == "-" else seconds


def without_date(cell: str) -> str:
    """A time of day that a spreadsheet or a program keeps as a moment of its first day, without that day."""
    match = _NO_DATE.fullmatch(cell)
    return match[1] if match else cell


def time_of_day(cell: str) -> int:
    """HH:MM or HH:MM:SS, in seconds after 00:00."""
    match = re.fullmatch(r"([01]\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?", without_date(cell), re.ASCII)
    if not match:
        hint = "; is it a part of a day? Give the cell a time format" * bool(re.fullmatch(r"0?\.\d+", cell))
        hint = hint or "; 24:00 is 00:00 of the day after" * cell.startswith("24:00")
        raise ValueError(f"is not a time of day; write it like 06:30{hint}")
    return int(match[1]) * 3600 + int(match[2]) * 60 + int(match[3] or 0)


def end_time(cell: str) -> int:
    """A time of day, or 24:00 for the end of the day."""
    return 86400 if cell in ("24:00", "24:00:00") else time_of_day(cell)


def days(cell: str) -> int:
    """A comma list of weekday names, or daily, as a bit mask."""
    if cell == "daily":
        return 127
    names = [name.strip() for name in cell.split(",")]
    if not set(names) <= set(WEEKDAYS):
        raise ValueError("is not a list of days; write daily, or names like MO,TU,WE")
    return sum(1 << WEEKDAYS.index(name) for name in set(names))


def id_list(cell: str) -> list[str]:
    """Ids separated by semicolons, in their order, each once."""
    ids = list(dict.fromkeys(part.strip() for part in cell.split(";") if part.strip()))
    if not ids:
        raise ValueError("names nothing; write ids separated by ;")
    return ids


MINUTES = Number(-10080, 10080)  # of an offset from the sun; a week either way


def minutes_to_seconds(cell: str) -> int:
    """A number of minutes, as whole seconds; at most a week either way."""
    return round(MINUTES(cell) * 60)


def season_edge(cell: str) -> str:
    """MM-DD or a date, as text of 5 or 10 characters; the pair is judged with its row."""
    try:
        if re.fullmatch(r"\d\d-\d\d", cell, re.ASCII):
            return date.fromisoformat(f"2000-{cell}").isoformat()[5:]
        return iso_date(cell).isoformat()
    except ValueError:
        raise ValueError("is neither MM-DD nor a date; write it like 11-03 or 2026-11-03") from None
