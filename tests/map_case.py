"""Stores of sites alone, for the tests of the map, and the map that is drawn of them."""

import random
from collections.abc import Iterable
from math import asin, degrees
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

import polars as pl

from auditor.model import SEVERITIES
from auditor.report.map import map_view
from auditor.report.page import templates
from auditor.store import open_store

SVG = "{http://www.w3.org/2000/svg}"


class Site(NamedTuple):
    """A site for a store; ``counts`` are its open findings by severity, worst first."""

    latitude: float
    longitude: float
    counts: tuple[int, int, int, int] = (0, 0, 0, 0)
    name: str | None = None
    region: str | None = None


def all_over_the_globe(number: int, name: str = "") -> list[Site]:
    """Sites anywhere, land or sea; one in seventeen with a critical finding."""
    dice = random.Random(20261103)
    places = [(degrees(asin(dice.uniform(-1, 1))), dice.uniform(-180, 180)) for _ in range(number)]
    worst = [dice.choices([0, 1, 2, 3, 4], [1, 3, 3, 2, 8])[0] for _ in range(number)]
    return [
        Site(*place, tuple(int(k == rank) for k in range(4)), f"{name} {k}", f"Region {k % 40}")
        for k, (place, rank) in enumerate(zip(places, worst, strict=True))
    ]


def view_of(folder: Path, sites: Iterable[Site], pages: bool = True) -> dict[str, Any]:
    """The view of a store with these sites, ranked as sites are: critical first, then as they come."""
    ranked = sorted(sites, key=lambda site: not site.counts[0])
    with open_store(folder / "map.duckdb") as connection:
        for table, rows in (("sites", _sites(ranked)), ("site_ranks", _ranks(ranked))):
            rows.write_parquet(folder / f"{table}.parquet")
            connection.execute(f"INSERT INTO {table} BY NAME FROM '{folder / table}.parquet'")
        return map_view(connection, lambda row: f"sites/{row['site_id']}.html" if pages else "")


def _sites(ranked: list[Site]) -> pl.DataFrame:
    rows = [(f"S{k}", site.name, site.region, site.latitude, site.longitude) for k, site in enumerate(ranked)]
    columns = {"site_id": pl.String, "name": pl.String, "region": pl.String}
    return pl.DataFrame(rows, columns | {"latitude": pl.Float64, "longitude": pl.Float64}, orient="row")


def _ranks(ranked: list[Site]) -> pl.DataFrame:
    rows = [(k + 1, f"S{k}", *site.counts) for k, site in enumerate(ranked)]
    columns = {"rank": pl.Int32, "site_id": pl.String} | dict.fromkeys(SEVERITIES, pl.Int32)
    return pl.DataFrame(rows, columns, orient="row")


def drawn(view: dict[str, Any]) -> str:
    """The map as it stands in a page."""
    return str(templates("XTS").get_template("front/map-parts.html.j2").module.sites(view))


def parsed(text: str) -> ElementTree.Element:
    """The map taken apart; raises where a tag or a quote is left open."""
    return ElementTree.fromstring(text)
