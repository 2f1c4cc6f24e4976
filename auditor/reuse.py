"""Sites whose year the run before worked out from just these rows: it need not be worked out again."""

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.metadata import version
from pathlib import Path

from auditor import __version__
from auditor.kept import FORMAT, attach, layout_of, told_apart
from auditor.resources import query, resource
from auditor.store import Connection, run_script

_QUERIES = ("prepare.sql", "macros.sql", "schema.sql", "year/*.sql", "right_clock/*.sql", "reuse/*.sql")
_CODE = ("year.py", "clocks.py", "zones.py", "sun.py")
_LIBRARIES = ("duckdb", "astral", "tzdata")
INSTEAD = "name another file"  # for what is no store: this run would take its place


@contextmanager
def year_before(connection: Connection, store_file: Path | None) -> Iterator[None]:
    """Fills ``unchanged_sites``. As long as it lasts, the store of the run before is at hand as ``earlier``.

    Raises UserError where ``store_file`` is there and no store of this program, or one of a newer version.
    """
    connection.execute(query("reuse/10_digests.sql"), {"method": method()})
    if store_file is None or not store_file.exists():
        yield
        return
    with told_apart(store_file, INSTEAD):
        attach(connection, store_file)
        if layout_of(connection, "earlier", store_file, FORMAT, INSTEAD) == FORMAT:
            run_script(connection, query("reuse/20_unchanged.sql"))
    try:
        yield
    finally:
        connection.execute("DETACH earlier")


def shared_out(connection: Connection, few: int) -> tuple[int, int]:
    """How many sites are worked out, and how many taken from the run before: at least ``few`` in a row."""
    worked_out, taken = connection.execute(query("reuse/60_taken.sql"), {"few": few}).fetchone() or (0, 0)
    return int(worked_out), int(taken)


def method() -> str:
    """A digest of all that turns the rows of a site into its year."""
    files = [path for pattern in _QUERIES for path in sorted(resource("queries").glob(pattern))]
    files += [Path(__file__).with_name(name) for name in _CODE]
    texts = [path.read_text(encoding="utf-8") for path in files]
    versions = [f"{name} {version(name)}" for name in _LIBRARIES]
    return hashlib.sha256("\n".join([__version__, *versions, *texts]).encode()).hexdigest()
