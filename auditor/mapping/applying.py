"""A map over its sources: rows of contract tables as text, and where every row of the sources went.

Nothing is judged here but whether a text could be translated; what it may say is for ``normalise``.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import polars as pl

from auditor.letters import printable
from auditor.mapping.blocks import Block
from auditor.mapping.cells import ITEM, Cell
from auditor.mapping.items import NTH
from auditor.mapping.kinds import WHEN, WHEN_COLUMNS
from auditor.mapping.nights import NIGHT, STACK, over_midnight
from auditor.mapping.pages import Clocks
from auditor.mapping.sources import FILE, ROW, SHEET, Sheet, sheets_of
from auditor.mapping.spec import Map
from auditor.model import TABLE_NAMES, RawTable, Rejection
from auditor.wording import did_you_mean, short

NOTHING = "gives nothing"  # no table's where holds, or all that it asks for is blank
BLOCK, _STEP = "{block}", "{step}"  # columns of ours; no header has braces
_NAMES = 6  # of a header, in a sentence
_SHOWN = 200  # characters of a cell in a rejection


@dataclass(frozen=True)
class Applied:
    """One sheet through a map: its tables, and the sheet as it was read."""

    sheet: Sheet
    tables: list[RawTable]


def apply(found: Map) -> Iterator[Applied]:
    """Each sheet of a map's files. Raises UserError where one cannot be read or lacks a column."""
    for sheet in sheets_of(found):
        _check_columns(found, sheet)
        yield Applied(sheet, _tables(found, sheet))


def _check_columns(found: Map, sheet: Sheet) -> None:
    for block in found.blocks:
        for name in block.references:
            _check_column(block.place.wrong, name, sheet)
    for condition in found.skip:
        _check_column(found.place.below(f'skip."{condition.rule}"').wrong, condition.column, sheet)


def _check_column(wrong: Any, name: str, sheet: Sheet) -> None:
    if name in sheet.frame.columns:
        return
    known = [column for column in sheet.frame.columns if column not in ("source_row", ROW, SHEET)]
    if doubled := [column for column in known if column in (f"{name} (1)", f"{name} (2)")]:
        raise wrong(
            f'"{name}" stands twice in the header of {sheet.source_file}; write {{{doubled[0]}}} or another.'
        )
    own = [column for column in known if column.startswith(FILE) == name.startswith(FILE)]
    header = ", ".join(f'"{short(printable(column), 30)}"' for column in own[:_NAMES])
    there = f"it has {header}{' …' if len(own) > _NAMES else ''}: header_row must be the row of the names"
    raise wrong(f'{sheet.source_file} has no column "{name}"; {did_you_mean(name, own, there)}')


def _tables(found: Map, sheet: Sheet) -> list[RawTable]:
    skipped, frame = _skip(found, sheet)
    faults = {row: why for row, why in sheet.faults.items() if row not in skipped}
    frame = frame.filter(~pl.col("source_row").is_in(list(faults)))
    made = [_rows(block, number, frame, sheet.clocks) for number, block in enumerate(found.blocks)]
    idle = set(frame["source_row"]) - {row for rows in made for row in rows.touched}
    skipped |= dict.fromkeys(sorted(idle), NOTHING)
    tables = []
    for name in TABLE_NAMES:
        own = [rows for rows, block in zip(made, found.blocks, strict=True) if block.table == name]
        if own:
            tables.append(_table(name, sheet, own))
    unsplit = [Rejection(sheet.source_file, row, "", "", why) for row, why in sorted(faults.items())]
    first = replace(tables[0], rejections=(*unsplit, *tables[0].rejections), skipped=skipped)
    return [first, *tables[1:]]


def _skip(found: Map, sheet: Sheet) -> tuple[dict[int, str], pl.DataFrame]:
    """What is left out by the rules of the map, the first that holds; and the rest."""
    skipped, frame = dict(sheet.skipped), sheet.frame
    for condition in found.skip:
        holds = condition.holds(frame)
        skipped |= dict.fromkeys(frame["source_row"].filter(holds), condition.rule)
        frame = frame.filter(~holds)
    return skipped, frame


@dataclass
class _Rows:
    """What one block makes of a sheet; ``touched`` are the rows that it made something of."""

    frame: pl.DataFrame
    rejections: list[tuple[int, str, str, str]] = field(default_factory=list)
    touched: set[int] = field(default_factory=set)


def _rows(block: Block, number: int, frame: pl.DataFrame, clocks: Clocks) -> _Rows:
    for condition in block.where:
        frame = frame.filter(condition.holds(frame))
    if block.filled:
        frame = frame.filter(pl.any_horizontal(pl.col(name).is_not_null() for name in block.filled))
    frame = block.items.exploded(frame) if block.items else frame.with_columns(pl.lit(0).alias(NTH))
    own = (pl.lit(number).alias(BLOCK), pl.lit(block.stack).alias(STACK), _text(block.night).alias(NIGHT))
    made = _Rows(frame.select("source_row", NTH, *own), touched=set(frame["source_row"]))
    for cell in block.cells:
        real = clocks.get(cell.lone, frozenset())
        columns, faults = _column(cell, frame, block.items.references if block.items else [], real)
        made.frame = made.frame.with_columns(columns)
        made.rejections += faults
    return made


