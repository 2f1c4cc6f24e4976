"""What a map says about calendars and schedule objects: whose program each file is."""

from dataclasses import dataclass

from auditor.mapping.blocks import Block, Named, cell_of
from auditor.mapping.judging import Keys, Place
from auditor.mapping.layout import Source
from auditor.wording import nearest

ICALENDAR, OBJECTS = "icalendar", "schedule-objects"
OBJECT = "Object_Name"  # the only part of a file's content that a map of programs may ask for
ACTIONS = {  # by what a map says: what happens where the program says on, and where it says off
    "on": ("on", "off"),
    "suspend": ("suspend", "resume"),
    "resume": ("resume", "suspend"),
}


@dataclass(frozen=True)
class _Columns:
    """Which columns a map must fill and which it may: all others come from the program itself."""

    needed: tuple[str, ...]
    more: tuple[str, ...] = ()


_GIVEN = {
    ICALENDAR: {
        "events": _Columns(("controller_id", "targets"), ("action", "level")),
        "closures": _Columns(("site_id",), ("calendar",)),
    },
    OBJECTS: {"events": _Columns(("controller_id", "targets"), ("action",))},
}


def program_block(place: Place, found: Keys, words: Named, source: Source) -> Block:
    """The one table that a map of programs gives, with the cells that say whose it is."""
    known = _GIVEN[source.kind]
    if "skip" in found:
        raise place.wrong(f'skip says nothing about kind = "{source.kind}"; take it away.')
    tables = [name for name, value in found.items() if isinstance(value, list)]
    if len(tables) != 1 or tables[0] not in known or not _is_one(found[tables[0]]):
        names = " or ".join(f"[[{name}]]" for name in known)
        raise place.wrong(f'kind = "{source.kind}" gives one table, {names}, once; write just that.')
    (table,), at = tables, place.below(tables[0])
    (keys,) = found[table]
    columns = known[table]
    at.only(keys, columns.needed + columns.more)
    if missing := next((name for name in columns.needed if name not in keys), None):
        raise at.wrong(f'{missing} is missing; say where it comes from, such as {missing} = "{{file.stem}}".')
    cells = tuple(cell_of(at, table, name, keys[name], words, (source.decimal, "")) for name in keys)
    for cell in cells:
        for name in cell.references:
            _check_reference(at.below(cell.name), name, cell.name, source)
    return Block(at, table, cells)


def _is_one(value: object) -> bool:
    return isinstance(value, list) and len(value) == 1 and isinstance(value[0], dict)


def _check_reference(place: Place, name: str, column: str, source: Source) -> None:
    known = ["file.stem", *(f"file.{part}" for part in (source.name.names if source.name else ()))]
    known += [OBJECT] if source.kind == OBJECTS and column == "targets" else []
    if name not in known:
        near = nearest(name, known)
        raise place.wrong(f'"{name}" is no part of the file\'s name; did you mean "{{{near}}}"?')
