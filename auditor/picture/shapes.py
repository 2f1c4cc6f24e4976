"""From days and minutes to SVG path data: x is the day's number, y the minute of its local day."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

Span = tuple[int, int, int]  # day, first minute, minute after the last
Point = tuple[int, int]  # day, minute


def chains(spans: Iterable[Span], reach: int = 1) -> list[list[Span]]:
    """Spans of neighbouring days that touch, strung together: each chain has one span a day.

    The longest of a day goes first; what a day has beside a chain's own span begins another chain. Days up to
    ``reach`` apart are neighbours.
    """
    found: list[list[Span]] = []
    loose: list[list[Span]] = []  # chains that may go on
    for span in sorted(spans, key=lambda span: (span[0], span[1] - span[2])):
        day, start, end = span
        for chain in loose:
            before, low, high = chain[-1]
            if 0 < day - before <= reach and low < end and start < high:
                chain.append(span)
                break
        else:
            loose = [chain for chain in loose if chain[-1][0] >= day - reach]
            found.append([span])
            loose.append(found[-1])
    return found


def outline(chain: Sequence[Span]) -> str:
    """A chain as one closed outline with stepped edges: along the first minutes, and back along the last."""
    day, first, _ = chain[0]
    there = _edge([start for _, start, _ in chain], 1)
    back = _edge([end for _, _, end in reversed(chain)], -1)
    return f"M{day} {first}{there}v{chain[-1][2] - chain[-1][1]}{back}z"


def _edge(minutes: Sequence[int], step: int) -> str:
    """A stepped edge over days, ``step`` days each; what stays level is one stroke."""
    parts: list[str] = []
    run = 0
    for here, after in pairwise([*minutes, None]):
        run += step
        if after != here:
            parts.append(f"h{run}" if after is None else f"h{run}v{after - (here or 0)}")
            run = 0
    return "".join(parts)


def areas(spans: Iterable[Span]) -> str:
    """All spans as one path: outlines that meet inside one path leave no seam."""
    return "".join(outline(chain) for chain in chains(spans))


def dashes(points: Iterable[Point]) -> str:
    """A level stroke across each day at its minute, those of neighbouring days at one minute in one."""
    runs: list[list[int]] = []  # first day, minute, days
    last_of: dict[int, list[int]] = {}
    for day, minute in points:
        run = last_of.get(minute)
        if run is None or run[0] + run[2] != day:
            run = last_of[minute] = [day, minute, 0]
            runs.append(run)
        run[2] += 1
    return "".join(f"M{day} {minute}h{days}" for day, minute, days in runs)
