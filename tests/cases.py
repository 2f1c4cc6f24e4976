"""Rule cases: tiny portfolios as data, many at a time through everything but the result files.

``fixtures/cases/<rule>.toml`` holds the cases of one rule, ``_base.toml`` what they need not say. Cases that
ask for the same period and settings run as one portfolio, each with its ids behind a number of its own, so
that none can see another.
"""

import csv
import io
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from auditor.rules import load_rules

from .year_case import Row, finding_rows, judged, ready_for_rules, result_rows, worked_year

CASES = Path(__file__).parent.parent / "fixtures" / "cases"
KINDS = ("fires", "silent", "threshold", "not evaluated")
Tables = dict[str, list[Row]]

_ALWAYS_THERE = ("sites", "controllers", "circuits")  # one row each where a case does not say otherwise
_IDS = ("site_id", "controller_id", "circuit_id", "sensor_id", "subject_id")  # columns that hold one id
_LISTS = ("targets", "circuits")  # columns that hold ids joined by ;
_NEEDED = ("event_id", "action")  # what an empty table of steps must have beside the base's columns
_RUN_KEYS = {"start", "days", "settings", "moved", "apart"}
_CASE_KEYS = {"name", "kind", "place", "findings", "figures", "not_evaluated"} | _RUN_KEYS
_FIGURE_KEYS = {"minutes", "kwh", "within", "first_date", "last_date"}
_FIGURE_KEYS |= {"fix", "says", "unsaid", "seen", "remedy"}


@dataclass(frozen=True)
class Run:
    """What cases must share to be one portfolio.

    ``settings``: with the base's settings. ``moved``: with the thresholds that the files of the rules move.
    ``apart``: only with cases that say the same, for rows that hold for every site. ``margins``: lines of
    ``[figures]``, for cases of evidence.
    """

    start: str
    days: int
    settings: bool = False
    moved: bool = False
    apart: str = ""
    margins: str = ""


@dataclass(frozen=True, eq=False)
class Case:
    """One site and what a rule says about it.

    ``findings`` are "kind id severity status", ``not_evaluated`` "kind id column"; ``figures`` hold for every
    finding of the case: minutes and kWh with ``within`` as tolerance, dates, fix, words that the summary
    ``says``, that the evidence (``seen``) and the ``remedy`` hold, and words ``unsaid`` in all three.
    """

    rule: str
    name: str
    kind: str
    run: Run
    tables: Tables
    findings: tuple[str, ...]
    figures: dict[str, Any]
    not_evaluated: tuple[str, ...]


@dataclass(frozen=True)
class Answer:
    """The program's rows about one case's site, with the case's own ids."""

    findings: list[Row]
    not_evaluated: list[Row]


@cache
def base() -> dict[str, Any]:
    """What a case need not say."""
    return _toml(CASES / "_base.toml")


def case_files() -> dict[str, Path]:
    """Every file of cases by the rule that it is about."""
    return {path.stem: path for path in sorted(CASES.glob("[!_]*.toml"))}


@cache
def load_cases() -> tuple[Case, ...]:
    """Every case of every rule."""
    return tuple(case for rule, path in case_files().items() for case in read_cases(rule, path))


def read_cases(rule: str, path: Path) -> list[Case]:
    """The cases of one file; its ``place``, ``start`` and ``days`` hold where a case has none of its own."""
    content = _toml(path)
    shared = {key: content[key] for key in ("place", "start", "days") if key in content}
    return [_case(rule, shared | found) for found in content["case"]]


def moved(rule: str) -> dict[str, float]:
    """The thresholds that the rule's file moves, for the cases that say ``moved``."""
    return dict(_toml(case_files()[rule]).get("moved", {}))


def _toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _case(rule: str, found: dict[str, Any]) -> Case:
    _check_case(rule, found)
    chosen = {"start": base()["start"], "days": base()["days"]} | {
        key: found[key] for key in _RUN_KEYS if key in found
    }
    return Case(
        rule,
        found["name"],
        found["kind"],
        Run(**chosen),
        tables_of(rule, found),
        tuple(found.get("findings", ())),
        found.get("figures", {}),
        tuple(found.get("not_evaluated", ())),
    )


def _check_case(rule: str, found: dict[str, Any]) -> None:
    """Nothing in a case may be misspelt, and no time bare: TOML would take 12:30 for one of its own."""
    strange = found.keys() - _CASE_KEYS - base()["row"].keys()
    strange |= found.get("figures", {}).keys() - _FIGURE_KEYS
    bare = [value for value in found.values() if not isinstance(value, str | int | bool | list | dict)]
    if strange or bare or found["kind"] not in KINDS:
        raise ValueError(f"{rule}: {found['name']}: not understood: {strange or bare or found['kind']}")


def tables_of(rule: str, found: dict[str, Any]) -> Tables:
    """The tables of a case, filled in from the base."""
    return {table: _rows(rule, table, found) for table in base()["row"]}


def _rows(rule: str, table: str, found: dict[str, Any]) -> list[Row]:
    """A case's table: its own columns before those that are filled in."""
    defaults = _defaults(rule, table, found)
    rows = [defaults | row for row in _given(table, found)]
    if table == "sites":
        rows = [base()["place"][row.pop("place")] | row for row in rows]
    if table == "events":
        rows = [{"event_id": f"E{number}"} | row for number, row in enumerate(rows, 1)]
    return rows


