"""A store that an audit kept, to be read again; what is wrong with a file that is none, and what to do."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from auditor.errors import UserError
from auditor.files import check_plain, use
from auditor.resources import query
from auditor.store import Connection, confine, connected, log_of

# The layout of the stores that this program writes. 1: of before stores remembered, 2: without what findings
# rest on, 3: without the files that were read, 4: without the order of steps over files and digests of sites.
FORMAT = 5
_MAGIC = b"DUCK"  # bytes 8 to 11 of every DuckDB file: duckdb.org, "Storage Versions and Format"
_OURS = {"period", "sites", "findings", "site_ranks", "circuit_figures"}  # in the stores of every version
_MADE = re.compile(r"^CREATE (?:TABLE|VIEW) (\w+)", re.M)
_DROPPED = re.compile(r"^DROP TABLE IF EXISTS (\w+)", re.M)
_REMEMBERED = re.compile(r"past_\w+|runs")  # in stores of every layout since the second
_BUSY = ("lock on file", "already attached", "different configuration")  # elsewhere, and twice in here
_FAULTS = (duckdb.ProgrammingError, duckdb.DataError)  # of our own SQL, never of a file


@contextmanager
def kept_store(path: Path, layout: int, out: Path | None = None) -> Iterator[Connection]:
    """The store at ``path``, read-only, in ``layout``, the one that this program writes.

    Beyond it the engine may write into the folder ``out``, and reach nothing else, whatever the store says.
    Raises UserError where it is not there, is no store, is in use, cannot be read or has another layout.
    """
    if not path.exists():
        how = f"auditor run PORTFOLIO --out DIR --store {path}"
        raise UserError(f"{path} is not there; keep a store first, with {how}.")
    instead = "name the file that auditor run --store kept"
    with told_apart(path, instead), connected(path, read_only=True) as connection:
        confine(connection, *([out] if out else []))
        ((database,),) = connection.execute("SELECT current_database()").fetchall()
        if layout_of(connection, database, path, layout, instead) < layout:
            how = f"audit the newest export once more with --store {path}, which keeps what it remembers"
            raise UserError(f"{path} was kept by an older version of this program; {how}.")
        yield connection


@contextmanager
def told_apart(path: Path, instead: str) -> Iterator[None]:
    """Around all that reads the file at ``path``: what is wrong with it becomes a UserError, a sentence each.

    ``instead`` is what to do where it is no store of ours.
    """
    if path.is_dir():
        raise UserError(f"{path} is a folder and no store; {instead}.")
    check_plain(path, path.name)
    use(path)
    use(log_of(path))
    with path.open("rb") as file:  # before the engine: for some files of others it would fetch a reader
        if file.read(12)[8:] != _MAGIC:
            raise UserError(f"{path} is no store of this program; {instead}.")
    try:
        yield
    except _FAULTS:
        raise
    except duckdb.Error as error:
        raise UserError(f"{path} {_trouble(str(error))}.") from error


def _trouble(said: str) -> str:
    if any(words in said for words in _BUSY):
        return "is in use; close it in the other program, and try again"
    if "newer version of DuckDB" in said:
        return "was written by a newer version of this program or of its engine; install that one"
    first = said.splitlines()[0]
    return f"cannot be read and may be damaged; take a copy from your backup (the engine says: {first})"


def layout_of(connection: Connection, database: str, path: Path, newest: int, instead: str) -> int:
    """The layout of the store at ``path``, open as ``database``; 1: of before stores remembered.

    Raises UserError where it is no store of this program, or one of a layout beyond ``newest``, or not whole.
    """
    names = _names(connection, database)
    if not names >= _OURS:
        raise UserError(f"{path} is a database, but no store of this program; {instead}.")
    if "store_format" not in names:
        return 1
    name = database.replace('"', '""')
    (found,) = connection.execute(f'SELECT max(version) FROM "{name}".store_format').fetchone() or (None,)
    if found is None:
        lacking = "its table store_format is empty, so that nobody can tell which version wrote it"
        raise UserError(f"{path} is damaged: {lacking}; take a copy from your backup, or {instead}.")
    if found > newest:
        raise UserError(f"{path} was written by a newer version of this program; install that one.")
    if lost := sorted(_parts(int(found)) - names):
        said = f"{', '.join(lost[:3])}{', …' if lost[3:] else ''}"
        raise UserError(f"{path} is damaged: it lacks {said}; take a copy from your backup, or {instead}.")
    return int(found)


def _names(connection: Connection, database: str) -> set[str]:
    """Tables and views of a database that is open."""
    asked = """
        SELECT table_name FROM duckdb_tables() WHERE database_name = $database
        UNION ALL SELECT view_name FROM duckdb_views() WHERE database_name = $database
    """
    return {name for (name,) in connection.execute(asked, {"database": database}).fetchall()}


def _parts(layout: int) -> set[str]:
    """Tables and views of a store of a layout: all of the newest, of others those that are carried along."""
    remembered = set(_MADE.findall(query("memory/schema.sql")))
    if layout < FORMAT:
        return {name for name in remembered if _REMEMBERED.fullmatch(name)}
    made = _MADE.findall(query("schema.sql") + query("schema_findings.sql"))
    return remembered.union(made).difference(_DROPPED.findall(query("tidy.sql")))


def attach(connection: Connection, path: Path) -> None:
    """The store at ``path`` beside the open one, read-only, as ``earlier``."""
    quoted = str(path.absolute()).replace("'", "''")
    connection.execute(f"ATTACH '{quoted}' AS earlier (READ_ONLY)")
