"""The DuckDB store: opening it, its tables, and loading frames into them."""

import os
import re
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

import duckdb
import polars as pl

from auditor.errors import UserError
from auditor.files import WRITES, check_nameable, check_targets, use
from auditor.resources import query
from auditor.stopping import undisturbed
from auditor.workplace import alone

Connection = duckdb.DuckDBPyConnection
SCHEMAS = ("schema.sql", "schema_findings.sql")
MEMORY = "memory/schema.sql"
_FEW_SITES = 50
_IN_MEMORY = Path(":memory:")
_DRAFT = "audit"  # what the engine calls a store that is being made
_ENGINES_OWN = ("information_schema", "pg_catalog")  # a store of such a name could not be read again
_UNSETTLED_MIB = 64  # kept in memory before it is brought into the file; more gains nothing, 16 takes longer
# No extension is fetched, and none is loaded by itself; names of Python variables are no tables. Deriving
# bounds of every column takes a quarter of what a small audit costs, and gains nothing in a large one.
_SETTINGS: dict[str, str | bool | int | float | list[str]] = {
    "autoinstall_known_extensions": "false",
    "autoload_known_extensions": "false",
    "allow_community_extensions": "false",
    "python_enable_replacements": "false",
    "disabled_optimizers": "statistics_propagation",
}
_UNITS = {  # by the end of a column's name; the first that fits
    "kg_per_kwh": "kilograms a kWh",
    "per_kwh": "money a kWh",
    "kwh": "kWh",
    "_s": "whole seconds",
    "_utc": "instant, UTC",
    "minutes": "minutes",
    "_hours": "hours",
    "_watts": "watts",
    "_m2": "square metres",
    "_m": "metres",
    "_kg": "kilograms",
}


@dataclass(frozen=True)
class Engine:
    """What the engine may take: threads, and MiB of memory, beyond which pages go to disk, so that memory
    does not grow with the fleet. ``cluster``: who works out the year, the address of a scheduler or a
    number of processes; blank: this one does."""

    threads: int = os.cpu_count() or 1
    memory_mib: int = 600
    cluster: str = ""


def connected(path: Path, read_only: bool = False) -> Connection:
    """The engine at a file, or in memory (``:memory:``). It is on its own, whatever the file is called."""
    if path != _IN_MEMORY:
        check_nameable(path)
    # As a path alone: "sqlite:x" or "md:x" would mean what another program or a service has.
    name = str(path if path == _IN_MEMORY else path.absolute())
    return duckdb.connect(name, read_only, config=_SETTINGS)


def confine(connection: Connection, *places: Path) -> None:
    """From here on the engine reads and writes its own file, these files and folders, and scratch files,
    nothing else, and its settings stay: views and macros of a store from elsewhere may reach for others.
    """
    allowed = {str(path) for place in (*places, Path(tempfile.gettempdir())) for path in _spellings(place)}
    listed = ", ".join(map(_quoted, sorted(allowed)))
    connection.execute(f"SET allowed_paths = [{listed}]")
    connection.execute(f"SET allowed_directories = [{listed}]")
    connection.execute("SET enable_external_access = false")
    connection.execute("SET lock_configuration = true")


def _spellings(place: Path) -> tuple[Path, Path]:
    """As it was named and as the system has it: the engine compares texts."""
    return place.absolute(), place.resolve()


def open_store(path: Path, sites: int = 0, engine: Engine | None = None) -> Connection:
    """A new store with empty tables. The engine's own time zones are never used; every instant is UTC.

    ``sites``: how many it is for (0: nobody knows). A statement over a few is neither shared out among
    threads nor optimised, which would cost more than it saves.
    """
    engine = engine or Engine()
    connection = _begun(path)
    few = 0 < sites <= _FEW_SITES
    connection.execute(f"SET threads = {1 if few else engine.threads}")
    if few:
        connection.execute("PRAGMA disable_optimizer")
    connection.execute("SET preserve_insertion_order = true")
    connection.execute(f"SET memory_limit = '{engine.memory_mib}MiB'")
    connection.execute(f"SET checkpoint_threshold = '{_UNSETTLED_MIB}MiB'")
    connection.begin()  # hundreds of small changes: one is many times as quick
    for script in (*SCHEMAS, "macros.sql", "words.sql", MEMORY):
        run_script(connection, query(script))
    connection.commit()
    return connection


def _begun(path: Path) -> Connection:
    """The engine at a new file, without a log: a draft that breaks off is thrown away, and a log with it."""
    connection = connected(_IN_MEMORY)
    if path != _IN_MEMORY:
        connection.execute(f"SET temp_directory = {_quoted(f'{path.absolute()}.tmp')}")
        connection.execute(
            f"ATTACH {_quoted(str(path.absolute()))} AS {_DRAFT} (RECOVERY_MODE no_wal_writes)"
        )
        connection.execute(f"USE {_DRAFT}")
    return connection


def session(connection: Connection) -> Connection:
    """One more session at the same store, with temporary tables of its own."""
    ((name,),) = connection.execute("SELECT current_database()").fetchall()
    other = connection.cursor()
    other.execute(f'USE "{name}"')
    return other


def describe(connection: Connection) -> None:
    """Puts the words of the schema beside tables and columns, for whoever opens a store that is kept."""
    connection.begin()
    for schema in (*SCHEMAS, MEMORY):
        for thing, words in comments(query(schema)).items():
            connection.execute(f"COMMENT ON {thing} IS {_quoted(words)}")
    connection.commit()


