"""Dates as text for the script beside a picture: what is painted and what happens, minute by minute.

See ``coded`` for how it reads. All is done for many drawings at once, each of so many dates.
"""

from functools import cache

import numpy as np

from auditor.picture.columns import Ints
from auditor.picture.cutting import Pieces
from auditor.picture.frame import MINUTES
from auditor.picture.paints import NAMES, PAINTS
from auditor.picture.shapes import Points
from auditor.picture.tokens import Table, table, text_of

_LETTERS = "RSPQ"  # sunrise, sunset, opens, closes: the first of the site's lines
_DIGITS = "0123456789abcdefghijklmnopqrstuvwxyz"
_LEVELLED = np.array([name.startswith("on-") for name in NAMES])


def _short(minute: int) -> str:
    """A number to base 36."""
    return (_short(minute // 36) if minute >= 36 else "") + _DIGITS[minute % 36]


_SHORT = [_short(minute) for minute in range(MINUTES + 1)]
_STARTS = table([f"{paint.letter}{short}" for paint in PAINTS.values() for short in _SHORT])
_ENDS = table(["", *(f"_{short}" for short in _SHORT)])  # then nothing is painted
_HAPPENS = table([f"{letter}{short}" for letter in _LETTERS for short in _SHORT])


def painted(drawing: Ints, pieces: Pieces, drawings: int, days: int) -> list[str]:
    """What is painted in each drawing; ``drawing`` is each piece's, in order. Blank where nothing is."""
    date = drawing * days + pieces.day
    goes_on = np.append((date[1:] == date[:-1]) & (pieces.start[1:] == pieces.end[:-1]), False)[: len(date)]
    words = [
        _STARTS[pieces.paint * len(_SHORT) + pieces.start],
        *_levels(pieces),
        _ENDS[np.where(goes_on, 0, pieces.end + 1)],
    ]
    texts = _dated(date, np.hstack(words), drawings, days)
    some = np.bincount(drawing, minlength=drawings) > 0
    return [text if there else "" for text, there in zip(texts, some.tolist(), strict=True)]


def _levels(pieces: Pieces) -> list[Table]:
    """A column of levels, where there are any to tell."""
    dimmed = np.where(_LEVELLED[pieces.paint] & (pieces.level < 100), pieces.level, 0)
    if not dimmed.any():
        return []
    levels, which = np.unique(dimmed, return_inverse=True)
    return [table([f"@{level:g}" if level else "" for level in levels.tolist()])[which]]


def happening(drawing: Ints, line: Ints, points: Points, drawings: int, days: int) -> list[str]:
    """What happens in each drawing; ``drawing`` and ``line`` (its number in LINES) are each point's."""
    date = drawing * days + points.day
    order = np.lexsort((line, points.minute, date))
    words = _HAPPENS[line * len(_SHORT) + points.minute]
    return _dated(date[order], words[order], drawings, days)


def _dated(date: Ints, words: Table, drawings: int, days: int) -> list[str]:
    """The words of all dates, parted by dates, for each drawing; ``date`` is each word's, in order.

    Dates go on from drawing to drawing. One that is like the date before it is only counted.
    """
    number = np.bincount(date, minlength=drawings * days)
    alike = (words == words[np.arange(len(date)) - number[date]]).all(axis=1)  # if it has as many words
    changed = np.bincount(date[~alike], minlength=drawings * days) > 0
    changed[1:] |= number[1:] != number[:-1]
    changed[::days] = True
    kept, begins = changed[date], np.flatnonzero(changed)
    run = (changed.cumsum() - 1)[date[kept]]
    times = np.diff(begins, append=drawings * days)
    ends = (begins + times) % days == 0
    rows = np.zeros((len(run) + len(begins), words.shape[1]), np.uint64)
    rows[np.arange(len(run)) + run] = words[kept]
    rows[number[begins].cumsum() + np.arange(len(begins)), 0] = _times(days)[times + ends * (days + 1), 0]
    return text_of(rows).splitlines()


@cache
def _times(days: int) -> Table:
    """What ends a date that comes so many times; then the same for the last one of a drawing."""
    times = ["", "", *(f"*{times}" for times in range(2, days + 1))]
    return table([f"{text}{end}" for end in (";", "\n") for text in times])
