"""Where words go in a picture: beside what they name, clear of what is painted."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import inf

from auditor.picture.frame import MINUTES, Frame
from auditor.picture.shapes import Span

LINE = 25.0  # units; a line of text at its largest, on a telephone
_LETTER = 13.0  # units; a letter of it, on average
_TRIED = 3  # patches
_STEPS = 24  # days looked at for a place


@dataclass(frozen=True)
class Place:
    """The middle of a label; ``stem`` is the point that a line leads to where it stands apart, else None."""

    x: float
    y: float
    stem: tuple[float, float] | None = None


@dataclass
class Room:
    """The plot as labels find it. ``painted``: by day, what is painted there, as minutes."""

    frame: Frame
    painted: Mapping[int, list[tuple[int, int]]]
    taken: list[tuple[float, float, float, float]] = field(default_factory=list)  # left, right, low, high

    def place(self, words: str, patches: Sequence[Sequence[Span]]) -> Place | None:
        """A place for the label of some patches: inside a large one that is high enough, else by the largest.

        None where there is no room at all.
        """
        half = min(len(words) * _LETTER / 2 / self.frame.across, self.frame.days / 2)
        tall = LINE / self.frame.up
        first, *others = sorted(patches, key=_area, reverse=True)[:_TRIED]
        large = [first, *(patch for patch in others if 3 * _area(patch) > _area(first))]
        inside = (self._inside(patch, half, tall) for patch in large)
        return next(filter(None, inside), None) or self._outside(first, half, tall)

    def _inside(self, patch: Sequence[Span], half: float, tall: float) -> Place | None:
        for day in _spread(patch[0][0], patch[-1][0] + 1):
            middle = min(max(day, half), self.frame.days - half)
            low, high = _common(patch, middle - half, middle + half)
            if high - low >= tall and self._take(middle, half, (low + high) / 2, tall):
                return Place(self.frame.x(middle), self.frame.y((low + high) / 2))
        return None

    def _outside(self, patch: Sequence[Span], half: float, tall: float) -> Place | None:
        thick = sorted(patch, key=lambda span: (span[1] - span[2], abs(span[0] - self.frame.days / 2)))
        for day, start, end in thick[:: max(1, len(thick) // _STEPS)]:
            middle = min(max(day, half), self.frame.days - half)
            for away in (0.9, 1.5, 2.5, 4.0):
                for minute in (end + away * tall, start - away * tall):
                    if self._clear(middle, half, minute, tall) and self._take(middle, half, minute, tall):
                        stem = self.frame.x(day + 0.5), self.frame.y((start + end) / 2)
                        return Place(self.frame.x(middle), self.frame.y(minute), stem)
        return None

    def _clear(self, middle: float, half: float, minute: float, tall: float) -> bool:
        low, high = minute - tall / 2, minute + tall / 2
        if low < 0 or high > MINUTES:
            return False
        days = range(int(middle - half), int(middle + half) + 1, max(1, int(half / 6)))
        return not any(low < end and start < high for day in days for start, end in self.painted.get(day, ()))

    def _take(self, middle: float, half: float, minute: float, tall: float) -> bool:
        """Takes a place, where no other label has it."""
        mine = middle - half, middle + half, minute - tall / 2, minute + tall / 2
        if any(mine[0] < b and a < mine[1] and mine[2] < d and c < mine[3] for a, b, c, d in self.taken):
            return False
        self.taken.append(mine)
        return True


def _area(patch: Sequence[Span]) -> int:
    return sum(end - start for _, start, end in patch)


def _spread(first: int, last: int) -> Iterable[float]:
    """Days between two, from the middle outwards."""
    middle, reach = (first + last) / 2, (last - first) / 2
    return [middle + reach * step / 12 * sign for step in range(13) for sign in (1, -1)]


def _common(patch: Sequence[Span], first: float, last: float) -> tuple[int, int]:
    """The minutes that a patch holds on all its days of a stretch; none where it does not reach so far."""
    if patch[0][0] > first or patch[-1][0] + 1 < last:
        return 0, 0
    spans = patch[bisect_right(patch, (first - 1, inf)) : bisect_left(patch, (last,))]  # in order of days
    if not spans:
        return 0, 0
    return max(span[1] for span in spans), min(span[2] for span in spans)


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
