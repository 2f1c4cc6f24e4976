"""The SQL engine against the brute-force evaluator, on random portfolios that neither was made for.

The evaluator (tests/reference) shares no code and no method with the engine, and its sun comes from another
ephemeris. A sun step that lands within a second of another step decides over hours: two right answers then
lie far apart. Only such circuits may differ, and only few of them.
"""

import csv
from datetime import date
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.store import session
from auditor.year import compute
from tests.reference.compare import disagreement
from tests.reference.edges import fragile
from tests.reference.evaluate import evaluate
from tests.reference.figures import FIGURES
from tests.reference.random_portfolio import write
from tests.year_case import worked_year

# Twelve controllers each: a whole year, and stretches around every kind of change of the clocks. Some run
# with every change of the code, the others at night.
RUNS = ((101, date(2026, 11, 1), 365),)
AT_NIGHT = (
    (102, date(2027, 3, 1), 60),
    (104, date(2027, 2, 1), 75),
    (109, date(2028, 2, 20), 40),
    (103, date(2026, 10, 10), 50),
    (105, date(2026, 12, 15), 30),
    (106, date(2027, 4, 1), 40),
    (107, date(2027, 6, 1), 45),
    (108, date(2026, 9, 1), 45),
)
ALL = (*RUNS, *(pytest.param(*run, marks=pytest.mark.nightly) for run in AT_NIGHT))


@pytest.mark.parametrize(("seed", "start", "days"), ALL)
def test_every_figure_agrees_with_the_brute_force_evaluation(
    seed: int, start: date, days: int, tmp_path: Path
) -> None:
    folder, out = tmp_path / "portfolio", tmp_path / "out"
    write(folder, seed)
    audit(folder, out, start, days, None, lambda stage, length: lambda step: None, pages=0)
    expected = evaluate(folder, start, days)
    found = _figures(out / "circuits.csv")
    assert (out / "rejected.csv").read_text().count("\n") == 1, "the random portfolio is valid"
    assert found.keys() == expected.keys()
    apart = disagreement(folder, found, expected, days)
    if apart:
        unsure = fragile(folder, start, days)
        assert apart.keys() <= unsure, {circuit: (found[circuit], expected[circuit]) for circuit in apart}
        assert len(apart) <= len(found) / 10


def test_kinds_of_spans_are_numbers_to_the_engine(tmp_path: Path) -> None:
    """A bare text beside them in a UNION or in VALUES turns them all into texts, slower to join and sort."""
    write(tmp_path, 109)
    year, _ = worked_year(tmp_path, date(2028, 2, 20), 2)
    tables = compute(session(year), 1, 1)
    columns = "duckdb_columns() WHERE database_name = 'temp' AND column_name = 'kind'"
    kinds = dict(tables.execute(f"SELECT table_name, data_type LIKE 'ENUM%' FROM {columns}").fetchall())
    asked = ("b_planned", "b_merged", "b_spans", "b_walls", "b_asks", "b_overlaps")
    assert {table: kinds[table] for table in asked} == dict.fromkeys(asked, True)


def _figures(path: Path) -> dict[str, dict[str, float | None]]:
    with path.open(newline="", encoding="utf-8") as file:
        return {
            row["circuit_id"]: {name: float(row[name]) if row[name] else None for name in FIGURES}
            for row in csv.DictReader(file)
        }
