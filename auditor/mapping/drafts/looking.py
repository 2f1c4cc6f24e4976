"""An unfamiliar file: its tables, which row names the columns, which rows are no data."""

from collections.abc import Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path, PurePosixPath

from auditor.errors import UserError
from auditor.files import read_file
from auditor.intake.archives import members
from auditor.mapping.drafts.profiles import PATTERNS, Profile, profile
from auditor.mapping.drafts.vocabulary import ACTIONS, TOTALS
from auditor.mapping.drafts.writing import name_pattern
from auditor.mapping.grids import WORKBOOKS, Grid, Record, grids_of
from auditor.mapping.sources import headers
from auditor.mapping.words import bare
from auditor.wording import nearest

_TOP = 25  # rows in which a header is looked for
_LOOK = 2000  # rows that are looked at


@dataclass(frozen=True)
class Look:
    """One kind of table, in one place or several of the same header."""

    grids: list[Grid]
    header_rows: tuple[int, ...]
    profiles: list[Profile]
    totals: list[str]  # texts that begin rows of sums, in the first column
    repeated: bool  # the header stands among the rows, too
    gaps: list[str]  # columns whose cells are left blank where they would say the same again
    others: list[str]  # tables of other shapes in the same files

    @property
    def stems(self) -> list[str]:
        """The names of the files without their endings, each once."""
        names = (grid.source_file.removesuffix(f":{grid.sheet}") for grid in self.grids)
        return list(dict.fromkeys(PurePosixPath(name).stem for name in names))

    @property
    def name_parts(self) -> list[str]:
        """The parts between the _ of the first file's name, where all have the same number of them."""
        return name_pattern(self.stems)[1]

    @property
    def many(self) -> bool:
        """Whether several files or sheets have this shape."""
        return len(self.grids) > 1


def look(files: Sequence[Path], only: str = "*") -> Look:
    """The commonest shape among the tables of some files; ``only``: among the sheets or members of this name.

    Raises UserError where there is none.
    """
    found = [grid for path in files for grid in _grids(path)]
    grids = [grid for grid in found if any(fnmatchcase(name, only) for name in _names(grid))]
    if found and not grids:
        names = list(dict.fromkeys(name for grid in found for name in _names(grid)))
        raise UserError(
            f'{files[0].name} holds no sheet or file "{only}"; did you mean "{nearest(only, names)}"?'
        )
    shapes: dict[tuple[str, ...], list[tuple[Grid, tuple[int, ...]]]] = {}
    for grid in grids:
        if len(grid.rows) > 1:
            rows = header_of(grid.rows)
            names = headers([cells for number, cells in grid.rows if number in rows])
            shapes.setdefault(tuple(names), []).append((grid, rows))
    if not shapes:
        raise UserError(f"{files[0].name} holds no table: a row that names columns, and rows below it.")
    shape, chosen = max(shapes.items(), key=lambda item: (len(item[0]) > 1, len(item[1]), _rows(item[1])))
    others = [grid.source_file for other, found in shapes.items() if other != shape for grid, _ in found]
    return _looked([grid for grid, _ in chosen], chosen[0][1], list(shape), others)


def _names(grid: Grid) -> list[str]:
    """What a sheet or a member of an archive is called, with what it stands in and without."""
    return [name for name in (grid.sheet, grid.source_file.partition(".zip/")[2], grid.source_file) if name]


def _rows(found: list[tuple[Grid, tuple[int, ...]]]) -> int:
    return sum(len(grid.rows) for grid, _ in found)


def _grids(path: Path) -> list[Grid]:
    content = read_file(path, path.name)
    if not path.name.lower().endswith(".zip"):
        return list(grids_of(path.name, content, ("*",)))
    found: list[Grid] = []
    for name, inner in members(path.name, content):
        if name.lower().endswith((*WORKBOOKS, ".csv", ".txt", ".tsv")):
            found += grids_of(f"{path.name}/{name}", inner, ("*",))
    return found


def header_of(rows: list[Record]) -> tuple[int, ...]:
    """The row that names the columns: the first that is about as full as the fullest and all words.

    The one above it belongs to it where it stands directly there and names what this one leaves open.
    """
    top = rows[:_TOP]
    fullest = max(_filled(cells) for _, cells in top)
    for place, (number, cells) in enumerate(top[:-1]):
        if _filled(cells) >= max(1, 0.6 * fullest) and _is_words(cells):
            above, over = top[place - 1] if place else (0, [])
            goes_on = above == number - 1 and _filled(over) > 1 and _is_words(over) and _has_more(over, cells)
            return (above, number) if goes_on else (number,)
    return (top[0][0],)


def _has_more(over: list[str | None], cells: list[str | None]) -> bool:
    """Whether the upper row names something that the lower one leaves open."""
    below = [*cells, *[None] * len(over)]
    return any(name and not cell for name, cell in zip(over, below, strict=False))


def _filled(cells: list[str | None]) -> int:
    return sum(cell is not None for cell in cells)


def _is_words(cells: list[str | None]) -> bool:
    """Names of columns: no number, time or date among them, and no word that switches."""
    texts = [bare(cell) for cell in cells if cell]
    kinds = [kind for text in texts for kind in PATTERNS if profile("", [text]).shares[kind]]
    return bool(texts) and not kinds and len(texts) - sum(text in ACTIONS for text in texts) >= len(texts) / 2


def _looked(grids: list[Grid], header_rows: tuple[int, ...], names: list[str], others: list[str]) -> Look:
    rows = [cells for grid in grids for number, cells in grid.rows if number > header_rows[-1]][:_LOOK]
    first = [bare(cells[0] or "") for cells in rows]
    totals = [text for text in dict.fromkeys(first) if text.startswith(TOTALS)]
    repeated = bare(names[0]) in first
    data = [
        row for row, text in zip(rows, first, strict=True) if text not in totals and text != bare(names[0])
    ]
    columns = [[row[place] if place < len(row) else None for row in data] for place in range(len(names))]
    profiles = [profile(name, cells) for name, cells in zip(names, columns, strict=True)]
    gaps = [name for name, cells in zip(names[:2], columns[:2], strict=True) if _has_gaps(cells)]
    return Look(grids, header_rows, profiles, totals, repeated, gaps, others)


def _has_gaps(cells: list[str | None]) -> bool:
    """Given now and then, blank in between, as where cells of a report were merged."""
    return bool(cells) and cells[0] is not None and 0.2 < sum(cell is None for cell in cells) / len(cells) < 1
