"""Plain words for what machines write: near misses, durations, days, steps."""

import difflib
import re
from collections.abc import Sequence
from datetime import date, datetime
from functools import reduce
from operator import or_
from typing import Any

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LONG_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
_MONTHS = tuple(name[:3] for name in _LONG_MONTHS)
_SENTENCE = re.compile(r"[.?!](?= [A-Z])")
_BREAK = re.compile(r"(?<![\d,;]) (?!\d)")  # not between a figure and its neighbours: "12 h", "31 December"
_LAST_DATE = "2199-12-31"  # that input may have
_WHOLE_SETS = {127: "Every day", 31: "Monday to Friday", 96: "Saturday and Sunday", 63: "Monday to Saturday"}


def nearest(word: str, known: Sequence[str]) -> str:
    """The known word most like this one, for a sentence that helps."""
    return (difflib.get_close_matches(word, known, 1, 0.0) or [""])[0]


def did_you_mean(word: str, known: Sequence[str], otherwise: str) -> str:
    """The end of a sentence about a word that is not known: the near miss; what to do where none is near."""
    near = difflib.get_close_matches(word, known, 1)
    return f'did you mean "{near[0]}"?' if near else f"{otherwise}."


def program_sentences(steps: Sequence[dict[str, Any]]) -> list[str]:
    """A target's steps as sentences, one for each set of days, season and calendar.

    ``steps`` are rows of the store's events in program order.
    Example: "Every day: on 20 min after sunset, off at 23:00."
    """
    return [sentence for sentence, _ in program_parts(steps)]


def program_parts(steps: Sequence[dict[str, Any]]) -> list[tuple[str, list[dict[str, Any]]]]:
    """The sentences of ``program_sentences``, each with the steps that it tells."""
    groups: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for step in steps:
        calendar = f"on dates of calendar “{step['calendar']}”" if step["calendar"] else ""
        when = " ".join(
            part for part in (calendar, season_text(step["season_from"], step["season_until"])) if part
        )
        groups.setdefault((days_text(step["days_mask"]), when), []).append(step)
    return [
        (f"{days}{', ' + when if when else ''}: {', '.join(map(step_text, told))}.", told)
        for (days, when), told in groups.items()
    ]


def step_text(step: dict[str, Any]) -> str:
    """One step, such as "on 20 min after sunset" or "to 40 % at 23:00"."""
    actions = {"on": "on", "off": "off", "suspend": "out of service", "resume": "back in service"}
    action = actions.get(step["action"]) or f"to {step['level']:g} %"
    if step["anchor"] == "clock":
        return f"{action} at {clock_text(step['time_s'])}"
    offset = step["offset_s"] or 0
    if not offset:
        return f"{action} at {step['anchor']}"
    return f"{action} {length_text(abs(offset))} {'before' if offset < 0 else 'after'} {step['anchor']}"


def clock_text(seconds: int) -> str:
    """A time of day; seconds only where there are some."""
    text = f"{seconds // 3600:02}:{seconds // 60 % 60:02}"
    return f"{text}:{seconds % 60:02}" if seconds % 60 else text


