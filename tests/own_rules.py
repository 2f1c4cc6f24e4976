"""Rules of a user's own for the tests: files, a portfolio for them, and a run with them."""

import csv
import re
from pathlib import Path

from auditor.audit import Outcome, audit
from auditor.rules import load_rules

from .cases import quietly
from .conftest import Tables, report, small, write_folder

EXAMPLE = Path(__file__).parent.parent / "fixtures" / "own_rules"
BUILT_IN = load_rules()


def rule_text(name: str = "mine", sql: str = "", **header: str) -> str:
    """A rule file that finds every circuit in use; ``header`` replaces or adds lines of its header."""
    lines = {
        "name": f'"{name}"',
        "title": '"A title"',
        "severity": '"low"',
        "subject": '"circuit"',
        "needs": "[]",
        "fix": '"device"',
    } | header
    head = "\n".join(f"--: {key} = {value}" for key, value in lines.items() if value)
    return f"{head}\n--\n-- What goes wrong. Something.\n\n{sql or select()}\n"


def select(frm: str = "circuits JOIN controllers USING (controller_id)", **columns: str) -> str:
    """A rule's query; ``columns`` replaces what it says."""
    said = {
        "site_id": "site_id",
        "subject_kind": "'circuit'",
        "subject_id": "circuit_id",
        "severity": "NULL",
        "minutes": "NULL",
        "kwh": "NULL",
        "first_date": "NULL",
        "last_date": "NULL",
        "summary": "'Seen by me.'",
        "seen": "NULL",
        "remedy": "'Do this.'",
        "missing": "NULL",
    } | columns
    return f"SELECT {', '.join(f'{value} AS {name}' for name, value in said.items())}\nFROM {frm}"


def folder_of(place: Path, *texts: str) -> Path:
    """A folder with these rules, each in the file that its header names."""
    place.mkdir(exist_ok=True)
    for text in texts:
        name = re.search(r'^--: name = "(.*)"', text, re.MULTILINE)
        assert name is not None
        (place / f"{name[1]}.sql").write_text(text, encoding="utf-8")
    return place


def tables() -> Tables:
    """The small portfolio with an exit light, overrides, and a circuit and a sensor that are not in use."""
    found = small()
    found["circuits"] = [
        {"circuit_id": "012", "controller_id": "01A", "area": "interior", "override_minutes": 180},
        {"circuit_id": "013", "controller_id": "01A", "area": "interior", "override_minutes": 120},
        {"circuit_id": "014", "controller_id": "01A", "area": "interior"},
        {"circuit_id": "011", "controller_id": "01A", "area": "egress"},
        {"circuit_id": "015", "controller_id": "01A", "area": "interior", "override_minutes": 500},
        {"circuit_id": "021", "controller_id": "02A", "area": "sign", "hold": "on"},
    ]
    found["circuits"][4]["in_use"] = "no"
    return found


def run(tmp_path: Path, rules: Path, settings: str = "", changed: Tables | None = None) -> Outcome:
    source = write_folder(tmp_path / "portfolio", tables() | (changed or {}), settings)
    return audit(source, tmp_path / "out", None, 7, None, quietly, rules)


def rows(tmp_path: Path, rule: str, table: str = "findings") -> list[dict[str, str]]:
    with (tmp_path / "out" / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["rule"] == rule]


def page(tmp_path: Path) -> str:
    return report(tmp_path / "out")
