"""The tables that a map reads: which files, which members of archives, which sheets, which header."""

import hashlib
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fnmatch import fnmatchcase
from pathlib import Path, PurePosixPath

import polars as pl

from auditor.errors import UserError
from auditor.files import check_within, read_file
from auditor.intake.archives import members
from auditor.intake.cells import ABOVE
from auditor.letters import printable
from auditor.mapping.grids import Grid, Record, grids_of
from auditor.mapping.holders import Held, Holder
from auditor.mapping.judging import Place
from auditor.mapping.layout import Source
from auditor.mapping.pages import Clocks, clocks, header_cells, merged_below, within
from auditor.mapping.spec import Map
from auditor.mapping.words import bare
from auditor.wording import short

ROW, SHEET, FILE = "row", "sheet", "file."  # references that are no headers
SKIPPED_ROWS, ASIDE = "skip_rows", "right of the header"


@dataclass(frozen=True)
class Sheet:
    """One table as text: ``frame`` has its columns by header, its file's parts, and ``source_row``.

    ``faults`` are rows that cannot be split into these columns, and why; ``skipped`` those that are no data.
    """

    source_file: str
    sha256: str
    frame: pl.DataFrame
    faults: dict[int, str]
    skipped: dict[int, str]
    notes: dict[str, str]
    notices: tuple[str, ...]
    clocks: Clocks = field(default_factory=dict)  # real times of day
    held: tuple[Held, ...] = ()  # in which archive and which workbook


@dataclass(frozen=True)
class File:
    """A file that a map names, or a member of an archive as "archive.zip/member"."""

    name: str
    content: bytes
    held: tuple[Held, ...] = ()


def sheets_of(found: Map) -> Iterator[Sheet]:
    """Every table of a map's files, by their names. Raises UserError where one cannot be read."""
    source = found.source
    for file in files_of(found.place, source):
        parts = parts_of(source, file.name)
        for grid in grids_of(file.name, file.content, source.sheets, source.encoding, source.separator):
            sheet = sheet_of(grid, source, {**parts, SHEET: grid.sheet})
            yield replace(sheet, held=file.held + grid.held)


def files_of(place: Place, source: Source) -> Iterator[File]:
    """Every file that a map names. Raises UserError where there is none."""
    found = False
    for name, content in _files(place, source):
        found = True
        if name.lower().endswith(".zip"):
            yield from _members(source, name, content)
        else:
            yield File(name, content)
    if not found:
        raise place.wrong(f"no file in {source.folder} is named like {' or '.join(source.files)}.")


def _members(source: Source, name: str, content: bytes) -> Iterator[File]:
    """The members of an archive that ``inside`` names."""
    inner = dict(members(name, content))
    holder = Holder("member", name, hashlib.sha256(content).hexdigest(), tuple(inner))
    named = [member for member in inner if any(fnmatchcase(member, one) for one in source.inside)]
    if not inner:
        raise UserError(f"{name} is an archive without a file; pack it anew, or leave it out of files.")
    if not named:
        patterns = " or ".join(f'"{one}"' for one in source.inside)
        raise UserError(f"{name} holds {_listed(inner)}, and nothing named like {patterns}; change inside.")
    for member in named:
        yield File(f"{name}/{member}", inner[member], ((holder, member),))


def _listed(names: Iterable[str], most: int = 5) -> str:
    few = [short(printable(name), 40) for name in names]
    return ", ".join(f'"{name}"' for name in few[:most]) + (" …" if len(few) > most else "")


def _files(place: Place, source: Source) -> Iterator[tuple[str, bytes]]:
    if not _is_folder(source.folder):
        raise place.wrong(f"{source.folder} is no folder; name the one that holds the exports.")
    paths = {path for pattern in source.files for path in _matches(place, source.folder, pattern)}
    for path in sorted(paths):
        name = path.relative_to(source.folder).as_posix()
        check_within(path, source.folder, name)
        if path.is_dir():
            continue
        if not name.isprintable():
            raise UserError(f"{name!a} has a name that cannot be shown; rename the file.")
        yield name, read_file(path, name)


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):  # a name too long, or with a NUL in it
        return False


def _matches(place: Place, folder: Path, pattern: str) -> list[Path]:
    try:
        return list(folder.glob(pattern))
    except (OSError, ValueError, NotImplementedError) as error:
        raise place.wrong(f'files = "{pattern}" is no pattern of file names ({error}).') from error


def parts_of(source: Source, name: str) -> dict[str, str | None]:
    """What the file's name says: its stem, and the named parts of ``name``."""
    parts: dict[str, str | None] = {f"{FILE}stem": PurePosixPath(name).stem}
    if source.name is not None:
        found = source.name.of(name)
        if found is None:
            raise UserError(f"{name} does not fit name = '{source.name.pattern}'; change that, or files.")
        parts |= {f"{FILE}{part}": text for part, text in found.items()}
    return parts


