"""The year cut at local midnights and wherever something changes: instants in, pieces out, by columns.

Instants are whole seconds since 1970. Spans that do not overlap are given by their edges, start and end
in turn.
"""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from auditor.picture.columns import Flags, Floats, Ints, firsts, together
from auditor.picture.paints import NUMBER, UNPAINTED
from auditor.picture.shapes import Points

_CONDITIONAL = 1  # of what a circuit does, in states.sql
_DETECTOR = 0.001  # what is left to a detector is less than lit at any level, and more than off


class Dates(NamedTuple):
    """Local dates of a zone in pieces of one offset, without gaps.

    At the instant ``t_s`` a clock shows ``t_s + to_local_s`` seconds after 00:00.
    """

    start_s: Ints
    end_s: Ints
    to_local_s: Ints
    day: Ints  # the number of the date within the period


class Holding(NamedTuple):
    """What holds at a site from when on, as the bits of paints.sql, and which piece of ``Dates`` it is."""

    start_s: Ints
    bits: Ints
    date: Ints


class States(NamedTuple):
    """What a circuit does from when on, without gaps; ``does`` as in states.sql, ``level`` 0 to 100."""

    start_s: Ints
    level: Floats
    does: Ints


class Pieces(NamedTuple):
    """Stretches of local dates that are painted in one way, in the order of time; ``paint`` is its number."""

    day: Ints
    paint: Ints
    level: Floats
    start: Ints  # minutes of the local day, rounded for drawing
    end: Ints
    seconds: Ints  # exact

    def at(self, places: Ints | Flags) -> "Pieces":
        """The pieces at some places."""
        day, paint, level, start, end, seconds = self
        return Pieces(day[places], paint[places], level[places], start[places], end[places], seconds[places])


def inside(places: Ints) -> Ints:
    """1 within a span and 0 outside, from places among the edges of spans."""
    return (places + 1) & 1


def holding(dates: Dates, edges: Mapping[int, Ints]) -> Holding:
    """What holds at a site, from the edges of the spans of each kind; its bit is that of its number."""
    at, (date, *found) = together(dates.start_s, *edges.values())
    bits = sum((inside(places) << kind for kind, places in zip(edges, found, strict=True)), np.zeros_like(at))
    return Holding(at, bits, date)


def telling(paints: Ints, kinds: int) -> tuple[int, ...]:
    """The kinds of span that make a difference to what is painted."""
    holds = np.arange(len(paints))
    return tuple(kind for kind in range(kinds) if (paints != paints[holds ^ 1 << kind]).any())


def painted(dates: Dates, site: Holding, states: States, around: Ints, paints: Ints) -> Pieces:
    """What a circuit does, told apart by ``paints[holds, does]``; what goes on in one way is one piece."""
    at, (phase, state, staff) = together(site.start_s, states.start_s, around)
    holds = site.bits[phase] | inside(staff) << 4
    date, level, paint = site.date[phase], states.level[state], paints[holds, states.does[state]]
    begins = firsts(date, paint, level)
    return _pieces(dates, at[begins], date[begins], paint[begins], level[begins])


def differing(dates: Dates, states: States, right: States) -> Pieces:
    """Where a circuit does otherwise than with a right clock; every change of either begins a piece."""
    at, (date, state, other) = together(dates.start_s, states.start_s, right.start_s)
    does, would = _light(states)[state], _light(right)[other]
    cases = {
        UNPAINTED: does == would,
        NUMBER["extra"]: (does > _DETECTOR) & (would == 0),
        NUMBER["brighter"]: does > would,
        NUMBER["missing"]: (does == 0) & (would > _DETECTOR),
    }
    paint = np.select(list(cases.values()), list(cases), NUMBER["dimmer"])
    return _pieces(dates, at, date, paint, np.full(len(at), 100.0))


def _light(states: States) -> Floats:
    return np.where(states.does == _CONDITIONAL, _DETECTOR, states.level)


def by_dates(dates: Dates, edges: Ints) -> Pieces:
    """Spans cut at local midnights."""
    at, (date, place) = together(dates.start_s, edges)
    return _pieces(dates, at, date, inside(place) - 1, np.zeros(len(at)))


def _pieces(dates: Dates, at: Ints, date: Ints, paint: Ints, level: Floats) -> Pieces:
    """Pieces from their starts: each lasts to the next, the last one to the period's end."""
    until = np.append(at[1:], dates.end_s[-1])
    seen = np.flatnonzero((paint != UNPAINTED) & (at < until))
    date, at, until = date[seen], at[seen], until[seen]
    local = dates.to_local_s[date]
    start, end = minutes(at + local), minutes(until + local)
    return Pieces(dates.day[date], paint[seen], level[seen], start, end, until - at)


def minutes(seconds: Ints) -> Ints:
    """Whole minutes, halves upwards."""
    return (seconds + 30) // 60


def edge_points(dates: Dates, instants: Ints, looked_s: Ints) -> Points:
    """Instants as points, each on the date in which ``looked_s`` lies; not those at the period's edge."""
    within = (instants > dates.start_s[0]) & (instants < dates.end_s[-1])
    date = np.searchsorted(dates.start_s, looked_s[within], side="right") - 1
    return Points(dates.day[date], minutes(instants[within] + dates.to_local_s[date]))
