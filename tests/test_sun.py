"""The audit's own sun query against published tables, an independent ephemeris, and the library below it.

The ephemeris is PyEphem (libastro, after VSOP87), asked for the sun's centre from the surface, without air.
"""

import csv
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import ephem
import pytest
from astral import Observer, SunDirection, julian, sun
from astral.sun import time_of_transit

from auditor.skylight import sun_table
from auditor.store import load, open_store
from auditor.sun import sun_days

PUBLISHED = Path(__file__).parents[1] / "fixtures" / "published"
KINDS = ("sunrise", "sunset", "dawn", "dusk")
RISING = ("sunrise", "dawn")
# Altitude of the sun's centre in degrees (US Naval Observatory's definitions).
HORIZON = {"sunrise": -50 / 60, "sunset": -50 / 60, "dawn": -6.0, "dusk": -6.0}
# Degrees (8.794", IAU): so much higher the sun stands at the horizon, seen from the centre of the Earth.
PARALLAX = 8.794 / 3600
SUN = ephem.Sun()

Row = dict[str, str]


def rows(name: str) -> list[Row]:
    with (PUBLISHED / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


# Published tables -------------------------------------------------------------------------------------------

SUN_ROWS = rows("sun_published.csv")
GIVEN = {"sun(-50')": ("sunrise", "sunset"), "civil(-6)": ("dawn", "dusk")}


def key(row: Row) -> tuple[str, str, str]:
    return row["place"], row["date_local"], row["kind"]


def name(row: Row) -> str:
    return "-".join(key(row))


def tolerance(row: Row) -> timedelta:
    # Half of what the source rounds to, and ten seconds. The promise ends at 66 degrees, yet the table of 80
    # degrees needs no more: none of its dates is one on which the sun skims the horizon.
    return timedelta(seconds=float(row["resolution_s"]) / 2 + 10)


def published(row: Row) -> dict[str, datetime]:
    cells = zip(GIVEN[row["kind"]], (row["sunrise_utc"], row["sunset_utc"]), strict=True)
    return {kind: datetime.fromisoformat(text).replace(tzinfo=None) for kind, text in cells if text}


@cache
def around(latitude: float, longitude: float, year: int) -> dict[str, list[datetime]]:
    """Every event of a year and a few days at a place, by kind."""
    table = sun_table(latitude, longitude, "Etc/UTC", date(year - 1, 12, 25), 380)
    return {kind: [mine for row in table if (mine := row[1:][place])] for place, kind in enumerate(KINDS)}


def ours(row: Row) -> dict[str, list[datetime]]:
    return around(float(row["lat"]), float(row["lon"]), int(row["date_local"][:4]))


@pytest.mark.parametrize("row", [row for row in SUN_ROWS if published(row)], ids=name)
def test_a_published_event_is_ours_too(row: Row) -> None:
    for kind, moment in published(row).items():
        nearest = min(ours(row)[kind], key=lambda mine: abs(mine - moment))
        assert abs(nearest - moment) <= tolerance(row), (kind, moment, nearest)


# A flagged row counts by its instants alone, and an extra row lists one event only.
WHOLE = [row for row in SUN_ROWS if not row["flag"] and row["status"] != "extra_event"]


@pytest.mark.parametrize("row", WHOLE, ids=name)
def test_a_published_date_has_no_other_event(row: Row) -> None:
    """Polar days and nights have none, some dates one; rounding may carry one across midnight."""
    midnight = datetime.fromisoformat(row["date_local"]) - timedelta(hours=float(row["utc_offset_h"]))
    inside = midnight + tolerance(row), midnight + timedelta(days=1) - tolerance(row)
    same_date = [published(other) for other in SUN_ROWS if key(other) == key(row)]
    for kind in GIVEN[row["kind"]]:
        for moment in (mine for mine in ours(row)[kind] if inside[0] <= mine <= inside[1]):
            listed = [events[kind] for events in same_date if kind in events]
            assert any(abs(moment - other) <= tolerance(row) for other in listed), (kind, moment, listed)


# An independent ephemeris -----------------------------------------------------------------------------------

Place = tuple[str, float, float, str]
Events = tuple[date, datetime | None, datetime | None, datetime | None, datetime | None]
PLACES: list[Place] = [
    (row["place"], float(row["latitude"]), float(row["longitude"]), row["zone"])
    for row in rows("ephemeris_places.csv")
]
TEMPERATE = [place for place in PLACES if abs(place[1]) <= 60]
POLAR: list[Place] = [
    ("Tromso", 69.65, 18.96, "Europe/Oslo"),
    ("Utqiagvik", 71.29, -156.79, "America/Anchorage"),
    ("Longyearbyen", 78.22, 15.65, "Arctic/Longyearbyen"),
    ("McMurdo", -77.84, 166.69, "Antarctica/McMurdo"),
]
SKIMMING = (
    0.02  # degrees; so near to touching an altitude, good ephemerides may disagree whether the sun does
)


def observer(latitude: float, longitude: float) -> ephem.Observer:
    here = ephem.Observer()
    here.lat, here.lon, here.elevation, here.pressure = str(latitude), str(longitude), 0, 0
    return here


def altitude(here: ephem.Observer, moment: ephem.Date | datetime) -> float:
    """Altitude of the sun's centre in degrees, seen from the surface."""
    here.date = moment
    SUN.compute(here)
    return float(SUN.alt) * 180 / ephem.pi


def transit(here: ephem.Observer, day: date, zone: str) -> ephem.Date:
    """The solar transit on a local date."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).astimezone(UTC)
    here.date = midnight.replace(tzinfo=None)
    noon = here.next_transit(SUN)
    assert noon.datetime().replace(tzinfo=UTC).astimezone(ZoneInfo(zone)).date() == day
    return noon


def crossing(here: ephem.Observer, noon: ephem.Date, kind: str) -> datetime | None:
    """The rising crossing next before a transit, or the setting one next after it."""
    here.horizon = str(HORIZON[kind])
    seek = here.previous_rising if kind in RISING else here.next_setting
    try:
        return seek(SUN, start=noon, use_center=True).datetime()
    except (ephem.AlwaysUpError, ephem.NeverUpError):
        return None


@cache
def table_of(place: Place) -> list[Events]:
    """Our events of 2026: the local date of the transit, and the four."""
    return sun_table(*place[1:], date(2026, 1, 1), 365)


def year_of(place: Place) -> Iterator[tuple[str, ephem.Date, datetime | None]]:
    """(kind, the ephemeris's transit, our instant) of every event; the transits' dates are those of 2026."""
    assert [row[0] for row in table_of(place)] == [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]
    here = observer(place[1], place[2])
    for day, *moments in table_of(place):
        noon = transit(here, day, place[3])
        yield from ((kind, noon, moment) for kind, moment in zip(KINDS, moments, strict=True))


@pytest.mark.parametrize("place", PLACES, ids=lambda place: place[0])
def test_a_year_agrees_with_an_ephemeris(place: Place) -> None:
    here = observer(place[1], place[2])
    limit = timedelta(seconds=10 if abs(place[1]) <= 60 else 60)
    for kind, noon, mine in year_of(place):
        theirs = crossing(here, noon, kind)
        assert (mine is None) == (theirs is None), (kind, noon, mine, theirs)
        assert mine is None or theirs is None or abs(mine - theirs) <= limit, (kind, noon, mine, theirs)


@pytest.mark.parametrize("place", POLAR, ids=lambda place: place[0])
def test_polar_days_and_nights_agree_with_an_ephemeris(place: Place) -> None:
    """There is an event where the sun is above the altitude at the transit and below it at the lower transit
    on that side; it lies between them. Seconds say little where the sun skims: its altitude is compared."""
    here = observer(place[1], place[2])
    sunrises = set()
    for kind, noon, mine in year_of(place):
        low = here.previous_antitransit(SUN, noon) if kind in RISING else here.next_antitransit(SUN, noon)
        top, bottom = (altitude(here, moment) - HORIZON[kind] for moment in (noon, low))
        if min(abs(top), abs(bottom)) > SKIMMING:
            assert (mine is not None) == (top > 0 > bottom), (kind, noon, mine, top, bottom)
        if mine is not None:
            assert min(noon, low) <= ephem.Date(mine) <= max(noon, low)
            assert altitude(here, mine) == pytest.approx(HORIZON[kind], abs=SKIMMING)
        if kind == "sunrise":
            sunrises.add((top > 0, bottom < 0))
    assert sunrises == {(True, True), (True, False), (False, True)}  # ordinary days, polar days, polar nights


# The library below ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("place", TEMPERATE, ids=lambda place: place[0])
def test_every_fifth_day_agrees_with_the_library(place: Place) -> None:
    """astral's own function at the same zenith; its ``sunrise()`` adds refraction to a zenith that has it."""
    moments = [
        (kind, mine) for row in table_of(place)[::5] for kind, mine in zip(KINDS, row[1:], strict=True)
    ]
    clear = [(kind, mine) for kind, mine in moments if mine and from_midnight(mine) > timedelta(minutes=10)]
    assert len(clear) > 0.9 * len(moments)
    for kind, mine in clear:
        theirs = library(place[1], place[2], kind, mine)
        assert abs(mine - theirs) <= timedelta(seconds=2), (kind, mine, theirs)


def test_the_parabola_of_a_day_alone_is_the_library_s_sun_a_day_either_way() -> None:
    """0.0001 degrees and 0.01 s (the equation of time is in minutes): what the module promises."""
    days = [date(2024, 2, 29), date(2026, 11, 14), date(2099, 12, 31)]
    found = sun_days((day - date(1970, 1, 1)).days for day in (*days[::-1], days[0]))
    assert found["day"].to_list() == [(day - date(1970, 1, 1)).days for day in days]
    for day, row in zip(days, found.iter_rows(named=True), strict=True):
        for x in (-1, -0.5, -0.1, 0, 0.3, 0.5, 1):
            noon = datetime(day.year, day.month, day.day, 12)
            century = julian.julianday_to_juliancentury(julian.julianday(noon) + x)
            declination = row["decl0"] + row["decl1"] * x + row["decl2"] * x * x
            equation = row["eqt0"] + row["eqt1"] * x + row["eqt2"] * x * x
            assert declination == pytest.approx(sun.sun_declination(century), abs=0.0001), (day, x)
            assert equation * 60 == pytest.approx(sun.eq_of_time(century) * 60, abs=0.01), (day, x)


@pytest.mark.parametrize("longitude", [-180, -74, 0, 160])
def test_at_a_transit_the_library_s_equation_of_time_makes_up_for_the_longitude(longitude: float) -> None:
    """Mean time there and the equation of time add up to noon, or to midnight: its definition. To 0.05 s."""
    noon = datetime(2026, 11, 3, 12)  # the equation of time is 16 min 27 s (any almanac), near its largest
    connection = open_store(Path(":memory:"))
    load(connection, "sun_days", sun_days([(noon.date() - date(1970, 1, 1)).days]))
    for turn in (-0.5, 0, 0.5):
        query = "SELECT transit_x(?, ?, eqt0, eqt1, eqt2) FROM sun_days"
        ((x,),) = connection.execute(query, [longitude, turn]).fetchall()
        equation = sun.eq_of_time(julian.julianday_to_juliancentury(julian.julianday(noon) + x))
        assert (x + longitude / 360 + equation / 1440 - turn) * 86400 == pytest.approx(0, abs=0.05), turn
    connection.close()


def from_midnight(moment: datetime) -> timedelta:
    """Time to the nearest 00:00 UTC, about which astral puts a crossing on the wrong date or on none."""
    into = timedelta(hours=moment.hour, minutes=moment.minute, seconds=moment.second)
    return min(into, timedelta(days=1) - into)


def library(latitude: float, longitude: float, kind: str, near: datetime) -> datetime:
    """astral's crossing nearest an instant; it folds crossings into the UTC date asked for, so three are."""
    direction = SunDirection.RISING if kind in RISING else SunDirection.SETTING
    zenith = 90 - HORIZON[kind] - PARALLAX
    here = Observer(latitude, longitude, 0.0)
    dates = [near.date() + timedelta(days=days) for days in (-1, 0, 1)]
    found = [time_of_transit(here, day, zenith, direction, with_refraction=False) for day in dates]
    return min((moment.replace(tzinfo=None) for moment in found), key=lambda theirs: abs(theirs - near))
