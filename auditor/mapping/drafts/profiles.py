"""What the cells of a column look like, and which ways of writing them fit."""

import re
from dataclasses import dataclass

from auditor.mapping.drafts import vocabulary
from auditor.mapping.drafts.weekdays import is_days
from auditor.mapping.words import bare

_TIME = r"\d{1,2}[:.h]\d\d(?:[:.]\d\d)?(?:\s*(?:h|uhr))?"
_12H = r"\d{1,2}(?::\d\d){0,2}\s*[ap]\.?\s?m?\.?"
_DAY = r"(?:\d{4}-\d\d-\d\d|\d{1,2}[./-]\s?\d{1,2}(?:[./-]\s?(?:\d{4})?)?)"
_SUN = "|".join(sorted(map(re.escape, vocabulary.SUN), key=len, reverse=True))
_EDGE = rf"(?:{_12H}|{_TIME}|{_SUN})"
_NUMBER = r"[+-]?\d{1,3}(?:[ ., \u202f\u00a0]\d{3})*(?:[.,]\d+)?|[+-]?\d+(?:[.,]\d+)?"
PATTERNS = {
    "12h": _12H,
    "24h": _TIME,
    "range": rf"{_EDGE}\s*[-–—]\s*{_EDGE}",
    "moment": rf"{_DAY}[t ]\s*(?:{_12H}|{_TIME}).*",
    "date": _DAY,
    "number": _NUMBER,
}
_SUN_CELL = rf"({_SUN})\s*(?:[+\-−–].*)?"


@dataclass(frozen=True)
class Profile:
    """One column: its header, its cells that are not blank, and the share of them that fits each pattern.

    ``rows``: its cell in each row, None where it is blank.
    """

    header: str
    cells: tuple[str, ...]
    shares: dict[str, float]
    rows: tuple[str | None, ...] = ()

    @property
    def distinct(self) -> list[str]:
        """Each cell once, in the order of the file."""
        return list(dict.fromkeys(self.cells))

    def mostly(self, *kinds: str) -> bool:
        """Whether at least eight cells of ten are of one of these kinds."""
        return self.share(*kinds) >= 0.8

    def share(self, *kinds: str) -> float:
        """The share of cells of these kinds."""
        return sum(self.shares[kind] for kind in kinds)

    @property
    def numbers(self) -> list[float]:
        """The cells that are numbers, a comma read as a point: for their size alone."""
        found = (re.sub(r"[ \u202f\u00a0]", "", cell).replace(",", ".") for cell in self.cells)
        return [float(cell) for cell in found if re.fullmatch(r"[+-]?\d+(\.\d+)?", cell)]


def profile(header: str, cells: list[str | None]) -> Profile:
    """A column looked at."""
    given = tuple(cell for cell in cells if cell)
    shares = {kind: _share(kind, given) for kind in (*PATTERNS, "sun", "days", "action")}
    return Profile(header, given, shares, tuple(cells))


def _share(kind: str, cells: tuple[str, ...]) -> float:
    return sum(_is(kind, cell) for cell in cells) / len(cells) if cells else 0.0


def _is(kind: str, cell: str) -> bool:
    text = bare(cell)
    if kind == "sun":
        return bool(re.fullmatch(_SUN_CELL, text))
    if kind == "days":
        return is_days(cell)
    if kind == "action":
        return text in vocabulary.ACTIONS
    return bool(re.fullmatch(PATTERNS[kind], text))


def sun_words(cells: list[str]) -> dict[str, str]:
    """The words for the sun in these cells as they are written there, with what they probably mean."""
    found = (re.fullmatch(_SUN_CELL, " ".join(cell.split()), re.IGNORECASE) for cell in cells)
    words = dict.fromkeys(match[1] for match in found if match)
    return {word: vocabulary.SUN[word.casefold()] for word in words}


def edges(cells: list[str]) -> list[str]:
    """The same cells, with both ends of a range for themselves."""
    return [part.strip() for cell in cells for part in _parted(cell)]


def _parted(cell: str) -> list[str]:
    return re.split("[-–—]", cell, maxsplit=1) if _is("range", cell) else [cell]
