"""Reads a portfolio folder of CSV files whose rows are known to be valid.

Ids and values are trimmed, unknown columns are passed over, blank means unknown (None), and a leading
apostrophe that only keeps a spreadsheet from seeing a formula is taken off.
"""

import csv
import tomllib
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
EPOCH_ORDINAL = date(1970, 1, 1).toordinal()
DAY = 86_400
Place = tuple[float, float]


@dataclass(frozen=True)
class Site:
    """A site; `place` is (degrees north, degrees east), `zone` an IANA name."""

    site_id: str
    place: Place
    zone: str


@dataclass(frozen=True)
class Controller:
    """A time switch. `read_at` is epoch seconds, `reading` the same count of what the device showed,
    `utc_offset` seconds east; `place` is the location set in the device, None where it has the site's."""

    controller_id: str
    site_id: str
    read_at: int
    reading: int | None
    utc_offset: int | None
    dst_rule: str | None
    place: Place | None
    hold: str | None


@dataclass(frozen=True)
class Circuit:
    """A switched load; only those in use are read."""

    circuit_id: str
    controller_id: str
    area: str
    watts: float | None
    combine: str
    hold: str | None


@dataclass(frozen=True)
class Sensor:
    """A sensor in use and the ids of the circuits that it acts on."""

    sensor_id: str
    kind: str
    circuits: frozenset[str]


@dataclass(frozen=True)
class Step:
    """One program step. `time` is seconds after midnight (clock steps), `offset` seconds (sun steps)."""

    controller_id: str
    targets: frozenset[str]
    action: str
    level: float
    weekdays: frozenset[int]
    anchor: str
    time: int
    offset: int
    season: tuple[str, str] | None
    calendar: str | None


@dataclass(frozen=True)
class Hours:
    """One row of opening hours; `opens` and `closes` are seconds after midnight."""

    weekdays: frozenset[int]
    opens: int
    closes: int


@dataclass(frozen=True)
class Portfolio:
    """All that the evaluation needs. `steps` is in program order; `closures` holds (site_id or *, date,
    calendar or None); margins are seconds."""

    sites: dict[str, Site]
    controllers: dict[str, Controller]
    circuits: list[Circuit]
    sensors: list[Sensor]
    steps: list[Step]
    hours: dict[str, list[Hours]]
    closures: list[tuple[str, date, str | None]]
    daylight_margin: int
    hours_margin: int


Row = dict[str, str]


def epoch_day(day: date) -> int:
    """Seconds from the epoch to 00:00 of `day`, on whatever clock shows it."""
    return (day.toordinal() - EPOCH_ORDINAL) * DAY


