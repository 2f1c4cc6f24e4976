"""Runs one query of a user's rule where it can read nothing but a copy of the store.

A process of its own, started by path: it needs nothing of this program. It takes a request as JSON on
standard input and gives the answer as JSON on standard output; whoever started it may kill it at any time.

The engine's own locks (no file, no network, no extension, no change of settings, nothing written) and the
operating system's limits say the same thing twice, for the engine's memory limit does not count long texts.
"""

import contextlib
import json
import signal
import sys
from datetime import date
from decimal import Decimal
from typing import Any

import duckdb

LOCKS: dict[str, str | bool | int | float | list[str]] = {
    "enable_external_access": "false",
    "autoload_known_extensions": "false",
    "autoinstall_known_extensions": "false",
    "allow_community_extensions": "false",
    "python_enable_replacements": "false",  # names of Python variables are no tables
    "temp_directory": "",  # nothing is spilt to disk
    "memory_limit": "1GB",
    "threads": "1",  # sums and lists come out in the same order every time
    "lock_configuration": "true",
}
_ADDRESS_SPACE = 3 * 2**30  # bytes: the engine, its memory, and an end to what it does not count
_LONGEST = 2**28  # characters of an answer, which whoever asked must hold as well
_NULL = '"NULL"'  # the type of a column that holds nothing else
_INTEGERS = ("TINYINT", "SMALLINT", "INTEGER", "BIGINT", "HUGEINT")
_TYPES = {
    "text": {_NULL, "VARCHAR", "ENUM"},
    "date": {_NULL, "DATE"},
    "number": {_NULL, "DECIMAL", "FLOAT", "DOUBLE", *_INTEGERS, *(f"U{name}" for name in _INTEGERS)},
}


def main() -> None:
    """Answers the one request."""
    request = json.load(sys.stdin)
    connection = duckdb.connect(request["store"], read_only=True, config=LOCKS)
    _shut_in(request["seconds"])
    answer = _answer(connection, request)
    sys.stdout.write(answer if len(answer) <= _LONGEST else json.dumps({"error": "MemoryError"}))


def _shut_in(seconds: int) -> None:
    """From here on the system opens no file or socket, lets none grow, and ends what nobody else stops."""
    try:
        import resource
    except ImportError:  # not on this system: the engine's locks and the parent's clock stand alone
        return
    signal.alarm(seconds + 5)
    limits = ((resource.RLIMIT_NOFILE, 0), (resource.RLIMIT_FSIZE, 0), (resource.RLIMIT_AS, _ADDRESS_SPACE))
    for limit, value in limits:
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(limit, (value, value))


def _answer(connection: duckdb.DuckDBPyConnection, request: dict[str, Any]) -> str:
    try:
        return json.dumps(_rows(connection, request), default=_plain)
    except (duckdb.Error, MemoryError) as error:
        return json.dumps({"error": type(error).__name__, "why": str(error)})


def _rows(connection: duckdb.DuckDBPyConnection, request: dict[str, Any]) -> dict[str, Any]:
    statements = connection.extract_statements(request["sql"])
    if [statement.type for statement in statements] != [duckdb.StatementType.SELECT]:
        return {"error": "statement"}
    found = connection.execute(statements[0], request["params"])
    if wrong := _misfit(found.description, request["columns"]):
        return {"error": "columns", "why": wrong}
    return {"rows": found.fetchmany(request["most"] + 1)}  # no endless answer


def _misfit(found: list[Any], wanted: dict[str, str]) -> str:
    """What is wrong with the columns of an answer; blank where they are as wanted."""
    if [column[0] for column in found] != list(wanted):
        return f"its query must return {', '.join(wanted)}, in this order"
    for name, found_type in ((column[0], str(column[1])) for column in found):
        if found_type.partition("(")[0] not in _TYPES[wanted[name]] or found_type.endswith("]"):
            return f"{name} must be a {wanted[name]}, and its query gives {found_type}"
    return ""


def _plain(value: Any) -> float | str:
    if isinstance(value, Decimal):
        return float(value)
    return value.isoformat() if isinstance(value, date) else str(value)


if __name__ == "__main__":
    main()
