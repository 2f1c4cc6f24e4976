"""Rows out of the store as dicts, and into groups."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from auditor.resources import query
from auditor.store import Connection

Row = dict[str, Any]
Groups = dict[Any, list[Row]]


def scope(connection: Connection, pages: int) -> None:
    """What the queries of the report draw from; the first ``pages`` sites by rank are told in full."""
    connection.execute(query("report/00_scope.sql"), {"pages": pages})
    connection.execute(query("report/05_findings.sql"))


def fetch(connection: Connection, name: str, **params: Any) -> list[Row]:
    """The rows of ``queries/report/<name>.sql``, in its order."""
    return rows_of(connection, query(f"report/{name}.sql"), **params)


def rows_of(connection: Connection, sql: str, **params: Any) -> list[Row]:
    """The rows of a query, in its order."""
    answer = connection.execute(sql, params)
    columns = [column[0] for column in answer.description]
    return [dict(zip(columns, row, strict=True)) for row in answer.fetchall()]


def by(rows: Iterable[Row], *columns: str) -> Groups:
    """The rows under each value of a column, or each tuple of values of several; order kept."""
    if len(columns) == 1:
        return by_key(rows, lambda row: row[columns[0]])
    return by_key(rows, lambda row: tuple(row[column] for column in columns))


def by_key(rows: Iterable[Row], key: Callable[[Row], Any]) -> Groups:
    """The rows under each key, in the order in which the keys first come."""
    groups: Groups = {}
    for row in rows:
        groups.setdefault(key(row), []).append(row)
    return groups


def counts_text(findings: Sequence[Row], severities: Sequence[str]) -> str:
    """Findings by severity, those that there are: "2 critical, 1 low"."""
    numbers = {severity: sum(row["severity"] == severity for row in findings) for severity in severities}
    return ", ".join(f"{number} {severity}" for severity, number in numbers.items() if number)
