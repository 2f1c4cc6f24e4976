"""Plain words for what machines write: near misses, durations, days, steps."""

import difflib
from collections.abc import Sequence
from typing import Any

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_WHOLE_SETS = {127: "Every day", 31: "Monday to Friday", 96: "Saturday and Sunday", 63: "Monday to Saturday"}


def nearest(word: str, known: Sequence[str]) -> str:
    """The known word most like this one, for a sentence that helps."""
    return (difflib.get_close_matches(word, known, 1, 0.0) or [""])[0]


def program_sentences(steps: Sequence[dict[str, Any]]) -> list[str]:
    """A target's steps as sentences, one for each set of days, season and calendar.

    ``steps`` are rows of the store's events in program order. Example: "Every day: on 20 minutes after sunset,
    off at 23:00."
    """
    groups: dict[tuple[str, str], list[str]] = {}
    for step in steps:
        calendar = f"on dates of calendar “{step['calendar']}”" if step["calendar"] else ""
        when = " ".join(part for part in (calendar, season_text(step["season_from"], step["season_until"])) if part)
        groups.setdefault((days_text(step["days_mask"]), when), []).append(step_text(step))
    return [
        f"{days}{', ' + when if when else ''}: {', '.join(words)}." for (days, when), words in groups.items()
    ]


def step_text(step: dict[str, Any]) -> str:
    """One step, such as "on 20 minutes after sunset" or "to 40 % at 23:00"."""
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
    """A length of time in its two largest units, such as "1 h 10 min" or "20 minutes"."""
    minutes = round(seconds / 60)
    if seconds < 90:
        return f"{round(seconds)} seconds" if seconds != 60 else "1 minute"
    if minutes < 120 and minutes % 60 and minutes < 60:
        return f"{minutes} minutes"
    return f"{minutes // 60} h {minutes % 60} min" if minutes % 60 else f"{minutes // 60} h"


def days_text(mask: int) -> str:
    """A set of weekdays in words."""
    names = [name for place, name in enumerate(_DAYS) if mask >> place & 1]
    return _WHOLE_SETS.get(mask) or ", ".join(names)


def season_text(start: str | None, end: str | None) -> str:
    """A season, such as "from 1 Oct to 31 Mar"; blank for the whole year."""
    if not start or not end:
        return ""
    return f"from {_edge_text(start)} to {_edge_text(end)}"


def _edge_text(edge: str) -> str:
    *year, month, day = edge.split("-")
    return " ".join([str(int(day)), _MONTHS[int(month) - 1], *year])