def length_text(seconds: float) -> str:
    """A length of time in its largest units: "45 s", "20 min", "1 h 10 min", "3 days"."""
    minutes = round(seconds / 60)
    if seconds < 90 and seconds != 60:
        return f"{round(seconds)} s"
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 2880:
        return f"{minutes // 60} h {minutes % 60} min" if minutes % 60 else f"{minutes // 60} h"
    hours = round(minutes / 60)
    return counted(hours // 24, "day") + (f" {hours % 24} h" if hours % 24 else "")


def grouped(number: float) -> str:
    """A whole number with a thin space at the thousands, one that no line breaks at."""
    return f"{round(number):,}".replace(",", "\u202f")


def spaced(figure: str) -> str:
    """A figure, or a text with figures, with thin spaces for the commas at thousands."""
    return re.sub(r"(?<=\d),(?=\d{3})", "\u202f", figure)


def short(text: str, limit: int = 80) -> str:
    """A name that may be of any length, cut where it would drown its neighbours."""
    return text if len(text) <= limit else text[: limit - 1].rstrip() + "…"


def excerpt(text: str, limit: int) -> str:
    """The beginning of a text: whole sentences where they fill most of the limit, else words and figures."""
    if len(text) <= limit:
        return text
    ends = [found.end() for found in _SENTENCE.finditer(text, 0, limit)]
    if ends and ends[-1] > 0.6 * limit:
        return f"{text[: ends[-1]]} …"
    breaks = [found.start() for found in _BREAK.finditer(text, 0, limit)]
    return f"{text[: breaks[-1] if breaks else limit]} …"


def counted(number: int, noun: str, plural: str = "") -> str:
    """A number of things: "1 site", "1 200 sites"."""
    return f"{grouped(number)} {noun if number == 1 else plural or noun + 's'}"


def date_text(day: date) -> str:
    """A date such as "14 March 2027", whatever the language of the machine."""
    return f"{day.day} {_LONG_MONTHS[day.month - 1]} {day.year}"


def dates_text(first: date, last: date) -> str:
    """A span of dates, each part said once: "1 to 20 November 2026"."""
    if first == last:
        return date_text(first)
    same_month = (first.year, first.month) == (last.year, last.month)
    start = str(first.day) if same_month else date_text(first).removesuffix(f" {last.year}")
    return f"{start} to {date_text(last)}"


def moment_text(moment: datetime) -> str:
    """A date and time of day to the minute: "14 March 2027, 15:27"."""
    return f"{date_text(moment)}, {moment:%H:%M}"


def clock_error_text(seconds: int) -> str:
    """A device's clock against the local time of its site, such as "1 h less than local time"."""
    if not seconds:
        return "local time"
    return f"{length_text(abs(seconds))} {'less' if seconds < 0 else 'more'} than local time"


def place_words(latitude: float | None, longitude: float | None) -> str:
    """Coordinates: "40.7282° N, 73.9942° W"; blank where there are none."""
    if latitude is None or longitude is None:
        return ""
    north, east = ("N" if latitude >= 0 else "S"), ("E" if longitude >= 0 else "W")
    return f"{abs(latitude):.6g}° {north}, {abs(longitude):.7g}° {east}"


def hours_text(rows: Sequence[dict[str, Any]]) -> str:
    """A site's opening hours, from rows of the store: "every day 09:00–22:00"; blank where unknown."""
    openings: dict[tuple[int, int], int] = {}
    for row in rows:
        key = row["opens_s"], row["closes_s"]
        openings[key] = openings.get(key, 0) | row["days_mask"]
    said = [f"{_days_within(mask)} {_opening_text(*key)}" for key, mask in openings.items()]
    closed = 127 & ~reduce(or_, openings.values(), 0)
    return "; ".join(said + ([f"closed on {days_text(closed)}"] if said and closed else []))


def _days_within(mask: int) -> str:
    return "every day" if mask == 127 else days_text(mask)


def _opening_text(opens: int, closes: int) -> str:
    if (opens, closes) == (0, 86400):
        return "round the clock"
    return f"{clock_text(opens)}–{clock_text(closes)}{' the next day' if closes <= opens else ''}"


def days_text(mask: int) -> str:
    """A set of weekdays in words."""
    names = [name for place, name in enumerate(_DAYS) if mask >> place & 1]
    return _WHOLE_SETS.get(mask) or ", ".join(names)


def season_text(start: str | None, end: str | None) -> str:
    """A season, such as "from 1 Oct to 31 Mar" or "on 22 Feb"; blank for the whole year.

    What ends on the last date that input may have is not said to end.
    """
    if not start or not end:
        return ""
    if start == end:
        return f"on {_edge_text(start)}"
    return f"from {_edge_text(start)} " + ("on" if end == _LAST_DATE else f"to {_edge_text(end)}")


def _edge_text(edge: str) -> str:
    *year, month, day = edge.split("-")
    return " ".join([str(int(day)), _MONTHS[int(month) - 1], *year])


def drift_text(clock: dict[str, Any]) -> str:
    """One clock that drifts: "L-0108-A gains 1.2 min a month (...); 5 minutes off on 3 March 2027"."""
    way = "gains" if clock["minutes_a_month"] > 0 else "loses"
    between = f"readings of {date_text(clock['earlier_utc'])} and {date_text(clock['newest_utc'])}"
    ahead = f"; 5 minutes off on {date_text(clock['five_minutes_on'])}" if clock["five_minutes_on"] else ""
    rate = f"{abs(clock['minutes_a_month']):.1f} min a month"
    return f"{clock['controller_id']} {way} {rate} ({between}){ahead}"


def rows_text(rows: dict[str, int]) -> str:
    """What became of the rows that were read."""
    skipped = f", {rows['skipped']} skipped by rule (see run.json)" if rows["skipped"] else ""
    lost = f"{rows['rejected']} rejected (see rejected.csv)"
    return f"{rows['kept']} of {rows['rows']} rows audited; {lost}{skipped}."


def lost_rows(inputs: Sequence[dict[str, Any]], every: bool) -> list[dict[str, Any]]:
    """The sources of which not each row was kept; or every one."""
    return [read for read in inputs if every or read["kept"] < read["rows"]]


def files_text(inputs: Sequence[dict[str, Any]], most: int = 20) -> list[str]:
    """A line a source: rows read = kept + rejected + skipped; those that lost something first."""
    order = sorted(inputs, key=lambda read: read["kept"] == read["rows"])
    lines = [f"  {_file_text(read)}" for read in order[:most]]
    left = len(order) - most
    return lines if left <= 0 else [*lines, f"  and {counted(left, 'file')} more; see run.json."]


def _file_text(read: dict[str, Any]) -> str:
    rules = ", ".join(f"{number} {rule}" for rule, number in read["skipped_by"].items())
    parts = f"{read['kept']} kept + {read['rejected']} rejected + {read['skipped']} skipped"
    return f"{read['file']}: {counted(read['rows'], 'row')} read = {parts}{f' ({rules})' if rules else ''}"
