"""When a site is open, when it counts as closed, and its night windows.

Intervals are half-open pairs of epoch seconds; a list of them is sorted and disjoint.
"""

from bisect import bisect_right
from datetime import date, timedelta

from .clocks import Offset, first_instant, last_instant
from .sky import Interval
from .tables import DAY, Hours, Portfolio, epoch_day

NIGHT_ENDS = 6 * 3600
Openings = dict[date, list[Interval]]


def join(intervals: list[Interval]) -> list[Interval]:
    """The same instants as sorted, disjoint intervals; empty ones are left out."""
    joined: list[Interval] = []
    for start, end in sorted(pair for pair in intervals if pair[0] < pair[1]):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined


def covers(intervals: list[Interval], instant: int) -> bool:
    """Whether `instant` lies in one of the (sorted, disjoint) intervals."""
    index = bisect_right(intervals, instant, key=lambda pair: pair[0]) - 1
    return index >= 0 and instant < intervals[index][1]


def widen(intervals: list[Interval], seconds: int) -> list[Interval]:
    """Every interval longer by `seconds` at both ends (shorter where negative)."""
    return join([(start - seconds, end + seconds) for start, end in join(intervals)])


def dates_between(first: date, days: int) -> list[date]:
    """`days` dates from `first` on."""
    return [first + timedelta(days=number) for number in range(days)]


def _opening(zone: Offset, day: date, row: Hours) -> Interval:
    """Instants of one opening: the first of a doubled opening time, the second of a doubled closing time."""
    closes = row.closes + (DAY if row.closes <= row.opens else 0)
    return first_instant(zone, epoch_day(day) + row.opens), last_instant(zone, epoch_day(day) + closes)


def closed_dates(portfolio: Portfolio, site_id: str) -> set[date]:
    """The dates on which nothing opens, of whatever calendar."""
    return {day for site, day, _ in portfolio.closures if site in (site_id, "*")}


def openings(portfolio: Portfolio, site_id: str, zone: Offset, days: list[date]) -> Openings | None:
    """For each date the openings that begin on it, None where the hours are unknown. An opening that a
    DST jump swallows whole is none."""
    if site_id not in portfolio.hours:
        return None
    shut = closed_dates(portfolio, site_id)
    return {
        day: [
            pair
            for row in portfolio.hours[site_id]
            if day.weekday() in row.weekdays and day not in shut
            for pair in [_opening(zone, day, row)]
            if pair[0] < pair[1]
        ]
        for day in days
    }


def open_time(found: Openings) -> list[Interval]:
    """All opening time, not widened."""
    return join([pair for pairs in found.values() for pair in pairs])


def night_window(zone: Offset, found: Openings, day: date) -> Interval | None:
    """The night window of one date: from 00:00, or the end of an opening that began the day before if that
    is later, to 06:00, or the first opening of the date if that is earlier."""
    ends = [end for _, end in found.get(day - timedelta(days=1), [])]
    starts = [start for start, _ in found.get(day, [])]
    start = max([first_instant(zone, epoch_day(day)), *ends])
    end = min([first_instant(zone, epoch_day(day) + NIGHT_ENDS), *starts])
    return (start, end) if start < end else None


def night_windows(zone: Offset, found: Openings, days: list[date]) -> list[Interval]:
    """The night windows of `days`."""
    windows = [night_window(zone, found, day) for day in days]
    return [window for window in windows if window]
