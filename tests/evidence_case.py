"""Evidence cases: tiny portfolios as data, with the outcomes that a hand worked out.

``fixtures/evidence/<item>.toml`` holds the cases of one item: tables as in the cases of rules, the edition
that is asked, and the outcomes. Cases of one period, of the same ``apart`` and the same ``margins`` (lines
of ``[figures]``) are sites of one store; each has ids of its own.
"""

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from auditor.audit import audit
from auditor.codes import load_codes
from auditor.evidence import evidence
from auditor.evidence.deciding import Row
from auditor.kept import FORMAT, kept_store

from .cases import Case, Run, base, quietly, tables_of, write_cases

EVIDENCE = Path(__file__).parent.parent / "fixtures" / "evidence"
AMENDMENTS = Path(__file__).parent.parent / "fixtures" / "codes"
_RUN_KEYS = {"start", "days", "apart", "margins"}
_FACTS = {"says", "unsaid", "minutes", "kwh", "first_date", "last_date", "example", "limits"}
_KEYS = _RUN_KEYS | _FACTS | {"name", "edition", "place", "outcomes", "also"}


@dataclass(frozen=True, eq=False)
class EvidenceCase:
    """One site, the edition asked, and the rows of one item: "kind id outcome".

    ``facts`` hold for every row of the case: minutes, kwh, dates, the example's local time, and words.
    ``also`` are outcomes of other items at the same site: "item kind id outcome".
    """

    item: str
    name: str
    edition: str | None
    case: Case
    outcomes: tuple[str, ...]
    also: tuple[str, ...]
    facts: dict[str, Any]


@cache
def evidence_cases() -> tuple[EvidenceCase, ...]:
    """Every case of every item."""
    return tuple(case for path in sorted(EVIDENCE.glob("*.toml")) for case in _read(path))


def _read(path: Path) -> Iterable[EvidenceCase]:
    content = tomllib.loads(path.read_text(encoding="utf-8"))
    shared = {key: content[key] for key in ("place", "start", "days", "edition") if key in content}
    return [_case(path.stem, shared | found) for found in content["case"]]


def _case(item: str, found: dict[str, Any]) -> EvidenceCase:
    strange = found.keys() - _KEYS - base()["row"].keys()
    if strange:
        raise ValueError(f"{item}: {found['name']}: not understood: {strange}")
    chosen = {"start": base()["start"], "days": base()["days"]}
    run = Run(**chosen | {key: found[key] for key in _RUN_KEYS if key in found})
    case = Case(item, found["name"], "evidence", run, tables_of(item, found), (), {}, ())
    facts = {key: found[key] for key in _FACTS if key in found}
    return EvidenceCase(
        item,
        found["name"],
        found.get("edition") or None,  # blank: each site's own
        case,
        tuple(found["outcomes"]),
        tuple(found.get("also", ())),
        facts,
    )


@cache
def rows_of_run(run: Run) -> dict[EvidenceCase, list[Row]]:
    """What the program says about every case of a run, each with the case's own ids."""
    cases = [case for case in evidence_cases() if case.case.run == run]
    numbered = {f"{number:04}.": case for number, case in enumerate(cases)}
    with TemporaryDirectory() as folder:
        source = Path(folder, "in")
        source.mkdir()
        (source / "portfolio.toml").write_text(f"[figures]\n{run.margins}\n", encoding="utf-8")
        write_cases(source, {prefix: case.case for prefix, case in numbered.items()})
        store = Path(folder, "kept.duckdb")
        audit(source, Path(folder, "out"), date.fromisoformat(run.start), run.days, store, quietly, pages=0)
        rows = _asked(store, numbered)
    return {case: _own(rows, prefix) for prefix, case in numbered.items()}


def _asked(store: Path, numbered: dict[str, EvidenceCase]) -> list[Row]:
    """Each edition asked of the sites of its cases, and of no other."""
    rows: list[Row] = []
    codes = load_codes(AMENDMENTS)
    with kept_store(store, FORMAT) as connection:
        for edition in dict.fromkeys(case.edition for case in numbered.values()):
            mine = [prefix for prefix, case in numbered.items() if case.edition == edition]
            sites = [f"{prefix}S" for prefix in mine]
            rows += evidence(connection, sites, edition, codes).rows
    return rows


def _own(rows: list[Row], prefix: str) -> list[Row]:
    """The rows of one case, without the prefix of its ids."""
    return [
        {key: cell.replace(prefix, "") if isinstance(cell, str) else cell for key, cell in row.items()}
        for row in rows
        if row["site_id"] == f"{prefix}S"
    ]
