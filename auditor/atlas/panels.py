"""Which sites share a panel of the map: far-apart parts get one each, so that none shows mostly nothing."""

from collections.abc import Iterator, Sequence
from heapq import heapify, heappop, heappush
from itertools import combinations, count

from auditor.atlas.sphere import EARTH_KM, Circle, Vector, circle_around, joined_centre, joined_radius, mean

MOST = 8  # panels, except where that would take one wider than _WIDEST
_WIDE = 4000 / EARTH_KM  # radius in radians up to which parts join of themselves: further out, all looks bent
_WIDEST = 6000 / EARTH_KM  # radius up to which they join where there are too many
_COVERED = 0.4  # of a joined circle's area, at least, that the two parts had covered before
_SMALLEST, _LARGEST = 250 / EARTH_KM, 600 / EARTH_KM  # radius below which every part counts the same
_Part = tuple[Circle, list[int]]


def parted(points: Sequence[Vector]) -> list[list[int]]:
    """The points of each panel, by their places in ``points``; the fullest panel first.

    Neighbouring points begin together. Then two parts join, cheapest in area first, as long as they cover
    enough of what they become, or there are more than MOST.
    """
    if not points:
        return []
    least = min(max(circle_around(mean(points), points).radius / 3, _SMALLEST), _LARGEST)
    parts = dict(enumerate(_cells(points, least)))
    pairs = [(_growth(parts[a], parts[b]), a, b) for a, b in combinations(parts, 2)]
    heapify(pairs)
    for number in count(len(parts)):
        pair = next(_worth_joining(pairs, parts), None)
        if pair is None:
            break
        (one, places), (other, more) = (parts.pop(key) for key in pair)
        inside = [points[k] for k in places + more]
        new = circle_around(joined_centre(one, other), inside, least), places + more
        for key, part in parts.items():
            heappush(pairs, (_growth(part, new), key, number))
        parts[number] = new
    return sorted((sorted(places) for _, places in parts.values()), key=lambda places: (-len(places), places))


def _cells(points: Sequence[Vector], least: float) -> Iterator[_Part]:
    """The points of each cube of space, with their circle."""
    cells: dict[tuple[int, ...], list[int]] = {}
    for index, point in enumerate(points):
        cells.setdefault(tuple(int(part // (2 * least)) for part in point), []).append(index)
    for places in cells.values():
        inside = [points[k] for k in places]
        yield circle_around(mean(inside), inside, least), places


def _growth(one: _Part, other: _Part) -> float:
    """Area that joining would add, in units of pi; on the globe it goes with the square of the radius."""
    return joined_radius(one[0], other[0]) ** 2 - one[0].radius ** 2 - other[0].radius ** 2


def _worth_joining(pairs: list[tuple[float, int, int]], parts: dict[int, _Part]) -> Iterator[tuple[int, int]]:
    """Takes pairs off the heap; a pair once refused stays so, since parts only become fewer."""
    while pairs:
        _, one, other = heappop(pairs)
        if one in parts and other in parts and _may_join(parts[one][0], parts[other][0], len(parts)):
            yield one, other


def _may_join(one: Circle, other: Circle, parts: int) -> bool:
    radius = joined_radius(one, other)
    covered = (one.radius**2 + other.radius**2) / radius**2
    return radius <= (_WIDEST if parts > MOST else _WIDE) and (parts > MOST or covered >= _COVERED)
