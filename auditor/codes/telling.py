"""Editions in words for the command line: the list, one in full, what differs between two."""

import textwrap
from collections.abc import Iterator

from auditor.codes.edition import Basis, CodeItem, Edition, Exemption, Limit, Window
from auditor.codes.merging import Codes
from auditor.codes.vocabulary import ITEMS, LIMITS, MEMORY
from auditor.wording import spaced

_CLOSING = (
    "Own words, no legal text. The code that was adopted where the building stands, with its amendments, and "
    "the authority having jurisdiction decide; ask which edition was in force at the permit."
)


def code_list(codes: Codes) -> str:
    """A line an edition: id, title, number of items, and how many of them rest on memory."""
    wide = max(map(len, codes)) + 2
    lines = [f"{name:{wide}}{_summary(edition)}" for name, edition in codes.items()]
    return "\n".join([*lines, "", *textwrap.wrap(_CLOSING, 110)])


def _summary(edition: Edition) -> str:
    asked = [item for item in edition.items.values() if item.asked]
    doubtful = sum(rests_on_memory(item) for item in asked)
    amends = f", amends {edition.amends}" if edition.amends else ""
    return f"{edition.title}{amends}: {len(asked)} items, {doubtful} with figures or words from memory"


def rests_on_memory(item: CodeItem) -> bool:
    """Whether the item itself, a limit or a window of it is from memory."""
    parts = [item.basis, *(limit.basis for limit in item.limits), *(window.basis for window in item.windows)]
    return any(basis.mark == MEMORY for basis in parts)


def told_edition(edition: Edition) -> str:
    """One edition, item by item."""
    head = edition.title + (f" (amends {edition.amends})" if edition.amends else "")
    parts = ["\n".join([key, *(f"  {line}" for line in _lines(item))]) for key, item in edition.items.items()]
    return "\n\n".join([head, *parts, textwrap.fill(_CLOSING, 110)])


def _lines(item: CodeItem) -> Iterator[str]:
    """Everything about an item, a fact a line."""
    for text, found in _facts(item):
        yield text if found is None or found == item.basis else f"{text} [{basis_text(found)}]"


def _facts(item: CodeItem) -> Iterator[tuple[str, Basis | None]]:
    """The same, each fact beside what it rests on."""
    yield f"clause       {item.clause}" + ("" if item.asked else "; not asked for here"), None
    yield f"requirement  {item.requirement}", None
    if item.areas:
        yield f"areas        {', '.join(item.areas)}", None
    yield f"basis        {basis_text(item.basis)}", None
    for limit in item.limits:
        yield f"limit        {limit.name}: {limit_text(limit)}", limit.basis
    for window in item.windows:
        yield f"window       {window_text(window)}", window.basis
    for exception in item.exceptions:
        yield f"exception    {_exception_text(exception)}", exception.basis


def basis_text(basis: Basis) -> str:
    """Mark, confidence and source."""
    return f"{basis.mark} ({basis.confidence} confidence): {basis.source}"


def limit_text(limit: Limit) -> str:
    """A limit with its unit: "at least 30 % of the connected load"."""
    return f"{limit.bound} {spaced(f'{limit.value:,.10g}')} {limit.unit}"


def limit_words(limit: Limit) -> str:
    """The same with what it is a limit of: "at least 10 h (that date and time outlast a power cut)"."""
    return f"{limit_text(limit)} ({LIMITS[limit.name].meaning})"


def window_text(window: Window) -> str:
    """A window's name, and its edges as they are reckoned with."""
    starts = [_clock(window.from_time_s), _margin(window.from_closing_minutes, "after closing")]
    ends = [_clock(window.until_time_s), _margin(window.until_opening_minutes, "before opening")]
    return f"{window.name} (reckoned from {_of('later', starts)} to {_of('earlier', ends)})"


def _of(which: str, edges: list[str]) -> str:
    given = [edge for edge in edges if edge]
    return f"the {which} of {' and '.join(given)}" if len(given) > 1 else given[0]


def _clock(seconds: int | None) -> str:
    return "" if seconds is None else f"{seconds // 3600:02}:{seconds // 60 % 60:02}"


def _margin(minutes: float | None, words: str) -> str:
    return "" if minutes is None else f"{minutes:g} min {words}"


def _exception_text(exception: Exemption) -> str:
    types = f" Site types: {', '.join(exception.site_types)}" if exception.site_types else ""
    outcome = f"; outcome there: {exception.outcome}." if exception.outcome else "." if types else ""
    return f"{exception.tag}: {exception.words}{types}{outcome}"


def told_difference(one: Edition, other: Edition) -> str:
    """What differs between two editions: lines of the first behind "-", of the second behind "+"."""
    told = [f"- {one.id}: {one.title}\n+ {other.id}: {other.title}"]
    for key in ITEMS:
        lines = list(_changed(one.items.get(key), other.items.get(key)))
        if lines:
            told.append("\n".join([key, *lines]))
    return "\n\n".join(told) if len(told) > 1 else f"{told[0]}\n\nNothing differs."


def _changed(one: CodeItem | None, other: CodeItem | None) -> Iterator[str]:
    """Facts that only one of them has, each with its mark: those of two editions may rest on other things."""
    before = dict(_facts(one)) if one else {"not asked for": None}
    after = dict(_facts(other)) if other else {"not asked for": None}
    if one or other:
        yield from (f"  - {_marked(text, found)}" for text, found in before.items() if text not in after)
        yield from (f"  + {_marked(text, found)}" for text, found in after.items() if text not in before)


def _marked(text: str, found: Basis | None) -> str:
    return f"{text} [{basis_text(found)}]" if found else text
