"""Where words go in a picture: beside what they name, clear of what is painted."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

import numpy as np

from auditor.picture.chains import Spans
from auditor.picture.frame import MINUTES, Frame

LINE = 25.0  # units; a line of text at its largest, on a telephone
_LETTER = 13.0  # units; a letter of it, on average
_STEPS = 24  # days looked at for a place


@dataclass(frozen=True)
class Place:
    """The middle of a label; ``stem`` is the point that a line leads to where it stands apart, else None."""

    x: float
    y: float
    stem: tuple[float, float] | None = None


class Patch(NamedTuple):
    """What is painted in one way without a longer break: its spans, a day each, and all their minutes."""

    spans: Spans
    area: int


@dataclass
class Room:
    """The plot as labels find it. ``painted``: all that is painted there, in order of days."""

    frame: Frame
    painted: Spans
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)  # left, right, low, high

    def place(self, words: str, patches: Sequence[Patch]) -> Place | None:
        """A place for the label of some patches, the largest first: inside a large one that is high enough,
        else by the largest. None where there is no room at all.
        """
        half = min(len(words) * _LETTER / 2 / self.frame.across, self.frame.days / 2)
        tall = LINE / self.frame.up
        first, *others = patches
        large = [first, *(patch for patch in others if 3 * patch.area > first.area)]
        inside = (self._inside(patch.spans, half, tall) for patch in large)
        return next(filter(None, inside), None) or self._outside(first.spans, half, tall)

    def _inside(self, patch: Spans, half: float, tall: float) -> Place | None:
        days = patch.day.tolist()
        if days[-1] + 1 - days[0] < 2 * half or (patch.end - patch.start).max() < tall:
            return None
        starts, ends = patch.start.tolist(), patch.end.tolist()
        spread = _spread(days[0], days[-1] + 1)
        for middle in dict.fromkeys(min(max(day, half), self.frame.days - half) for day in spread):
            if days[0] > middle - half or days[-1] + 1 < middle + half:
                continue  # it does not reach so far
            across = slice(bisect_right(days, middle - half - 1), bisect_left(days, middle + half))
            low, high = max(starts[across], default=0), min(ends[across], default=0)
            if high - low >= tall and self._take(middle, half, (low + high) / 2, tall):
                return Place(self.frame.x(middle), self.frame.y((low + high) / 2))
        return None

    def _outside(self, patch: Spans, half: float, tall: float) -> Place | None:
        thick = np.lexsort((abs(patch.day - self.frame.days / 2), patch.start - patch.end))
        some = thick[:: max(1, len(thick) // _STEPS)]
        for day, start, end in zip(*(column[some].tolist() for column in patch[1:]), strict=True):
            middle = min(max(day, half), self.frame.days - half)
            for away in (0.9, 1.5, 2.5, 4.0):
                for minute in (end + away * tall, start - away * tall):
                    within = tall / 2 <= minute <= MINUTES - tall / 2
                    if within and self._take(middle, half, minute, tall, clear=True):
                        stem = self.frame.x(day + 0.5), self.frame.y((start + end) / 2)
                        return Place(self.frame.x(middle), self.frame.y(minute), stem)
        return None

    def _take(self, middle: float, half: float, minute: float, tall: float, clear: bool = False) -> bool:
        """Takes a place that no other label has; if it must be ``clear``, only where nothing is painted."""
        left, right, low, high = middle - half, middle + half, minute - tall / 2, minute + tall / 2
        for first, last, lower, upper in self.taken:
            if left < last and first < right and low < upper and lower < high:
                return False
        if clear and not self._clear(range(int(left), int(right) + 1, max(1, int(half / 6))), low, high):
            return False
        self.taken.append((left, right, low, high))
        return True

    def _clear(self, days: range, low: float, high: float) -> bool:
        """Whether nothing is painted on these days between two minutes."""
        begins, starts, ends = self._by_day
        for day in days:
            for place in range(begins[day], begins[day + 1]):
                if low < ends[place] and starts[place] < high:
                    return False
        return True

    @cached_property
    def _by_day(self) -> tuple[list[int], list[int], list[int]]:
        """Where each day begins in ``painted``, and the minutes there."""
        begins = self.painted.day.searchsorted(np.arange(self.frame.days + 2))
        return begins.tolist(), self.painted.start.tolist(), self.painted.end.tolist()


def _spread(first: int, last: int) -> Iterable[float]:
    """Days between two, from the middle outwards."""
    middle, reach = (first + last) / 2, (last - first) / 2
    return [middle + reach * step / 12 * sign for step in range(13) for sign in (1, -1)]


def spaced(wanted: Sequence[float]) -> list[float]:
    """Heights for a column of labels a line apart, as near as can be to the ones wanted, which come in order.

    What would overlap moves apart as one block about its own middle (pooled neighbours).
    """
    blocks: list[tuple[float, int]] = []  # sum of wanted heights less the lines below them, number of labels
    for place, height in enumerate(wanted):
        blocks.append((height - place * LINE, 1))
        while len(blocks) > 1 and blocks[-2][0] / blocks[-2][1] > blocks[-1][0] / blocks[-1][1]:
            (one, count), (other, more) = blocks[-2:]
            blocks[-2:] = [(one + other, count + more)]
    lows = [total / count for total, count in blocks for _ in range(count)]
    return [low + place * LINE for place, low in enumerate(lows)]