def sheet_of(grid: Grid, source: Source, parts: dict[str, str | None]) -> Sheet:
    """A grid cut at its header: what is above, what is data, and what does not fit."""
    last = source.header_rows[-1]
    above = {number: ABOVE for number, _ in grid.rows if number < last and number not in source.header_rows}
    out = {number: SKIPPED_ROWS for number, _ in grid.rows if number in source.skip_rows and number > last}
    header = headers(header_cells(grid, source.header_rows))
    if not header:
        raise UserError(_without_header(grid, source.header_rows))
    if len(set(header)) < len(header):
        twice = next(name for name in header if header.count(name) > 1)
        raise UserError(f'{grid.source_file}: two columns would be called "{twice[:60]}"; rename one.')
    rows = [(number, cells) for number, cells in grid.rows if number > last and number not in out]
    rows, beyond = within(grid, rows, len(header))
    out |= {number: ASIDE for number, cells in rows if not any(cells)}
    rows = [(number, cells) for number, cells in rows if number not in out]
    faults = {number: fault for number, cells in rows if (fault := _fault(cells, len(header)))}
    frame = _filled_down(grid.source_file, _frame(header, _blanked(rows, source)), source.fill_down)
    own = {name: pl.lit(text, pl.String) for name, text in parts.items()}
    own[ROW] = pl.col("source_row").cast(pl.String)
    frame = frame.with_columns(made.alias(name) for name, made in own.items() if name not in header)
    notices = (*grid.notices, *merged_below(grid, last, header, source.fill_down), *beyond)
    times = clocks(grid, header)
    return Sheet(grid.source_file, grid.sha256, frame, faults, above | out, grid.notes, notices, times)


def _without_header(grid: Grid, rows: tuple[int, ...]) -> str:
    if not grid.rows:
        return f"{grid.source_file} is empty; one of its rows must name the columns."
    row, first = ", ".join(map(str, rows)), grid.rows[0][0]
    return (
        f"{grid.source_file}: row {row} is blank or not there, and should name the columns; the first that "
        f"holds something is row {first}: set header_row."
    )


def headers(rows: list[list[str | None]]) -> list[str]:
    """One name a column, from the rows of the header joined; upper ones hold for what is right of them too.

    A name that stands there twice is numbered, "On (1)" and "On (2)": neither can be meant by "On".
    """
    if not rows:
        return []
    width = max(_width(row) for row in rows)
    lines = [_spread(row, width) for row in rows[:-1]] + [[*rows[-1], *[None] * width][:width]]
    names = [" ".join(part for part in parts if part) for parts in zip(*lines, strict=True)]
    named = [_column_name(name, place) for place, name in enumerate(names, 1)]
    seen: Counter[str] = Counter()
    for place, name in enumerate(named):
        seen[name] += 1
        named[place] = f"{name} ({seen[name]})" if names.count(name) > 1 else name
    return named


def _column_name(name: str, place: int) -> str:
    """A header without braces, which a map could not write, and not our own name for row numbers."""
    bare = " ".join(re.sub("[{}]", " ", name).split())
    return f"{bare} (column)" if bare == "source_row" else bare or f"(column {place})"


def _width(row: list[str | None]) -> int:
    return max((place for place, cell in enumerate(row, 1) if cell), default=0)


def _spread(row: list[str | None], width: int) -> list[str | None]:
    spread: list[str | None] = []
    for place in range(width):
        own = row[place] if place < len(row) else None
        spread.append(own or (spread[-1] if spread else None))
    return spread


def _fault(cells: list[str | None], width: int) -> str:
    filled = _width(cells)
    if filled > width:
        return f"the row has {filled} cells, the header {width}; quote cells that hold the separator"
    if any("\ufffd" in cell for cell in cells if cell):
        return "a cell has bytes that its encoding does not know; save the file as UTF-8, or set encoding"
    return (
        "a cell holds a NUL character; export it again" if any("\0" in cell for cell in cells if cell) else ""
    )


def _frame(header: list[str], rows: list[Record]) -> pl.DataFrame:
    width = len(header)
    padded = [[*cells, *[None] * width][:width] for _, cells in rows]
    columns = list(zip(*padded, strict=True)) if padded else [()] * width
    data = [pl.Series(name, list(cells), pl.String) for name, cells in zip(header, columns, strict=True)]
    return pl.DataFrame([*data, pl.Series("source_row", [number for number, _ in rows], pl.Int64)])


def _blanked(rows: list[Record], source: Source) -> list[Record]:
    """The rows with None for the words that mean a blank cell."""
    if not source.blanks:
        return rows
    return [
        (number, [None if cell and bare(cell) in source.blanks else cell for cell in cells])
        for number, cells in rows
    ]


def _filled_down(name: str, frame: pl.DataFrame, columns: tuple[str, ...]) -> pl.DataFrame:
    for column in columns:
        if column not in frame.columns:
            raise UserError(f'{name} has no column "{column}", which fill_down names; check its header.')
    return frame.with_columns(pl.col(column).forward_fill() for column in columns)
