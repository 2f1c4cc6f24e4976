"""Adds a line to a portfolio's actions table: what was done about a finding."""

import csv
import io
import re
from datetime import date
from pathlib import Path

from auditor.errors import UserError
from auditor.files import read_file
from auditor.results import replacing_alone

COLUMNS = ("finding_id", "date", "by", "disposition", "note")
DISPOSITIONS = ("ordered", "done", "declined")
_FORMULA = re.compile(r"^[=+\-@\t\r]")


def record(folder: Path, finding: str, disposition: str, day: date, by: str, note: str) -> Path:
    """Appends to ``actions.csv`` in the folder, which is made where it is missing; gives its path.

    Raises UserError where the table is not a CSV file that can be added to, nobody is named, or a decline
    gives no reason.
    """
    if disposition == "declined" and not note.strip():
        raise UserError("declined needs a note that says why; add --note TEXT.")
    if not by.strip():
        raise UserError("somebody must stand for it; write --by NAME.")
    if not re.fullmatch(r"[0-9a-f]{12}", finding):
        raise UserError(f'"{finding}" is not a finding_id; copy its 12 characters from the report.')
    path = _table(folder)
    row = dict(zip(COLUMNS, (finding, day.isoformat(), by, disposition, note), strict=True))
    with replacing_alone(path) as draft:  # from before it is read: nobody's line gets lost between
        header, text = _read(path)
        line = _line([_shielded(row.get(name.strip(), "")) for name in header])
        draft.write_text(text + line, encoding="utf-8", newline="\n")
    return path


def _table(folder: Path) -> Path:
    if not folder.is_dir():
        raise UserError(f"{folder} is not a folder; actions can only be added to a folder's actions.csv.")
    files = {path.name.lower(): path for path in folder.iterdir()}
    if not files.keys() & {"sites.csv", "sites.parquet"}:
        raise UserError(f"{folder} holds no portfolio (no sites.csv); name its folder with --portfolio.")
    if parquet := files.get("actions.parquet"):
        raise UserError(f"{parquet} is there already; add the line where that table is made.")
    return files.get("actions.csv", folder / "actions.csv")


def _read(path: Path) -> tuple[list[str], str]:
    """The header and the whole text, which ends with a line feed."""
    if not path.exists():
        return list(COLUMNS), _line(COLUMNS)
    try:
        text = read_file(path, path.name).decode("utf-8-sig")  # its line ends stay as they are
    except UnicodeDecodeError as error:
        raise UserError(f"{path} is not UTF-8; save it as CSV UTF-8 first.") from error
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error as error:
        raise UserError(f"{path} is no sound CSV ({error}); close its quotation marks first.") from error
    header = rows[0] if rows else []
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
