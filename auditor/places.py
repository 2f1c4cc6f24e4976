"""Time zones from coordinates, and coordinates that look wrong: the only import of timezonefinder."""

from datetime import UTC, datetime
from functools import cache
from typing import Any

import polars as pl
from timezonefinder import TimezoneFinder

from auditor.zones import tzdb_version, zone_clock, zone_names


def locate(sites: pl.DataFrame) -> tuple[pl.DataFrame, list[str]]:
    """The sites with every time zone filled in, and a sentence for each site whose data look wrong.

    Adds ``timezone_looked_up``. Nothing given is changed: a doubt is said, not acted on.
    """
    given, coordinates = sites["timezone"], list(zip(sites["latitude"], sites["longitude"], strict=True))
    found = [zone_at(*place) for place in coordinates]
    notices = [_doubt(row, there) for row, there in zip(sites.iter_rows(named=True), found, strict=True)]
    filled = given.fill_null(pl.Series("timezone", found, pl.String))
    sites = sites.with_columns(filled, timezone_looked_up=given.is_null())
    return sites, [sentence for sentence in notices if sentence]


@cache
def _finder() -> TimezoneFinder:
    return TimezoneFinder(in_memory=True)


def zone_at(latitude: float, longitude: float) -> str:
    """IANA zone of a place; at sea the nautical one, such as Etc/GMT+3, by longitude."""
    name = _finder().timezone_at(lat=latitude, lng=longitude)
    if name in zone_names():
        return str(name)
    hours = round(longitude / 15)
    return f"Etc/GMT{-hours:+d}" if hours else "Etc/GMT"  # the sign of these names is the other way round


def _doubt(site: dict[str, Any], there: str) -> str:
    """Why a site's place, or its place and zone together, cannot be right, or nothing."""
    given, at_sea = site["timezone"], there.startswith("Etc/")
    on_the_ice = given is None and there.startswith("Antarctica/")
    if not at_sea and not on_the_ice and (given is None or same_time(given, there)):
        return ""
    where = f"{site['source_file']}, row {site['source_row']}: site {site['site_id']}"
    hint = _hint(site["latitude"], site["longitude"], given)
    if at_sea or on_the_ice:
        taken = "" if given else f", its time zone taken as {there}"
        return f"{where} lies {'at sea' if at_sea else 'in Antarctica'}{taken}{hint}; check its coordinates."
    return f"{where} has time zone {given}, but its coordinates lie in {there}{hint}; check both."


def _hint(latitude: float, longitude: float, given: str | None) -> str:
    """Which common slip would put the site on land, and into the zone that was given for it."""
    slips = {
        "latitude and longitude look swapped": (longitude, latitude),
        "the sign of the longitude looks wrong": (latitude, -longitude),
        "the sign of the latitude looks wrong": (-latitude, longitude),
    }
    for words, (north, east) in slips.items():
        zone = zone_at(north, east) if abs(north) <= 90 else "Etc/"
        if not zone.startswith("Etc/") and (given is None or same_time(given, zone)):
            return f" ({words})"
    return ""


@cache
def same_time(one: str, other: str) -> bool:
    """True where two zones show the same time on the first of every month, in the year of the time-zone
    database and the next: whether they once differed is no matter."""
    this = int(tzdb_version()[:4])
    firsts = [
        int(datetime(year, month, 1, 12, tzinfo=UTC).timestamp())
        for year in (this, this + 1)
        for month in range(1, 13)
    ]
    return all(zone_clock(one).offset_at(t) == zone_clock(other).offset_at(t) for t in firsts)
