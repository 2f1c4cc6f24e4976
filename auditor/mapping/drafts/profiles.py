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
_RANGE = rf"{_EDGE}\s*[-–—]\s*{_EDGE}"
_NUMBER = r"[+-]?\d{1,3}(?:[ ., \u202f\u00a0]\d{3})*(?:[.,]\d+)?|[+-]?\d+(?:[.,]\d+)?"
PATTERNS = {
    "12h": _12H,
    "24h": _TIME,
    "range": rf"{_RANGE}(?:\s*[;,/|]\s*{_RANGE})*",  # one, or several in a cell
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


def ranges(cells: list[str]) -> list[tuple[str, str]]:
    """What begins and what ends, of every range in these cells."""
    parts = (part for cell in cells if _is("range", cell) for part in re.split("[;,/|]", cell))
    found = (re.fullmatch(rf"\s*({_EDGE})\s*[-–—]\s*({_EDGE})\s*", part, re.IGNORECASE) for part in parts)
    return [(one[1], one[2]) for one in found if one]


def edges(cells: list[str]) -> list[str]:
    """The same cells, with both ends of each range for themselves."""
    plain = [cell for cell in cells if not _is("range", cell)]
    return [*plain, *(edge for both in ranges(cells) for edge in both)]


def list_mark(cells: list[str]) -> str:
    """What parts several ranges in one cell; blank where each has one."""
    marks = re.findall("[;,/|]", "".join(cell for cell in cells if _is("range", cell)))
    return max(marks, key=marks.count) if marks else ""