def date_of(local_seconds: int) -> date:
    """The date that a clock shows when it stands at `local_seconds`."""
    return date.fromordinal(local_seconds // DAY + EPOCH_ORDINAL)


def clean(text: str | None) -> str:
    """The cell without its outer spaces and without a protecting apostrophe."""
    cell = (text or "").strip(" \t\r\n\u00a0")
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(FORMULA_STARTS) else cell


def rows(folder: Path, name: str) -> list[Row]:
    """The records of one table in file order; none where the file is absent."""
    path = folder / f"{name}.csv"
    if not path.exists():
        return []
    with path.open(encoding="utf-8-sig", newline="") as lines:
        records = csv.DictReader(lines)
        return [{clean(key): clean(value) for key, value in row.items() if key} for row in records]


def seconds_of(time_of_day: str) -> int:
    """`HH:MM` or `HH:MM:SS` as seconds after midnight; `24:00` is 86 400."""
    parts = [int(part) for part in time_of_day.split(":")]
    return parts[0] * 3600 + parts[1] * 60 + (parts[2] if len(parts) > 2 else 0)


def weekdays_of(days: str) -> frozenset[int]:
    """`daily` or a comma list of RFC 5545 day names, as numbers from Monday = 0."""
    names = [name.strip().upper() for name in days.split(",") if name.strip()]
    return frozenset(range(7)) if names == ["DAILY"] else frozenset(WEEKDAYS.index(name) for name in names)


def ids_of(text: str) -> frozenset[str]:
    """A list of ids separated by `;`."""
    return frozenset(part.strip() for part in text.split(";") if part.strip())


def offset_of(text: str) -> int:
    """`-05:00` as seconds east."""
    sign = -1 if text.startswith("-") else 1
    return sign * seconds_of(text.lstrip("+-"))


def is_true(text: str, default: bool) -> bool:
    """A boolean cell; blank is the default."""
    return text.lower() in ("true", "yes", "1") if text else default


def place_of(row: Row) -> Place | None:
    """The row's location, None where it has none."""
    if not row.get("latitude"):
        return None
    return float(row["latitude"]), float(row["longitude"])


def _site(row: Row) -> Site:
    place, zone = place_of(row), row.get("timezone")
    if place is None or not zone:
        raise ValueError(f"site {row['site_id']}: this evaluation needs coordinates and a time zone")
    return Site(row["site_id"], place, zone)


def _controller(row: Row) -> Controller:
    shown, offset = row.get("clock_reading"), row.get("utc_offset")
    return Controller(
        controller_id=row["controller_id"],
        site_id=row["site_id"],
        read_at=int(datetime.fromisoformat(row["read_at"]).timestamp()),
        reading=int(datetime.fromisoformat(f"{shown}+00:00").timestamp()) if shown else None,
        utc_offset=offset_of(offset) if offset else None,
        dst_rule=row.get("dst_rule") or None,
        place=place_of(row),
        hold=row.get("hold") or None,
    )


def _circuit(row: Row) -> Circuit:
    watts = row.get("connected_watts")
    return Circuit(
        circuit_id=row["circuit_id"],
        controller_id=row["controller_id"],
        area=row["area"],
        watts=float(watts) if watts else None,
        combine=row.get("combine") or "any",
        hold=row.get("hold") or None,
    )


def _step(row: Row) -> Step:
    levels = {"on": 100.0, "off": 0.0, "level": float(row.get("level") or 0)}
    return Step(
        controller_id=row["controller_id"],
        targets=ids_of(row["targets"]),
        action=row["action"],
        level=levels.get(row["action"], 0.0),
        weekdays=weekdays_of(row["days"]),
        anchor=row["anchor"],
        time=seconds_of(row["time"]) if row["anchor"] == "clock" else 0,
        offset=round(float(row.get("offset_minutes") or 0) * 60),
        season=(row["from"], row["until"]) if row.get("from") else None,
        calendar=row.get("calendar") or None,
    )


def _hours(folder: Path) -> dict[str, list[Hours]]:
    found: dict[str, list[Hours]] = {}
    for row in rows(folder, "hours"):
        opening = Hours(weekdays_of(row["days"]), seconds_of(row["opens"]), seconds_of(row["closes"]))
        found.setdefault(row["site_id"], []).append(opening)
    return found


def _margins(folder: Path) -> tuple[int, int]:
    path = folder / "portfolio.toml"
    figures = tomllib.loads(path.read_text(encoding="utf-8-sig")).get("figures", {}) if path.exists() else {}
    minutes = figures.get("daylight_margin_minutes", 30), figures.get("hours_margin_minutes", 60)
    return round(minutes[0] * 60), round(minutes[1] * 60)


def read(folder: Path) -> Portfolio:
    """The portfolio in `folder`. Errors: KeyError or ValueError on a row that is not valid."""
    daylight_margin, hours_margin = _margins(folder)
    return Portfolio(
        sites={row["site_id"]: _site(row) for row in rows(folder, "sites")},
        controllers={row["controller_id"]: _controller(row) for row in rows(folder, "controllers")},
        circuits=[_circuit(row) for row in rows(folder, "circuits") if is_true(row.get("in_use", ""), True)],
        sensors=[
            Sensor(row["sensor_id"], row["kind"], ids_of(row.get("circuits", "")))
            for row in rows(folder, "sensors")
            if is_true(row.get("in_use", ""), True)
        ],
        steps=[_step(row) for row in rows(folder, "events")],
        hours=_hours(folder),
        closures=[
            (row["site_id"], date.fromisoformat(row["date"]), row.get("calendar") or None)
            for row in rows(folder, "closures")
        ],
        daylight_margin=daylight_margin,
        hours_margin=hours_margin,
    )
