"""The rows of one contract table that a map makes of each row of its source."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from auditor.mapping import moments
from auditor.mapping.cells import ITEM, Cell
from auditor.mapping.conditions import Condition, condition_of
from auditor.mapping.items import Items, items_of
from auditor.mapping.judging import Keys, Place
from auditor.mapping.kinds import UNITS, WHEN, WHEN_COLUMNS, columns_of, kind_of, needed_of, unit_of
from auditor.mapping.nights import DAYS, NIGHTS
from auditor.mapping.words import bare, is_day_list
from auditor.normalise.values import WEEKDAYS, utc_offset
from auditor.wording import nearest
from auditor.zones import zone_names

Named = dict[str, dict[str, str]]
_ANCHORS = ("sunrise", "sunset", "dawn", "dusk")
CELL_KEYS = ("cell", "words", "else", "blank", "split", "part", "as", "time", "date", "sun", "offset", "zone",
         "utc_offset", "unit", "flags", "set", "unset")  # fmt: skip


# Keys that say something about some kinds of columns alone.
_ABOUT = {
    "time": ("time", "when", "moment", "instant"),
    "date": ("date", "edge", "moment", "instant"),
    "sun": ("when",),
    "offset": ("when",),
    "zone": ("instant",),
    "utc_offset": ("instant",),
    "flags": ("days",),
    "else": ("text", "words", "ids"),
}


@dataclass(frozen=True)
class Block:
    """One contract row for each row of the source for which ``where`` holds.

    ``filled``: columns of which one at least must not be blank, else the row gives nothing here. ``items``:
    parts of a cell, each of which gives a row. ``night``: on which day a step ends that runs past midnight.
    ``stack``: what is one with its other steps, their section and column of ``each``.
    """

    place: Place
    table: str
    cells: tuple[Cell, ...]
    where: tuple[Condition, ...] = ()
    filled: tuple[str, ...] = ()
    items: Items | None = None
    night: str | None = None
    stack: str = ""

    @property
    def references(self) -> list[str]:
        """The columns that it reads, each once."""
        own = [name for cell in self.cells for name in cell.references if not (self.items and name == ITEM)]
        parts = self.items.references if self.items else []
        return list(dict.fromkeys([*own, *parts, *(test.column for test in self.where), *self.filled]))


def blocks_of(
    place: Place, table: str, keys: Keys, words: Named, numbers: tuple[str, str]
) -> Iterator[Block]:
    """A section of a map, once for each of its steps and for each column of ``each``."""
    each, steps = _each(place, keys), keys.get("steps", [{}])
    if not isinstance(steps, list) or not all(isinstance(step, dict) for step in steps):
        raise place.wrong(f"steps must stand in double brackets: [[{table}.steps]].")
    common = {name: value for name, value in keys.items() if name not in ("each", "items", "steps")}
    stacks = [(place, {**common, **step}, _where(place, common) + (_where(place, step))) for step in steps]
    items = items_of(place, keys)
    blocks = [
        replace(_block(at, table, merged, words, numbers, where), items=items, stack=place.section)
        for at, merged, where in stacks
    ]
    for word in each or (None,):
        for block in blocks:
            yield block if word is None else _for_column(block, word)


def _each(place: Place, keys: Keys) -> tuple[str, ...]:
    each = place.texts(keys, "each")
    if "each" in keys and not each:
        raise place.wrong('each names no column; write them, such as each = ["Mon", "Tue"].')
    if twice := next((word for word in each if each.count(word) > 1), None):
        raise place.wrong(f'each names "{twice}" twice; its rows would come twice.')
    return each


def _where(place: Place, keys: Keys) -> tuple[Condition, ...]:
    return (condition_of(place.below("where"), keys["where"]),) if "where" in keys else ()


def _block(
    place: Place, table: str, keys: Keys, words: Named, numbers: tuple[str, str], where: tuple[Condition, ...]
) -> Block:
    own = ("where", DAYS) if table == "events" else ("where",)
    names = [name for name in keys if name not in own]
    place.only(dict.fromkeys(names), columns_of(table))
    cells = tuple(cell_of(place, table, name, keys[name], words, numbers) for name in names)
    given = {*names, *(WHEN_COLUMNS if WHEN in names else ())}
    missing = next((name for name in needed_of(table) if name not in given), None)
    if missing:
        hint = " (or when)" if missing == "anchor" else ""
        raise place.wrong(
            f'{missing}{hint} is missing; say where it comes from, such as {missing} = "{{Column}}".'
        )
    if WHEN in names and (doubled := [name for name in WHEN_COLUMNS if name in names]):
        raise place.wrong(f"when gives {doubled[0]} already; keep one of them.")
    night = place.one_of(keys, DAYS, NIGHTS) if table == "events" else None
    return Block(place, table, cells, where, night=night)


def _for_column(block: Block, word: str) -> Block:
    """A block for one column of ``each``: nothing where all that go by its name are blank."""
    read = block.items.references if block.items else []
    read += [name for cell in block.cells for name in cell.references]
    starred = [name for name in read if "*" in name] or ["*"]
    return replace(
        block,
        cells=tuple(cell.for_column(word) for cell in block.cells),
        filled=tuple(dict.fromkeys(name.replace("*", word) for name in starred)),
        items=block.items and block.items.for_column(word),
        stack=f"{block.stack} {word}",
    )


def cell_of(
    place: Place, table: str, name: str, given: object, words: Named, numbers: tuple[str, str]
) -> Cell:
    """One key of a section: how its column is made."""
    at, kind = place, kind_of(table, name)
    if isinstance(given, bool | int | float):
        given = str(given).lower()
    keys = {"cell": given} if isinstance(given, str) else given
    if not isinstance(keys, dict):
        raise at.wrong(
            f'{name} must be a text such as "{{Column}}", or a table such as {{ cell = "{{Column}}" }}.'
        )
    at = place.below(name)
    at.only(keys, CELL_KEYS)
    if odd := next((key for key in keys if kind not in _ABOUT.get(key, (kind,))), None):
        raise at.wrong(f"{odd} says nothing about {name}; take it away.")
    template = at.template(keys, "cell")
    if bool(template) == ("flags" in keys):
        raise at.wrong('needs cell = "{Column}"' + (", or flags." if kind == "days" else "."))
    own = _words(at, keys, "words", words)
    cell = Cell(
        table, name, kind, template, own, "words" in keys, at.text(keys, "else"), at.text(keys, "blank"),
        at.text(keys, "split"), _part(at, keys), at.template(keys, "as") or None,
        at.one_of(keys, "time", moments.TIMES), _date(at, keys), _words(at, keys, "sun", words),
        at.one_of(keys, "offset", moments.OFFSETS), at.text(keys, "zone"), at.text(keys, "utc_offset"),
        at.text(keys, "unit"), at.words(keys, "flags"),
        frozenset(map(bare, at.texts(keys, "set"))), frozenset(map(bare, at.texts(keys, "unset"))), *numbers,
    )  # fmt: skip
    _check(at, cell)
    return cell


def _words(place: Place, keys: Keys, key: str, words: Named) -> dict[str, str]:
    """Words given in place, or by the name of a section [words.NAME]."""
    value = keys.get(key)
    if isinstance(value, str):
        if value not in words:
            hint = f'; did you mean "{nearest(value, list(words))}"?' if words else "."
            raise place.wrong(f'{key} = "{value}": there is no [words.{value}]{hint}')
        found = words[value]
    else:
        found = place.words(keys, key)
    return {bare(word): meaning for word, meaning in found.items()}


def _part(place: Place, keys: Keys) -> int | None:
    part = keys.get("part")
    if part is not None and (isinstance(part, bool) or not isinstance(part, int) or not 1 <= part <= 100):
        raise place.wrong("part must be a number from 1: which part of the split cell is meant.")
    if part is not None and "split" not in keys:
        raise place.wrong('part needs split: the text between the parts, such as split = "-".')
    return part


def _date(place: Place, keys: Keys) -> str | None:
    how = place.text(keys, "date")
    if how is None or "%" not in how:
        return place.one_of(keys, "date", moments.DATES)
    try:
        datetime.strptime(datetime(2026, 11, 3, 14, 5).strftime(how), how)
    except (ValueError, re.error) as error:
        raise place.wrong(f'date = "{how}" is no pattern that can be read ({error}).') from error
    return how


def _check(place: Place, cell: Cell) -> None:
    """What must agree between the keys of one cell."""
    unit = unit_of(cell.table, cell.name)
    if unit and cell.references and cell.unit is None:
        raise place.wrong(f"say in which unit it is: add unit = {' or '.join(map(_quoted, UNITS[unit]))}.")
    if cell.unit is not None and cell.unit not in UNITS.get(unit or "", {}):
        known = ", ".join(UNITS.get(unit or "", {})) or "none"
        raise place.wrong(f'unit = "{cell.unit}" is not known for {cell.name}; known: {known}.')
    for word, anchor in cell.sun.items():
        if anchor not in _ANCHORS:
            raise place.wrong(f'sun: "{word}" must stand for one of {", ".join(_ANCHORS)}, not "{anchor}".')
    for day in cell.flags.values():
        if day not in WEEKDAYS:
            raise place.wrong(f'flags: "{day}" is no day; write one of {", ".join(WEEKDAYS)}.')
    if cell.flags and not cell.on:
        raise place.wrong('flags need set: the mark of a day that counts, such as set = ["x", "1"].')
    if cell.kind == "days" and (odd := next((to for to in cell.words.values() if not is_day_list(to)), None)):
        raise place.wrong(f'"{odd}" is no list of days; write daily, or names like MO,TU,WE.')
    if cell.zone is not None and cell.zone not in zone_names():
        near = nearest(cell.zone, sorted(zone_names()))
        raise place.wrong(f'zone = "{cell.zone}" is no IANA name; did you mean "{near}"?')
    if cell.each_as and f"{{{ITEM}}}" not in cell.each_as:
        raise place.wrong('as must hold {item}, the part of the list, such as as = "{Panel}-{item}".')
    _check_offset(place, cell.utc_offset)


def _check_offset(place: Place, offset: str | None) -> None:
    try:
        utc_offset(offset or "+00:00")
    except ValueError as error:
        raise place.wrong(f'utc_offset = "{offset}" {error}.') from error


def _quoted(word: str) -> str:
    return f'"{word}"'
