"""The year of a portfolio, and what the rules say of it, in a store in memory: no result file, no report."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

from auditor.loading import fill, read_judged, settings_of
from auditor.model import Rule, Settings
from auditor.period import audited_period
from auditor.resources import query, resource
from auditor.results import write_tables
from auditor.rules import load_rules, record_rules, run_rules
from auditor.store import Connection, open_store, run_script
from auditor.year import choose_right_clocks, run_right_clocks, run_year

from .reference.figures import FIGURES

Row = dict[str, str]
# Of two rows about one subject the program keeps one; only ids with a slash make two steps look like one.
_SAID_TWICE = """
    SELECT rule, subject_id FROM verdicts WHERE subject_kind <> 'step' AND missing IS NULL
    GROUP BY ALL HAVING count(*) > 1 ORDER BY ALL LIMIT 3
"""


def worked_year(folder: Path, start: date, days: int) -> tuple[Connection, Settings]:
    """A store with the portfolio and the figures of its circuits, and the portfolio's settings."""
    _, settings = settings_of(folder, load_rules())
    portfolio = read_judged(folder, start, days)
    connection = open_store(Path(":memory:"), portfolio.tables["sites"].height)
    fill(connection, portfolio, settings, audited_period(portfolio, start, days))
    run_year(connection, lambda sites: None)
    return connection, settings


def circuit_figures(connection: Connection) -> dict[str, dict[str, float | None]]:
    """By circuit and name, unrounded; minutes or kWh, None = blank."""
    rows = connection.execute(f"SELECT circuit_id, {', '.join(FIGURES)} FROM circuit_figures").fetchall()
    return {row[0]: dict(zip(FIGURES, row[1:], strict=True)) for row in rows}


def ready_for_rules(connection: Connection) -> None:
    """Everything else that rules read."""
    choose_right_clocks(connection)
    run_right_clocks(connection, lambda sites: None)
    run_script(connection, query("habits.sql"))


def judged(connection: Connection, settings: Settings, rules: Sequence[Rule]) -> None:
    """Fills ``findings`` and ``not_evaluated``."""
    run_rules(connection, rules, settings, lambda rule: None)
    if twice := connection.execute(_SAID_TWICE).fetchall():
        raise ValueError(f"said twice: {twice}")
    record_rules(connection, rules, settings)
    run_script(connection, query("rank/10_findings.sql"))


def result_rows(connection: Connection, table: str) -> list[Row]:
    """The rows of a result file, as the CSV has them."""
    return _as_text(connection, query(f"results/{table}.sql"))


def finding_rows(connection: Connection) -> list[Row]:
    """The rows of ``findings.csv`` with one column more: the evidence, ``seen``."""
    seen = {row["finding_id"]: row for row in _as_text(connection, "SELECT finding_id, seen FROM findings")}
    return [row | seen[row["finding_id"]] for row in result_rows(connection, "findings")]


def _as_text(connection: Connection, sql: str) -> list[Row]:
    found = connection.execute(f"SELECT csv_cell(COLUMNS(*)) FROM ({sql})")
    names = [column[0] for column in found.description]
    rows = [["" if cell is None else cell for cell in row] for row in found.fetchall()]
    return [dict(zip(names, row, strict=True)) for row in rows]


def result_files(connection: Connection, folder: Path) -> dict[str, bytes]:
    """The result files of a judged store by name, written into a folder that is not there yet."""
    for script in sorted(resource("queries/rank").glob("*.sql"))[1:]:  # findings are there already
        run_script(connection, script.read_text(encoding="utf-8"))
    folder.mkdir()
    write_tables(connection, folder)
    return {path.name: path.read_bytes() for path in folder.iterdir()}
