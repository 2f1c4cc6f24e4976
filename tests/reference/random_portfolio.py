"""Writes a random portfolio whose rows are all valid, and which is full of the cases that go wrong.

The same seed writes the same bytes. The network of libraries, museums and depots is invented.
"""

import csv
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random

from .clocks import RULES, offsets_between, rule_offset, standard_of, three_years_before, zone_offset
from .programs import circuit_steps, sensor_steps
from .tables import DAY, Place, epoch_day

Row = dict[str, object]
PLACES: list[tuple[str, float, float]] = [
    ("America/New_York", 40.7, -74.0),
    ("America/Chicago", 41.6, -87.6),
    ("America/Vancouver", 49.3, -123.1),
    ("America/Edmonton", 51.0, -114.1),
    ("America/Winnipeg", 49.9, -97.1),
    ("America/Phoenix", 33.4, -112.1),
    ("America/St_Johns", 47.6, -52.7),
    ("America/Havana", 23.1, -82.4),
    ("America/Santiago", -33.5, -70.6),
    ("America/Coyhaique", -45.6, -72.1),
    ("America/Asuncion", -25.3, -57.6),
    ("America/Nuuk", 64.2, -51.7),
    ("America/Scoresbysund", 70.5, -22.0),
    ("America/Argentina/Ushuaia", -53.9, -68.3),
    ("Atlantic/Azores", 37.7, -25.7),
    ("Europe/London", 51.5, -0.1),
    ("Europe/Dublin", 53.3, -6.3),
    ("Europe/Berlin", 52.5, 13.4),
    ("Europe/Oslo", 69.6, 19.0),
    ("Arctic/Longyearbyen", 78.0, 15.6),
    ("Africa/Casablanca", 33.6, -7.6),
    ("Africa/Cairo", 30.0, 31.2),
    ("Africa/Lagos", 6.5, 3.4),
    ("Asia/Beirut", 33.9, 35.5),
    ("Asia/Kathmandu", 27.7, 85.3),
    ("Asia/Almaty", 43.2, 76.9),
    ("Asia/Singapore", 1.3, 103.8),
    ("Australia/Sydney", -33.9, 151.2),
    ("Australia/Lord_Howe", -31.5, 159.1),
    ("Antarctica/Troll", -53.8, 3.4),
    ("Pacific/Auckland", -36.9, 174.8),
    ("Pacific/Chatham", -43.9, -176.6),
    ("Pacific/Kiritimati", 1.9, -157.4),
]
MONTHS = [date(2026, month, 1) for month in (2, 4, 7, 9, 11)] + [date(2027, month, 1) for month in (1, 6)]
AREAS = [
    "interior",
    "parking",
    "walkway",
    "canopy",
    "facade",
    "landscape",
    "sign",
    "egress",
    "security",
    "other-exterior",
]
CALENDARS = ("holiday", "stocktake", "fête, été")
NAMES = ("Reading room", "=1+1", 'Hall "B", north', "Depot – yard\nsecond line", "-2+3", "007", "NULL")
WEEKDAYS = "MO,TU,WE,TH,FR"
# Rows (days, opens, closes) of one site's hours; none is so short that a DST jump could swallow it.
HOURS: list[list[tuple[str, str, str]]] = [
    [("daily", "00:00", "24:00")],
    [(WEEKDAYS, "08:00", "21:00"), ("SA", "09:30", "18:00")],
    [("MO,TU,WE", "16:00", "24:00"), ("TH,FR,SA", "12:00", "02:30"), ("SU", "12:00", "22:30")],
    [(WEEKDAYS, "08:00", "12:30"), (WEEKDAYS, "14:00", "18:00"), (WEEKDAYS, "20:00", "00:15")],
    [("MO,WE,FR", "07:00", "07:00"), ("SU", "00:00", "00:00")],
    [("daily", "05:00:30", "22:00")],
    [("FR,SA,SU", "22:00", "04:00"), ("SU", "02:30", "09:00"), ("MO", "00:30", "12:00")],
    [("SA", "20:00", "24:00"), ("SU", "00:00", "05:00"), ("TU,TH", "10:00", "01:00")],
    [("daily", "18:00", "05:30"), ("SA", "03:00", "11:00")],
]
RESIDUALS: list[Callable[[Random], int]] = [
    lambda rng: 0,
    lambda rng: rng.randint(-59, 59),
    lambda rng: rng.randint(-59, 59),
    lambda rng: rng.randint(-14 * 60, 14 * 60),
    lambda rng: rng.choice([-301, -300, -299, 299, 300, 301]),
    lambda rng: rng.choice([-1, 1]) * (43_200 + rng.randint(0, 40)),
    lambda rng: rng.choice([-1, 1]) * rng.randint(2, 9) * DAY + rng.randint(-3600, 3600),
    lambda rng: rng.choice([-6, -3, -2, 1, 2]) * 365 * DAY + rng.randint(-DAY, DAY),
]


