"""What a picture needs, out of the store: all circuits of a batch with a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from operator import itemgetter
from typing import Any, NamedTuple

from auditor.picture.shapes import Point, Span
from auditor.resources import query, resource
from auditor.store import Connection, run_script

Row = dict[str, Any]
_ROWS = 5000  # held at a time


class Piece(NamedTuple):
    """A stretch of one local date that is painted in one way; minutes of the local day, level 0 to 100."""

    day: int
    paint: str
    level: float
    start: int
    end: int


class Change(NamedTuple):
    """Clocks change: local time by ``moved_s`` (None: not then), the device's error from one to another.

    Seconds; ``minute`` of the local day.
    """

    day: int
    moved_s: int | None
    error_before_s: int | None
    error_after_s: int | None
    minute: int


@dataclass(eq=False)  # a site is itself: what is drawn of it is remembered
class SiteYear:
    """When it is light at a site, and the lines of its picture: sunrise, sunset, opens, closes, night."""

    light: list[Span] = field(default_factory=list)
    lines: dict[str, list[Point]] = field(default_factory=lambda: defaultdict(list))
    hours: list[Row] = field(default_factory=list)


@dataclass
class CircuitYear:
    """One circuit's year. ``totals``: seconds and dates by paint; ``facts``: the weightiest first."""

    head: Row
    site: SiteYear
    changes: list[Change]
    pieces: list[Piece] = field(default_factory=list)
    differences: list[Piece] = field(default_factory=list)
    facts: list[Row] = field(default_factory=list)
    totals: dict[str, tuple[int, int]] = field(default_factory=dict)


def years(connection: Connection, circuit_ids: Sequence[str]) -> Iterator[CircuitYear]:
    """The year of each of these circuits that is in use, in the order of their ids.

    Until the last is taken, the connection is asked for nothing else.
    """
    connection.execute("CREATE OR REPLACE TEMP TABLE picture_ids (circuit_id VARCHAR)")
    connection.execute("INSERT INTO picture_ids SELECT unnest($ids)", {"ids": list(circuit_ids)})
    for path in sorted(resource("queries/picture").glob("[0-9]*.sql")):
        run_script(connection, path.read_text(encoding="utf-8"))
    begun = _begun(connection)
    painted = groupby(_streamed(connection, "pieces"), itemgetter(0))
    circuit_no, rows = next(painted, (None, iter(())))
    while begun:  # a year that was taken is not kept here
        number, year = next(iter(begun.items()))
        del begun[number]
        if number == circuit_no:  # what is off all through has no rows
            for _, differs, *piece in rows:
                (year.differences if differs else year.pieces).append(Piece(*piece))
            circuit_no, rows = next(painted, (None, iter(())))
        yield year


def _begun(connection: Connection) -> dict[int, CircuitYear]:
    """Every circuit's year by its number, but for what is painted: there may be much of that."""
    sites, changes = _sites(connection), _changes(connection)
    years = {
        head["circuit_no"]: CircuitYear(head, sites[head["site_id"]], changes[head["controller_id"]])
        for head in _rows(connection, "circuits")
    }
    for fact in _rows(connection, "facts"):
        years[fact["circuit_no"]].facts.append(fact)
    for circuit_no, paint, seconds, dates in _tuples(connection, "totals"):
        years[circuit_no].totals[paint] = seconds, dates
    return years


def _sites(connection: Connection) -> dict[str, SiteYear]:
    sites: dict[str, SiteYear] = defaultdict(SiteYear)
    for site_id, *span in _tuples(connection, "light"):
        sites[site_id].light.append((span[0], span[1], span[2]))
    for site_id, line, day, minute in _tuples(connection, "lines"):
        sites[site_id].lines[line].append((day, minute))
    for row in _rows(connection, "hours"):
        sites[row["site_id"]].hours.append(row)
    return sites


def _changes(connection: Connection) -> dict[str, list[Change]]:
    changes: dict[str, list[Change]] = defaultdict(list)
    for controller_id, *change in _tuples(connection, "changes"):
        changes[controller_id].append(Change(*change))
    return changes


def _streamed(connection: Connection, name: str) -> Iterator[tuple[Any, ...]]:
    answer = connection.execute(query(f"picture/{name}.sql"))
    while rows := answer.fetchmany(_ROWS):
        yield from rows


def _tuples(connection: Connection, name: str) -> list[tuple[Any, ...]]:
    return connection.execute(query(f"picture/{name}.sql")).fetchall()


def _rows(connection: Connection, name: str) -> list[Row]:
    answer = connection.execute(query(f"picture/{name}.sql"))
    columns = [column[0] for column in answer.description]
    return [dict(zip(columns, row, strict=True)) for row in answer.fetchall()]
