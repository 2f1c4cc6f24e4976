"""What must not matter does not: the order of rows, names, company, the zone of a clock, where a year is cut.

Each law is held against random portfolios (``tests/reference/random_portfolio.py``): one with every change of
the code, many at night. Nothing here knows an expected figure; runs are held against each other.
"""

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise
from random import Random

import polars as pl
import pytest

from .cases import Row
from .invariant_case import (
    ID_COLUMNS,
    Figures,
    Said,
    Tables,
    added_up,
    eastern_by_the_clock,
    figures,
    moved_west,
    of_sites,
    random_tables,
    renamed,
    said,
    shuffled,
    sure_to_fire,
    with_reader,
)
from .reference.figures import FIGURES

SEEDS = [1, *(pytest.param(seed, marks=pytest.mark.nightly) for seed in range(2, 41))]
DAYS = 45
# Of findings: these name ids and rows.
WORDS = {"summary", "remedy", "finding_id", "source_file", "source_row"}


@dataclass(frozen=True)
class Drawn:
    """A random portfolio, and what else a law draws."""

    seed: int

    @cached_property
    def tables(self) -> Tables:
        """A few sites, and the site of the newest reading."""
        return with_reader(random_tables(self.seed, 4))

    @cached_property
    def start(self) -> date:
        """For a third of the seeds clocks change within ``DAYS``; for the first in Europe and in America."""
        return date(2026, 1, 1) + timedelta(Random(self.seed).randrange(3 * 365))

    @cached_property
    def told(self) -> Said:
        return said(self.tables, self.start, DAYS)


@pytest.fixture(scope="module", params=SEEDS)
def drawn(request: pytest.FixtureRequest) -> Drawn:
    """Shared by all laws: what is said of a portfolio as it is takes as long as what is said of it bent."""
    return Drawn(request.param)


# Rows and names ---------------------------------------------------------------------------------------------


def test_the_order_of_rows_changes_no_byte_but_the_numbers_of_rows(drawn: Drawn) -> None:
    mixed = said(shuffled(drawn.tables, Random(drawn.seed)), drawn.start, DAYS)
    one, other = _files(drawn.told), _files(mixed)
    assert one.keys() == other.keys()
    assert {name for name in one if one[name] != other[name]} == set()


def _files(told: Said) -> dict[str, bytes]:
    """The result files; of findings all but the rows that they name and that their remedies quote."""
    findings = pl.read_csv(told.files["findings.csv"], infer_schema=False).drop("source_row", "remedy")
    return told.files | {"findings.csv": findings.write_csv().encode()}


def test_other_names_change_no_figure_and_no_finding(drawn: Drawn) -> None:
    every_row = [row for rows in drawn.tables.values() for row in rows]
    names = sorted({row[key] for row in every_row for key in ID_COLUMNS if key in row})
    # The other way round in order, and unlike any id before.
    others = {name: f"={len(names) - place:03} o'x" for place, name in enumerate(names)}
    told = said(renamed(drawn.tables, others.__getitem__), drawn.start, DAYS)
    assert {others[circuit]: row for circuit, row in drawn.told.figures.items()} == told.figures
    expected = Counter(_plain(row, others) for row in drawn.told.findings)
    assert expected == Counter(_plain(row, {}) for row in told.findings)


def _plain(row: Row, names: dict[str, str]) -> tuple[str, ...]:
    """A finding without its words, ids by their other names. A step is known by two ids."""
    ids = {
        key: "/".join(names.get(one, one) for one in row[key].removeprefix("'").split("/"))
        for key in ("site_id", "controller_id", "subject_id")
    }
    return tuple((row | ids)[key] for key in row if key not in WORDS)


# Company ----------------------------------------------------------------------------------------------------


