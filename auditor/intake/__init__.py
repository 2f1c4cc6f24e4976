"""Sources of schedule exports: bytes in, raw rows with file and row number out."""

from collections.abc import Sequence
from pathlib import Path

from auditor.errors import UserError
from auditor.intake.folder import file_names, read_folder
from auditor.intake.workbook import read_workbook, sheet_names
from auditor.letters import printable
from auditor.model import GUIDE, NEEDED_TABLES, TABLE_NAMES, RawTable
from auditor.wording import nearest

__all__ = ["not_read", "read_portfolio"]

_WORKBOOKS = (".xlsx", ".xlsm", ".xlsb", ".ods", ".xls")


def read_portfolio(source: Path, needed: Sequence[str] = NEEDED_TABLES) -> list[RawTable]:
    """Every table of a portfolio: a folder of CSV or Parquet files, or one workbook with a sheet a table.

    Raises UserError where a ``needed`` one is missing; other sources may give them.
    """
    if source.is_dir():
        return read_folder(source, needed)
    if source.suffix.lower() in _WORKBOOKS and source.exists():
        return read_workbook(source, needed)
    raise UserError(f"{source} is neither a folder nor a workbook; name the folder that holds sites.csv.")


def not_read(source: Path) -> list[str]:
    """A sentence for every file or sheet that looks like a table and has no table's name.

    A misspelt name would else take a whole table away in silence. The template's guide is no table.
    """
    names = file_names(source) if source.is_dir() else [name for name in sheet_names(source) if name != GUIDE]
    lost = "was not read: no table has this name; did you mean"
    return [
        f'{printable(name)} {lost} "{nearest(name.lower(), TABLE_NAMES)}"?'
        for name in names
        if name.rpartition(".")[0].lower() not in TABLE_NAMES and name.strip().lower() not in TABLE_NAMES
    ]
