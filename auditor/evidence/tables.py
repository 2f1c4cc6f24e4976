"""Editions into the tables of ``queries/evidence/00_schema.sql``."""

from collections.abc import Iterable, Iterator
from typing import Any

from auditor.codes import CodeItem, Edition
from auditor.codes.edition import Basis
from auditor.store import Connection

Rows = Iterable[list[Any]]


def fill_codes(connection: Connection, editions: Iterable[Edition]) -> None:
    """These editions, whole, into ``code_editions``, ``code_items`` and the tables that hang on it."""
    for edition in editions:
        _insert(connection, "code_editions", [[edition.id, edition.title, edition.amends, edition.own]])
        for item in edition.items.values():
            for table, rows in _rows(edition, item).items():
                _insert(connection, table, rows)


def _rows(edition: Edition, item: CodeItem) -> dict[str, Iterator[list[Any]]]:
    key = [edition.id, item.key]
    facts = [item.clause, item.requirement, item.asked, list(item.areas)]
    return {
        "code_items": iter([key + facts + _basis(item.basis)]),
        "code_limits": (
            [*key, part.name, part.bound, part.value, part.unit, *_basis(part.basis)] for part in item.limits
        ),
        "code_windows": (
            [
                *(*key, number, part.name, part.from_time_s, part.until_time_s),
                *(part.from_closing_minutes, part.until_opening_minutes, *_basis(part.basis)),
            ]
            for number, part in enumerate(item.windows, 1)
        ),
        "code_exceptions": (
            [*key, part.tag, part.words, list(part.site_types), part.outcome, *_basis(part.basis)]
            for part in item.exceptions
        ),
    }


def _basis(basis: Basis) -> list[Any]:
    return [basis.mark, basis.confidence, basis.source]


def _insert(connection: Connection, table: str, rows: Rows) -> None:
    for row in rows:
        connection.execute(f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})", row)