def run_script(connection: Connection, sql: str) -> None:
    """Runs every statement of a SQL text."""
    for statement in connection.extract_statements(sql):
        connection.execute(statement)


def comments(schema: str) -> dict[str, str]:
    """The words beside tables and columns in the schema's text, by ``TABLE t`` and ``COLUMN t."c"``.

    A line's words go to every column on it, after the unit that a column's name ends in.
    """
    said: dict[str, str] = {}
    table, here = "", [""]
    for line in schema.splitlines():
        code, _, words = line.partition("--")
        if opening := re.match(r"CREATE TABLE (\w+) \((.*)", code):
            table, here = opening[1], [f"TABLE {opening[1]}"]
            said |= dict.fromkeys(_columns(table, opening[2]), "")
        elif code.strip():
            here = _columns(table, code)
        said |= {thing: f"{said.get(thing, '')} {words.strip()}".strip() for thing in here if table}
        table = "" if code.rstrip().endswith(";") else table
    said = {thing: _with_unit(thing, words) for thing, words in said.items()}
    return {thing: words for thing, words in said.items() if words}


def _columns(table: str, code: str) -> list[str]:
    return [f'COLUMN {table}."{name}"' for name in re.findall(r'(?:^|,)\s*"?([a-z_0-9]+)"? [A-Z]', code)]


def _with_unit(thing: str, words: str) -> str:
    unit = next((unit for ending, unit in _UNITS.items() if thing.endswith(f'{ending}"')), "")
    return words if unit in words else f"{unit}, {words}".removesuffix(", ")


def _quoted(words: str) -> str:
    return "'" + words.replace("'", "''") + "'"


def load(connection: Connection, table: str, frame: pl.DataFrame) -> None:
    """Adds the frame's rows, columns matched by name; columns that the table lacks are left out.

    By way of a Parquet file, because the engine reads frames directly only through a further large library.
    """
    known = {row[0] for row in connection.execute(f"DESCRIBE {table}").fetchall()}
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rows.parquet"
        frame.select(name for name in frame.columns if name in known).write_parquet(path)
        connection.execute(
            f"INSERT INTO {table} BY NAME SELECT * FROM read_parquet($path, hive_partitioning = false)",
            {"path": str(path)},
        )


def copy_store(connection: Connection, path: Path) -> None:
    """A copy of the store in another file, as a run leaves it: without what only the run itself needs."""
    ((name,),) = connection.execute("SELECT current_database()").fetchall()  # after its file
    plain = name.replace('"', '""')
    store, other = f'"{plain}"', f'"{plain} copy"'
    connection.execute(f"ATTACH {_quoted(str(path))} AS {other}")
    try:
        connection.execute(f"COPY FROM DATABASE {store} TO {other}")
    finally:
        connection.execute(f"DETACH {other}")
    with connected(path) as copy:
        run_script(copy, query("tidy.sql"))


def out_of_memory(error: Exception) -> UserError | None:
    """What to do where the engine may take too little memory for a fleet; None where an error is another."""
    if not isinstance(error, duckdb.OutOfMemoryException):
        return None
    first = str(error).splitlines()[0]
    return UserError(f"the engine may take too little memory ({first}); give it more by --memory.")


def settle(connection: Connection) -> None:
    """Brings all that the store holds into its file.

    Closing it does so too, but keeps silent where the disk is full and half of the file is not there.
    """
    connection.execute("CHECKPOINT")


@contextmanager
def replacing_store(store_file: Path | None) -> Iterator[Path]:
    """A path for a new store, which takes the place of ``store_file`` when all went well (None: it goes).

    It must be settled and closed by then. Raises UserError where ``store_file`` cannot be written, or another
    process is at it.
    """
    check_nameable(Path(tempfile.gettempdir()), "the folder for scratch files, which TMPDIR names,")
    if store_file is None:
        with tempfile.TemporaryDirectory(prefix="auditor-") as folder:
            yield Path(folder) / "audit.duckdb"
        return
    check_nameable(store_file)
    if store_file.stem.lower() in _ENGINES_OWN:
        raise UserError(f"{store_file} is called like a part of the engine; name another file.")
    check_targets(store_file)
    use(store_file, WRITES)
    store_file = store_file.resolve()  # a link to a store stays one
    _check_writable(store_file)
    with ExitStack() as stack:
        with _told(store_file):
            room = stack.enter_context(alone(store_file.with_name(f".{store_file.name}.part"), store_file))
        yield room / "audit.duckdb"
        with _told(store_file), undisturbed():
            (room / "audit.duckdb").replace(store_file)
            # A log that a broken session left beside the earlier store must not be played into the new one.
            log_of(store_file).unlink(missing_ok=True)


@contextmanager
def _told(store_file: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise UserError(f"{store_file} cannot be written ({error.strerror}); check the folder.") from error


def _check_writable(store_file: Path) -> None:
    if not store_file.parent.is_dir():
        raise UserError(f"{store_file.parent} is not a folder; make it, or name another file for the store.")
    if store_file.exists() and not os.access(store_file, os.W_OK):
        raise UserError(f"{store_file} is read-only; make it writable, or name another file for the store.")


def log_of(store_file: Path) -> Path:
    """Where the engine keeps what a session changed, until it is brought into the store's own file."""
    return store_file.with_name(f"{store_file.name}.wal")
