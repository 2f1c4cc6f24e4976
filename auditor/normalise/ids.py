"""Ids that a spreadsheet took for numbers or dates, and rows that are examples: said, and never mended.

"0042" becomes 42, "1E05" 100000, "3-1" a date; then a row no longer names what it named. Which of two forms
is the right one only the other tables can tell: where one of them still has "0042", "42" is doubted.
"""

import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

import polars as pl

from auditor.model import EXAMPLE, RawTable
from auditor.wording import counted

_Column = tuple[str, str]  # table and column
# Ids of one kind: the columns that give them, and those that name them.
_KINDS: list[tuple[list[_Column], list[_Column]]] = [
    (
        [("sites", "site_id")],
        [(table, "site_id") for table in ("controllers", "hours", "closures", "waivers")],
    ),
    (
        [("controllers", "controller_id")],
        [(table, "controller_id") for table in ("circuits", "sensors", "events")],
    ),
    (
        [("circuits", "circuit_id"), ("sensors", "sensor_id")],
        [("sensors", "circuits"), ("events", "targets")],
    ),
]
_NUMBER = r"^\d{1,30}(\.0{1,9})?([eE]\+?\d{1,2})?$"
_AS_WRITTEN = re.compile(r"0\d+|\d+[eE]\d+", re.ASCII)  # what no spreadsheet makes of a number
_DATE = r"^\d{4}-\d\d-\d\d 00:00:00$"  # how a cell that holds a date reads


@dataclass(frozen=True)
class _Place:
    """One column of one file; ``rows`` has for each id in it the first row and the number of rows.

    ``gives``: its ids are those of its rows, and name no others.
    """

    file: str
    column: str
    gives: bool
    rows: dict[str, tuple[int, int]]


def odd_ids(raw: Sequence[RawTable]) -> list[str]:
    """A sentence for each column with ids that look like another's after a spreadsheet changed them."""
    said: list[str] = []
    for own, others in _KINDS:
        places = [place for table in raw for place in _places(table, own, others)]
        said += [*_shrunk(places), *_dates(places)]
    return said


def examples(raw: Sequence[RawTable]) -> list[str]:
    """A sentence for each file that still has the sites of the template's examples."""
    sites = [table for table in raw if table.name == "sites" and "site_id" in table.frame.columns]
    found = [(table.source_file, table.frame["site_id"].drop_nulls()) for table in sites]
    owned = [(file, ids.filter(ids.str.starts_with(EXAMPLE))) for file, ids in found]
    return [
        f"{file}: {counted(len(ids), 'site is an example', 'sites are examples')} of the template and "
        f"audited like any other; delete the examples on every sheet (rows in italics, with {EXAMPLE} "
        "in them)."
        for file, ids in owned
        if len(ids)
    ]


def _places(table: RawTable, own: list[_Column], others: list[_Column]) -> Iterator[_Place]:
    for name, column in own + others:
        if table.name == name and column in table.frame.columns:
            yield _Place(table.source_file, column, (name, column) in own, _rows(table.frame, column))


def _rows(frame: pl.DataFrame, column: str) -> dict[str, tuple[int, int]]:
    """Ids that may have been numbers or dates; a cell may hold several."""
    ids = frame.select(pl.col("source_row").cast(pl.Int64), pl.col(column).str.split(";").alias("id"))
    single = ids.explode("id").with_columns(pl.col("id").str.strip_chars())
    odd = single.filter(pl.col("id").str.contains(f"{_NUMBER}|{_DATE}"))
    found = odd.group_by("id", maintain_order=True).agg(pl.col("source_row").min(), pl.len())
    return {cell: (row, number) for cell, row, number in found.iter_rows()}


def _shrunk(places: list[_Place]) -> Iterator[str]:
    forms: dict[str, set[str]] = defaultdict(set)
    for place in places:
        for cell in place.rows:
            forms[_number(cell)].add(cell)
    for place in places:
        doubts = {
            cell: better
            for cell in place.rows
            for better in sorted(forms[_number(cell)])
            if _rank(better) > _rank(cell) and not _both_are(cell, better, places)
        }
        if doubts:
            yield _doubted(place, doubts, places)


def _number(cell: str) -> str:
    """What a spreadsheet makes of an id that looks like a number; a date stays as it is."""
    if not re.match(_NUMBER, cell, re.ASCII):
        return cell
    return f"{Decimal(cell.replace('E+', 'E')):f}".partition(".")[0].lstrip("0") or "0"


def _rank(cell: str) -> int:
    """How near to what was written: 2 as no spreadsheet leaves it, 1 plain digits, 0 a number."""
    return 2 if _AS_WRITTEN.fullmatch(cell) else int(cell.isdecimal())


def _both_are(one: str, other: str, places: list[_Place]) -> bool:
    """Whether both are ids in their own right: given by one file, or to things of different kinds."""
    ones = [place for place in places if place.gives and one in place.rows]
    others = [place for place in places if place.gives and other in place.rows]
    return any(a.file == b.file or a.column != b.column for a in ones for b in others)


def _doubted(place: _Place, doubts: dict[str, str], places: list[_Place]) -> str:
    cell, where, many = _first(place, doubts)
    other = next(found for found in places if doubts[cell] in found.rows)
    return (
        f'{where} looks like "{doubts[cell]}" of {other.file} after a spreadsheet took it for a number '
        f"({many}). Nothing was changed, and they count as two ids: give the column text format and enter "
        "its ids again, or take them from the export itself."
    )


def _dates(places: list[_Place]) -> Iterator[str]:
    for place in places:
        found = [cell for cell in place.rows if re.match(_DATE, cell)]
        if found:
            _, where, many = _first(place, found)
            yield (
                f"{where} is a date, as which a spreadsheet takes an id such as 3-1 ({many}). Nothing was "
                "changed: give the column text format and enter its ids again."
            )


def _first(place: _Place, cells: Collection[str]) -> tuple[str, str, str]:
    """Which of these cells stands first, that in words, and in how many rows they stand together."""
    first = min(cells, key=lambda cell: place.rows[cell][0])
    number = sum(place.rows[cell][1] for cell in cells)
    where = f'{place.file}, row {place.rows[first][0]}: {place.column} "{first}"'
    return first, where, f"{counted(number, 'row')} in all"