def test_a_portfolio_says_what_its_parts_say(drawn: Drawn) -> None:
    """But for ``outlier``, which compares with peers. ``stale-export`` and waivers go by the newest reading
    of the portfolio, which the reader has, a site of both parts."""
    sites = [row["site_id"] for row in drawn.tables["sites"] if row["site_id"] != "reader"]
    halves = [of_sites(drawn.tables, [*part, "reader"]) for part in (sites[::2], sites[1::2])]
    whole, parts = drawn.told, [said(half, drawn.start, DAYS) for half in halves]
    assert whole.figures == {circuit: row for part in parts for circuit, row in part.figures.items()}
    assert _told(whole.findings) == _told([row for part in parts for row in part.findings])
    assert _told(whole.not_evaluated) == _told([row for part in parts for row in part.not_evaluated])


def _told(rows: list[Row]) -> Counter[tuple[str, ...]]:
    """All that rows say but for where they stood, which remedies quote; what is said of the reader once."""
    told = [row for row in rows if row["rule"] != "outlier"]
    cells = [tuple(row[key] for key in row if key not in ("source_row", "remedy")) for row in told]
    of_reader = {row for row in cells if "reader" in row}
    return Counter(row for row in cells if row not in of_reader) + Counter(of_reader)


# Zones ------------------------------------------------------------------------------------------------------

WEST = {1: "America/Chicago", 2: "America/Denver", 3: "America/Los_Angeles"}  # by hours behind New York
MOVED_WITH_THE_CLOCK = ("on_minutes", "conditional_minutes", "closed_minutes", "curfew_minutes", "kwh")


def test_a_site_moves_to_another_zone_with_its_clock_its_hours_and_its_sun(drawn: Drawn) -> None:
    """What a clock decides stays to the second. The sun is met some hours later in its own year: from one day
    to the next a sunset moves by less than 130 s at 40.7 degrees (1.5 minutes by declination, which changes
    by up to 0.4 degrees a day, and 0.5 by the equation of time), so in three hours by less than 17 s."""
    hours = Random(drawn.seed).choice(list(WEST))
    here = eastern_by_the_clock(drawn.tables)
    found = figures(here, drawn.start, DAYS)
    there = figures(moved_west(here, WEST[hours], hours), drawn.start, DAYS)
    assert _some(found, MOVED_WITH_THE_CLOCK) == _some(there, MOVED_WITH_THE_CLOCK)
    for circuit, row in found.items():
        for name in ("daylight_minutes", "dark_open_minutes"):
            expected = None if row[name] is None else pytest.approx(row[name], abs=DAYS * 2 * 17 / 60)
            assert there[circuit][name] == expected, (circuit, name)


def _some(found: Figures, names: tuple[str, ...]) -> Figures:
    return {circuit: {name: row[name] for name in names} for circuit, row in found.items()}


# Periods ----------------------------------------------------------------------------------------------------


def test_a_period_cut_in_two_adds_up_to_itself(drawn: Drawn) -> None:
    cut = Random(drawn.seed).randrange(1, DAYS)
    _adds_up(drawn, [drawn.start, drawn.start + timedelta(cut), drawn.start + timedelta(DAYS)])


@pytest.mark.parametrize("months", [3, pytest.param(12, marks=pytest.mark.nightly)])
def test_the_months_of_a_year_add_up_to_it(drawn: Drawn, months: int) -> None:
    """At night; with every change its last quarter does."""
    year = drawn.start.year
    _adds_up(drawn, [date(year, month, 1) for month in range(13 - months, 13)] + [date(year + 1, 1, 1)])


def _adds_up(drawn: Drawn, edges: list[date]) -> None:
    """The figures from each edge to the next, added, are those from the first to the last."""
    tables = sure_to_fire(drawn.tables)
    whole = figures(tables, edges[0], (edges[-1] - edges[0]).days)
    parts = added_up(figures(tables, one, (other - one).days) for one, other in pairwise(edges))
    assert parts.keys() == whole.keys()
    for circuit, row in whole.items():
        for name in FIGURES:  # whole seconds over 60, and kWh: exact but for the adding of binary fractions
            expected = None if row[name] is None else pytest.approx(row[name], rel=1e-9, abs=1e-6)
            assert parts[circuit][name] == expected, (circuit, name)
