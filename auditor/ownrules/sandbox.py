"""Runs one query of a user's rule where it can read nothing but a copy of the store.

A process of its own, started by path: it needs nothing of this program. It takes a request as JSON on
standard input and gives the answer as JSON on standard output; whoever started it may kill it at any time.

The engine's own locks (no file, no network, no extension, no change of settings, nothing written) and the
operating system's limits say the same thing twice, for the engine's memory limit does not count long texts.
What would answer differently another day, or on another machine, is refused before it runs.
"""

import contextlib
import json
import os
import signal
import sys
import threading
from collections.abc import Iterator
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
}
_ADDRESS_SPACE = 3 * 2**30  # bytes: the engine, its memory, and an end to what it does not count
_LONGEST = 2**26  # characters of an answer, which whoever asked must hold as well
_NULL = '"NULL"'  # the type of a column that holds nothing else
_INTEGERS = ("TINYINT", "SMALLINT", "INTEGER", "BIGINT", "HUGEINT")
_TYPES = {
    "text": {_NULL, "VARCHAR", "ENUM"},
    "date": {_NULL, "DATE"},
    "number": {_NULL, "DECIMAL", "FLOAT", "DOUBLE", *_INTEGERS, *(f"U{name}" for name in _INTEGERS)},
}
# Functions whose answer is not the same for the same arguments. Of those that the engine calls consistent
# within one query, the ones that take or make an instant depend on TimeZone alone, which is set. The age of
# one instant, up to now, it takes for consistent. A call of error() has no answer.
_UNSTEADY = """
SELECT function_name, len(parameter_types) FROM duckdb_functions()
WHERE stability = 'VOLATILE' AND function_name <> 'error'
   OR stability = 'CONSISTENT_WITHIN_QUERY' AND (parameter_types = [] OR NOT regexp_matches(
        list_append(parameter_types, return_type)::VARCHAR, 'TIME ZONE|TIMESTAMPTZ'))
   OR function_name = 'age' AND len(parameter_types) = 1
"""
_MACROS = """
SELECT function_name, list('SELECT ' || macro_definition) FROM duckdb_functions()
WHERE function_type = 'macro' GROUP BY ALL
"""
_INTERNAL = "SELECT view_name FROM duckdb_views() WHERE internal AND schema_name <> 'information_schema'"
# SQL's words for the time of day, which are called without brackets.
_WORDS = {"current_date", "current_time", "current_timestamp", "localtime", "localtimestamp"}
_MAKERS = {"generate_series", "json_each", "json_tree", "range", "repeat", "repeat_row", "unnest"}  # of rows


def main() -> None:
    """Answers the one request. Without a store it only looks whether the query may run."""
    sys.setrecursionlimit(10_000)  # the engine nests a thousand deep, and its JSON three times as deep
    request = json.load(sys.stdin)
    connection = locked(request["store"])
    _shut_in(request["seconds"])
    answer = _answer(connection, request)
    sys.stdout.write(answer if len(answer) <= _LONGEST else json.dumps({"error": "MemoryError"}))


def locked(store: str | None) -> duckdb.DuckDBPyConnection:
    """The engine at the store, read-only (None: at none). It reaches nothing else and keeps its settings."""
    connection = duckdb.connect(store or ":memory:", read_only=store is not None, config=LOCKS)
    connection.execute("SET TimeZone = 'UTC'")  # not that of the machine
    connection.execute("SET lock_configuration = true")
    return connection


def _shut_in(seconds: int) -> None:
    """From here on the system opens no file or socket, and the process ends when nobody waits for it."""
    try:
        import resource
    except ImportError:  # not on this system: the engine's locks and the parent's clock stand alone
        return
    signal.alarm(seconds + 5)
    threading.Thread(target=_end_with, args=(os.getppid(),), daemon=True).start()
    for limit, value in ((resource.RLIMIT_NOFILE, 0), (resource.RLIMIT_AS, _ADDRESS_SPACE)):
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(limit, (value, value))


def _end_with(parent: int) -> None:
    """Ends this process within a second of its parent's end: then nobody is left to stop it, or to listen."""
    while os.getppid() == parent:
        threading.Event().wait(0.5)  # seconds
    os._exit(1)


def _answer(connection: duckdb.DuckDBPyConnection, request: dict[str, Any]) -> str:
    try:
        return json.dumps(_rows(connection, request), default=_plain)
    except (duckdb.Error, MemoryError, RecursionError) as error:
        return json.dumps({"error": type(error).__name__, "why": str(error)})


def _rows(connection: duckdb.DuckDBPyConnection, request: dict[str, Any]) -> dict[str, Any]:
    statements = connection.extract_statements(request["sql"])
    if [statement.type for statement in statements] != [duckdb.StatementType.SELECT]:
        return {"error": "statement"}
    for error, why in _faults(connection, request["sql"]):
        return {"error": error, "why": why}
    if request["store"] is None:
        return {"rows": []}
    found = connection.execute(statements[0], request["params"])
    if wrong := _misfit(found.description, request["columns"]):
        return {"error": "columns", "why": wrong}
    return {"rows": found.fetchmany(request["most"] + 1)}  # no endless answer


def _faults(connection: duckdb.DuckDBPyConnection, sql: str) -> Iterator[tuple[str, str]]:
    """What a query asks for that it may not, by the engine's own reading of it and of the macros it calls."""
    unsteady = set(connection.execute(_UNSTEADY).fetchall())
    macros = dict(connection.execute(_MACROS).fetchall())
    internal = {name for (name,) in connection.execute(_INTERNAL).fetchall()}
    texts = [sql]
    for text in texts:  # which grows
        for node in _nodes(connection, text):
            yield from _refused(node, unsteady, internal)
            texts += macros.pop(node.get("function_name"), ())


def _refused(
    node: dict[str, Any], unsteady: set[tuple[str, int]], internal: set[str]
) -> Iterator[tuple[str, str]]:
    if node.get("sample"):
        yield "unsteady", "a sample"
    match node:
        case {"type": "COLUMN_REF", "column_names": [word]} if word.lower() in _WORDS:
            yield "unsteady", word
        case {"function_name": name, "qualified_name": {"path": [*before, _]}, "arguments": given}:
            # What stands before it is a schema or, as the engine has it, one argument more.
            if {(name, len(given)), (name, len(given) + bool(before))} & unsteady:
                yield "unsteady", name
            yield from (("unsteady", word) for word in before if word.lower() in _WORDS)
        case {"type": "TABLE_FUNCTION", "function": {"function_name": name}} if name not in _MAKERS:
            yield "PermissionException", name
        case {"type": "BASE_TABLE", "qualified_name": {"path": [*schemas, table]}}:
            if table.lower() in internal or "information_schema" in map(str.lower, schemas):
                yield "PermissionException", table
        case {"type": "SHOW_REF"}:
            yield "statement", ""
        case {"type": str(kind)} if kind.endswith("_QUERY_NODE"):  # what changes rows, under a name of WITH
            yield "statement", ""


def _nodes(connection: duckdb.DuckDBPyConnection, sql: str) -> Iterator[dict[str, Any]]:
    """Every part of a query as the engine parsed it."""
    ((text,),) = connection.execute("SELECT json_serialize_sql($sql)", {"sql": sql}).fetchall()
    parts: list[Any] = [json.loads(text)]
    if parts[0]["error"]:
        raise duckdb.ParserException(parts[0]["error_message"])
    for part in parts:  # which grows
        if isinstance(part, dict):
            yield part
        if isinstance(part, dict | list):
            parts += part.values() if isinstance(part, dict) else part


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
