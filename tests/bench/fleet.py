"""A made-up fleet of any size, the same every time: four switched loads a site, in twelve zones."""

import csv
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

READ_AT = datetime(2026, 11, 2, 15, 0, tzinfo=UTC)
# Zone, degrees north and east of a town in it (rounded, from memory; only the sun asks).
TOWNS = [
    ("America/New_York", 41.1, -74.2),
    ("America/Chicago", 41.7, -88.1),
    ("America/Denver", 39.6, -104.9),
    ("America/Phoenix", 33.5, -112.1),
    ("America/Los_Angeles", 34.1, -118.0),
    ("America/Toronto", 43.7, -79.5),
    ("America/Mexico_City", 19.5, -99.2),
    ("Europe/London", 52.3, -1.4),
    ("Europe/Berlin", 52.1, 12.6),
    ("Europe/Athens", 38.1, 23.8),
    ("Asia/Tokyo", 35.8, 139.6),
    ("Australia/Sydney", -33.7, 150.9),
]
COLUMNS = {
    "sites": "site_id,name,region,latitude,longitude,timezone,rate_per_kwh",
    "controllers": "controller_id,site_id,read_at,clock_reading,utc_offset,dst_rule,remote",
    "circuits": "circuit_id,controller_id,name,area,connected_watts",
    "sensors": "sensor_id,controller_id,kind,circuits",
    "events": "event_id,controller_id,targets,action,days,anchor,time,offset_minutes",
    "hours": "site_id,days,opens,closes",
    "closures": "site_id,date,calendar",
}
WEEK, WEEKDAYS = "daily", "MO,TU,WE,TH,FR"
CIRCUITS = 4  # a site
CLOSURES = ["2026-11-26", "2026-12-25", "2027-01-01", "2027-05-31"]
Row = tuple[object, ...]


def write_fleet(folder: Path, sites: int) -> None:
    """Writes the tables of a portfolio of ``sites`` sites into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, columns in COLUMNS.items():
        rows = (row for number in range(sites) for row in ROWS[name](number))
        _write(folder / f"{name}.csv", columns.split(","), rows)
    (folder / "portfolio.toml").write_text('[portfolio]\nname = "Made-up fleet"\ncurrency = "EUR"\n')


def _write(path: Path, columns: list[str], rows: Iterable[Row]) -> None:
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows(rows)


def _spread(number: int, salt: float) -> float:
    """A number in [0, 1) that looks random: the fractional part of multiples of an irrational number."""
    return (number * 0.618034 + salt * 0.414214) % 1


def _sites(number: int) -> Iterator[Row]:
    zone, latitude, longitude = TOWNS[number % len(TOWNS)]
    north, east = (f"{degrees - 0.5 + _spread(number, degrees):.4f}" for degrees in (latitude, longitude))
    rate = f"{0.10 + number % 9 / 100:.2f}"
    yield f"S{number:05}", f"Depot {number}", f"Crew {number % 7}", north, east, zone, rate


def _controllers(number: int) -> Iterator[Row]:
    """Clocks are off by whole minutes, so that a grid of minutes can follow them; one in ten has no DST."""
    zone = ZoneInfo(TOWNS[number % len(TOWNS)][0])
    follows = number % 10 != 3
    local = READ_AT.astimezone(zone)
    dst = timedelta() if follows else local.utcoffset() - _standard(zone)
    shown = local.replace(tzinfo=None) - dst + timedelta(minutes=number * 7 % 9 - 4)
    rule = "none" if not follows else "zone" if number % 4 else ""
    remote = "true" if number % 2 else "false"
    site, read_at = f"S{number:05}", f"{READ_AT:%Y-%m-%dT%H:%M:%SZ}"
    yield f"{site}-A", site, read_at, shown.isoformat(), "", rule, remote


def _standard(zone: ZoneInfo) -> timedelta:
    return min(datetime(2026, month, 15, tzinfo=zone).utcoffset() or timedelta() for month in (1, 7))


def _circuits(number: int) -> Iterator[Row]:
    loads = [("Car park", "parking"), ("Name sign", "sign"), ("Hall", "interior"), ("Front path", "walkway")]
    for place, (name, area) in enumerate(loads, 1):
        watts = 200 * (1 + (number + 3 * place) % 12)
        yield f"S{number:05}-A-{place}", f"S{number:05}-A", name, area, watts


def _sensors(number: int) -> Iterator[Row]:
    yield f"S{number:05}-A-P", f"S{number:05}-A", "photocontrol", f"S{number:05}-A-4"


def _events(number: int) -> Iterator[Row]:
    controller = f"S{number:05}-A"
    for place, (target, action, days, anchor, time, offset) in enumerate(_program(number), 1):
        yield f"{place:02}", controller, f"{controller}-{target}", action, days, anchor, time, offset


def _program(number: int) -> Iterator[Row]:
    """(target, action, days, anchor, time, offset in minutes)"""
    yield 1, "on", WEEK, "sunset", "", number % 5 * 10 - 20
    if number % 3:  # most car parks are dark in the small hours, and lit again well before any sunrise
        yield 1, "off", WEEK, "clock", f"{22 + number % 2}:30", ""
        yield 1, "on", WEEK, "clock", "02:45" if number % 2 else "03:15", ""
    yield 1, "off", WEEK, "sunrise", "", number % 4 * 10 - 10
    yield 2, "on", WEEK, "dusk", "", ""
    yield 2, "off", WEEK, "clock", f"23:{number % 6}0", ""
    yield 3, "on", WEEKDAYS, "clock", f"06:{number % 4}5", ""
    yield 3, "off", WEEKDAYS, "clock", f"{19 + number % 4}:00", ""
    yield 3, "on", "SA", "clock", "08:00", ""
    yield 3, "off", "SA", "clock", "15:30", ""
    yield "P", "suspend", WEEK, "clock", "01:00", ""
    yield "P", "resume", WEEK, "sunrise", "", ""


def _hours(number: int) -> Iterator[Row]:
    site = f"S{number:05}"
    yield site, "MO,TU,WE,TH", "07:00", "21:30"
    yield site, "FR", "07:00", "00:30" if number % 5 == 0 else "23:00"
    yield site, "SA", "08:00", "16:00"
    if number % 2:
        yield site, "SU", "10:00", "14:00"


def _closures(number: int) -> Iterator[Row]:
    yield from ((f"S{number:05}", date, "") for date in CLOSURES)


ROWS = {
    "sites": _sites,
    "controllers": _controllers,
    "circuits": _circuits,
    "sensors": _sensors,
    "events": _events,
    "hours": _hours,
    "closures": _closures,
}
