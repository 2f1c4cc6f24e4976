"""Random portfolios as tables, bent in ways that must not matter, and the figures that come out."""

import csv
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from auditor.rules import load_rules

from .reference.figures import FIGURES
from .reference.random_portfolio import write
from .year_case import Row, circuit_figures, judged, ready_for_rules, result_files, result_rows, worked_year

Tables = dict[str, list[Row]]
Figures = dict[str, dict[str, float | None]]  # by circuit and name; minutes or kWh, None = blank
ID_COLUMNS = ("site_id", "controller_id", "circuit_id", "sensor_id", "event_id")
_ID_LISTS = ("targets", "circuits")  # ids joined by ;


def random_tables(seed: int, controllers: int) -> Tables:
    """The tables of a random portfolio as text, cells trimmed; ids are unlike any other text in them."""
    with TemporaryDirectory() as folder:
        write(Path(folder), seed, controllers)
        return {path.stem: _rows(path) for path in sorted(Path(folder).glob("*.csv"))}


def _rows(path: Path) -> list[Row]:
    with path.open(encoding="utf-8-sig", newline="") as lines:
        return [{name: cell.strip() for name, cell in row.items()} for row in csv.DictReader(lines)]


def save(folder: Path, tables: Tables) -> Path:
    """A portfolio folder with these tables; the columns stay when all rows are gone."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        if rows:
            with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as lines:
                writer = csv.DictWriter(lines, list(rows[0]))
                writer.writeheader()
                writer.writerows(rows)
    return folder


def figures(tables: Tables, start: date, days: int) -> Figures:
    """The figures of every circuit over ``days`` dates from ``start``."""
    with TemporaryDirectory() as folder:
        connection, _ = worked_year(save(Path(folder, "in"), tables), start, days)
        with connection:
            return circuit_figures(connection)


@dataclass(frozen=True)
class Said:
    """What the program says of a portfolio: figures, rows as in the result files, and these files."""

    figures: Figures
    findings: list[Row]
    not_evaluated: list[Row]
    files: dict[str, bytes]


def said(tables: Tables, start: date, days: int) -> Said:
    """All of it, over ``days`` dates from ``start``."""
    with TemporaryDirectory() as folder:
        connection, settings = worked_year(save(Path(folder, "in"), tables), start, days)
        with connection:
            ready_for_rules(connection)
            judged(connection, settings, load_rules())
            rows = [result_rows(connection, name) for name in ("findings", "not_evaluated")]
            return Said(circuit_figures(connection), *rows, result_files(connection, Path(folder, "out")))


def shuffled(tables: Tables, rng: Random) -> Tables:
    """The rows of every table in another order; those of a program keep theirs, for it has a meaning."""
    mixed = {name: rng.sample(rows, len(rows)) for name, rows in tables.items()}
    programs: dict[str, list[Row]] = {}
    for row in tables["events"]:
        programs.setdefault(row["controller_id"], []).append(row)
    turns = [row["controller_id"] for row in mixed["events"]]
    return mixed | {"events": [programs[controller].pop(0) for controller in turns]}


def renamed(tables: Tables, new: Callable[[str], str]) -> Tables:
    """The tables with every id given another."""

    def row_with(row: Row) -> Row:
        own = {key: new(row[key]) for key in ID_COLUMNS if row.get(key, "*") not in ("", "*")}
        lists = {
            key: ";".join(new(one.strip()) for one in row[key].split(";"))
            for key in _ID_LISTS
            if row.get(key)
        }
        return row | own | lists

    return {name: [row_with(row) for row in rows] for name, rows in tables.items()}


def of_sites(tables: Tables, sites: Iterable[str]) -> Tables:
    """The part of a portfolio that belongs to these sites, and what holds for every site."""
    kept = {*sites, "*"}
    devices = {row["controller_id"] for row in tables["controllers"] if row["site_id"] in kept}
    return {
        name: [
            row
            for row in rows
            if ("site_id" not in row or row["site_id"] in kept)
            and ("controller_id" not in row or row["controller_id"] in devices)
        ]
        for name, rows in tables.items()
    }


def with_reader(tables: Tables) -> Tables:
    """With a site of its own that has the newest reading: what a portfolio's newest reading decides is
    then the same in its parts."""
    newest = max(datetime.fromisoformat(row["read_at"]) for row in tables["controllers"])
    site = {"site_id": "reader", "latitude": "40.7", "longitude": "-74.0", "timezone": "America/New_York"}
    device = {"site_id": "reader", "controller_id": "reader", "read_at": newest.isoformat()}
    more = {"sites": site, "controllers": device}
    return tables | {
        name: [*tables[name], dict.fromkeys(tables[name][0], "") | row] for name, row in more.items()
    }


def moved_west(tables: Tables, zone: str, hours: int) -> Tables:
    """Every site in ``zone``, that many hours behind, its clock, readings and the sun along with it."""
    later = timedelta(hours=hours)

    def device(row: Row) -> Row:
        read_at = datetime.fromisoformat(row["read_at"]) + later
        return row | {"read_at": read_at.isoformat(), "utc_offset": _behind(row["utc_offset"], hours)}

    def site(row: Row) -> Row:
        return row | {"timezone": zone, "longitude": f"{float(row['longitude']) - 15 * hours:.4f}"}

    return tables | {
        "sites": [site(row) for row in tables["sites"]],
        "controllers": [device(row) for row in tables["controllers"]],
    }


def _behind(offset: str, hours: int) -> str:
    """``-05:00`` that many hours further behind; blank stays."""
    if not offset:
        return ""
    sign = -1 if offset[0] == "-" else 1
    minutes = sign * (int(offset[1:3]) * 60 + int(offset[4:])) - 60 * hours
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"


def eastern_by_the_clock(tables: Tables) -> Tables:
    """All sites in New York's zone, run by clock steps alone: no sun, and no rule that goes by UTC.

    The law of the zones of the United States changes at the same local time in each, and so do the rules
    us-2007 and us-1987; ``eu`` changes at 01:00 UTC everywhere.
    """
    place = {"latitude": "40.7", "longitude": "-74.0", "timezone": "America/New_York"}
    device = {"latitude": "", "longitude": ""}
    return tables | {
        "sites": [row | place for row in tables["sites"]],
        "controllers": [
            row | device | {"dst_rule": row["dst_rule"].replace("eu", "us-2007"), "utc_offset": ""}
            for row in tables["controllers"]
        ],
        "sensors": [row | {"kind": "occupancy"} for row in tables.get("sensors", [])],
        "events": [row for row in tables["events"] if row["anchor"] == "clock"],
    }


def sure_to_fire(tables: Tables) -> Tables:
    """Without the steps of targets that no ordinary clock step of any season acts on every week.

    What such a step did may lie more than 366 days back, and then counts in one period and not in another.
    """
    steady = {
        (row["controller_id"], row["targets"])
        for row in tables["events"]
        if row["anchor"] == "clock" and not row["from"] and not row["calendar"]
    }

    def sure(row: Row) -> bool:
        return all((row["controller_id"], one.strip()) in steady for one in row["targets"].split(";"))

    return tables | {"events": [row for row in tables["events"] if sure(row)]}


def added_up(parts: Iterable[Figures]) -> Figures:
    """Figures of several periods, added; blank stays blank."""
    total: Figures = {}
    for part in parts:
        for circuit, found in part.items():
            sums = total.setdefault(circuit, dict.fromkeys(FIGURES, 0.0))
            for name, value in found.items():
                before = sums[name]
                sums[name] = None if value is None or before is None else before + value
    return total
