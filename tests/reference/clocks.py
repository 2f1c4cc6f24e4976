"""What a device's clock shows: true instant + O + r, and the way back from a local time to an instant.

An *offset* here is a function from epoch seconds to seconds east of UTC. Zone offsets come from the tzdata
package alone, because the operating system's copy may be older. The way back assumes that an offset
changes at most once in two days, which holds for every zone and rule in use.
"""

import calendar
import zoneinfo
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from itertools import pairwise

from .tables import DAY, Controller, epoch_day

zoneinfo.reset_tzpath(to=[])

Offset = Callable[[int], int]
HOUR = 3600
TOLERANCE = 300
RULES = ("us-2007", "us-1987", "eu")


@dataclass(frozen=True)
class Clock:
    """A device's clock: at true instant t it shows t + offset(t) + residual, all in seconds."""

    offset: Offset
    residual: int


@cache
def zone_offset(name: str) -> Offset:
    """The offset that the law of zone `name` sets."""
    zone = zoneinfo.ZoneInfo(name)

    def offset(instant: int) -> int:
        shift = datetime.fromtimestamp(instant, zone).utcoffset()
        assert shift is not None
        return round(shift.total_seconds())

    return offset


def nth_sunday(year: int, month: int, nth: int) -> date:
    """The first (1), second (2) ... or last (-1) Sunday of a month."""
    days = range(1, calendar.monthrange(year, month)[1] + 1)
    sundays = [date(year, month, day) for day in days if date(year, month, day).weekday() == 6]
    return sundays[nth if nth < 0 else nth - 1]


@cache
def dst_season(rule: str, standard: int, year: int) -> tuple[int, int]:
    """Instants at which `rule` starts and ends DST in `year` on a device whose standard is `standard`."""
    if rule == "eu":
        return epoch_day(nth_sunday(year, 3, -1)) + HOUR, epoch_day(nth_sunday(year, 10, -1)) + HOUR
    first, last = {"us-2007": ((3, 2), (11, 1)), "us-1987": ((4, 1), (10, -1))}[rule]
    # 02:00 daylight is 01:00 standard.
    starts, ends = epoch_day(nth_sunday(year, *first)) + 2 * HOUR, epoch_day(nth_sunday(year, *last)) + HOUR
    return starts - standard, ends - standard


def rule_offset(rule: str, standard: int) -> Offset:
    """The offset of a device that runs `none`, `us-2007`, `us-1987` or `eu`, whatever the law says."""

    def offset(instant: int) -> int:
        if rule == "none":
            return standard
        starts, ends = dst_season(rule, standard, datetime.fromtimestamp(instant, UTC).year)
        return standard + (HOUR if starts <= instant < ends else 0)

    return offset


@cache
def changes(offset: Offset, start: int, end: int) -> tuple[int, ...]:
    """Instants after `start`, up to `end`, from which the offset is another one: a look every six hours."""
    looks = pairwise([*range(start, end, 6 * HOUR), end])
    return tuple(_change(offset, low, high) for low, high in looks if offset(low) != offset(high))


def _change(offset: Offset, low: int, high: int) -> int:
    """The one instant between `low` and `high` from which the offset is the new one."""
    before = offset(low)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if offset(middle) == before else (low, middle)
    return high


def offsets_between(offset: Offset, start: int, end: int) -> set[int]:
    """Every offset in force at some instant from `start` to `end`."""
    return {offset(start), *(offset(instant) for instant in changes(offset, start, end))}


def _instants(offset: Offset, local: int) -> list[int]:
    """The instants at which the clock shows `local`: none in a gap, two in a fold."""
    near = {offset(local - DAY), offset(local + DAY)}
    return sorted(local - shift for shift in near if offset(local - shift) == shift)


def first_instant(offset: Offset, local: int) -> int:
    """When a clock first shows `local`; the jump where it skips it."""
    shown = _instants(offset, local)
    return shown[0] if shown else _change(offset, local - DAY, local + DAY)


def last_instant(offset: Offset, local: int) -> int:
    """When a clock last shows `local`; the jump where it skips it."""
    shown = _instants(offset, local)
    return shown[-1] if shown else _change(offset, local - DAY, local + DAY)


def three_years_before(instant: int) -> int:
    """The same UTC date and time three years earlier (28 February for a 29th)."""
    moment = datetime.fromtimestamp(instant, UTC)
    day = 28 if (moment.month, moment.day) == (2, 29) else moment.day
    return round(moment.replace(year=moment.year - 3, day=day).timestamp())


def standard_of(zone: Offset, read_at: int) -> int:
    """The zone's standard: its lowest offset in the three years before `read_at`."""
    return min(offsets_between(zone, three_years_before(read_at), read_at))


def law_of_before(zone: Offset, read_at: int) -> Offset | None:
    """The rule that gave the zone's last two changes before `read_at`, to the second, on its standard."""
    last = changes(zone, three_years_before(read_at), read_at)[-2:]
    for rule in ("us-2007", "eu"):
        device = rule_offset(rule, standard_of(zone, read_at))
        if len(last) == 2 and all(device(t - 1) == zone(t - 1) and device(t) == zone(t) for t in last):
            return device
    return None


def other_offset(zone: Offset, read_at: int, error: int) -> int | None:
    """The zone's other offset, where a reading off by `error` shows it to within five minutes: slow while the
    higher is in force, or fast while the lower is. None elsewhere."""
    ahead = offsets_between(zone, read_at, read_at + 365 * DAY)
    both = ahead if len(ahead) > 1 else offsets_between(zone, three_years_before(read_at), read_at)
    others = both - {zone(read_at)}
    if len(both) != 2 or len(others) != 1:
        return None
    other = others.pop()
    return other if abs(zone(read_at) + error - other) <= TOLERANCE else None


def unset_rule_offset(zone: Offset, read_at: int, reading: int) -> Offset:
    """O of a device whose rule is unknown: the zone's, unless its reading shows that it does not follow."""
    other = other_offset(zone, read_at, reading - read_at - zone(read_at))
    if other is None:
        return zone
    if len(offsets_between(zone, read_at, read_at + 365 * DAY)) == 1:
        before = law_of_before(zone, read_at)
        if before is not None and before(read_at) == other:
            return before
    return rule_offset("none", other)


def device_offset(controller: Controller, zone: Offset) -> Offset:
    """O: the offset that the device is set to."""
    if controller.dst_rule not in (None, "zone"):
        standard = controller.utc_offset
        if standard is None:
            standard = standard_of(zone, controller.read_at)
        return rule_offset(controller.dst_rule, standard)
    if controller.dst_rule == "zone" or controller.reading is None:
        return zone
    return unset_rule_offset(zone, controller.read_at, controller.reading)


def device_clock(controller: Controller, zone: Offset) -> Clock:
    """The device's clock: O, and the residual r that its reading leaves (0 without a reading)."""
    offset = device_offset(controller, zone)
    if controller.reading is None:
        return Clock(offset, 0)
    return Clock(offset, controller.reading - controller.read_at - offset(controller.read_at))
