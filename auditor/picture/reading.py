"""What a picture needs, out of the store: all circuits of a batch with a fixed number of queries."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import groupby
from operator import itemgetter
from typing import Any, NamedTuple

import numpy as np

from auditor.picture.columns import Ints, firsts
from auditor.picture.cutting import (
    Dates,
    Holding,
    Pieces,
    States,
    by_dates,
    differing,
    edge_points,
    holding,
    painted,
    telling,
)
from auditor.picture.paints import NUMBER, UNPAINTED
from auditor.picture.shapes import Points
from auditor.resources import query
from auditor.store import Connection, run_script

Row = dict[str, Any]
_KINDS = range(5)  # of spans at a site, in spans.sql
_LIGHT, _OPEN, _NIGHT = 0, 2, 4
LINES = ("sunrise", "sunset", "opens", "closes", "night-begins", "night-ends")  # two for each of these
_HOLDS, _DOES = 32, 4  # in how many ways, in paints.sql
_NONE = np.array([], np.int64)
_NOTHING = Pieces(_NONE, _NONE, _NONE.astype(np.float64), _NONE, _NONE, _NONE)


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
    """What the pictures of a site's circuits have in common. ``edges``: of its spans, kind by kind."""

    dates: Dates
    edges: Sequence[Ints]
    hours: Sequence[Row]

    @cached_property
    def light(self) -> Pieces:
        """When the sun is up."""
        return by_dates(self.dates, self.edges[_LIGHT])

    @cached_property
    def lines(self) -> dict[str, Points]:
        """What happens by the name of its line, in the order of LINES."""
        found = []
        for kind in (_LIGHT, _OPEN, _NIGHT):
            starts, ends = self.edges[kind][::2], self.edges[kind][1::2]
            found.append(edge_points(self.dates, starts, starts))
            found.append(edge_points(self.dates, ends, ends - 1))  # midnight belongs to the date that ends
        return dict(zip(LINES, found, strict=True))


@dataclass
class CircuitYear:
    """One circuit's year: what is painted, and where a wrong clock tells; facts, the weightiest first."""

    head: Row
    site: SiteYear
    changes: Sequence[Change]
    facts: Sequence[Row]
    pieces: Pieces
    differences: Pieces


def years(connection: Connection, circuit_ids: Sequence[str]) -> Iterator[CircuitYear]:
    """The year of each of these circuits that is in use, in this order.

    All is read before the first is given: the connection is free from then on.
    """
    _choose(connection, circuit_ids)
    shelves, site_of = _shelves(connection), _sites(connection)
    for _, heads in groupby(_rows(connection, "circuits"), itemgetter("site_no")):
        site = None
        for head in heads:
            site = site or site_of(head)
            yield shelves.year(head, site)


@dataclass(frozen=True)
class _Shelves:
    """What circuits draw from, by their numbers; changes of clocks by controller_id."""

    states: Mapping[int, States]
    right: Mapping[int, States]  # with a right clock, where that makes a difference
    around: Mapping[int, Ints]  # edges of when people are on their way
    facts: Mapping[int, list[Row]]
    changes: Mapping[str, list[Change]]
    paints: Mapping[int, tuple[Ints, tuple[int, ...]]]  # by kind of circuit, and which spans tell them apart

    def year(self, head: Row, site: SiteYear) -> CircuitYear:
        number, (paints, kinds) = head["circuit_no"], self.paints[head["kind_no"]]
        states, right = self.states[number], self.right.get(number)
        around = self.around.get(number, _NONE)
        return CircuitYear(
            head,
            site,
            self.changes.get(head["controller_id"], []),
            self.facts.get(number, []),
            painted(site.dates, _holding(site, kinds), states, around, paints),
            differing(site.dates, states, right) if right else _NOTHING,
        )


@lru_cache(maxsize=8)  # circuits of a site have it in common
def _holding(site: SiteYear, kinds: Sequence[int]) -> Holding:
    return holding(site.dates, {kind: site.edges[kind] for kind in kinds})


def _shelves(connection: Connection) -> _Shelves:
    states, right = _states(connection, "states"), _states(connection, "right_states")
    otherwise = {number: one for number, one in right.items() if not _alike(states[number], one)}
    facts, changes = _facts(connection, otherwise), _changes(connection)
    return _Shelves(states, otherwise, _edges(connection, "around"), facts, changes, _paints(connection))


