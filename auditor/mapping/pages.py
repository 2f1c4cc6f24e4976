"""What a sheet of a workbook tells that no text does: merged names, cells beyond its table, times."""

from collections.abc import Mapping, Sequence

from auditor.intake.books import Area, SheetText, letters, merged_saying
from auditor.mapping.grids import Grid, Record
from auditor.wording import counted

Clocks = Mapping[str, frozenset[int]]  # by column, the rows in which a real time of day stands


def header_cells(grid: Grid, rows: Sequence[int]) -> list[list[str | None]]:
    """The rows of the header. What is merged down into its last one from above the others is a name in it."""
    found = dict(grid.rows)
    lines = [list(cells) for number, cells in grid.rows if number in rows]
    if grid.page is None or rows[-1] not in found:
        return lines
    for place, column in enumerate(_columns(grid.page)):
        area = next((one for one in grid.page.merged if _reaches(one, column, rows[-1])), None)
        if area and area.top not in rows and lines[-1][place] is None:
            lines[-1][place] = found.get(area.top, lines[-1])[place]
    return lines


def _reaches(area: Area, column: int, row: int) -> bool:
    return area.left == column and area.top < row <= area.bottom


def _columns(page: SheetText) -> list[int]:
    """The numbers of its columns from 0, as letters name them."""
    return [int(name) for name in page.frame.columns if name != "source_row"]


def within(grid: Grid, rows: list[Record], width: int) -> tuple[list[Record], list[str]]:
    """The rows as wide as the header, and a sentence about what stands right of it."""
    if grid.page is None:
        return rows, []
    columns = _columns(grid.page)
    beyond = [
        f"{letters(columns[place])}{number}"
        for number, cells in rows
        for place, cell in enumerate(cells)
        if cell and place >= width
    ]
    if not beyond:
        return rows, []
    many = counted(len(beyond), "cell", "cells")
    said = f"{many} right of the header not read, first {beyond[0]}; name the column in the header to use it."
    return [(number, cells[:width]) for number, cells in rows], [f"{grid.source_file}: {said}"]


def merged_below(grid: Grid, last: int, header: list[str], filled_down: Sequence[str]) -> list[str]:
    """What merged cells below the header say for the first alone, but for those that are filled down."""
    if grid.page is None:
        return []
    names = dict(zip(_columns(grid.page), header, strict=False))
    areas = [area for area in grid.page.merged if area.top > last]
    lost = [area for area in areas if area.left < area.right or names.get(area.left) not in filled_down]
    return [f"{grid.source_file}: {text}" for text in merged_saying(lost)]


def clocks(grid: Grid, header: list[str]) -> Clocks:
    """Where real times of day stand, by the name of the column."""
    if grid.page is None or not grid.page.times:
        return {}
    return {
        name: frozenset(grid.page.times[column])
        for column, name in zip(_columns(grid.page), header, strict=False)
        if column in grid.page.times
    }
