"""Words of an export, to those of the contract; days with their ranges, lists and columns of marks."""

import re
from collections.abc import Collection, Iterable, Mapping

from auditor.normalise.values import WEEKDAYS

Words = Mapping[str, str]


def bare(text: str) -> str:
    """A text as words are compared: spaces as one, capitals as small letters."""
    return " ".join(text.split()).casefold()


def translated(text: str, words: Words) -> str | None:
    """The word's translation; None where it has none."""
    return words.get(bare(text))


def days_text(cell: str, words: Words) -> str:
    """A list of days as the contract writes it, from names, ranges and lists of them.

    The contract's own names need no translation. ValueError names the first word that has none.
    """
    whole = _day_set(cell, words)
    if whole is None:
        tied = re.sub(r"\s*[-–—]\s*", "-", cell.strip())
        whole = {day for part in re.split(r"[,;/+&\s]+", tied) if part for day in _span(part, words)}
    if not whole:
        raise ValueError("names no day")
    return "daily" if len(whole) == 7 else ",".join(day for day in WEEKDAYS if day in whole)


def _span(part: str, words: Words) -> Iterable[str]:
    found = _day_set(part, words)
    if found is not None:
        return found
    ends = [_one(end, words) for end in part.split("-")]
    if len(ends) != 2:
        raise ValueError(f'has no translation for "{part}"; add it to the words of days')
    first, last = map(WEEKDAYS.index, ends)
    return (WEEKDAYS[place % 7] for place in range(first, last + 1 + 7 * (last < first)))


def _one(text: str, words: Words) -> str:
    found = _day_set(text, words)
    if found is None or len(found) != 1:
        raise ValueError(f'has no translation for "{text}"; add it to the words of days')
    return next(iter(found))


def _day_set(text: str, words: Words) -> set[str] | None:
    meaning = translated(text, words) or text.strip().upper()
    if bare(meaning) == "daily":
        return set(WEEKDAYS)
    names = {name.strip() for name in meaning.split(",")}
    return names if names <= set(WEEKDAYS) else None


def is_day_list(meaning: str) -> bool:
    """True where a translation is a list of days of the contract."""
    return _day_set(meaning, {}) is not None


def marked_days(
    marks: Iterable[tuple[str, str, str | None]], on: Collection[str], off: Collection[str]
) -> str:
    """The days whose column has a mark; ``marks`` gives column, day and cell. Blank is no mark."""
    days: set[str] = set()
    for column, day, cell in marks:
        mark = bare(cell or "")
        if mark in on:
            days.add(day)
        elif mark and mark not in off:
            raise ValueError(f'has "{cell}" in column {column}, which neither set nor unset lists')
    if not days:
        raise ValueError("marks no day")
    return "daily" if len(days) == 7 else ",".join(day for day in WEEKDAYS if day in days)
