"""Marks on a panel: each site with a critical finding has its own, others share one where they would overlap.

A panel is cut into square cells for this. Sites come in order of rank.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

PITCHES = (14, 11, 8, 6, 4)  # px of a critical site's cell: the widest with which no mark is moved far
CELLS = (14, 20, 26, 34, 48, 68)  # px of a cell whose other sites share a mark
_FAR = 2  # cells
RADII = {"high": 4.5, "medium": 4.0, "low": 3.0, "none": 1.75}  # px, of one site's mark
_DIGIT = 6  # px of a rank's digit
_WORST_FIRST = ("critical", "high", "medium", "low", "none")
Cell = tuple[int, int]


class Spot(NamedTuple):
    """A site on a panel: its rank, where it lies in px, and its worst open severity, or "none"."""

    rank: int
    x: float
    y: float
    worst: str


@dataclass(frozen=True)
class Mark:
    """One mark, in px, and the sites that it stands for: the worst first, then by rank.

    ``hidden``: marks of critical sites cover it, so that nothing written in it could be read.
    """

    x: float
    y: float
    spots: tuple[Spot, ...]
    hidden: bool = False

    @property
    def worst(self) -> str:
        """The worst open severity of its sites."""
        return self.spots[0].worst

    @property
    def radius(self) -> float:
        """Radius in px of the mark of sites without critical findings: several need room for their number."""
        number = len(self.spots)
        return RADII[self.worst] if number == 1 else 4 + 2.5 * len(str(number))


def critical_marks(spots: Iterable[Spot], width: int, height: int) -> tuple[int, list[Mark]]:
    """The size of the cells, in px, and a mark for each site with a critical finding, by rank.

    Each has a cell of its own: of two in one, the later by rank moves to the nearest that is free.
    """
    wanted = sorted(spot for spot in spots if spot.worst == "critical")
    for size in PITCHES:
        most = width if size == PITCHES[-1] else _FAR
        marks = _apart(wanted, size, (width // size, height // size), most)
        if marks is not None:
            break
    return size, marks or []


def shared_marks(
    spots: Iterable[Spot], critical: Sequence[Mark], most: int, width: int, height: int
) -> list[Mark]:
    """Marks of all other sites, no more than about ``most``; sites in one cell share one.

    Each lies within its cell, so that none covers another.
    """
    others = sorted(spot for spot in spots if spot.worst != "critical")
    for size in CELLS:
        marks = _shared(others, critical, size, (width // size, height // size))
        if len(marks) <= most and all(2 * mark.radius <= size for mark in marks):
            break
    return marks


def _shared(spots: Sequence[Spot], critical: Sequence[Mark], size: int, cells: Cell) -> list[Mark]:
    """A mark for each cell of ``size`` px, or beside it where a critical site's mark is in it."""
    groups: dict[Cell, list[Spot]] = {}
    for spot in spots:
        groups.setdefault(_cell(spot, size), []).append(spot)
    given = {_cell(mark, size) for mark in critical}
    taken = given | groups.keys()
    marks = []
    for own, inside in groups.items():
        mark = _together(inside)
        beside = _nearest(_within(_ring(own, 1), cells), taken, mark, size) if own in given else None
        taken.add(beside or own)
        hidden = own in given and beside is None
        marks.append(replace(_moved(mark, beside or own, size, mark.radius), hidden=hidden))
    return marks


def _together(spots: Sequence[Spot]) -> Mark:
    """One mark in the middle of the spots."""
    ordered = sorted(spots, key=lambda spot: (_WORST_FIRST.index(spot.worst), spot.rank))
    x, y = (sum(along) / len(spots) for along in list(zip(*spots, strict=True))[1:3])
    return Mark(x, y, tuple(ordered))


def rank_sides(critical: Sequence[Mark], others: Sequence[Mark], width: int) -> dict[int, int]:
    """By rank, the side of a mark on which the rank can be read: 1 right, -1 left; none where it cannot."""
    taken = [(mark.x, mark.y, 6.0) for mark in critical] + [(mark.x, mark.y, mark.radius) for mark in others]
    sides = {}
    for mark in critical:
        rank = mark.spots[0].rank
        near, far = 8, 8 + _DIGIT * len(str(rank))  # px from the middle of the mark to the ends of the text
        level = [(x - mark.x, wide) for x, y, wide in taken if abs(y - mark.y) < 5 + wide]
        for side in (1, -1):
            if 0 < mark.x + side * far < width and not any(1 < side * x < far + wide for x, wide in level):
                sides[rank] = side
                taken += [(mark.x + side * end, mark.y, _DIGIT) for end in (near, far)]
                break
    return sides


def _apart(spots: Sequence[Spot], size: int, cells: Cell, most: int) -> list[Mark] | None:
    """Each spot in the nearest free cell; None where one would be moved by more than ``most`` cells."""
    taken: set[Cell] = set()
    full: dict[Cell, int] = {}  # around a cell, nothing is free up to this far
    marks = []
    for spot in spots:
        own = _cell(spot, size)
        for far in range(full.get(own, 0), max(cells) + 1):
            free = _nearest(_within(_ring(own, far), cells), taken, spot, size)
            if free or far > most:
                break
        if far > most:
            return None
        full[own] = far
        taken.add(free or own)
        marks.append(_moved(_together([spot]), free or own, size, size / 4))
    return marks


def _moved(mark: Mark, cell: Cell, size: int, margin: float) -> Mark:
    """The mark as near to its place as it can be within a cell, ``margin`` px from the cell's edges."""
    inner = min(margin, size / 2)
    x, y = (
        min(max(along, k * size + inner), (k + 1) * size - inner)
        for along, k in zip((mark.x, mark.y), cell, strict=True)
    )
    return replace(mark, x=x, y=y)


def _cell(at: Spot | Mark, size: int) -> Cell:
    return int(at.x // size), int(at.y // size)


def _ring(cell: Cell, far: int) -> Iterator[Cell]:
    """The cells whose larger distance along an axis is ``far``."""
    x, y = cell
    for k in range(-far, far + 1):
        yield from {(x + k, y - far), (x + k, y + far), (x - far, y + k), (x + far, y + k)}


def _within(cells: Iterable[Cell], limits: Cell) -> Iterator[Cell]:
    return (cell for cell in cells if 0 <= cell[0] < limits[0] and 0 <= cell[1] < limits[1])


def _nearest(cells: Iterable[Cell], taken: Collection[Cell], at: Spot | Mark, size: int) -> Cell | None:
    """The free cell whose middle is nearest; of equals, the first from the left, then from the top."""

    def distance(cell: Cell) -> tuple[float, Cell]:
        return sum(((k + 0.5) * size - along) ** 2 for k, along in zip(cell, (at.x, at.y), strict=True)), cell

    return min((cell for cell in cells if cell not in taken), key=distance, default=None)
