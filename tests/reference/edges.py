"""Finds the circuits of a portfolio that hang on a second.

Two good ephemerides differ by a second or so. Where a sun step lands that close to another step, or where
the sun only just fails to rise, that second decides over hours, and two right answers lie far apart. A
comparison should know these circuits.
"""

from bisect import bisect_right
from datetime import date
from itertools import pairwise
from pathlib import Path

from .clocks import zone_offset
from .evaluate import default_start, evaluate, period_of
from .hours import covers, dates_between
from .sky import Interval, light
from .states import Stretch
from .tables import Portfolio, read

State = tuple[float, bool]


def _state(stretches: list[Stretch], instant: int) -> State:
    stretch = stretches[bisect_right(stretches, instant, key=lambda one: one.start) - 1]
    return stretch.level, stretch.conditional


def longest_difference(one: list[Stretch], other: list[Stretch]) -> int:
    """Seconds of the longest uninterrupted time in which the two states of a circuit differ."""
    cuts = sorted({instant for stretch in one + other for instant in (stretch.start, stretch.end)})
    longest = running = 0
    for start, end in pairwise(cuts):
        running = running + end - start if _state(one, start) != _state(other, start) else 0
        longest = max(longest, running)
    return longest


def _light_difference(one: list[Interval], other: list[Interval]) -> int:
    cuts = sorted({instant for pair in one + other for instant in pair})
    return max(
        (end - start for start, end in pairwise(cuts) if covers(one, start) != covers(other, start)),
        default=0,
    )


def _twilight_sites(portfolio: Portfolio, dates: list[date], lift: float, seconds: int) -> set[str]:
    """The sites at which the lift makes or unmakes a long light or darkness."""
    found = set()
    for site in portfolio.sites.values():
        period = period_of(zone_offset(site.zone), dates)
        lights = [light(site.place, *period, change) for change in (-lift, lift)]
        if _light_difference(*lights) > seconds:
            found.add(site.site_id)
    return found


def fragile(
    folder: Path, start: date | None = None, days: int = 365, lift: float = 0.02, seconds: int = 600
) -> set[str]:
    """Ids of the circuits whose state, or whose site's light, differs for more than `seconds` on end between
    horizons raised and lowered by `lift` degrees (0.01 is 2.4 s at the equator, some 5 s at 60 degrees)."""
    portfolio = read(folder)
    dates = dates_between(start or default_start(portfolio), days)
    sites = _twilight_sites(portfolio, dates, lift, seconds)
    low, high = (evaluate(folder, start, days, change) for change in (-lift, lift))
    moved = {
        key for key in low if longest_difference(low[key]["stretches"], high[key]["stretches"]) > seconds
    }
    devices = portfolio.controllers
    return moved | {c.circuit_id for c in portfolio.circuits if devices[c.controller_id].site_id in sites}
