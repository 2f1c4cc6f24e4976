"""What a map makes of its files: rows before and after, and what has no translation."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import polars as pl

from auditor.letters import printable
from auditor.mapping.applying import Applied, with_event_ids
from auditor.mapping.sources import FILE, ROW, SHEET
from auditor.mapping.spec import read_map
from auditor.mapping.together import applied_maps, not_named
from auditor.model import Rejection
from auditor.normalise import judge_cells
from auditor.normalise.accounts import counts
from auditor.wording import counted, files_text, short
from auditor.zones import zone_names

_OURS = ("source_row", "program_sha256")
_ROWS = 10
_WIDTH = 28  # characters of a cell
_FAULTS = 60  # lines


@dataclass
class Preview:
    """The text of a preview, and how many rows could not be translated."""

    lines: list[str] = field(default_factory=list)
    rejected: int = 0


def preview(paths: Iterable[Path], folder: Path | None = None, first: date | None = None) -> Preview:
    """Ten rows of each map before and after, its words without a translation, and its accounts by file.

    Whether ids that rows name are there is not looked at: that takes all sources together, as a run does.
    Programs are worked out for the year from ``first``, else from the newest reading that the maps give.
    """
    shown = Preview()
    done = applied_maps([read_map(path, folder) for path in paths], (), first)
    for found, applied in done:
        shown.lines += [f"# {found.path.name}", *_before(applied[0]), *_after(applied)]
        tables = with_event_ids([table for one in applied for table in one.tables])
        faults = judge_cells(tables, zone_names())
        accounts = counts(tables, faults)
        shown.rejected += sum(account["rejected"] for account in accounts)
        notices = [f"Note: {said}" for one in applied for said in one.sheet.notices]
        shown.lines += [*_faults(faults), *notices, "Rows by file:", *files_text(accounts), ""]
    shown.lines += [f"Note: {said}" for said in not_named(done)]
    return shown


def _before(first: Applied) -> Iterator[str]:
    sheet = first.sheet
    own = [name for name in sheet.frame.columns if name not in (ROW, SHEET) and not name.startswith(FILE)]
    found = ", ".join(
        f"{name} {short(value.replace(chr(9), 'tab'), 20)}" for name, value in sheet.notes.items()
    )
    yield f"Before, {sheet.source_file}{f' ({found})' if found else ''}:"
    yield from _grid(sheet.frame.select("source_row", *(name for name in own if name != "source_row")))


def _after(applied: list[Applied]) -> Iterator[str]:
    for place, table in enumerate(applied[0].tables):
        rows = sum(one.tables[place].frame.height for one in applied)
        yield f"After, {table.name} ({counted(rows, 'row')}{_of(applied)}):"
        made = with_event_ids([table])[0].frame
        own = [name for name in made.columns if made[name].count() and name not in _OURS]
        yield from _grid(made.select("source_row", *own))


def _of(applied: list[Applied]) -> str:
    return f" of {counted(len(applied), 'file or sheet', 'files and sheets')}" if len(applied) > 1 else ""


def _grid(frame: pl.DataFrame) -> Iterator[str]:
    """The first rows in columns of even width."""
    names = ["row" if name == "source_row" else name for name in frame.columns]
    rows = [names] + [[_shown(cell) for cell in row] for row in frame.head(_ROWS).iter_rows()]
    rows[0] = [_shown(name) for name in names]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()


def _shown(cell: object) -> str:
    text = "" if cell is None else " ".join(str(cell).split())
    return short(printable(text), _WIDTH)


def _faults(faults: list[Rejection]) -> Iterator[str]:
    """Each text that cannot be used, once, with how often it stands there and where first."""
    found = Counter((fault.column, fault.value, fault.reason) for fault in faults)
    if not found:
        yield "Every word, time and date could be translated."
        return
    yield "Not translated:"
    first = {(fault.column, fault.value, fault.reason): fault for fault in reversed(faults)}
    for key, number in found.most_common(_FAULTS):
        where = f"{first[key].source_file}, row {first[key].source_row}"
        times = f"{number} times, first in" if number > 1 else "in"
        yield f'  "{_shown(key[1])}" {times} {where}: {key[2]}'
    if len(found) > _FAULTS:
        yield f"  and {counted(len(found) - _FAULTS, 'text')} more."
