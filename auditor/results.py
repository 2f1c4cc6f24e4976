"""The result files: tables out of the store, written beside and then renamed; none is ever half there."""

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from functools import partial
from pathlib import Path
from typing import Any

import duckdb

from auditor.errors import UserError
from auditor.files import check_nameable, check_targets
from auditor.resources import query
from auditor.stopping import undisturbed
from auditor.store import Connection
from auditor.workplace import alone, out_of_room

Earlier = Callable[[Path], Iterable[str]]
RUN = "run.json"  # vouches for all other results of a run
TABLES = ("findings", "circuits", "sites", "soon", "changes", "not_evaluated", "rejected")
NAMES = (  # of all results but the pages of sites
    *(f"{table}.csv" for table in TABLES),
    *("timeline.parquet", "findings.xlsx", "report.html", "rules.html", RUN),
)


def nothing(_: Path) -> tuple[str, ...]:
    """No file of an earlier run needs to go: each has a new one that takes its place."""
    return ()


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """A path to write to, which takes the place of ``path`` when all went well."""
    draft = path.with_name(f".{path.name}.part")
    try:
        draft.unlink(missing_ok=True)  # through a link, somebody else's file would be written
        yield draft
        draft.replace(path)
    except (OSError, duckdb.IOException) as error:
        said = f"{path} cannot be written; check the folder, its permissions and its space."
        raise (out_of_room(error) or UserError(said)) from error
    finally:
        draft.unlink(missing_ok=True)


@contextmanager
def replacing_alone(path: Path) -> Iterator[Path]:
    """The same for a file that other processes may be writing, too: the second is refused.

    Once it is in place, a power cut takes away neither it nor what it replaced.
    """
    check_targets(path)
    path = path.resolve()  # a link to a file stays one
    with (
        _told(path, "check the folder, its permissions and its space"),
        alone(path.with_name(f".{path.name}.part"), path) as room,
    ):
        yield room / path.name
        _to_disk(room / path.name)
        (room / path.name).replace(path)


@contextmanager
def replacing_in(folder: Path, last: str, earlier: Earlier = nothing) -> Iterator[Path]:
    """A folder to write to, whose files go into ``folder`` when all went well, and none of them before.

    ``last`` names the file that vouches for the others: its old one goes first, its new one comes last, so
    that files of two runs stand side by side only where it is missing. ``earlier`` names, as seen from
    ``folder``, files of earlier runs: they go where no new one takes their place. Any other file stays.
    """
    told = partial(_told, folder, "name a folder, and check its permissions and its space")
    check_nameable(folder)
    check_targets(folder / last)
    old = folder.exists()
    try:
        with ExitStack() as stack:
            with told():
                draft = stack.enter_context(alone(folder / f".{last}.part", folder))
            yield draft
            with told(), undisturbed():
                _place(draft, folder, last, earlier)
    finally:
        if not old:
            with suppress(OSError):  # there is something in it now
                folder.rmdir()


def _place(draft: Path, folder: Path, last: str, earlier: Earlier) -> None:
    new = sorted(_names(draft), key=lambda name: (name == last, name))
    stale = set(earlier(folder)).difference(new)
    check_targets(*(folder / name for name in (*new, *sorted(stale))))  # while all is as it was
    (folder / last).unlink(missing_ok=True)
    for name in stale:
        (folder / name).unlink()
    for name in new:
        (folder / name).parent.mkdir(exist_ok=True)
        (draft / name).replace(folder / name)


@contextmanager
def _told(what: Path, check: str) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        said = f"{what} cannot be written ({error.strerror}); {check}."
        raise (out_of_room(error) or UserError(said)) from error


def _to_disk(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def _names(folder: Path) -> list[str]:
    """Files below the folder as seen from there."""
    return [path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()]


def digests(folder: Path) -> dict[str, str]:
    """The SHA-256 of every file below the folder, by its name as seen from there."""
    return {name: _digest(folder / name) for name in sorted(_names(folder))}


def _digest(path: Path) -> str:
    with path.open("rb") as file:  # piece by piece: a fleet's timeline is large
        return hashlib.file_digest(file, "sha256").hexdigest()


def write_tables(connection: Connection, folder: Path) -> None:
    """The CSV files and ``timeline.parquet``; same store, same bytes."""
    for table in TABLES:
        write_csv(connection, folder / f"{table}.csv", query(f"results/{table}.sql"))
    ((rows,),) = connection.execute("SELECT count(*) FROM timeline").fetchall()
    with replacing(folder / "timeline.parquet") as draft:
        _copy(connection, query("results/timeline.sql"), draft, "FORMAT parquet, COMPRESSION zstd", rows=rows)


def write_csv(connection: Connection, path: Path, rows: str) -> None:
    """The rows of a query as a CSV file, texts that a spreadsheet would take for a formula shielded."""
    with replacing(path) as draft:
        _copy(connection, f"SELECT csv_cell(COLUMNS(*)) FROM ({rows})", draft, "FORMAT csv, HEADER")


def _copy(connection: Connection, sql: str, path: Path, options: str, **params: Any) -> None:
    target = str(path).replace("'", "''")
    connection.execute(f"COPY ({sql}) TO '{target}' ({options})", params)


def write_text(path: Path, text: str) -> None:
    """A text file, UTF-8, LF."""
    with replacing(path) as draft:
        draft.write_text(text, encoding="utf-8", newline="\n")


def write_file(path: Path, text: str) -> None:
    """A text file that stands alone, UTF-8, LF."""
    with replacing_alone(path) as draft:
        draft.write_text(text, encoding="utf-8", newline="\n")


def write_run(path: Path, facts: Mapping[str, Any]) -> None:
    """``run.json``: what was audited, with what, and the sums of the files that stand beside it by now.

    No time of day: the same run gives the same bytes.
    """
    whole = {**facts, "results": digests(path.parent)}
    write_text(path, json.dumps(whole, indent=2, ensure_ascii=False) + "\n")
