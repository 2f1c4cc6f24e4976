"""Pictures against the figures: what is painted adds up to them; size, ids and words of the whole demo."""

import csv
import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import duckdb
import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, given, settings

from auditor.picture import Picture, pictures
from auditor.picture.paints import NAMES
from auditor.picture.reading import years

from .conftest import run_audit
from .picture_case import minutes, paths
from .reference.random_portfolio import write

FIXTURES = Path(__file__).parent.parent / "fixtures"
LARGEST = 60_000  # bytes a circuit, the small picture and the data included


@pytest.fixture(scope="module")
def store(demo_store: Path) -> Iterator[duckdb.DuckDBPyConnection]:
    with duckdb.connect(str(demo_store), read_only=True) as connection:
        yield connection


@pytest.fixture(scope="module")
def drawn(store: duckdb.DuckDBPyConnection) -> dict[str, Picture]:
    return pictures(store, circuits(store))


def circuits(connection: duckdb.DuckDBPyConnection) -> list[str]:
    return [row[0] for row in connection.execute("SELECT circuit_id FROM circuits").fetchall()]


def figures(connection: duckdb.DuckDBPyConnection) -> dict[str, dict[str, Any]]:
    answer = connection.execute(
        "SELECT circuit_id, area, must_be_lit, figures.* EXCLUDE (site_id, controller_id, circuit_id) "
        "FROM circuit_figures AS figures JOIN circuits USING (circuit_id)"
    )
    names = [column[0] for column in answer.description]
    return {row[0]: dict(zip(names, row, strict=True)) for row in answer.fetchall()}


def check_figures(connection: duckdb.DuckDBPyConnection) -> int:
    """Holds every circuit's paints against its figures; gives the number of circuits."""
    known = figures(connection)
    count = 0
    for year in years(connection, list(known)):
        own = known[year.head["circuit_id"]]
        exact, drawn = Counter[str](), Counter[str]()
        pieces = zip(*(column.tolist() for column in year.pieces), strict=True)
        for _, number, _, start, end, seconds in pieces:
            exact[NAMES[number]] += seconds / 60
            drawn[NAMES[number]] += end - start
        for figure, paints in told_by(own).items():
            wanted = own[figure] or 0
            assert sum(exact[paint] for paint in paints) == pytest.approx(wanted, abs=1e-6), figure
            rounding = 2 * len(year.pieces.day) * 0.5  # half a minute at either end of each piece
            assert abs(sum(drawn[paint] for paint in paints) - wanted) <= rounding + 1
        count += 1
    return count


def told_by(own: dict[str, Any]) -> dict[str, tuple[str, ...]]:
    """Which paints make up a figure of a circuit."""
    told: dict[str, tuple[str, ...]] = {
        "on_minutes": ("on-dark", "on-dim", "on-by-day", "on-day", "on-closed"),
        "dark_open_minutes": ("unlit", "off-open"),
    }
    if own["must_be_lit"] is None:  # else what is left to a detector may be painted as a duty not met
        told["conditional_minutes"] = ("maybe",)
    if own["area"] == "interior":
        told["closed_minutes"] = ("on-closed",)
    else:
        told["daylight_minutes"] = ("on-day", "on-by-day")
    return told


def test_the_demo_is_painted_as_its_figures_say(store: duckdb.DuckDBPyConnection) -> None:
    assert check_figures(store) == len(figures(store)) > 900


