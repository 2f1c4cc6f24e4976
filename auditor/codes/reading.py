"""One file of an edition: TOML in, items out. Raises UserError on anything not understood."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from auditor.codes.cells import Section
from auditor.codes.edition import Basis, CodeItem, Exemption, Limit, Window
from auditor.codes.vocabulary import (
    AREAS,
    BOUNDS,
    EDGES,
    EXCEPTION,
    HEAD,
    INSUFFICIENT,
    ITEM,
    ITEMS,
    LIMIT,
    LIMITS,
    NEEDED_LIMITS,
    NOT_APPLICABLE,
    WINDOW,
    WITH_AREAS,
    WITH_WINDOWS,
    LimitKind,
)
from auditor.files import read_file, toml_of
from auditor.wording import spaced

_STARTS, _ENDS = list(EDGES)[:2], list(EDGES)[2:]


@dataclass(frozen=True)
class EditionFile:
    """What one file says by itself."""

    id: str
    title: str
    amends: str
    items: dict[str, CodeItem]
    path: Path
    sha256: str


def read_edition(path: Path) -> EditionFile:
    """The file at ``path``, judged."""
    content = read_file(path, path.name)
    head = Section(path.name, "", toml_of(content, path.name, "mend that line"))
    head.only(HEAD)
    items = {item.key: item for item in map(_item, head.tables("item", "key"))}
    digest = hashlib.sha256(content).hexdigest()
    return EditionFile(head.text("id"), head.text("title"), head.text("amends", ""), items, path, digest)


def _item(section: Section) -> CodeItem:
    section.only(ITEM)
    key = section.choice("key", tuple(ITEMS))
    basis = section.basis()
    item = CodeItem(
        key,
        section.text("clause"),
        spaced(section.text("requirement")),
        section.truth("asked", True),
        section.texts("areas"),
        basis,
        tuple(_limit(part, key, basis) for part in section.tables("limit", "name")),
        tuple(_window(part, basis) for part in section.tables("window", "name")),
        tuple(_exception(part, basis) for part in section.tables("exception", "tag")),
    )
    _check_whole(section, item)
    return item


def _check_whole(section: Section, item: CodeItem) -> None:
    for area in item.areas:
        if area not in AREAS:
            raise section.refuse(f'area "{area}" is not one of {", ".join(AREAS)}')
    if not item.asked:
        return
    names = {limit.name for limit in item.limits}
    for needed in NEEDED_LIMITS.get(item.key, ()):
        if needed not in names:
            raise section.refuse(f'limit "{needed}" is missing; add a [[item.limit]] of that name')
    if bool(item.areas) != (item.key in WITH_AREAS):
        which = "needs its areas, such as" if item.key in WITH_AREAS else "is about devices; take away"
        raise section.refuse(f'the item {which} areas = ["parking"]')
    if bool(item.windows) != (item.key in WITH_WINDOWS):
        which = "needs a" if item.key in WITH_WINDOWS else "has no windows; take away the"
        raise section.refuse(f"the item {which} [[item.window]]")


def _limit(section: Section, key: str, basis: Basis) -> Limit:
    section.only(LIMIT)
    name = section.choice("name", ITEMS[key]) if ITEMS[key] else _no_limits(section)
    value = section.number("value", most=LIMITS[name].most)
    assert value is not None
    bound, unit = section.choice("bound", BOUNDS), section.text("unit")
    _check_read_so(section, LIMITS[name], bound, unit)
    return Limit(name, bound, value, unit, section.basis(basis))


def _check_read_so(section: Section, kind: LimitKind, bound: str, unit: str) -> None:
    """A limit is read in one way; what says another would be judged by what it does not say."""
    if bound != kind.bound:
        raise section.refuse(f'bound "{bound}" is not how this limit is read; write bound = "{kind.bound}"')
    if kind.measure and unit.split()[0] != kind.measure:
        raise section.refuse(f'unit "{unit}" must begin with {kind.measure}, in which this limit is read')


def _no_limits(section: Section) -> str:
    raise section.refuse("no limit of this item is read; take it away")


def _window(section: Section, basis: Basis) -> Window:
    section.only(WINDOW)
    given = section.facts.keys()
    if not (given & set(_STARTS) and given & set(_ENDS)):
        start, end = " or ".join(_STARTS), " or ".join(_ENDS)
        raise section.refuse(f"it needs a start ({start}) and an end ({end})")
    return Window(
        section.text("name"),
        section.time("from_time"),
        section.number("from_closing_minutes", needed=False),
        section.time("until_time"),
        section.number("until_opening_minutes", needed=False),
        section.basis(basis),
    )


def _exception(section: Section, basis: Basis) -> Exemption:
    section.only(EXCEPTION)
    outcome = section.choice("outcome", (INSUFFICIENT, NOT_APPLICABLE), "")
    types = section.texts("site_types")
    if outcome and not types:
        raise section.refuse("an outcome needs the site_types that it is for")
    return Exemption(
        section.text("tag"),
        spaced(section.text("words")),
        tuple(one.lower() for one in types),
        outcome,
        section.basis(basis),
    )
