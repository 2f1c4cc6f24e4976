"""Evidence for a code reviewer: every item, decided for the sites asked about, from a kept store."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import duckdb

from auditor.codes import Codes, edition_of
from auditor.errors import UserError
from auditor.evidence.items import COLUMNS, Item, load_items
from auditor.evidence.tables import fill_codes
from auditor.resources import query
from auditor.store import Connection, run_script
from auditor.wording import did_you_mean

Row = dict[str, Any]
_EDITIONS = "SELECT site_id, coalesce(sites.energy_code, portfolio.energy_code) FROM sites, portfolio"


@dataclass(frozen=True)
class Evidence:
    """``rows``, ``outcomes`` (one a site and item) and ``sources`` (the input rows behind each row).

    As the tables ``evidence_…`` of ``queries/evidence/00_schema.sql`` have them. Rows are ordered by
    site, item, loudness of the outcome and subject.
    """

    rows: list[Row]
    outcomes: list[Row]
    sources: list[Row]


def evidence(connection: Connection, sites: Sequence[str], edition: str | None, codes: Codes) -> Evidence:
    """Decides every item for ``sites`` by ``edition`` (None: each site's own, else the portfolio's).

    ``connection`` is a kept store, which may be open read-only: all that is made here is temporary. The
    tables of the codes and of the outcomes stay in it for as long as it is open.
    Raises UserError where a site or the edition is not known.
    """
    if edition is not None:
        edition_of(codes, edition)
    run_script(connection, query("evidence/00_schema.sql"))
    asked = _ask(connection, sites, edition)
    fill_codes(connection, [codes[name] for name in asked if name in codes])
    for step in ("10_scope", "20_spans", "30_faults"):
        run_script(connection, query(f"evidence/{step}.sql"))
    for item in load_items():
        _decide(connection, item)
    for step in ("80_rows", "90_sources"):
        run_script(connection, query(f"evidence/{step}.sql"))
    return Evidence(*(_rows(connection, name) for name in ("rows", "outcomes", "sources")))


def _ask(connection: Connection, sites: Sequence[str], edition: str | None) -> list[str]:
    """Notes what is asked; gives the editions that it is asked by, known or not."""
    known = dict(connection.execute(_EDITIONS).fetchall())
    for site in dict.fromkeys(sites):
        if site not in known:
            near = did_you_mean(site, list(known), "sites.csv of the audit lists those that there are")
            raise UserError(f'there is no site "{site}" in this store; {near}')
        connection.execute("INSERT INTO evidence_asked VALUES (?, ?)", [site, edition or known[site]])
    return sorted({edition or known[site] or "" for site in sites})


def _decide(connection: Connection, item: Item) -> None:
    connection.execute(
        f"INSERT INTO evidence_items VALUES ({', '.join('?' * 9)})",
        [
            *(item.name, item.place, item.title, item.of_code, item.rests_on),
            *(item.test, item.nobody, item.absent, item.reads),
        ],
    )
    connection.execute(f"CREATE OR REPLACE TEMP TABLE e_item AS {item.sql}")
    found = tuple(row[0] for row in connection.execute("DESCRIBE e_item").fetchall())
    if found != COLUMNS:
        raise duckdb.ProgrammingError(f"{item.name}.sql must return {', '.join(COLUMNS)}, in this order")
    connection.execute(
        "INSERT INTO item_rows BY NAME SELECT $item AS item, * FROM e_item", {"item": item.name}
    )


def _rows(connection: Connection, name: str) -> list[Row]:
    answer = connection.execute(query(f"evidence/{name}.sql"))
    columns = [column[0] for column in answer.description]
    return [dict(zip(columns, row, strict=True)) for row in answer.fetchall()]