@pytest.mark.nightly
@given(seed=st.integers(0, 10_000))
@settings(max_examples=3, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_the_portfolio_it_is_painted_as_its_figures_say(
    tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    folder = tmp_path_factory.mktemp("random")
    write(folder / "in", seed)
    run_audit(folder / "in", folder / "out", folder / "store.duckdb", days=70, pages=0)
    with duckdb.connect(str(folder / "store.duckdb"), read_only=True) as connection:
        assert check_figures(connection)
        for picture in pictures(connection, circuits(connection)).values():
            ET.fromstring(picture.svg)


def test_every_picture_is_light_and_well_formed_and_its_ids_are_its_own(drawn: dict[str, Picture]) -> None:
    ids: Counter[str] = Counter()
    for picture in drawn.values():
        parts = [picture.svg, picture.data] + ([picture.right_clock.svg] if picture.right_clock else [])
        assert sum(len(part.encode()) for part in parts) < LARGEST
        for part in parts[::2]:
            ET.fromstring(part)
            ids.update(re.findall(r'\sid="([^"]+)"', part))
        borrowed = re.findall(r'(?:href="|url\()#([\w-]+)', "".join(parts[::2]))
        assert set(borrowed) <= set(ids)
    assert max(ids.values()) == 1


def test_the_same_store_gives_the_same_bytes_in_whatever_order(
    store: duckdb.DuckDBPyConnection, drawn: dict[str, Picture]
) -> None:
    some = list(drawn)[::90]
    again = pictures(store, some[::-1])
    assert again == {circuit: drawn[circuit] for circuit in some}


TITLES = {  # planted by fixtures/demo_maker; hours and dates from findings.csv
    "L-0012-A-1": "Lit up to 1 h 30 min before sunset, every day",
    "L-0204-A-2": "Lit up to 45 min into daylight, every day",
    "L-0007-B-1": "Switches 1 h late, from 14 March to 31 October",
    "L-0020-A-1": "Its clock steps come 1 h late, from 14 March to 4 April",
    "L-0511-A-4": "Switches 30 min late, from 3 October to 4 April",
    "L-0032-A-1": "Left by hand in on; lit all day, every day",
    "L-0015-A-1": "On all through the night window, every night",
    "M-0301-A-4": "Never on",
    "L-0023-A-3": "On day and night, without a break; lit all day, every day",
    "M-0004-B-1": "On for 57 % of the closed time, up to 17 h 30 min without a break",
}


def test_titles_say_what_was_planted(drawn: dict[str, Picture]) -> None:
    assert {circuit: drawn[circuit].title for circuit in TITLES} == TITLES


def test_every_planted_fault_of_light_has_its_words(drawn: dict[str, Picture]) -> None:
    said = {
        "lit-in-daylight": r"[Ll]it (up to|all day|by day)",
        "dark-while-open": "[Dd]ark while open up to",
        "dark-around-closing": "[Dd]ark around closing or opening up to",
        "duty-not-met": "[Nn]ot lit while a duty asks for light",
        "no-night-cutoff": "[Oo]n all through the night window",
        "interior-lit-when-closed": "[Oo]n for .* of the closed time",
        "always-on": "[Oo]n day and night",
        "never-on": "[Nn]ever on",
        "left-in-hand": "[Ll]eft by hand",
    }
    with (FIXTURES / "planted.csv").open(encoding="utf-8", newline="") as file:
        planted = [row for row in csv.DictReader(file) if row["subject_kind"] == "circuit"]
    found = [row for row in planted if row["rule"] in said]
    assert {row["rule"] for row in found} == set(said)
    for row in found:
        assert re.search(said[row["rule"]], drawn[row["subject_id"]].description), row
    calm = {key for key, picture in drawn.items() if re.match("Nothing stands out|No finding", picture.title)}
    assert len(calm) > 700 and calm.isdisjoint(row["subject_id"] for row in planted)


def test_a_missed_change_is_a_step_in_all_that_the_clock_switches(drawn: dict[str, Picture]) -> None:
    """L-0007-B keeps standard time in Philadelphia: from 14 March 2027, date 133, all comes an hour later."""
    starts: dict[int, set[int]] = defaultdict(set)
    for path in paths(drawn["L-0007-B-1"].svg).values():
        for day, lit in minutes(path).items():
            starts[day] |= lit
    monday_before, monday_after = min(starts[134 - 7]), min(starts[134])
    assert monday_after - monday_before == 60
