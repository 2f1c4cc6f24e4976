"""Lines on a plane: clipped to a box, thinned to what can be seen, written as the data of an SVG path."""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil, hypot

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # smallest x and y, largest x and y

FINEST = 0.5  # px that a thinned line may stray
PATH_UNIT = 0.5  # px; paths are written in whole halves of a px


def dense(line: Sequence[Point], step: float) -> list[Point]:
    """The line with points put in, so that none is further than ``step`` from the next along either axis."""
    points = list(line[:1])
    for (x, y), (ahead_x, ahead_y) in pairwise(line):
        parts = ceil(max(abs(ahead_x - x), abs(ahead_y - y)) / step)
        points += [(x + (ahead_x - x) * k / parts, y + (ahead_y - y) * k / parts) for k in range(1, parts)]
        points.append((ahead_x, ahead_y))
    return points


def ring_inside(ring: Sequence[Point], box: Box) -> list[Point]:
    """The part of a closed ring that lies in the box, closed along its edges (Sutherland, Hodgman 1974)."""
    kept = list(ring)
    for axis, edge, sign in ((0, box[0], 1), (1, box[1], 1), (0, box[2], -1), (1, box[3], -1)):
        kept = _half(kept, axis, edge, sign)
    return kept


def _half(ring: list[Point], axis: int, edge: float, sign: int) -> list[Point]:
    """What of a ring lies on one side of a line: above the edge where ``sign`` is 1, else below."""
    depths = [(point[axis] - edge) * sign for point in ring]
    if not ring or min(depths) >= 0:
        return ring
    kept: list[Point] = []
    for k, (depth, point) in enumerate(zip(depths, ring, strict=True)):
        before, (x, y) = depths[k - 1], ring[k - 1]
        if (before >= 0) != (depth >= 0):
            share = before / (before - depth)
            kept.append((x + (point[0] - x) * share, y + (point[1] - y) * share))
        if depth >= 0:
            kept.append(point)
    return kept


def lines_inside(line: Sequence[Point], box: Box) -> Iterator[list[Point]]:
    """The runs of a line that touch the box; each keeps the point before it and the one after."""
    run: list[Point] = []
    before = None
    for point in line:
        if box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]:
            run += [before, point] if before and not run else [point]
        elif run:
            yield [*run, point]
            run = []
        before = point
    if len(run) > 1:
        yield run


def thinned(line: Sequence[Point]) -> list[Point]:
    """The line without points that it can spare: it strays by FINEST at most (Douglas, Peucker 1973)."""
    kept = {0, len(line) - 1}
    spans = [(0, len(line) - 1)]
    while spans:
        first, last = spans.pop()
        far, middle = _farthest(line, first, last)
        if far > FINEST:
            kept.add(middle)
            spans += [(first, middle), (middle, last)]
    return [line[k] for k in sorted(kept)]


def _farthest(line: Sequence[Point], first: int, last: int) -> tuple[float, int]:
    """The point between two that is farthest from the straight line through them, and how far it is."""
    (ax, ay), (bx, by) = line[first], line[last]
    dx, dy = bx - ax, by - ay
    length = hypot(dx, dy)
    if not length:  # a ring ends where it began
        return max(
            ((hypot(x - ax, y - ay), k) for k, (x, y) in _between(line, first, last)), default=(0.0, 0)
        )
    off = ((abs(dx * (y - ay) - dy * (x - ax)), k) for k, (x, y) in _between(line, first, last))
    far, middle = max(off, default=(0.0, 0))
    return far / length, middle


def _between(line: Sequence[Point], first: int, last: int) -> Iterator[tuple[int, Point]]:
    return ((k, line[k]) for k in range(first + 1, last))


def path(line: Sequence[Point], closed: bool) -> str:
    """The line in whole PATH_UNITs, each point a step from the one before; blank where nothing would show."""
    if not line:
        return ""
    units = [(round(x / PATH_UNIT), round(y / PATH_UNIT)) for x, y in thinned(line)]
    steps = [(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(units)]
    steps = [step for step in steps if step != (0, 0)]
    if len(steps) < 1 + closed:
        return ""
    said = " ".join(f"{x} {y}" for x, y in steps).replace(" -", "-")
    return f"M{units[0][0]} {units[0][1]}l{said}{'z' if closed else ''}"
