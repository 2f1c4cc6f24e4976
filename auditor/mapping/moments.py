"""Times, dates and moments as exports write them, to those of the contract.

Each function takes a text and how it is written, and gives the contract's text; ValueError says what is wrong
and which key of the map to set. Nothing that can be read in two ways is read.
"""

import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal

from auditor.mapping.numbers import number
from auditor.normalise.values import utc_offset, without_date
from auditor.wording import short
from auditor.zones import offset_text, zone_clock

TIMES = ("24h", "12h", "decimal hours", "excel serial", "minutes after midnight", "seconds after midnight")
DATES = ("iso", "day-first", "month-first", "excel serial")
OFFSETS = ("min", "h", "s")
_SECONDS_IN = {
    "decimal hours": 3600,
    "excel serial": 86400,
    "minutes after midnight": 60,
    "seconds after midnight": 1,
}
_ISO_DAY = r"(\d{4})-(\d\d)-(\d\d)"
_DAY_ZERO = date(
    1899, 12, 30
)  # of serial numbers from 61 on; before that a spreadsheet counts a day too many
_CLOCK = r"(\d{1,2})(?:[:.](\d\d))(?:[:.](\d\d))?\s*(?:h|Uhr)?"
_HOURS = r"(\d{1,2})\s*(?:h|Uhr)\s*(\d\d)?()"  # the word stands behind the hours: 23 Uhr, 9 h, 18 h 30


def time_text(cell: str, how: str | None, decimal: str = ".") -> str:
    """A time of day as HH:MM or HH:MM:SS; 24:00 is left as it is."""
    cell = without_date(cell)
    if how is None:
        if re.fullmatch(r"\d\d:\d\d(:\d\d)?", cell, re.ASCII):
            return cell
        raise ValueError('is not HH:MM; say how times are written, such as time = "12h"')
    if how == "24h":
        return _of_24(cell)
    return _of_12(cell) if how == "12h" else _counted(cell, how, decimal)


def _of_24(cell: str) -> str:
    ways = (_CLOCK, _HOURS, r"(\d\d)(\d\d)()")
    match = next(filter(None, (re.fullmatch(way, cell, re.ASCII | re.IGNORECASE) for way in ways)), None)
    if not match:
        raise ValueError(f'is not a time of the 24-hour clock, which time = "24h" asks for; {_hint(cell)}')
    return _clock(int(match[1]), int(match[2] or 0), int(match[3] or 0))


def _hint(cell: str) -> str:
    if re.search(r"\d\s*[ap]\.?\s?m\b", cell, re.IGNORECASE):
        return 'with AM and PM it is time = "12h"'
    hours = re.fullmatch(r"\d|1\d|2[0-4]", cell, re.ASCII)
    meaning = f"{int(cell):02}:00" if hours else "06:30"
    return (
        f'where a time is meant, say which in words, such as words = {{ "{short(cell, 30)}" = "{meaning}" }}'
    )


def _of_12(cell: str) -> str:
    bare = re.sub(r"[.\s]", "", cell).lower()
    match = re.fullmatch(r"(\d{1,2})(?::(\d\d))?(?::(\d\d))?([ap])m?", bare, re.ASCII)
    if not match or not 1 <= int(match[1]) <= 12:
        raise ValueError('lacks its AM or PM, or is no time, which time = "12h" asks for')
    return _clock(int(match[1]) % 12 + 12 * (match[4] == "p"), int(match[2] or 0), int(match[3] or 0))


