"""Number formats of a spreadsheet: what a cell that holds a number shows, where its bare value would mislead.

A cell of 0.4 that shows 40% is not 0.4, one of 42 that shows 0042 is not 42, and one of 1.0 that shows 24:00
is neither a number nor a date. Codes are those of ECMA-376 part 1, 18.8.30 and 18.8.31 (numFmt, numFmts).
"""

import re
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal, InvalidOperation

Look = Callable[[str, date], str]  # from the text of the bare value, and the day that the workbook calls zero

DAY_ZERO, DAY_ZERO_1904 = date(1899, 12, 31), date(1904, 1, 1)
BUILT_IN = {  # ids without a code in the file, of those that matter here
    9: "0%",
    10: "0.00%",
    16: "d-mmm",
    18: "h:mm AM/PM",
    19: "h:mm:ss AM/PM",
    20: "h:mm",
    21: "h:mm:ss",
    45: "mm:ss",
    46: "[h]:mm:ss",
    47: "mmss.0",
}
# Quoted text, escaped letters, spaces of a width, fillers, and brackets that say no length of time.
_LITERAL = re.compile(r'"[^"]*"|\\.|_.|\*.|\[(?!h+\]|m+\]|s+\])[^\]]*\]', re.IGNORECASE)
_LONGEST = 255  # characters of a code; no spreadsheet takes more
_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d) (\d\d):(\d\d:\d\d)(?:\.\d+)?")


def look_of(code: str) -> Look | None:
    """How a format of this code makes a number look; None where its bare value says the same."""
    shown = _bare(code)
    if re.search(r"\[[hms]+\]", shown):
        return _elapsed
    if re.search("[yd]", shown) or shown == "general":
        return None
    if re.search("[hs]", shown):
        return _time_of_day
    if "%" in shown:
        return _percent
    return _padded(len(shown)) if re.fullmatch("0{2,30}", shown) else None


def hides_year(code: str) -> bool:
    """Whether a format shows of a date its day and month alone."""
    letters = set(_bare(code))
    return letters >= set("dm") and letters.isdisjoint("hsy")


def _bare(code: str) -> str:
    """What a format says of numbers above 0, without what it writes out as it stands."""
    return _LITERAL.sub("", code[:_LONGEST]).lower().partition(";")[0].replace("am/pm", "").strip()


def _elapsed(text: str, zero: date) -> str:
    """Hours, which may be 24 or more, as 24:00:00."""
    match = _MOMENT.fullmatch(text)
    if not match:
        return text
    days = (date.fromisoformat(match[1]) - zero).days
    return f"{24 * days + int(match[2]):02}:{match[3]}" if days >= 0 else text


def _time_of_day(text: str, zero: date) -> str:
    """The time alone, but for a moment of a real date, of which only the time is shown."""
    match = _MOMENT.fullmatch(text)
    if not match or datetime.fromisoformat(text).year > DAY_ZERO_1904.year:
        return text
    return f"{match[2]}:{match[3]}"


def _percent(text: str, _: date) -> str:
    """With its sign, and with all of its digits."""
    try:
        return f"{(Decimal(text) * 100).normalize():f}%"
    except InvalidOperation:
        return text


def _padded(width: int) -> Look:
    def look(text: str, _: date) -> str:
        return text.zfill(width) if text.isdecimal() else text

    return look