def _column(
    cell: Cell, frame: pl.DataFrame, whole: list[str], real: frozenset[int]
) -> tuple[list[pl.Series], list[tuple[int, str, str, str]]]:
    """The contract's columns that a cell gives, and its faults; equal cells are translated once.

    ``whole``: the columns of whose cells ``item`` is a part; ``real``: the rows with a time of day that is
    no text, which is read as what it is.
    """
    names = list(WHEN_COLUMNS) if cell.name == WHEN else [cell.name]
    references = cell.references
    cells = frame.select(references).iter_rows() if references else [()] * frame.height
    keys = [(key, row in real) for key, row in zip(cells, frame["source_row"], strict=True)]
    ways = {False: cell, True: cell.of_clock}
    said = {
        key: _said(ways[key[1]], dict(zip(references, key[0], strict=True)), len(names), whole)
        for key in dict.fromkeys(keys)
    }
    columns = [
        pl.Series(name, [said[key][0][place] for key in keys], pl.String) for place, name in enumerate(names)
    ]
    blamed = "time" if cell.name == WHEN else cell.name
    faults = [
        (row, blamed, said[key][1], said[key][2])
        for row, key in zip(frame["source_row"], keys, strict=True)
        if said[key][2]
    ]
    return columns, faults


def _said(
    cell: Cell, row: dict[str, str | None], width: int, whole: list[str]
) -> tuple[tuple[str | None, ...], str, str]:
    """Texts, what stands in the source, and why it cannot be translated."""
    try:
        return cell.texts(row), "", ""
    except ValueError as error:
        shown = " ".join(part or "" for part in row.values())[:_SHOWN]
        named = [one for name in row for one in (whole if name == ITEM and whole else [name])]
        where = f" (column {', '.join(dict.fromkeys(named))})" if named else ""
        return (None,) * width, shown, f"{cell.name}{where} {error}"


def _table(name: str, sheet: Sheet, made: list[_Rows]) -> RawTable:
    """The rows of one table in the order of the sheet, those of one row in the order of the map."""
    frame = pl.concat([rows.frame for rows in made], how="diagonal")
    section = pl.col(BLOCK).min().over(STACK)
    frame = frame.sort("source_row", section, NTH, BLOCK, maintain_order=True)
    faults = [fault for rows in made for fault in rows.rejections]
    read = set(frame["source_row"])
    if name == "events":
        frame, untold = over_midnight(_numbered(frame))
        faults += untold
    rejections = tuple(Rejection(sheet.source_file, *fault) for fault in sorted(dict.fromkeys(faults)))
    frame = frame.drop(NTH, BLOCK, STACK, NIGHT)
    silent = frozenset(read - set(frame["source_row"]))  # ends of what goes on
    return RawTable(name, sheet.source_file, sheet.sha256, frame, rejections, repeats=True, silent=silent)


def _numbered(events: pl.DataFrame) -> pl.DataFrame:
    """Each step with its place among those of its row and device, by which one without an id is called."""
    nth = pl.int_range(1, pl.len() + 1).over("source_row", "controller_id")
    blank = [] if "event_id" in events.columns else [_text(None).alias("event_id")]
    return events.with_columns(nth.cast(pl.String).alias(_STEP), *blank)


def _text(value: str | None) -> pl.Expr:
    return pl.lit(value, pl.String)


def with_event_ids(tables: list[RawTable]) -> list[RawTable]:
    """Steps without an id get that of their row: "7", "7.2" for the second of a row, and the file before it
    where the steps of one device come from several files."""
    files: dict[str | None, set[str]] = {}
    for table in tables:
        if table.name == "events":
            for device in table.frame["controller_id"].unique():
                files.setdefault(device, set()).add(table.source_file)
    several = [device for device, found in files.items() if len(found) > 1]
    return [_with_ids(table, several) if _STEP in table.frame.columns else table for table in tables]


def _with_ids(table: RawTable, several: list[str | None]) -> RawTable:
    nth = pl.col(_STEP)
    row = pl.col("source_row").cast(pl.String)
    bare = pl.when(nth == "1").then(row).otherwise(row + "." + nth)
    far = pl.lit(f"{table.source_file}:") + bare
    made = pl.when(pl.col("controller_id").is_in(several)).then(far).otherwise(bare)
    frame = table.frame.with_columns(pl.coalesce("event_id", made).alias("event_id"))
    return replace(table, frame=frame.drop(_STEP))
