"""How one column of a contract table is made from the cells of a row."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from auditor.mapping import moments
from auditor.mapping.kinds import UNITS, unit_of
from auditor.mapping.numbers import in_unit, unit_stated
from auditor.mapping.words import Words, days_text, marked_days, translated
from auditor.normalise.values import NO_VALUE

Row = Mapping[str, str | None]
_REFERENCE = re.compile(r"\{([^{}]+)\}")
ITEM = "item"  # stands for each part of a list in ``each_as``, and of ``items`` in a template


@dataclass(frozen=True)
class Cell:
    """One key of a map: a template over columns, and how the text that it gives is read.

    A reference is a header in braces. ``words`` has its keys bare. Where a referred cell is blank, all is.
    """

    table: str
    name: str
    kind: str
    template: str = ""
    words: Words = field(default_factory=dict)
    has_words: bool = False
    other: str | None = None  # what a word without a translation becomes
    blank: str | None = None  # what a blank cell becomes
    split: str | None = None
    part: int | None = None
    each_as: str | None = None
    time: str | None = None
    date: str | None = None
    sun: Words = field(default_factory=dict)
    offset: str | None = None
    zone: str | None = None
    utc_offset: str | None = None
    unit: str | None = None
    flags: Mapping[str, str] = field(default_factory=dict)  # column: day
    on: frozenset[str] = frozenset()
    off: frozenset[str] = frozenset()
    decimal: str = "."
    thousands: str = ""

    @property
    def references(self) -> list[str]:
        """The columns that it reads, each once."""
        parts = [name for name in references_of(self.each_as or "") if name != ITEM]
        return list(dict.fromkeys([*references_of(self.template), *parts, *self.flags]))

    @property
    def lone(self) -> str:
        """The one column that it reads, where it is nothing but that; blank where it is more."""
        names = references_of(self.template)
        return names[0] if names and self.template == "{" + names[0] + "}" else ""

    @property
    def of_clock(self) -> "Cell":
        """This cell for a time of day that is no text, and so reads in one way alone."""
        return self if self.time is None else replace(self, time="24h", split=None, part=None)

    def for_column(self, word: str) -> "Cell":
        """This cell where ``each`` of its table stands for the column ``word``."""
        each_as = self.each_as and for_column(self.each_as, word)
        return replace(self, template=for_column(self.template, word), each_as=each_as)

    def texts(self, row: Row) -> tuple[str | None, ...]:
        """The contract's text for a row (three of them for ``when``); None where blank.

        Raises ValueError with the reason why it cannot be made.
        """
        for name in self.references:
            _check_value(row[name] or "")
        if self.flags:
            return (
                marked_days(((name, day, row[name]) for name, day in self.flags.items()), self.on, self.off),
            )
        text = self.shown(row)
        if text is None:
            return (self.blank,) + (None,) * 2 * (self.kind == "when")
        if self.kind == "when":
            return self._when(text)
        return (self._list(text, row) if self.split and self.part is None else self._read(text),)

    def shown(self, row: Row) -> str | None:
        """What stands in the row, before it is read; None where a referred cell is blank."""
        if any(row[name] is None for name in references_of(self.template)):
            return None
        text = filled(self.template, row).strip()
        if self.part is None:
            return text or None
        whole = translated(text, self.words) if self.kind in ("time", "when") else None
        return self._part(whole or text)

    def _part(self, text: str) -> str | None:
        parts = re.split(re.escape(self.split or "").replace(r"\-", "[-–—]"), text)
        place = (self.part or 1) - 1
        return parts[place].strip() or None if place < len(parts) else None

    def _when(self, text: str) -> tuple[str | None, ...]:
        text = translated(text, self.words) or text
        read = moments.when(text, self.time, self.sun, self.offset, self.decimal)
        return tuple(part or None for part in read)

    def _list(self, text: str, row: Row) -> str:
        parts = [self._read(part.strip()) for part in text.split(self.split) if part.strip()]
        if self.each_as:
            parts = [filled(self.each_as, {**row, ITEM: part}) for part in parts]
        return ("," if self.kind == "days" else ";").join(parts)

    def _read(self, text: str) -> str:
        if self.kind == "days":
            return days_text(text, self.words)
        meaning = translated(text, self.words)
        if meaning is not None:
            return meaning
        if self.has_words and self.kind in ("text", "words", "ids"):
            if self.other is None:
                raise ValueError(f"has no translation; add {_quoted(text)} to the words of {self.name}")
            return self.other
        return self._formatted(text)

    def _formatted(self, text: str) -> str:
        if self.kind == "time":
            return moments.time_text(text, self.time, self.decimal)
        if self.kind == "date":
            return moments.date_text(text, self.date, self.decimal)
        if self.kind == "edge":
            return moments.edge_text(text, self.date, self.decimal)
        if self.kind in ("moment", "instant"):
            moment = moments.moment_text(text, self.date, self.time, self.decimal)
            return (
                moments.instant_text(moment, self.zone, self.utc_offset) if self.kind == "instant" else moment
            )
        if self.kind == "number":
            return self._number(text)
        return text

    def _number(self, text: str) -> str:
        """A number in the contract's unit, from that of the map, or the one that the cell says itself."""
        unit = unit_of(self.table, self.name)
        known = UNITS[unit] if unit else {}
        bare, said = unit_stated(text, known)
        if unit == "%" and text.endswith("%"):  # as spreadsheets show it
            bare, said = text[:-1].rstrip(), "%"
        share = known[said or self.unit or unit] if unit else (1, 1)
        return in_unit(bare, share, self.decimal, self.thousands)


def _check_value(cell: str) -> None:
    """What is no value must not become one by a word's translation or within a longer text."""
    for start, reason in NO_VALUE.items():
        if cell.startswith(start):
            raise ValueError(reason)


def references_of(template: str) -> list[str]:
    """The columns in the braces of a template, each once."""
    return list(dict.fromkeys(_REFERENCE.findall(template)))


def for_column(template: str, word: str) -> str:
    """A template in which ``each`` stands for the column ``word``, and * for its name."""

    def named(match: re.Match[str]) -> str:
        return word if match[1] == "each" else "{" + match[1].replace("*", word) + "}"

    return _REFERENCE.sub(named, template)


def filled(template: str, row: Row) -> str:
    """A template with the cells of a row in its braces."""
    return _REFERENCE.sub(lambda match: row[match[1]] or "", template)


def _quoted(text: str) -> str:
    short = text if len(text) <= 60 else text[:59] + "…"
    return f'"{short}"'
