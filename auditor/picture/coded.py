"""A picture's data for the script beside it: every date's times, short, and the words for them."""

import json
from collections import defaultdict
from collections.abc import Sequence
from functools import cache, lru_cache
from itertools import groupby

from auditor.picture.frame import Frame
from auditor.picture.paints import PAINTS
from auditor.picture.reading import CircuitYear, Piece, SiteYear
from auditor.picture.words import change_words

_NOTHING = "_"  # stands for what is not painted
_HAPPENS = {"sunrise": "R", "sunset": "S", "opens": "P", "closes": "Q"}
_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"


def coded(year: CircuitYear, frame: Frame) -> str:
    """JSON. ``does``, ``differs``, ``sun`` and ``hours``: dates parted by ``;``, ``*3`` after one that comes
    three times in a row; blank where there is nothing on any date.

    A date is a row of capitals, each with the minute of the local day from which it holds, to base 36:
    ``K0Daz@40_sc`` is K from 00:00, D at level 40 from 06:35, nothing from 17:00. In ``sun`` and ``hours``
    they happen at that minute: R sunrise, S sunset, P opens, Q closes. ``words`` says what the others stand
    for, ``notes`` what else is to say of a date.
    """
    used = {piece.paint for piece in [*year.pieces, *year.differences]}
    content = {
        "first": frame.first.isoformat(),
        "count": frame.days,
        "does": _painted(year.pieces, frame.days),
        "differs": _painted(year.differences, frame.days),
        "sun": _happening(year.site, ("sunrise", "sunset"), frame.days),
        "hours": _happening(year.site, ("opens", "closes"), frame.days),
        "words": {PAINTS[paint].letter: PAINTS[paint].words for paint in PAINTS if paint in used},
        "notes": {str(change.day): change_words(change, frame) for change in year.changes},
    }
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"))


def _painted(pieces: Sequence[Piece], days: int) -> str:
    if not pieces:
        return ""
    told = defaultdict(list)
    for piece in pieces:
        told[piece.day].append(piece)
    return _repeated([_date(told[day]) for day in range(days)])


def _date(pieces: Sequence[Piece]) -> str:
    parts: list[str] = []
    reach = None
    for piece in pieces:
        if reach not in (None, piece.start):
            parts.append(f"{_NOTHING}{_short(reach)}")
        level = f"@{piece.level:g}" if 0 < piece.level < 100 and piece.paint.startswith("on-") else ""
        parts.append(f"{PAINTS[piece.paint].letter}{_short(piece.start)}{level}")
        reach = piece.end
    return "".join(parts) + (f"{_NOTHING}{_short(reach or 0)}" if pieces else "")


@lru_cache(maxsize=64)  # the circuits of a site have them in common
def _happening(site: SiteYear, lines: tuple[str, str], days: int) -> str:
    told = defaultdict(list)
    for line in lines:
        for day, minute in site.lines.get(line, []):
            told[day].append((minute, _HAPPENS[line]))
    dates = (sorted(told[day]) for day in range(days))
    return _repeated(["".join(f"{letter}{_short(minute)}" for minute, letter in date) for date in dates])


@cache
def _short(minute: int) -> str:
    """A number to base 36."""
    return (_short(minute // 36) if minute >= 36 else "") + _DIGITS[minute % 36]


def _repeated(dates: Sequence[str]) -> str:
    runs = ((date, sum(1 for _ in run)) for date, run in groupby(dates))
    return ";".join(f"{date}*{count}" if count > 1 else date for date, count in runs)
