"""What is drawn in many pictures, worked out in one go: columns of all of them, told apart by numbers."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple, TypeVar

import numpy as np

from auditor.picture.chains import Spans, chains, merged
from auditor.picture.columns import Ints
from auditor.picture.cutting import Pieces
from auditor.picture.dated import happening, painted
from auditor.picture.labels import Patch
from auditor.picture.paints import LOOKS, NAMES, PAINTS
from auditor.picture.reading import LINES, SiteYear
from auditor.picture.shapes import Points, areas, dashes

_Columns = TypeVar("_Columns", Pieces, Points)
_Thing = TypeVar("_Thing")
_LOOKS = tuple(LOOKS)  # in the order in which they are painted
_LOOK_OF = np.array([_LOOKS.index(paint.look) for paint in PAINTS.values()])
_SUN, _HOURS = (0, 1), (2, 3)  # of LINES
_WEEK = 4  # days; what pauses for less, over a weekend, is one patch
_PATCHES = 3  # of a paint; those beyond are smaller


class Sum(NamedTuple):
    """How much there is of a paint: exact seconds, on how many dates, the most minutes without a break."""

    seconds: int
    dates: int
    longest: int


class Painting(NamedTuple):
    """What is painted in a drawing: path data by texture, dates as text, all spans.

    By paint: how much there is of it, and its largest patches, the largest first.
    """

    paths: dict[str, str]
    dates: str
    spans: Spans
    sums: dict[str, Sum]
    patches: dict[str, list[Patch]]


class Ground(NamedTuple):
    """What drawings of a site have in common: path data of the light, of lines by name; dates as text."""

    light: str
    strokes: dict[str, str]
    sun: str
    hours: str


def paintings(drawings: Sequence[Pieces], days: int) -> list[Painting]:
    """What is painted in each of the drawings, which have so many dates."""
    size, (every, all_pieces) = len(drawings), _numbered(drawings)
    seen = all_pieces.start < all_pieces.end  # when minutes are rounded
    drawing, pieces = every[seen], all_pieces.at(seen)
    spans = Spans(drawing * len(NAMES) + pieces.paint, pieces.day, pieces.start, pieces.end)
    paths, patches = _shapes(spans, size)
    begins = np.searchsorted(drawing, np.arange(size + 1)).tolist()
    columns = (
        _parted(paths, _LOOKS, size),
        painted(drawing, pieces, size, days),
        [spans.at(slice(*edges)) for edges in pairwise(begins)],
        _parted(_sums(every * len(NAMES) + all_pieces.paint, all_pieces), NAMES, size),
        _parted(patches, NAMES, size),
    )
    return [Painting(*painting) for painting in zip(*columns, strict=True)]


def _shapes(spans: Spans, drawings: int) -> tuple[dict[int, str], dict[int, list[Patch]]]:
    """Path data by drawing and look, and the largest patches by drawing and paint, as spans are grouped.

    Where a look of a drawing is not just the spans of one paint, it is a group more.
    """
    paints, looks = drawings * len(NAMES), drawings * len(_LOOKS)
    look_of = np.arange(paints) // len(NAMES) * len(_LOOKS) + np.tile(_LOOK_OF, drawings)
    number = np.bincount(spans.group, minlength=paints)
    whole = merged(spans._replace(group=look_of[spans.group]))
    alone = np.bincount(look_of[number > 0], minlength=looks) == 1
    alone &= np.bincount(whole.group, minlength=looks) == np.bincount(look_of, number, looks)
    more = whole.at(~alone[whole.group])
    every = Spans(*map(np.concatenate, zip(spans, more._replace(group=paints + more.group), strict=True)))
    (daily, begins), (weekly, weeks) = chains(every, 1, _WEEK)
    drawn = [*look_of.tolist(), *range(looks)]  # a group more comes later, and takes the place
    paths = {drawn[group]: path for group, path in areas(daily, begins).items()}
    patches = _patches(weekly, weeks)
    return dict(sorted(paths.items())), {group: found for group, found in patches.items() if group < paints}


def _numbered(drawings: Sequence[_Columns]) -> tuple[Ints, _Columns]:
    """The rows of all, and the number of each row's own."""
    number = np.repeat(range(len(drawings)), [len(columns[0]) for columns in drawings])
    return number, type(drawings[0])(*map(np.concatenate, zip(*drawings, strict=True)))


def _parted(found: Mapping[int, _Thing], kinds: Sequence[str], drawings: int) -> list[dict[str, _Thing]]:
    """What there is by number of drawing and kind together, for each drawing by the name of the kind."""
    parted: list[dict[str, _Thing]] = [{} for _ in range(drawings)]
    for key, thing in found.items():
        drawing, kind = divmod(key, len(kinds))
        parted[drawing][kinds[kind]] = thing
    return parted


def _sums(group: Ints, pieces: Pieces) -> dict[int, Sum]:
    """How much there is in each group."""
    seconds = np.bincount(group, pieces.seconds)
    longest = np.zeros(len(seconds), np.int64)
    np.maximum.at(longest, group, pieces.end - pieces.start)
    on_date = np.zeros((len(seconds), int(pieces.day.max(initial=0)) + 1), np.bool_)
    on_date[group, pieces.day] = True
    dates = np.count_nonzero(on_date, axis=1)
    some = np.flatnonzero(dates)
    columns = (column[some].tolist() for column in (seconds.astype(np.int64), dates, longest))
    return dict(zip(some.tolist(), map(Sum, *columns), strict=True))


def _patches(strung: Spans, begins: Ints) -> dict[int, list[Patch]]:
    """The largest chains of each group, the largest first."""
    ends = np.append(begins[1:], len(strung.day))[: len(begins)]
    total = np.append(0, (strung.end - strung.start).cumsum())
    group, area = strung.group[begins], total[ends] - total[begins]
    order = np.lexsort((-area, group))
    rank = np.arange(len(order)) - np.searchsorted(group, group)
    chosen = order[rank < _PATCHES]
    found: dict[int, list[Patch]] = defaultdict(list)
    columns = (column[chosen].tolist() for column in (group, begins, ends, area))
    for key, begin, end, minutes in zip(*columns, strict=True):
        found[key].append(Patch(strung.at(slice(begin, end)), minutes))
    return found


def grounds(sites: Sequence[SiteYear], days: int) -> list[Ground]:
    """What is drawn at each site whatever its circuits do."""
    site, light = _numbered([one.light for one in sites])
    lights = areas(*chains(Spans(site, light.day, light.start, light.end), 1)[0])
    place, points = _numbered([points for one in sites for points in one.lines.values()])
    site, line = place // len(LINES), place % len(LINES)
    paths = _parted(dashes(place, points), LINES, len(sites))
    sun, hours = (
        happening(site[seen], line[seen], Points(*(column[seen] for column in points)), len(sites), days)
        for seen in (np.isin(line, _SUN), np.isin(line, _HOURS))
    )
    return [
        Ground(lights.get(number, ""), own, sun[number], hours[number]) for number, own in enumerate(paths)
    ]
