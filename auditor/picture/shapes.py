"""From days and minutes to SVG path data: x is the day's number, y the minute of its local day."""

from typing import NamedTuple

import numpy as np

from auditor.picture.chains import Spans
from auditor.picture.columns import Ints, firsts
from auditor.picture.frame import MINUTES
from auditor.picture.tokens import numbers, table, text_of

DAYS = 3700  # a period has no more
_CLOSED, _OPEN = table(["z", "z\n"]), table(["", "\n"])  # by whether it is the last of its group


class Points(NamedTuple):
    """Something that happens on days, in the order of time."""

    day: Ints
    minute: Ints


def areas(strung: Spans, begins: Ints) -> dict[int, str]:
    """The path of each group of chains: outlines that meet inside one path leave no seam."""
    minute, way, corners = _rings(strung, begins)
    first = np.searchsorted(corners, 2 * begins)
    rows = np.zeros((len(corners), 4), np.uint64)
    rows[first, 0] = numbers("M", DAYS)[strung.day[begins], 0]
    rows[first, 1] = numbers(" ", MINUTES)[strung.start[begins], 0]
    rows[:, 2] = numbers("h", DAYS)[np.diff(corners, append=len(minute)) * way[corners], 0]
    rows[:, 3] = numbers("v", MINUTES)[np.diff(minute[corners], append=0), 0]
    last = np.append(first[1:], len(corners))[: len(first)] - 1
    group, ends = _ends(strung.group[begins])
    rows[last, 3] = _CLOSED[ends, 0]
    return dict(zip(group, text_of(rows).splitlines(), strict=True))


def _ends(group: Ints) -> tuple[list[int], Ints]:
    """The groups, and for each row whether it is the last one of its group: 1 or 0."""
    ends = np.append(group[1:] != group[:-1], True)[: len(group)]
    return group[ends].tolist(), ends.astype(np.int64)


def _rings(strung: Spans, begins: Ints) -> tuple[Ints, Ints, Ints]:
    """The minutes of each chain round it: of all starts, and of all ends from the last one back.

    Also the way to go there, 1 or -1, and the places at which the edge turns.
    """
    size = len(strung.day)
    ends = np.append(begins[1:], size)[: len(begins)]
    first, after = (edges.repeat(ends - begins) for edges in (begins, ends))
    place = np.arange(size)
    there, back = first + place, first + 2 * after - 1 - place
    minute, way = np.empty(2 * size, np.int64), np.empty(2 * size, np.int64)
    minute[there], minute[back] = strung.start, strung.end
    way[there], way[back] = 1, -1
    return minute, way, firsts(minute, way)


def dashes(group: Ints, points: Points) -> dict[int, str]:
    """For each group a level stroke across each day at its minute, neighbouring days at one minute in one."""
    order = np.argsort((group << 16 | points.minute) << 16 | points.day, kind="stable")
    group, day, minute = group[order], points.day[order], points.minute[order]
    begins = firsts(group, minute, day - np.arange(len(day)))
    length = np.diff(begins, append=len(day))
    in_time = np.lexsort((order[begins], group[begins]))
    begins, length = begins[in_time], length[in_time]
    groups, ends = _ends(group[begins])
    rows = np.zeros((len(begins), 4), np.uint64)
    rows[:, 0] = numbers("M", DAYS)[day[begins], 0]
    rows[:, 1] = numbers(" ", MINUTES)[minute[begins], 0]
    rows[:, 2] = numbers("h", DAYS)[length, 0]
    rows[:, 3] = _OPEN[ends, 0]
    return dict(zip(groups, text_of(rows).splitlines(), strict=True))
