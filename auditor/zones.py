"""Offsets of places and of devices: the only room that knows the time-zone database.

The database is the ``tzdata`` package, never the operating system's: an old copy there would make right
clocks look wrong. Offsets are taken from ``utcoffset()`` alone; ``dst()`` is negative in Dublin and 2 h in
places.
"""

import zoneinfo
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cache, lru_cache
from itertools import pairwise

import tzdata

zoneinfo.reset_tzpath(to=[])

DAY = 86400
NEAR = 300  # seconds; a reading this close to an offset counts as showing it
_EARLIEST, _LATEST = -2_208_988_800, 7_258_118_400  # 1900 and 2200: outside, the nearest offset stands


def tzdb_version() -> str:
    """Version of the time-zone database, such as 2026f."""
    return str(tzdata.IANA_VERSION)


@cache
def zone_names() -> frozenset[str]:
    """Every time zone that the database knows."""
    return frozenset(zoneinfo.available_timezones())


@dataclass(frozen=True)
class Clock:
    """A way to turn true time into shown time: ``offset_at`` of a UTC epoch second, in seconds."""

    name: str
    offset_at: Callable[[int], int]

    def stretches(self, start: int, end: int) -> list[tuple[int, int, int]]:
        """(from, until, offset) over [start, end) in UTC seconds, one row for each offset in turn."""
        edges = [start, *_changes(self, start, end), end]
        return [(a, b, self.offset_at(a)) for a, b in pairwise(edges) if a < b]

    def reaches(self, shown: int) -> int:
        """The instant that a local time means by RFC 5545, section 3.3.5, both in seconds since 1970.

        A time that a jump skips has the offset of before the jump; of one that comes twice it is the first.
        """
        before, after = self.offset_at(shown - DAY), self.offset_at(shown + DAY)
        later = shown - after
        is_shown_late_only = self.offset_at(shown - before) != before and self.offset_at(later) == after
        return later if is_shown_late_only else shown - before


@lru_cache(maxsize=4096)
def _changes(clock: Clock, start: int, end: int) -> tuple[int, ...]:
    """Instants in (start, end) at which the offset changes; no zone changes twice within a day."""
    found = []
    t, offset = start, clock.offset_at(start)
    while t < end:
        later = min(t + DAY, end)
        if clock.offset_at(later) != offset:
            found.append(_first_second(clock, t, later))
            offset = clock.offset_at(later)
        t = later
    return tuple(t for t in found if t < end)


def _first_second(clock: Clock, before: int, after: int) -> int:
    """The second in (before, after] from which the offset of ``after`` holds."""
    target = clock.offset_at(after)
    while after - before > 1:
        middle = (before + after) // 2
        before, after = (before, middle) if clock.offset_at(middle) == target else (middle, after)
    return after


@cache
def zone_clock(zone: str) -> Clock:
    """The clock that follows the law of an IANA zone."""
    info = zoneinfo.ZoneInfo(zone)

    def offset_at(t: int) -> int:
        moment = datetime.fromtimestamp(min(max(t, _EARLIEST), _LATEST), info)
        return round((moment.utcoffset() or timedelta()).total_seconds())

    return Clock(zone, offset_at)


@cache
def fixed_clock(offset_s: int) -> Clock:
    """A clock that keeps one offset."""
    return Clock(f"fixed {offset_text(offset_s)}", lambda t: offset_s)


@cache
def rule_clock(rule: str, standard_s: int) -> Clock:
    """A clock that runs a rule of its own over a standard-time offset, whatever the law says.

    Rules: us-2007 (15 USC 260a), us-1987 (first Sunday of April, last of October), eu (Directive 2000/84/EC).
    """
    if rule == "none":
        return fixed_clock(standard_s)

    @cache
    def in_force(year: int) -> tuple[int, int]:
        return _RULES[rule](year, standard_s)

    def offset_at(t: int) -> int:
        year = datetime.fromtimestamp(min(max(t, _EARLIEST), _LATEST) + standard_s, UTC).year
        start, end = in_force(year)
        return standard_s + 3600 * (start <= t < end)

    return Clock(f"{rule} {offset_text(standard_s)}", offset_at)


