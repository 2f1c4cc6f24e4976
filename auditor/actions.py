"""Adds a line to a portfolio's actions table: what was done about a finding."""

import csv
import io
import re
from datetime import date
from pathlib import Path

from auditor.errors import UserError
from auditor.results import write_text

COLUMNS = ("finding_id", "date", "by", "disposition", "note")
DISPOSITIONS = ("ordered", "done", "declined")
_FORMULA = re.compile(r"^[=+\-@\t\r]")


def record(folder: Path, finding: str, disposition: str, day: date, by: str, note: str) -> Path:
    """Appends to ``actions.csv`` in the folder, which is made where it is missing; gives its path.

    Raises UserError where the table is not a CSV file that can be added to, or a decline gives no reason.
    """
    if disposition == "declined" and not note.strip():
        raise UserError("declined needs a note that says why; add --note TEXT.")
    if not re.fullmatch(r"[0-9a-f]{12}", finding):
        raise UserError(f'"{finding}" is not a finding_id; copy its 12 characters from the report.')
    path = _table(folder)
    header, text = _read(path)
    row = dict(zip(COLUMNS, (finding, day.isoformat(), by, disposition, note), strict=True))
    write_text(path, text + _line([_shielded(row.get(name.strip(), "")) for name in header]))
    return path


def _table(folder: Path) -> Path:
    if not folder.is_dir():
        raise UserError(f"{folder} is not a folder; actions can only be added to a folder's actions.csv.")
    others = [name for name in ("actions.parquet",) if (folder / name).exists()]
    if others:
        raise UserError(f"{folder / others[0]} is there already; add the line where that table is made.")
    return folder / "actions.csv"


def _read(path: Path) -> tuple[list[str], str]:
    """The header and the whole text, which ends with a line feed."""
    if not path.exists():
        return list(COLUMNS), _line(COLUMNS)
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:  # its line ends stay as they are
            text = file.read()
    except UnicodeDecodeError as error:
        raise UserError(f"{path} is not UTF-8; save it as CSV UTF-8 first.") from error
    header = next(csv.reader(io.StringIO(text)), [])
    missing = set(COLUMNS) - {name.strip() for name in header}
    if missing:
        raise UserError(f"{path} has no column {min(missing)}; mend its header first.")
    return header, text if text.endswith("\n") else text + "\n"


def _line(cells: list[str] | tuple[str, ...]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerow(cells)
    return text.getvalue()


def _shielded(cell: str) -> str:
    """Text that a spreadsheet would take for a formula, as our readers take it off again."""
    return f"'{cell}" if _FORMULA.match(cell) else cell
