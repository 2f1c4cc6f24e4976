"""Hand-worked cases of what a device's clock shows, and of the sun."""

import math
from collections.abc import Callable
from datetime import UTC, date, datetime

import ephem
import pytest

from . import sky
from .clocks import (
    Clock,
    Offset,
    changes,
    device_clock,
    dst_season,
    first_instant,
    last_instant,
    rule_offset,
    zone_offset,
)
from .tables import Controller, epoch_day

HOUR = 3600


def at(text: str) -> int:
    """`2026-11-01 05:30` UTC as epoch seconds."""
    return int(datetime.fromisoformat(f"{text}+00:00").timestamp())


def clock(
    zone: Offset, read_at: str, shows: str | None, rule: str | None = None, offset: int | None = None
) -> Clock:
    """The clock of a device that showed `shows` at the true instant `read_at` (UTC)."""
    reading = None if shows is None else at(shows)
    return device_clock(Controller("T", "S", at(read_at), reading, offset, rule, None, None), zone)


@pytest.mark.parametrize(
    ("rule", "starts", "ends"),
    [
        # 14 March 2027 is the second Sunday; 02:00 at -05:00 is 07:00 UTC. 7 November is the first Sunday;
        # 02:00 daylight at -04:00 is 06:00 UTC.
        ("us-2007", "2027-03-14 07:00", "2027-11-07 06:00"),
        # 4 April is the first Sunday of its month, 31 October the last.
        ("us-1987", "2027-04-04 07:00", "2027-10-31 06:00"),
        # 28 March and 31 October are last Sundays; 01:00 UTC wherever the device is.
        ("eu", "2027-03-28 01:00", "2027-10-31 01:00"),
    ],
)
def test_fixed_rules(rule: str, starts: str, ends: str) -> None:
    assert dst_season(rule, -5 * HOUR, 2027) == (at(starts), at(ends))
    offset = rule_offset(rule, -5 * HOUR)
    around = [offset(at(starts) - 1), offset(at(starts)), offset(at(ends) - 1), offset(at(ends))]
    assert [shift // HOUR for shift in around] == [-5, -4, -4, -5]


def test_gap_and_fold() -> None:
    new_york = zone_offset("America/New_York")
    # 14 March 2027: 02:00 EST (07:00 UTC) becomes 03:00, so 02:30 is the jump and 01:30 is 06:30 UTC.
    spring = epoch_day(date(2027, 3, 14))
    assert (
        first_instant(new_york, spring + 9000)
        == last_instant(new_york, spring + 9000)
        == at("2027-03-14 07:00")
    )
    assert first_instant(new_york, spring + 5400) == at("2027-03-14 06:30")
    # 1 November 2026: 01:30 occurs at -04:00 (05:30 UTC) and again at -05:00 (06:30 UTC).
    autumn = epoch_day(date(2026, 11, 1))
    assert first_instant(new_york, autumn + 5400) == at("2026-11-01 05:30")
    assert last_instant(new_york, autumn + 5400) == at("2026-11-01 06:30")


def test_half_hour_and_midnight_jumps() -> None:
    # Lord Howe Island, 3 October 2027: 02:00 at +10:30 (15:30 UTC the day before) becomes 02:30.
    island = epoch_day(date(2027, 10, 3))
    assert first_instant(zone_offset("Australia/Lord_Howe"), island + 8100) == at("2027-10-02 15:30")
    # Santiago, 6 September 2026: 00:00 at -04:00 (04:00 UTC) becomes 01:00; the date begins at the jump.
    assert first_instant(zone_offset("America/Santiago"), epoch_day(date(2026, 9, 6))) == at(
        "2026-09-06 04:00"
    )


def test_reading_in_a_zone_that_follows_its_rule() -> None:
    new_york = zone_offset("America/New_York")
    # 10 November 2026 15:00 UTC is 10:00 EST. A device at 10:00:20 is 20 s fast; a bare clock is right.
    assert clock(new_york, "2026-11-10 15:00", "2026-11-10 10:00:20").residual == 20
    assert clock(new_york, "2026-11-10 15:00", None).residual == 0
    # Set to `zone`, a device an hour fast is an hour fast: nothing is concluded from it.
    assert clock(new_york, "2026-11-10 15:00", "2026-11-10 11:00", "zone").residual == HOUR


def test_reading_off_by_the_dst_difference() -> None:
    new_york = zone_offset("America/New_York")
    # At 11:00:40 EST shows 3640 s fast while the lower offset holds: fixed at -04:00, 40 s fast.
    fast = clock(new_york, "2026-11-10 15:00", "2026-11-10 11:00:40")
    assert (fast.offset(at("2027-01-01 00:00")), fast.offset(at("2027-07-01 00:00"))) == (
        -4 * HOUR,
        -4 * HOUR,
    )
    assert fast.residual == 40
    # 301 s short of an hour is more than five minutes off: an ordinary residual. 300 s is not.
    assert clock(new_york, "2026-11-10 15:00", "2026-11-10 10:54:59").residual == 3299
    assert clock(new_york, "2026-11-10 15:00", "2026-11-10 10:55:00").residual == -300
    # Slow while the lower holds is an ordinary residual; slow while the higher holds is a missed change.
    assert clock(new_york, "2026-11-10 15:00", "2026-11-10 09:00").residual == -HOUR
    slow = clock(new_york, "2027-07-01 15:00", "2027-07-01 10:00")
    assert (slow.offset(at("2027-07-01 00:00")), slow.residual) == (-5 * HOUR, 0)


def given_up(rule: str, standard: int, since: str) -> Callable[[int], int]:
    """The offset of an invented zone that ran `rule` and has stayed on what it had at `since`."""
    before = rule_offset(rule, standard)
    return lambda instant: before(min(instant, at(since)))


def test_zone_that_has_given_up_changing() -> None:
    # The zone went to -07:00 on 8 March 2026, under the law of 2007, and stays. In November a device that
    # still runs that law is back on -08:00: an hour slow. It will be right again next summer.
    zone = given_up("us-2007", -8 * HOUR, "2026-06-01 00:00")
    device = clock(zone, "2026-11-10 18:00", "2026-11-10 10:00:05")
    assert (device.offset(at("2026-12-01 00:00")), device.offset(at("2027-07-01 00:00"))) == (
        -8 * HOUR,
        -7 * HOUR,
    )
    assert device.residual == 5
    # In July that law shows what the zone shows, so an hour slow means a device fixed at -08:00.
    fixed = clock(zone, "2026-07-10 18:00", "2026-07-10 10:00")
    assert {fixed.offset(at("2026-12-01 00:00")), fixed.offset(at("2027-07-01 00:00"))} == {-8 * HOUR}


def test_zone_whose_old_law_is_not_known() -> None:
    # Last changes by the law of 1987, which is not one of the two looked for: fixed at what it shows.
    zone = given_up("us-1987", -8 * HOUR, "2026-06-01 00:00")
    device = clock(zone, "2026-11-10 18:00", "2026-11-10 10:00")
    assert {device.offset(at("2026-12-01 00:00")), device.offset(at("2027-07-01 00:00"))} == {-8 * HOUR}


def test_blank_offset_under_a_fixed_rule_is_the_lowest_of_the_zone() -> None:
    # Dublin has 0 in winter and +1 in summer, whichever of them the law calls standard.
    device = clock(zone_offset("Europe/Dublin"), "2026-07-10 12:00", None, "none")
    assert device.offset(at("2026-07-10 12:00")) == 0


def test_changes_are_found_to_the_second() -> None:
    found = changes(zone_offset("Europe/London"), at("2026-06-01 00:00"), at("2027-06-01 00:00"))
    assert found == (at("2026-10-25 01:00"), at("2027-03-28 01:00"))


@pytest.mark.parametrize("place", [(0.0, 103.8), (40.7, -74.0), (-53.9, -68.3), (65.0, 179.5)])
def test_crossings_agree_with_the_ephemeris_own_search(place: tuple[float, float]) -> None:
    observer = ephem.Observer()
    observer.lat, observer.lon = math.radians(place[0]), math.radians(place[1])
    observer.horizon, observer.pressure = "-0:50", 0
    for day in range(epoch_day(date(2026, 11, 1)) // 86_400, epoch_day(date(2026, 12, 1)) // 86_400, 7):
        observer.date = ephem.Date(datetime.fromtimestamp(sky.noon(place, day), UTC).replace(tzinfo=None))
        sets, rises = (
            find(ephem.Sun(), use_center=True).datetime().replace(tzinfo=UTC).timestamp()
            for find in (observer.next_setting, observer.previous_rising)
        )
        assert sky.crossing(place, day, "sunset", 0) == pytest.approx(sets, abs=1)
        assert sky.crossing(place, day, "sunrise", 0) == pytest.approx(rises, abs=1)


def test_polar_day_and_night_have_no_crossing() -> None:
    # At 78 degrees north the sun neither rises in December nor sets in June; it is never 6 degrees down then.
    december, june = epoch_day(date(2026, 12, 15)) // 86_400, epoch_day(date(2027, 6, 15)) // 86_400
    place = (78.0, 15.6)
    crossings = [
        sky.crossing(place, day, anchor, 0) for day in (december, june) for anchor in ("sunrise", "dusk")
    ]
    assert crossings == [None] * 4
    assert (
        sky.altitude(place, sky.noon(place, december)) < -6 < sky.altitude(place, sky.midnight(place, june))
    )