def _us_2007(year: int, standard_s: int) -> tuple[int, int]:
    # 02:00 daylight time is 01:00 standard time.
    return _sunday(year, 3, 2) + 7200 - standard_s, _sunday(year, 11, 1) + 3600 - standard_s


def _us_1987(year: int, standard_s: int) -> tuple[int, int]:
    return _sunday(year, 4, 1) + 7200 - standard_s, _sunday(year, 10, -1) + 3600 - standard_s


def _eu(year: int, standard_s: int) -> tuple[int, int]:
    return _sunday(year, 3, -1) + 3600, _sunday(year, 10, -1) + 3600


_RULES = {"us-2007": _us_2007, "us-1987": _us_1987, "eu": _eu}


def _sunday(year: int, month: int, nth: int) -> int:
    """00:00 of the nth Sunday of a month (-1 = the last), as seconds since 1970 on whatever clock."""
    first = date(year, month, 1) if nth > 0 else date(year, month + 1, 1) - timedelta(days=7)
    sunday = first + timedelta(days=(6 - first.weekday()) % 7 + 7 * max(nth - 1, 0))
    return (sunday - date(1970, 1, 1)).days * DAY


def offset_text(seconds: int) -> str:
    """An offset as ±HH:MM (with seconds where it has some)."""
    sign, rest = "-" if seconds < 0 else "+", abs(seconds)
    text = f"{sign}{rest // 3600:02}:{rest // 60 % 60:02}"
    return f"{text}:{rest % 60:02}" if rest % 60 else text


@dataclass(frozen=True)
class DeviceClock:
    """What a device's clock shows at true instant t: t + offset of ``clock`` + ``residual_s``."""

    clock: Clock
    residual_s: int


def device_clock(
    zone: str, read_at: int, reading: int | None, rule: str | None, standard_s: int | None
) -> DeviceClock:
    """The clock that a device runs, from its settings and one reading.

    ``read_at`` is a UTC epoch second; ``reading`` the date-time shown then, as if it were UTC; ``standard_s``
    the standard-time offset set in the device (used with a fixed rule only).
    """
    law = zone_clock(zone)
    if rule in (None, "zone"):
        clock = (rule is None and reading is not None and _not_following(law, read_at, reading)) or law
    else:
        clock = rule_clock(rule, standard_s if standard_s is not None else _standard(law, read_at))
    return DeviceClock(clock, 0 if reading is None else reading - (read_at + clock.offset_at(read_at)))


def _standard(law: Clock, read_at: int) -> int:
    """The zone's lowest offset in the three years before the reading."""
    return min(offset for _, _, offset in law.stretches(read_at - 1096 * DAY, read_at + 1))


def _not_following(law: Clock, read_at: int, reading: int) -> Clock | None:
    """The clock of a device that shows the zone's other offset, or None where it does not."""
    before = {offset for _, _, offset in law.stretches(read_at - 1096 * DAY, read_at + 1)}
    after = {offset for _, _, offset in law.stretches(read_at, read_at + 365 * DAY + 1)}
    changes_again = len(after) > 1
    two = after if changes_again else before
    now = law.offset_at(read_at)
    if len(two) != 2 or now not in two:
        return None
    (other,) = two - {now}
    if abs(reading - read_at - other) > NEAR:
        return None
    return (not changes_again and _law_of_before(law, read_at, min(two), other)) or fixed_clock(other)


def _law_of_before(law: Clock, read_at: int, standard_s: int, shown_s: int) -> Clock | None:
    """The rule that gave the zone's last two changes, where it shows what the device shows."""
    last_two = _changes(law, read_at - 5 * 366 * DAY, read_at + 1)[-2:]
    for rule in ("us-2007", "eu"):
        clock = rule_clock(rule, standard_s)
        moved = [t for t in last_two if clock.offset_at(t) != clock.offset_at(t - 1)]
        if len(last_two) == 2 and moved == list(last_two) and clock.offset_at(read_at) == shown_s:
            return clock
    return None
