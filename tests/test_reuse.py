"""A run over a store of the same year works out only what changed, and gives the bytes of a full run."""

import csv
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from auditor import reuse, year
from auditor.kept import FORMAT
from auditor.store import Connection, connected

from .conftest import Console, contents, run_audit
from .reference.random_portfolio import write

DAYS = 20
SITES = 10
YEAR = (
    "site_days",
    "site_spans",
    "timeline",
    "right_clock_timeline",
    "exposures",
    "conflicts",
    "silent_steps",
    "sun_shifts",
    "suspensions",
    "clock_errors",
    "circuit_figures",
)
NIGHTLY = pytest.mark.nightly
# A change in the first row of a table, and how many sites of ten it touches.
CHANGES = [
    pytest.param("controllers", "dst_rule", "none", 1, id="a clock"),
    pytest.param("sensors", "in_use", "no", 1, id="a sensor out of use"),
    pytest.param("sites", "name", "Another name", 0, id="a name", marks=NIGHTLY),
    pytest.param("sites", "latitude", "12.5", 1, id="a place", marks=NIGHTLY),
    pytest.param("sites", "rate_per_kwh", "0.99", 1, id="a rate", marks=NIGHTLY),
    pytest.param("circuits", "area", "security", 1, id="an area", marks=NIGHTLY),
    pytest.param("circuits", "connected_watts", "77", 1, id="a load", marks=NIGHTLY),
    pytest.param("events", "days", "SU", 1, id="a step", marks=NIGHTLY),
    pytest.param("hours", "closes", "23:45", 1, id="opening hours", marks=NIGHTLY),
    pytest.param("closures", "date", "2026-11-19", 1, id="a closed day", marks=NIGHTLY),
]


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A portfolio of ten sites, some with wrong clocks, and the store that an audit of it kept."""
    folder = tmp_path_factory.mktemp("base")
    write(folder / "in", 7)
    run_audit(folder / "in", folder / "out", folder / "kept.duckdb", DAYS, pages=0)
    return folder


@pytest.fixture
def computed(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many sites each batch was worked out for."""
    seen: list[int] = []
    plain = year.compute

    def watched(session: Connection, first: int, last: int) -> Connection:
        seen.append(last - first + 1)
        return plain(session, first, last)

    monkeypatch.setattr(year, "compute", watched)
    monkeypatch.setattr(year, "FEW", 1)
    return seen


def change(folder: Path, table: str, column: str, value: str, site: str = "") -> None:
    """One cell of the first row that is of one site (blank: of whichever)."""
    path = folder / f"{table}.csv"
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    column = next((name for name in rows[0] if name.strip().lower() == column), column)
    row = next(row for row in rows if row.get("site_id") != "*" and site in ("", row.get("site_id")))
    assert row.get(column) != value
    row[column] = value
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(dict.fromkeys([*rows[0], column])), restval="")
        writer.writeheader()
        writer.writerows(rows)


def audited(base: Path, folder: Path, source: Path, days: int = DAYS) -> dict[str, bytes]:
    """The results of a run over a copy of the store."""
    folder.mkdir()
    shutil.copy(base / "kept.duckdb", folder / "kept.duckdb")
    run_audit(source, folder / "out", folder / "kept.duckdb", days, pages=0)
    return contents(folder / "out")


def rows_as_they_stand(store_file: Path) -> dict[str, list[tuple[object, ...]]]:
    """The tables of the year, each row in its place: a rule of the user's own may take the first of some."""
    with connected(store_file, read_only=True) as store:
        return {table: store.execute(f"FROM {table}").fetchall() for table in YEAR}


@pytest.mark.parametrize(("table", "column", "value", "touched"), CHANGES)
def test_only_the_site_that_changed_is_worked_out_and_the_bytes_are_those_of_a_full_run(
    base: Path,
    computed: list[int],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    table: str,
    column: str,
    value: str,
    touched: int,
) -> None:
    shutil.copytree(base / "in", tmp_path / "in")
    change(tmp_path / "in", table, column, value)
    short = audited(base, tmp_path / "short", tmp_path / "in")
    assert sum(computed) == touched
    monkeypatch.setattr(reuse, "method", lambda: "another version of the program")
    assert short == audited(base, tmp_path / "full", tmp_path / "in")
    assert sum(computed) == touched + SITES
    in_short, in_full = (rows_as_they_stand(tmp_path / run / "kept.duckdb") for run in ("short", "full"))
    for name in YEAR:
        assert in_short[name] == in_full[name], name


def test_a_run_says_how_many_sites_it_took_and_results_do_not(
    base: Path,
    computed: list[int],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    console: Callable[..., Console],
) -> None:
    monkeypatch.setattr(year, "FEW", 5)  # its own number
    shutil.copytree(base / "in", tmp_path / "in")
    shutil.copy(base / "kept.duckdb", tmp_path)
    change(tmp_path / "in", "sites", "latitude", "12.5", site="0004")
    options = ("--days", DAYS, "--pages", 10, "--store", tmp_path / "kept.duckdb", "--out", tmp_path / "out")
    status, _, said = console("run", tmp_path / "in", *options)
    assert status == 0
    # Of ten sites the fourth changed: three before it are too few to fetch, six after it are fetched.
    assert "Worked out 4 sites; took 6 unchanged from the run before.\n" in said
    assert sum(computed) == 4


def test_a_store_of_another_layout_is_not_taken_from(base: Path, computed: list[int], tmp_path: Path) -> None:
    shutil.copytree(base, tmp_path / "older")
    with connected(tmp_path / "older" / "kept.duckdb") as store:
        store.execute("UPDATE store_format SET version = ?", [FORMAT - 1])
    audited(tmp_path / "older", tmp_path / "a", base / "in")
    assert sum(computed) == SITES


def test_what_concerns_all_sites_works_out_all(base: Path, computed: list[int], tmp_path: Path) -> None:
    audited(base, tmp_path / "a", base / "in", days=DAYS + 1)  # another period
    assert sum(computed) == SITES
    shutil.copytree(base / "in", tmp_path / "in")
    settings = tmp_path / "in" / "portfolio.toml"
    settings.write_text("[figures]\nhours_margin_minutes = 45\n", encoding="utf-8")
    audited(base, tmp_path / "b", tmp_path / "in")
    assert sum(computed) == 2 * SITES


def test_stretches_too_short_to_be_worth_a_fetch_are_worked_out(
    base: Path, computed: list[int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(year, "FEW", 13)
    audited(base, tmp_path / "a", base / "in")
    assert computed == [SITES]
