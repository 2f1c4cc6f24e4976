"""Sources of schedule exports: bytes in, raw rows with file and row number out."""

from pathlib import Path

from auditor.errors import UserError
from auditor.intake.folder import read_folder
from auditor.intake.workbook import read_workbook
from auditor.model import RawTable

__all__ = ["read_portfolio"]


def read_portfolio(source: Path) -> list[RawTable]:
    """Every table of a portfolio: a folder of CSV or Parquet files, or one workbook with a sheet a table."""
    if source.is_dir():
        return read_folder(source)
    if source.suffix.lower() in (".xlsx", ".xlsm", ".xlsb", ".ods", ".xls") and source.exists():
        return read_workbook(source)
    raise UserError(f"{source} is neither a folder nor a workbook; name the folder that holds sites.csv.")
