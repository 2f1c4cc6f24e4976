"""Spans of neighbouring days that touch, strung together.

What a chain is says ``_in_turn``, span by span. Nearly everywhere that comes to linking each span to the only
one that it touches on the day before, which is done for all in one go; only the rest is taken in turn.
"""

from typing import NamedTuple

import numpy as np

from auditor.picture.columns import Flags, Ints, firsts
from auditor.picture.frame import MINUTES


class Spans(NamedTuple):
    """Stretches of days, each in a group: only those of one group go together."""

    group: Ints
    day: Ints
    start: Ints  # minute
    end: Ints  # the minute after the last

    def at(self, places: Ints | Flags | slice) -> "Spans":
        """The spans at some places."""
        return Spans(self.group[places], self.day[places], self.start[places], self.end[places])


def merged(spans: Spans) -> Spans:
    """The groups one after the other; what goes on in a group without a break, on one day, is one span."""
    group, day, start, end = spans.at(spans.group.argsort(kind="stable"))
    broken = np.append(0, start[1:] != end[:-1]).cumsum()
    begins = firsts(group, day, broken)
    return Spans(group[begins], day[begins], start[begins], np.append(end[begins[1:] - 1], end[-1:]))


def chains(spans: Spans, *reaches: int) -> list[tuple[Spans, Ints]]:
    """For each reach the spans in the order of their chains, and the places at which chains begin.

    Each chain has one span a day. The longest of a day goes first; what a day has beside a chain's own span
    begins another chain. Days up to ``reach`` apart are neighbours.
    """
    length = spans.end - spans.start
    ordered = spans.at(np.argsort(_day(spans) << 16 | MINUTES - length, kind="stable"))
    stretches = _stretches(ordered)
    return [_strung(ordered, _heads(ordered, stretches, reach)) for reach in reaches]


def _strung(spans: Spans, head: Ints) -> tuple[Spans, Ints]:
    order = head.argsort(kind="stable")
    return spans.at(order), firsts(head[order])


def _day(spans: Spans) -> Ints:
    """A day's number in which groups lie far apart."""
    return spans.group << 16 | spans.day


class _Stretches(NamedTuple):
    """Spans day after day, each of which touches the one before and no other of that day."""

    first: Ints  # for each span the place of the first of its stretch
    ends: Ints  # the places of the last ones
    forked: set[int]  # groups in which a span touches two of the day before or after


def _stretches(spans: Spans) -> _Stretches:
    size = len(spans.day)
    later, earlier = _touching(spans, np.arange(size), 1, 1)
    back, ahead = np.bincount(later, minlength=size), np.bincount(earlier, minlength=size)
    first = np.arange(size)
    first[later] = earlier
    for _ in range(int(spans.day.max(initial=0)).bit_length()):  # twice as far back each time
        first = first[first]
    forked = set(spans.group[(back > 1) | (ahead > 1)].tolist())
    return _Stretches(first, np.flatnonzero(ahead == 0), forked)


def _heads(spans: Spans, stretches: _Stretches, reach: int) -> Ints:
    """For each span the place of the first one of its chain."""
    later, earlier = _touching(spans, stretches.ends, 2, reach)  # may go on after days without
    first = stretches.first[later]
    whole = (spans.day[first] > spans.day[earlier]) & _touch(spans, first, earlier)  # from its first span on
    singly = stretches.forked | set(spans.group[later[~whole]].tolist())
    head = _bridged(spans, stretches, set(spans.group[later].tolist()) - singly, reach)
    for group in singly:
        some = slice(*spans.group.searchsorted([group, group + 1]).tolist())
        head[some] = some.start + np.array(_in_turn(spans.at(some), spans.at(some), reach))
    return head


def _bridged(spans: Spans, stretches: _Stretches, groups: set[int], reach: int) -> Ints:
    """The same where in some groups whole stretches go on from each other."""
    place = np.arange(len(spans.day))
    begins = np.flatnonzero((stretches.first == place) & np.isin(spans.group, list(groups)))
    last, head = np.empty_like(place), place.copy()
    last[stretches.first] = place  # of many the last to be written stays
    head[begins] = begins[_in_turn(spans.at(begins), spans.at(last[begins]), reach)]
    return head[stretches.first]


def _touching(spans: Spans, places: Ints, least: int, most: int) -> tuple[Ints, Ints]:
    """Places of spans that touch the one at one of ``places``, so many days later; and that place."""
    day = _day(spans)
    first = day.searchsorted(day[places] + least)
    number = np.maximum(day.searchsorted(day[places] + most, side="right") - first, 0)
    earlier = places.repeat(number)
    later = np.arange(len(earlier)) + (first - number.cumsum() + number).repeat(number)
    touch = _touch(spans, later, earlier)
    return later[touch], earlier[touch]


def _touch(spans: Spans, some: Ints, others: Ints) -> Flags:
    return (spans.start[some] < spans.end[others]) & (spans.start[others] < spans.end[some])


def _in_turn(begins: Spans, ends: Spans, reach: int) -> list[int]:
    """For each stretch, told by its first and its last span, the place of the first one of its chain.

    It goes on from the oldest chain that it touches and that ends one to ``reach`` days before it.
    """
    rows = (
        zip(_day(one).tolist(), one.start.tolist(), one.end.tolist(), strict=True) for one in (begins, ends)
    )
    heads: list[int] = []
    loose: list[list[int]] = []  # the last spans of chains that may go on: day, start, end, and their head
    for place, ((day, start, end), last) in enumerate(zip(*rows, strict=True)):
        for chain in loose:
            if chain[1] < end and start < chain[2] and day - reach <= chain[0] < day:
                chain[0], chain[1], chain[2] = last
                heads.append(chain[3])
                break
        else:
            loose = [chain for chain in loose if chain[0] >= day - reach]
            loose.append([*last, place])
            heads.append(place)
    return heads