def _choose(connection: Connection, circuit_ids: Sequence[str]) -> None:
    connection.execute("CREATE OR REPLACE TEMP TABLE picture_ids (place INTEGER, circuit_id VARCHAR)")
    connection.execute(
        "INSERT INTO picture_ids SELECT unnest(range(len($ids))), unnest($ids)", {"ids": list(circuit_ids)}
    )
    run_script(connection, query("picture/10_scope.sql"))


def _states(connection: Connection, name: str) -> dict[int, States]:
    return {number: States(*columns) for number, columns in _parted(connection, name).items()}


def _alike(one: States, other: States) -> bool:
    return all(np.array_equal(mine, theirs) for mine, theirs in zip(one, other, strict=True))


def _facts(connection: Connection, otherwise: Iterable[int]) -> dict[int, list[Row]]:
    """What is to say of each circuit. ``otherwise``: those that would do otherwise with a right clock."""
    connection.execute("CREATE OR REPLACE TEMP TABLE picture_otherwise (circuit_no INTEGER)")
    connection.execute(
        "INSERT INTO picture_otherwise SELECT unnest($numbers)", {"numbers": sorted(otherwise)}
    )
    run_script(connection, query("picture/20_seasons.sql"))
    return _by(_rows(connection, "facts"), "circuit_no")


def _changes(connection: Connection) -> dict[str, list[Change]]:
    changes: dict[str, list[Change]] = defaultdict(list)
    for controller_id, *change in connection.execute(query("picture/changes.sql")).fetchall():
        changes[controller_id].append(Change(*change))
    return changes


def _paints(connection: Connection) -> dict[int, tuple[Ints, tuple[int, ...]]]:
    """The number of each paint by what holds and what a circuit does, for each kind of circuit."""
    found = {}
    for kind_no, rows in _by(_rows(connection, "paints"), "kind_no").items():
        numbers = [UNPAINTED if row["paint"] is None else NUMBER[row["paint"]] for row in rows]
        paints = np.array(numbers, np.int64).reshape(_HOLDS, _DOES)
        found[kind_no] = paints, telling(paints, _NIGHT)
    return found


def _sites(connection: Connection) -> Callable[[Row], SiteYear]:
    """What makes the site of a circuit's head."""
    zones = {number: Dates(*columns) for number, columns in _parted(connection, "dates").items()}
    edges, hours = _edges(connection, "spans"), _by(_rows(connection, "hours"), "site_no")

    def site_of(head: Row) -> SiteYear:
        number, dates = head["site_no"], zones[head["clock_no"]]
        kinds = [edges.get(len(_KINDS) * number + kind, _NONE) for kind in _KINDS]
        period = dates.start_s[0], dates.end_s[-1]
        return SiteYear(dates, [np.clip(one, *period) for one in kinds], hours.get(number, []))

    return site_of


def _edges(connection: Connection, name: str) -> dict[int, Ints]:
    """Edges of spans, start and end by turns."""
    return {number: np.column_stack(spans).ravel() for number, spans in _parted(connection, name).items()}


def _parted(connection: Connection, name: str) -> dict[int, list[Any]]:
    """A query's columns but the first, parted by the number in that; the second, seconds, is their order."""
    columns = list(connection.execute(query(f"picture/{name}.sql")).fetchnumpy().values())
    if not len(columns[0]):
        return {}
    order = np.argsort((columns[0].astype(np.int64) << 40) + columns[1], kind="stable")  # nearly so already
    first, *others = (column[order] for column in columns)
    begins = firsts(first)
    parts = zip(*(np.split(column, begins[1:]) for column in others), strict=True)
    return dict(zip(first[begins].tolist(), map(list, parts), strict=True))


def _by(rows: Sequence[Row], column: str) -> dict[Any, list[Row]]:
    groups: dict[Any, list[Row]] = {}
    for row in rows:
        groups.setdefault(row[column], []).append(row)
    return groups


def _rows(connection: Connection, name: str) -> list[Row]:
    answer = connection.execute(query(f"picture/{name}.sql"))
    columns = [column[0] for column in answer.description]
    return [dict(zip(columns, row, strict=True)) for row in answer.fetchall()]
