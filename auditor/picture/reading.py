"""What a picture needs, out of the store: all circuits of a batch with a fixed number of queries."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from auditor.picture.shapes import Point, Span
from auditor.resources import query, resource
from auditor.store import Connection, run_script

Row = dict[str, Any]


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
    """The year of each of these circuits that is in use, in the order of their ids."""
    connection.execute("CREATE OR REPLACE TEMP TABLE picture_ids (circuit_id VARCHAR)")
    connection.execute("INSERT INTO picture_ids SELECT unnest($ids)", {"ids": list(circuit_ids)})
    for path in sorted(resource("queries/picture").glob("[0-9]*.sql")):
        run_script(connection, path.read_text(encoding="utf-8"))
    sites, changes = _sites(connection), _changes(connection)
    drawn = {
        head["circuit_no"]: CircuitYear(head, sites[head["site_id"]], changes[head["controller_id"]])
        for head in _rows(connection, "circuits")
    }
    for name in ("pieces", "differences"):
        for circuit_no, *piece in _tuples(connection, name):
            getattr(drawn[circuit_no], name).append(Piece(*piece))
    for fact in _rows(connection, "facts"):
        drawn[fact["circuit_no"]].facts.append(fact)
    for circuit_no, paint, seconds, dates in _tuples(connection, "totals"):
        drawn[circuit_no].totals[paint] = seconds, dates
    yield from drawn.values()


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


def _tuples(connection: Connection, name: str) -> list[tuple[Any, ...]]:
    return connection.execute(query(f"picture/{name}.sql")).fetchall()


def _rows(connection: Connection, name: str) -> list[Row]:
    answer = connection.execute(query(f"picture/{name}.sql"))
    columns = [column[0] for column in answer.description]
    return [dict(zip(columns, row, strict=True)) for row in answer.fetchall()]
