"""Small portfolios for pictures, and pictures read back into dates and minutes."""

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from xml.etree import ElementTree as ET

import duckdb

from auditor.audit import audit
from auditor.picture import Picture, pictures

from .conftest import Row, Tables, write_folder

SVG = "{http://www.w3.org/2000/svg}"
NEW_YORK: Row = {"latitude": 40.7, "longitude": -74.0, "timezone": "America/New_York"}
Spans = dict[str, list[tuple[int, int, int]]]


def one_site(place: Row, area: str = "parking", hours: list[Row] | None = None, **device: object) -> Tables:
    """A site S with a device D and a circuit C; no steps yet."""
    return {
        "sites": [{"site_id": "S", **place}],
        "controllers": [
            {"controller_id": "D", "site_id": "S", "read_at": "2026-11-03T12:00:00Z", "dst_rule": "zone"}
            | device
        ],
        "circuits": [{"circuit_id": "C", "controller_id": "D", "area": area}],
        "events": [],
        "hours": [{"site_id": "S", **row} for row in hours or []],
    }


def step(action: str, time: str, **more: object) -> Row:
    """A step on C every day at a time of the device's clock."""
    row: Row = {"controller_id": "D", "targets": "C", "action": action, "days": "daily"}
    return row | {"event_id": f"{action} {time}", "anchor": "clock", "time": time} | more


@contextmanager
def kept(folder: Path, tables: Tables, first: str, days: int) -> Iterator[duckdb.DuckDBPyConnection]:
    """The store of an audit, read-only, as anybody may open it later."""
    source = write_folder(folder / "in", {name: rows for name, rows in tables.items() if rows})
    if not tables["events"]:
        (source / "events.csv").write_text("event_id,controller_id,targets,action,days,anchor\n")
    start = date.fromisoformat(first)
    audit(
        source,
        folder / "out",
        start,
        days,
        folder / "store.duckdb",
        lambda stage, length: lambda step: None,
        pages=0,
    )
    with duckdb.connect(str(folder / "store.duckdb"), read_only=True) as connection:
        yield connection


def drawn(folder: Path, tables: Tables, first: str, days: int) -> Picture:
    """The picture of circuit C."""
    with kept(folder, tables, first, days) as connection:
        return pictures(connection, ["C"])["C"]


def paths(svg: str) -> dict[str, str]:
    """What is painted: the path of each texture."""
    root = ET.fromstring(svg)
    found = {}
    for path in root.iter(f"{SVG}path"):
        if fill := re.fullmatch(r"url\(#\w+-(\w+)\)", path.get("fill", "")):
            found[fill[1]] = path.get("d", "")
    return found


def texts(svg: str) -> list[str]:
    """All words of a picture, in the order in which they are drawn."""
    return ["".join(text.itertext()) for text in ET.fromstring(svg).iter(f"{SVG}text")]


def lines(svg: str, kind: str) -> list[str]:
    """The path data of elements of a class."""
    return [
        path.get("d", "") for path in ET.fromstring(svg).iter(f"{SVG}path") if kind in path.get("class", "")
    ]


def minutes(path: str) -> dict[int, set[int]]:
    """Which minutes a path of outlines covers on each day: crossings of the middle of each minute, counted.

    An independent reading of what SVG means: nonzero winding of M, h, v and z, in whole numbers.
    """
    winding: dict[int, dict[int, int]] = {}
    for part in path.split("M")[1:]:
        x, y = map(int, re.match(r"(-?\d+) (-?\d+)", part).group(0).split())
        for way, length in re.findall(r"([hv])(-?\d+)", part):
            if way == "v":
                y += int(length)
                continue
            there = x + int(length)
            for day in range(min(x, there), max(x, there)):
                edges = winding.setdefault(day, {})
                edges[y] = edges.get(y, 0) + (1 if there > x else -1)
            x = there
    return {day: _covered(edges) for day, edges in winding.items()}


def _covered(edges: dict[int, int]) -> set[int]:
    covered: set[int] = set()
    count, before = 0, 0
    for y in sorted(edges):
        if count:
            covered |= set(range(before, y))
        count, before = count + edges[y], y
    return covered


def told(picture: Picture, name: str) -> list[str]:
    """A part of the picture's data, a text for each date."""
    return [
        text
        for part in json.loads(picture.data)[name].split(";")
        for text, _, times in [part.partition("*")]
        for _ in range(int(times or 1))
    ]