@dataclass(frozen=True)
class Draft:
    """The tables so far, with the random source and the first of the month of the readings."""

    rng: Random
    month: date
    tables: dict[str, list[Row]]

    def add(self, table: str, **row: object) -> None:
        """Appends one row to a table."""
        self.tables.setdefault(table, []).append(row)

    def seldom(self, share: float) -> bool:
        """True in `share` of the calls."""
        return self.rng.random() < share


def _iso_offset(seconds: int) -> str:
    minutes = abs(seconds) // 60
    return f"{'-' if seconds < 0 else '+'}{minutes // 60:02d}:{minutes % 60:02d}"


def _moved(draft: Draft, place: Place, degrees: float) -> Place:
    latitude = place[0] + draft.rng.uniform(-degrees, degrees)
    longitude = place[1] + draft.rng.uniform(-degrees, degrees)
    return round(min(78.0, max(-54.0, latitude)), 4), round((longitude + 180) % 360 - 180, 4)


def _read_at(draft: Draft) -> int:
    stale = 40 * DAY if draft.seldom(0.08) else 0
    return epoch_day(draft.month) + draft.rng.randrange(27 * DAY) - stale


def _shown_offset(draft: Draft, zone: str, rule: str, utc_offset: int | None, read_at: int) -> int:
    """An offset for the device to show: its rule's, the law's, or the one that the law does not have."""
    law = zone_offset(zone)
    if rule in (*RULES, "none") and draft.seldom(0.7):
        return rule_offset(rule, standard_of(law, read_at) if utc_offset is None else utc_offset)(read_at)
    both = offsets_between(law, three_years_before(read_at), read_at + 365 * DAY)
    others = sorted(both - {law(read_at)})
    return draft.rng.choice(others) if others and draft.seldom(0.4 if rule else 0.7) else law(read_at)


def _reading(draft: Draft, zone: str, rule: str, utc_offset: int | None, read_at: int) -> str:
    if draft.seldom(0.12):
        return ""
    shown = _shown_offset(draft, zone, rule, utc_offset, read_at)
    # A device that misses DST is often right but for seconds: only then does its reading say so.
    seconds = not rule and shown != zone_offset(zone)(read_at) and draft.seldom(0.6)
    residual = draft.rng.choice(RESIDUALS[:3] if seconds else RESIDUALS)(draft.rng)
    return datetime.fromtimestamp(read_at + shown + residual, UTC).replace(tzinfo=None).isoformat()


def _utc_offset(draft: Draft, zone: str, read_at: int) -> int | None:
    if draft.seldom(0.4):
        return None
    wrong = draft.rng.choice([-3600, 1800, 7200]) if draft.seldom(0.15) else 0
    return min(14 * 3600, standard_of(zone_offset(zone), read_at) + wrong)


def _controller(draft: Draft, site: Row, name: str) -> None:
    zone, read_at = str(site["timezone"]), _read_at(draft)
    rule = draft.rng.choice(["", "", "", "zone", "none", *RULES])
    offset = _utc_offset(draft, zone, read_at)
    place: tuple[object, object] = ("", "")
    if draft.seldom(0.3):
        own = (float(str(site["latitude"])), float(str(site["longitude"])))
        place = _moved(draft, own, draft.rng.choice([0.05, 1.0, 12.0]))
    draft.add(
        "controllers",
        controller_id=name,
        site_id=site["site_id"],
        read_at=datetime.fromtimestamp(read_at, UTC).isoformat(),
        clock_reading=_reading(draft, zone, rule, offset, read_at),
        utc_offset="" if offset is None else _iso_offset(offset),
        dst_rule=rule,
        latitude=place[0],
        longitude=place[1],
        hold=draft.rng.choice(["on", "off"]) if draft.seldom(0.04) else "",
        remote=draft.rng.choice(["", "true", "0"]),
    )


def _circuit(draft: Draft, controller: str, name: str) -> None:
    rng = draft.rng
    draft.add(
        "circuits",
        circuit_id=name,
        controller_id=controller,
        name=rng.choice(NAMES),
        area=rng.choice(AREAS),
        connected_watts=rng.choice(["", 0, 60, 1234.5, 7270, 25000]),
        combine=rng.choice(["", "", "any", "all", "all"]),
        hold=rng.choice(["on", "off"]) if draft.seldom(0.05) else "",
        in_use=rng.choice(["false", "0", "No"] if draft.seldom(0.06) else ["", "TRUE", "yes", "1"]),
        must_be_lit=rng.choice(["always", "dark", "open"]) if draft.seldom(0.15) else "",
    )


