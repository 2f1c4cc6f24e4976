"""What a store remembers: every run as a dated snapshot, and what changed since the run before."""

from contextlib import ExitStack
from pathlib import Path

from auditor.errors import UserError
from auditor.kept import FORMAT, attach, layout_of, told_apart
from auditor.resources import query
from auditor.store import Connection, connected, log_of, run_script, settle
from auditor.wording import date_text

_CARRIED = {  # how what a store remembers comes along, by the layout from which on it is that way
    1: ("15_carry_plain",),
    2: ("10_carry", "13_carry_readings"),
    3: ("10_carry", "12_carry_measures"),
}
_INSTEAD = "name another file"  # for what is no store: this run would take its place


def check_earlier(store_file: Path) -> None:
    """Raises UserError, before any work, where the store that a run is to replace could not be carried along.

    What a program that broke off changed in it is then brought into its file: beside a new store the log of
    the old one would be in the way.
    """
    if not store_file.exists():
        return
    with told_apart(store_file, _INSTEAD), connected(Path(":memory:")) as connection:
        attach(connection, store_file)
        layout_of(connection, "earlier", store_file, FORMAT, _INSTEAD)
    if log_of(store_file).exists():
        with ExitStack() as stack:
            with told_apart(store_file, _INSTEAD):
                left = stack.enter_context(connected(store_file))
            settle(left)  # a disk that is too full for it is no fault of the store


def remember(connection: Connection, store_file: Path) -> None:
    """Fills the tables of queries/memory/schema.sql; ``store_file`` is the store that this run replaces.

    Raises UserError where that file is no store of this program, or one of a newer version.
    """
    connection.execute("CREATE TEMP VIEW this_run AS SELECT newest_read_at_utc::DATE AS run_date FROM period")
    if store_file.exists():
        _carry(connection, store_file)
    for step in ("17_grounds", "20_changes", "30_keep"):
        run_script(connection, query(f"memory/{step}.sql"))
    connection.execute("INSERT INTO store_format VALUES (?)", [FORMAT])


def _carry(connection: Connection, store_file: Path) -> None:
    with told_apart(store_file, _INSTEAD):
        attach(connection, store_file)
        layout = layout_of(connection, "earlier", store_file, FORMAT, _INSTEAD)
        for step in _CARRIED.get(layout, _CARRIED[3]):
            run_script(connection, query(f"memory/{step}.sql"))
        connection.execute("DETACH earlier")
        _in_order(connection, store_file)


def _in_order(connection: Connection, store_file: Path) -> None:
    """A later run was told what came before it; an earlier one can no longer slip in between."""
    later = connection.execute(
        "SELECT max(runs.run_date), any_value(this_run.run_date) FROM runs JOIN this_run "
        "ON runs.run_date > this_run.run_date"
    ).fetchone()
    if later and later[0]:
        raise UserError(
            f"{store_file} holds a run of {date_text(later[0])}, and the newest reading here is of "
            f"{date_text(later[1])}; name another file for older exports, or check read_at."
        )
