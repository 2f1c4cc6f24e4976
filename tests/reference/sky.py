"""The sun, from PyEphem: an ephemeris that the product does not use.

A solar day is numbered by the day count of its mean noon at the place. Its true noon is the solar transit,
its first midnight the lower transit before it. The sun rises where its centre passes the given altitude
between that midnight and noon, and sets where it passes it between noon and the next midnight. Where the
two ends lie on the same side of the altitude there is no crossing: polar day or polar night.
"""

from functools import cache
from math import degrees, radians

import ephem

from .tables import DAY, Place

HORIZON = -50 / 60
CIVIL = -6.0
EPHEM_EPOCH = ephem.Date("1970/1/1")
Interval = tuple[int, int]


def _observer(place: Place, instant: int) -> ephem.Observer:
    observer = ephem.Observer()
    observer.lat, observer.lon = radians(place[0]), radians(place[1])
    observer.elevation, observer.pressure = 0, 0
    observer.date = EPHEM_EPOCH + instant / DAY
    return observer


def _epoch(moment: ephem.Date) -> int:
    return round(float(moment - EPHEM_EPOCH) * DAY)


def mean_noon(place: Place, day: int) -> int:
    """12:00 of mean solar time on solar day `day`, epoch seconds."""
    return day * DAY + DAY // 2 - round(place[1] * 240)


@cache
def noon(place: Place, day: int) -> int:
    """The solar transit of solar day `day`: never more than 17 minutes from mean noon."""
    return _epoch(_observer(place, mean_noon(place, day) - 10_800).next_transit(ephem.Sun()))


@cache
def midnight(place: Place, day: int) -> int:
    """The lower transit just before the noon of solar day `day`."""
    start = mean_noon(place, day) - DAY // 2 - 10_800
    return _epoch(_observer(place, start).next_antitransit(ephem.Sun()))


def altitude(place: Place, instant: int) -> float:
    """Altitude of the sun's centre in degrees, without refraction."""
    return degrees(float(ephem.Sun(_observer(place, instant)).alt))


def _crossing(place: Place, low: int, high: int, angle: float) -> int | None:
    """The whole second nearest to the sun's passing `angle` between a midnight (low) and a noon (high)."""
    if not altitude(place, low) < angle <= altitude(place, high):
        return None
    while abs(high - low) > 1:
        middle = (low + high) // 2
        if altitude(place, middle) < angle:
            low = middle
        else:
            high = middle
    return min(low, high, key=lambda instant: abs(altitude(place, instant) - angle))


@cache
def rising(place: Place, day: int, angle: float) -> int | None:
    """The rising crossing next before the noon of solar day `day`, None where there is none."""
    return _crossing(place, midnight(place, day), noon(place, day), angle)


@cache
def setting(place: Place, day: int, angle: float) -> int | None:
    """The setting crossing next after the noon of solar day `day`, None where there is none."""
    return _crossing(place, midnight(place, day + 1), noon(place, day), angle)


def crossing(place: Place, day: int, anchor: str, lift: float) -> int | None:
    """The instant of `sunrise`, `sunset`, `dawn` or `dusk` on solar day `day`; `lift` degrees are added to
    the altitude that makes it."""
    angle = (CIVIL if anchor in ("dawn", "dusk") else HORIZON) + lift
    return (rising if anchor in ("sunrise", "dawn") else setting)(place, day, angle)


def solar_days(place: Place, start: int, end: int) -> range:
    """Numbers of solar days that cover `start` to `end` with three days to spare on both sides."""
    shift = round(place[1] * 240)
    return range((start + shift) // DAY - 3, (end + shift) // DAY + 4)


def _day_light(place: Place, day: int, angle: float) -> Interval | None:
    """The stretch of solar day `day`, midnight to midnight, in which the sun is above `angle`."""
    if altitude(place, noon(place, day)) < angle:
        return None
    rises, sets = rising(place, day, angle), setting(place, day, angle)
    return (
        midnight(place, day) if rises is None else rises,
        midnight(place, day + 1) if sets is None else sets,
    )


def light(place: Place, start: int, end: int, lift: float) -> list[Interval]:
    """Sunrise-to-sunset stretches around `start` to `end`, joined where the sun stays up; else it is dark.
    `lift` as for `crossing`."""
    joined: list[Interval] = []
    for stretch in (_day_light(place, day, HORIZON + lift) for day in solar_days(place, start, end)):
        if stretch and joined and joined[-1][1] == stretch[0]:
            joined[-1] = (joined[-1][0], stretch[1])
        elif stretch:
            joined.append(stretch)
    return joined
