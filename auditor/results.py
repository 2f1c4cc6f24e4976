"""The result files: tables out of the store, written beside and then renamed; none is ever half there."""

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import duckdb

from auditor.errors import UserError
from auditor.resources import query
from auditor.store import Connection

TABLES = ("findings", "circuits", "sites", "soon", "changes", "not_evaluated", "rejected")


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """A path to write to, which takes the place of ``path`` when all went well."""
    draft = path.with_name(f".{path.name}.part")
    try:
        yield draft
        draft.replace(path)
    except (OSError, duckdb.IOException) as error:
        raise UserError(
            f"{path} cannot be written; check the folder, its permissions and its space."
        ) from error
    finally:
        draft.unlink(missing_ok=True)


@contextmanager
def replacing_in(folder: Path, last: str) -> Iterator[Path]:
    """A folder to write to, whose files go into ``folder`` when all went well: all of them, or none.

    ``last`` names the file that vouches for the others: its old one goes first, its new one comes last.
    """
    draft, old = folder / f".{last}.part", folder.exists()
    try:
        shutil.rmtree(draft, ignore_errors=True)  # of a run that was cut off
        draft.mkdir(parents=True)
        yield draft
        (folder / last).unlink(missing_ok=True)
        for path in sorted(draft.iterdir(), key=lambda path: (path.name == last, path.name)):
            path.replace(folder / path.name)
    except OSError as error:
        raise UserError(
            f"{folder} cannot be written; name a folder, and check its permissions and its space."
        ) from error
    finally:
        shutil.rmtree(draft, ignore_errors=True)
        if not old and folder.is_dir() and not any(folder.iterdir()):
            folder.rmdir()


def write_tables(connection: Connection, folder: Path) -> None:
    """The CSV files and ``timeline.parquet``; same store, same bytes."""
    for table in TABLES:
        write_csv(connection, folder / f"{table}.csv", query(f"results/{table}.sql"))
    with replacing(folder / "timeline.parquet") as draft:
        _copy(connection, query("results/timeline.sql"), draft, "FORMAT parquet, COMPRESSION zstd")


def write_csv(connection: Connection, path: Path, rows: str) -> None:
    """The rows of a query as a CSV file, texts that a spreadsheet would take for a formula shielded."""
    with replacing(path) as draft:
        _copy(connection, f"SELECT csv_cell(COLUMNS(*)) FROM ({rows})", draft, "FORMAT csv, HEADER")


def _copy(connection: Connection, rows: str, path: Path, options: str) -> None:
    target = str(path).replace("'", "''")
    connection.execute(f"COPY ({rows}) TO '{target}' ({options})")


def write_text(path: Path, text: str) -> None:
    """A text file, UTF-8, LF."""
    with replacing(path) as draft:
        draft.write_text(text, encoding="utf-8", newline="\n")


def write_run(path: Path, facts: dict[str, Any]) -> None:
    """``run.json``: what was audited, with what. No time of day: the same run gives the same bytes."""
    write_text(path, json.dumps(facts, indent=2, ensure_ascii=False) + "\n")
