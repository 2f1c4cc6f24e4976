"""A folder of CSV or Parquet files, one a table."""

import codecs
import hashlib
import io
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

import polars as pl

from auditor.errors import UserError
from auditor.files import check_within, read_file
from auditor.intake.cells import as_text, checked_header, clean
from auditor.intake.records import records
from auditor.model import NEEDED_TABLES, TABLE_NAMES, RawTable, Rejection

_HARMLESS = 20_000_000  # cells of a Parquet file; below it their number says nothing
_DENSEST = 200  # cells a byte, many times what tables of ids and times come to


def read_folder(folder: Path, needed: Sequence[str] = NEEDED_TABLES) -> list[RawTable]:
    """Every table of the folder, in the order of the contract.

    Raises UserError where a needed table is missing, there twice, or cannot be read at all.
    """
    found = _files_by_table(folder)
    for name in needed:
        if name not in found:
            raise UserError(f"{folder}: table {name} is missing; add {name}.csv or {name}.parquet.")
    return [_read(name, found[name]) for name in TABLE_NAMES if name in found]


def file_names(folder: Path) -> list[str]:
    """Names of the files that may hold tables, whatever they are called."""
    endings = (".csv", ".parquet", ".tsv", ".txt", ".xlsx", ".xls")
    return sorted(path.name for path in folder.iterdir() if path.suffix.lower() in endings)


def _files_by_table(folder: Path) -> dict[str, Path]:
    found: dict[str, Path] = {}
    for path in sorted(folder.iterdir()):
        name = path.stem.lower()
        if name not in TABLE_NAMES or path.suffix.lower() not in (".csv", ".parquet"):
            continue
        if name in found:
            raise UserError(
                f"{folder}: {found[name].name} and {path.name} both hold {name}; keep one of them."
            )
        found[name] = path
    return found


def _read(name: str, path: Path) -> RawTable:
    read = _read_csv if path.suffix.lower() == ".csv" else _read_parquet
    check_within(path, path.parent, path.name)
    content = read_file(path, path.name)
    frame, rejections = read(path, content)
    return RawTable(name, path.name, hashlib.sha256(content).hexdigest(), clean(frame), tuple(rejections))


def _read_csv(path: Path, content: bytes) -> tuple[pl.DataFrame, list[Rejection]]:
    rows = _records(path, content)
    header = next(rows, None)
    if header is None:
        raise UserError(f"{path.name} is empty; its first row must name the columns.")
    names = checked_header(header[1], path.name)
    _check_separator(names, path)
    good: list[tuple[int, list[str]]] = []
    rejections = []
    for number, record in rows:
        reason = _fault(record, len(names))
        if reason:
            rejections.append(Rejection(path.name, number, "", ",".join(record)[:200], reason))
        else:
            good.append((number, record))
    return _frame(names, good), rejections


def _check_separator(names: list[str], path: Path) -> None:
    """No table has one column only: a lone name with a semicolon or a tab in it is a whole header."""
    if len(names) == 1 and re.search(r"[;\t]", names[0]):
        raise UserError(
            f"{path.name}, row 1: the cells are not separated by commas; save it as CSV with commas."
        )


def _frame(names: list[str], rows: list[tuple[int, list[str]]]) -> pl.DataFrame:
    columns = zip(*(record for _, record in rows), strict=True) if rows else ([] for _ in names)
    data = {name: list(cells) for name, cells in zip(names, columns, strict=True)}
    numbers = pl.Series("source_row", [number for number, _ in rows], pl.Int64)
    return pl.DataFrame(data, schema=dict.fromkeys(names, pl.String)).with_columns(numbers)


def _records(path: Path, content: bytes) -> Iterator[tuple[int, list[str]]]:
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise UserError(f"{path.name} is UTF-16 text; save it as CSV in UTF-8.")
    # A wrong byte becomes U+FFFD, which `_fault` refuses: one bad cell must not cost the whole file.
    return records(path.name, content.decode("utf-8-sig", errors="replace"))


def _fault(record: list[str], width: int) -> str:
    """Why a record cannot be taken; blank cells past the header's end are harmless and cut off."""
    while len(record) > width and not record[-1].strip():
        record.pop()
    if len(record) != width:
        return f"the row has {len(record)} cells, the header {width}; quote cells that hold commas"
    if any("\ufffd" in cell for cell in record):
        return "a cell is not UTF-8 text; save the file as UTF-8"
    return ""


def _read_parquet(path: Path, content: bytes) -> tuple[pl.DataFrame, list[Rejection]]:
    try:
        _check_extent(path, content)
        frame = pl.read_parquet(io.BytesIO(content))
    except pl.exceptions.PolarsError as error:
        raise UserError(f"{path.name} cannot be read as Parquet; export it again.") from error
    frame.columns = checked_header(frame.columns, path.name)
    return as_text(frame).with_row_index("source_row", offset=2), []


def _check_extent(path: Path, content: bytes) -> None:
    """A column of one value takes next to nothing in such a file, and all its rows in memory."""
    table = pl.scan_parquet(io.BytesIO(content))
    cells = table.select(pl.len()).collect().item() * len(table.collect_schema())
    if cells > max(_HARMLESS, _DENSEST * len(content)):
        too_many = f"{cells:,} cells, which no table of its size does"
        raise UserError(f"{path.name} unpacks to {too_many}; export it again.")