def _sensors(draft: Draft, controller: str, circuits: list[str]) -> list[str]:
    """Up to as many sensors as circuits, each on one circuit, or two, or none."""
    names = [f"{controller}-S{number}" for number in range(draft.rng.randint(0, len(circuits)))]
    for name in names:
        kind = draft.rng.choice(["photocontrol", "photocontrol", "occupancy"])
        chosen = draft.rng.sample(circuits, min(len(circuits), draft.rng.choice([0, 1, 1, 1, 2])))
        used = "no" if draft.seldom(0.08) else ""
        draft.add(
            "sensors",
            sensor_id=name,
            controller_id=controller,
            kind=kind,
            circuits=";".join(chosen),
            timeout_minutes=15 if kind == "occupancy" else "",
            in_use=used,
        )
    return names


def _events(draft: Draft, controller: str, circuits: list[str], sensors: list[str]) -> None:
    """The program: steps of several circuits in mixed order, some with more than one target."""
    steps: list[Row] = []
    for name in circuits:
        steps += circuit_steps(draft.rng, draft.month, CALENDARS, name)
    for name in sensors:
        steps += sensor_steps(draft.rng, CALENDARS, name)
    draft.rng.shuffle(steps)
    for number, step in enumerate(steps):
        kin = sensors if step["action"] in ("suspend", "resume") else circuits
        more = draft.rng.sample(kin, 1) if draft.seldom(0.12) else []
        targets = " ; ".join(dict.fromkeys([str(step["targets"]), *more]))
        keys = {"event_id": f"E{number:02d}", "controller_id": controller, "targets": targets}
        draft.add("events", **(step | keys))


def _device(draft: Draft, site: Row, number: int) -> None:
    name = f"{site['site_id']}-T{number}"
    _controller(draft, site, name)
    circuits = [f"{name}-C{index}" for index in range(draft.rng.randint(2, 5))]
    for circuit in circuits:
        _circuit(draft, name, circuit)
    _events(draft, name, circuits, _sensors(draft, name, circuits))


def _closures(draft: Draft, site: str) -> None:
    """Some dates that only close, some of a calendar, some of two; from a year before to a year after."""
    days = draft.rng.sample(range(-360, 364), 9)
    for day in days:
        for calendar in draft.rng.sample(["", *CALENDARS], draft.rng.choice([1, 1, 2])):
            draft.add("closures", site_id=site, date=draft.month + timedelta(days=day), calendar=calendar)


def _site(draft: Draft, number: int) -> Row:
    zone, latitude, longitude = draft.rng.choice(PLACES)
    place = _moved(draft, (latitude, longitude), 0.3)
    site, name = f"{number:04d}", draft.rng.choice(NAMES)
    draft.add("sites", site_id=site, name=name, latitude=place[0], longitude=place[1], timezone=zone)
    for days, opens, closes in [] if draft.seldom(0.15) else draft.rng.choice(HOURS):
        draft.add("hours", site_id=site, days=days, opens=opens, closes=closes)
    _closures(draft, site)
    return draft.tables["sites"][-1]


def _protected(draft: Draft, value: object) -> str:
    """The cell as a program might export it: now and then with an apostrophe or spaces around."""
    text = str(value)
    if text.startswith(("-", "+", "=")) and draft.seldom(0.2):
        return f"'{text}"
    return f" {text} " if text and draft.seldom(0.02) else text


def _save(draft: Draft, folder: Path, table: str) -> None:
    """One CSV file, its columns in random order, with or without BOM, with LF or CRLF."""
    found = draft.tables[table]
    columns = draft.rng.sample([*found[0], "remark"], len(found[0]) + 1)
    encoding, ending = draft.rng.choice(["utf-8", "utf-8-sig"]), draft.rng.choice(["\n", "\r\n"])
    with (folder / f"{table}.csv").open("w", encoding=encoding, newline="") as lines:
        writer = csv.writer(lines, lineterminator=ending)
        writer.writerow(columns)
        for row in found:
            writer.writerow([_protected(draft, row.get(column, "a, b")) for column in columns])


def write(folder: Path, seed: int, controllers: int = 12) -> None:
    """Writes a portfolio of `controllers` devices at about two thirds as many sites into `folder`."""
    rng = Random(seed)
    draft = Draft(rng, rng.choice(MONTHS), {})
    while len(draft.tables.get("controllers", [])) < controllers:
        site = _site(draft, len(draft.tables.get("sites", [])) + 1)
        missing = controllers - len(draft.tables.get("controllers", []))
        for number in range(min(missing, rng.choice([1, 1, 2]))):
            _device(draft, site, number)
    common = draft.month + timedelta(days=rng.randrange(364))
    draft.add("closures", site_id="*", date=common, calendar=CALENDARS[0])
    folder.mkdir(parents=True, exist_ok=True)
    for table in sorted(draft.tables):
        _save(draft, folder, table)
    margins = rng.choice([(30, 60), (30, 60), (45, 0), (0, 90)])
    text = f"[figures]\ndaylight_margin_minutes = {margins[0]}\nhours_margin_minutes = {margins[1]}\n"
    (folder / "portfolio.toml").write_text(text, encoding="utf-8")