def _defaults(rule: str, table: str, found: dict[str, Any]) -> Row:
    """What a row has that says nothing; it hangs on the first controller of its case."""
    row: Row = dict(base()["row"][table])
    if table == "sites":
        row["place"] = found.get("place", row["place"])
    if table == "waivers":
        row["rule"] = rule
    if table != "controllers" and "controller_id" in row:
        first = next(iter(_given("controllers", found)), {})
        row["controller_id"] = first.get("controller_id", row["controller_id"])
    return row


def _given(table: str, found: dict[str, Any]) -> list[Row]:
    """The rows that a case writes itself."""
    if table not in found:
        return [{}] if table in _ALWAYS_THERE else []
    lines = csv.reader(io.StringIO(found[table].strip()), skipinitialspace=True, strict=True)
    header, *rows = ([cell.strip() for cell in line] for line in lines)
    crooked = [row for row in rows if len(row) != len(header)]
    if crooked:
        raise ValueError(f"{found['name']}: {table}: {crooked[0]} has not the columns {header}")
    return [dict(zip(header, row, strict=True)) for row in rows]


@cache
def answers(run: Run) -> dict[Case, Answer]:
    """What the program says about every case of a run."""
    cases = [case for case in load_cases() if case.run == run]
    thresholds = {case.rule: moved(case.rule) for case in cases} if run.moved else {}
    return ask(cases, (base()["settings"] if run.settings else "") + settings_text(thresholds), run)


def settings_text(rules: Mapping[str, Mapping[str, object]]) -> str:
    """``portfolio.toml`` with these keys of these rules; values as TOML writes them."""
    sections = (f"[rules.{rule}]\n{_lines(keys)}" for rule, keys in rules.items())
    return "".join(sections)


def _lines(keys: Mapping[str, object]) -> str:
    return "".join(f"{key} = {value}\n" for key, value in keys.items())


def ask(cases: Iterable[Case], settings: str, run: Run) -> dict[Case, Answer]:
    """Runs the cases as one portfolio over a run's period. A rejected row is a mistake in the case."""
    numbered = {f"{number:04}.": case for number, case in enumerate(cases)}
    with TemporaryDirectory() as folder:
        source = Path(folder)
        (source / "portfolio.toml").write_text(settings, encoding="utf-8")
        write_cases(source, numbered)
        connection, read = worked_year(source, date.fromisoformat(run.start), run.days)
    with connection:
        ready_for_rules(connection)
        judged(connection, read, load_rules())
        rejected = result_rows(connection, "rejected")
        told = finding_rows(connection), result_rows(connection, "not_evaluated")
    if rejected:
        raise ValueError(f"rejected rows: {rejected}")
    found, unseen = map(by_case, told)
    return {case: Answer(found.get(prefix, []), unseen.get(prefix, [])) for prefix, case in numbered.items()}


def quietly(stage: str, length: int) -> Callable[[Any], None]:
    """A run's progress, shown to nobody."""
    return lambda step: None


def write_cases(folder: Path, numbered: Mapping[str, Case]) -> None:
    """The cases' tables, and a site of its own with the newest reading of the portfolio."""
    reader = {"site_id": "reader", "controller_id": "reader", "read_at": base()["newest_read_at"]}
    tables = {"sites": [base()["place"]["dark"] | {"site_id": "reader"}], "controllers": [reader]}
    for prefix, case in numbered.items():
        for table, rows in case.tables.items():
            tables.setdefault(table, []).extend(_prefixed(prefix, row) for row in rows)
    _check_readings(tables["controllers"])
    for table, rows in tables.items():
        columns = dict.fromkeys((*_NEEDED, *base()["row"]["events"])) if table == "events" else {}
        columns |= dict.fromkeys(column for row in rows for column in row)
        if columns:
            _write_table(folder / f"{table}.csv", list(columns), rows)


def _write_table(path: Path, columns: list[str], rows: list[Row]) -> None:
    with path.open("w", encoding="utf-8", newline="") as lines:
        writer = csv.DictWriter(lines, columns)
        writer.writeheader()
        writer.writerows(rows)


def _check_readings(controllers: list[Row]) -> None:
    newest = datetime.fromisoformat(base()["newest_read_at"])
    late = [row for row in controllers if datetime.fromisoformat(row["read_at"]) > newest]
    if late:
        raise ValueError(f"read later than {newest}, the newest reading of every portfolio: {late}")


def _prefixed(prefix: str, row: Row) -> Row:
    """A row with its ids made the case's own; ``*`` (every site) and blanks stay."""
    own = {key: prefix + row[key] for key in _IDS if row.get(key, "*") not in ("", "*")}
    lists = {key: ";".join(prefix + name for name in row[key].split(";")) for key in _LISTS if row.get(key)}
    return row | own | lists


def by_case(rows: list[Row]) -> dict[str, list[Row]]:
    """Rows by the number of their case, with the case's own ids."""
    found: dict[str, list[Row]] = {}
    for row in rows:
        prefix = row["site_id"][:5]
        found.setdefault(prefix, []).append({key: cell.replace(prefix, "") for key, cell in row.items()})
    return found