def _counted(cell: str, how: str, decimal: str) -> str:
    seconds = round(number(cell, decimal) * _SECONDS_IN[how])
    if not 0 <= seconds <= 86400:
        raise ValueError(f'lies outside the day, counted in what time = "{how}" says')
    return _clock(seconds // 3600, seconds // 60 % 60, seconds % 60)


def _clock(hours: int, minutes: int, seconds: int) -> str:
    if not (minutes < 60 and seconds < 60 and hours * 3600 + minutes * 60 + seconds <= 86400):
        raise ValueError("is not a time of day")
    return f"{hours:02}:{minutes:02}" + (f":{seconds:02}" if seconds else "")


def when(
    cell: str, how: str | None, sun: Mapping[str, str], offset: str | None, decimal: str
) -> tuple[str, str, str]:
    """Anchor, time and offset_minutes of a step, from a time of day or a word for the sun with its offset.

    ``sun`` gives for each word its anchor. An offset with a colon is hours and minutes; a bare number is
    counted in ``offset``.
    """
    bare = " ".join(cell.split())
    for word in sorted(sun, key=len, reverse=True):
        if bare.casefold().startswith(word.casefold()):
            return sun[word], "", _offset(bare[len(word) :].strip(), offset, decimal)
    if re.match(r"[^\W\d]{2}", bare) and how != "12h":
        raise ValueError(
            "begins with a word that sun does not list; add it there, as sunrise, sunset, dawn or dusk, "
            "or to words, as the time that it means"
        )
    return "clock", time_text(bare, how, decimal), ""


def _offset(rest: str, unit: str | None, decimal: str) -> str:
    if not rest:
        return "0"
    match = re.fullmatch(r"([+\-−–])\s*(\d+:\d\d|\d+(?:[.,]\d+)?)\s*(min|m|h|s)?\.?", rest, re.ASCII)
    if not match:
        raise ValueError("has an offset that is not understood; write it like -20 or + 0:15")
    sign = "" if match[1] == "+" else "-"
    minutes = _minutes(match[2], {"m": "min"}.get(match[3], match[3]) or unit, decimal)
    return f"{sign}{minutes:f}" if minutes else "0"


def _minutes(text: str, unit: str | None, decimal: str) -> Decimal:
    if ":" in text:
        hours, minutes = text.split(":")
        if int(minutes) > 59 or len(hours) > 3:
            raise ValueError("has an offset that is not hours and minutes")
        return Decimal(int(hours) * 60 + int(minutes))
    if unit is None:
        raise ValueError('has an offset without a unit; say which, such as offset = "min"')
    seconds = number(text, decimal) * {"min": 60, "h": 3600, "s": 1}[unit]
    return (Decimal(round(seconds)) / 60).quantize(Decimal("0.001")).normalize()


def date_text(cell: str, how: str | None, decimal: str = ".") -> str:
    """A date as ISO 8601 has it. A date that begins with a year of four digits is understood in any case."""
    day, yearly = _date(cell, how, decimal)
    if yearly:
        raise ValueError("has no year")
    return day.isoformat()


def edge_text(cell: str, how: str | None, decimal: str = ".") -> str:
    """A date, or MM-DD for a day of every year."""
    if how is None and re.fullmatch(r"\d\d-\d\d", cell, re.ASCII):
        return cell
    day, yearly = _date(cell, how, decimal)
    return day.isoformat()[5:] if yearly else day.isoformat()


def _date(cell: str, how: str | None, decimal: str) -> tuple[date, bool]:
    """The date, and whether it is one of every year."""
    if match := re.fullmatch(rf"{_ISO_DAY}(?:[T ]00:00(?::00)?)?", cell, re.ASCII):
        return _day(int(match[1]), int(match[2]), int(match[3])), False
    if how in (None, "iso"):
        raise ValueError(f"{_two_ways(cell)}; say how dates are written: date = {_choices(cell)}")
    if how == "excel serial":
        return _serial(cell, decimal).date(), False
    return _patterned(cell, how) if "%" in how else _ordered(cell, how)


def _two_ways(cell: str) -> str:
    match = re.match(r"(\d{1,2})\D+(\d{1,2})(\D|$)", cell)
    both = match and max(int(match[1]), int(match[2])) <= 12
    return "can be day-first or month-first" if both else "is not a date like 2026-11-03"


def _choices(cell: str) -> str:
    return (
        '"day-first" or "month-first"'
        if re.match(r"\d{1,2}\D", cell)
        else f"one of {', '.join(DATES)}, or a pattern"
    )


def _ordered(cell: str, how: str) -> tuple[date, bool]:
    match = re.fullmatch(r"(\d{1,2})([./-])\s?(\d{1,2})(?:\2\s?(\d{4})?)?", cell, re.ASCII)
    if not match:
        raise ValueError(
            f'is not a date written {how} with a year of four digits; a pattern like "%d/%m/%y" may fit'
        )
    one, two = int(match[1]), int(match[3])
    day, month = (one, two) if how == "day-first" else (two, one)
    return _day(int(match[4] or 2000), month, day), match[4] is None


def _day(year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        raise ValueError("is no day of the calendar") from None


def _patterned(cell: str, pattern: str) -> tuple[date, bool]:
    yearly = not re.search(r"%[YyGcxDF]", pattern)
    try:  # a year is added, for else 29 February would be none
        moment = datetime.strptime(f"{cell} 2000" if yearly else cell, f"{pattern} %Y" if yearly else pattern)
    except (ValueError, OverflowError):
        raise ValueError(f"is not written like {pattern}") from None
    return moment.date(), yearly


def _serial(cell: str, decimal: str) -> datetime:
    days = number(cell, decimal)
    if not 61 <= days < 2_958_466:  # 1900-03-01 to 9999-12-31
        raise ValueError("is no serial number of a date")
    return datetime.combine(_DAY_ZERO, datetime.min.time()) + timedelta(seconds=round(days * 86400))


def moment_text(cell: str, date_how: str | None, time_how: str | None, decimal: str = ".") -> str:
    """A date and a time of day in one cell, as ISO 8601 without an offset, or with the one that it has."""
    if re.fullmatch(rf"{_ISO_DAY}[T ]\d\d:\d\d.*", cell, re.ASCII):
        return cell.replace(" ", "T", 1)
    if date_how == "excel serial":
        return _serial(cell, decimal).isoformat()
    if date_how and re.search("%[HI]", date_how):
        return _stamp(cell, date_how)
    day, _, clock = cell.partition("T" if re.match(r"\d{4}-\d\d-\d\dT", cell) else " ")
    if not clock:
        raise ValueError("has no time of day beside its date")
    return f"{date_text(day, date_how, decimal)}T{time_text(clock.strip(), time_how, decimal)}"


def _stamp(cell: str, pattern: str) -> str:
    try:
        return datetime.strptime(cell, pattern).isoformat()
    except (ValueError, OverflowError):
        raise ValueError(f"is not written like {pattern}") from None


def instant_text(moment: str, zone: str | None, offset: str | None) -> str:
    """A moment with its offset from UTC: its own, the one given, or that of a zone at that local time."""
    if re.search(r"(Z|[+-]\d\d:?\d\d)$", moment[10:]):
        return moment
    if offset:
        return moment + offset_text(utc_offset(offset))
    if not zone:
        raise ValueError('lacks its offset from UTC; add zone = "Europe/Berlin" or utc_offset = "+01:00"')
    return moment + offset_text(_zone_offset(moment, zone))


def _zone_offset(moment: str, zone: str) -> int:
    try:
        shown = round((datetime.fromisoformat(moment) - datetime(1970, 1, 1)).total_seconds())
    except (ValueError, OverflowError):
        raise ValueError("is no moment of the calendar") from None
    clock = zone_clock(zone)
    around = {clock.offset_at(shown + shift) for shift in (-86400, 0, 86400)}
    fits = [offset for offset in around if clock.offset_at(shown - offset) == offset]
    if len(fits) != 1:
        what = "comes twice" if fits else "is skipped"
        raise ValueError(f"{what} in {zone} on that date; write it with its offset from UTC")
    return fits[0]
