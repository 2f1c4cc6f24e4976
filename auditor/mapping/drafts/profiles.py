"""What the cells of a column look like, and which ways of writing them fit."""

import re
from dataclasses import dataclass

from auditor.mapping.drafts import vocabulary
from auditor.mapping.words import bare

_TIME = r"\d{1,2}[:.h]\d\d(?:[:.]\d\d)?(?:\s*(?:h|uhr))?"
_12H = r"\d{1,2}(?::\d\d){0,2}\s*[ap]\.?\s?m?\.?"
_DAY = r"(?:\d{4}-\d\d-\d\d|\d{1,2}[./-]\s?\d{1,2}(?:[./-]\s?(?:\d{4})?)?)"
_NUMBER = r"[+-]?\d{1,3}(?:[ ., \u202f\u00a0]\d{3})*(?:[.,]\d+)?|[+-]?\d+(?:[.,]\d+)?"
PATTERNS = {
    "12h": _12H,
    "24h": _TIME,
    "range": rf"{_TIME}\s*[-–—]\s*{_TIME}",
    "moment": rf"{_DAY}[t ]\s*(?:{_12H}|{_TIME}).*",
    "date": _DAY,
    "number": _NUMBER,
}
_SUN = "|".join(sorted(map(re.escape, vocabulary.SUN), key=len, reverse=True))
_SUN_CELL = rf"({_SUN})\s*(?:[+\-−–].*)?"


@dataclass(frozen=True)
class Profile:
    """One column: its header, its cells that are not blank, and the share of them that fits each pattern."""

    header: str
    cells: tuple[str, ...]
    shares: dict[str, float]

    @property
    def distinct(self) -> list[str]:
        """Each cell once, in the order of the file."""
        return list(dict.fromkeys(self.cells))

    def mostly(self, *kinds: str) -> bool:
        """Whether at least eight cells of ten are of one of these kinds."""
        return sum(self.shares[kind] for kind in kinds) >= 0.8

    @property
    def numbers(self) -> list[float]:
        """The cells that are numbers, a comma read as a point: for their size alone."""
        found = (re.sub(r"[ \u202f\u00a0]", "", cell).replace(",", ".") for cell in self.cells)
        return [float(cell) for cell in found if re.fullmatch(r"[+-]?\d+(\.\d+)?", cell)]


def profile(header: str, cells: list[str | None]) -> Profile:
    """A column looked at."""
    given = tuple(cell for cell in cells if cell)
    return Profile(
        header, given, {kind: _share(kind, given) for kind in (*PATTERNS, "sun", "days", "action")}
    )


def _share(kind: str, cells: tuple[str, ...]) -> float:
    return sum(_is(kind, cell) for cell in cells) / len(cells) if cells else 0.0


def _is(kind: str, cell: str) -> bool:
    text = bare(cell)
    if kind == "sun":
        return bool(re.fullmatch(_SUN_CELL, text))
    if kind == "days":
        return bool(day_languages([cell]))
    if kind == "action":
        return text in vocabulary.ACTIONS
    return bool(re.fullmatch(PATTERNS[kind], text))


def sun_words(cells: list[str]) -> dict[str, str]:
    """The words for the sun in these cells as they are written there, with what they probably mean."""
    found = (re.fullmatch(_SUN_CELL, " ".join(cell.split()), re.IGNORECASE) for cell in cells)
    words = dict.fromkeys(match[1] for match in found if match)
    return {word: vocabulary.SUN[word.casefold()] for word in words}


def day_tokens(cells: list[str]) -> list[str]:
    """The names in lists and ranges of days, each once; a cell that is known as a whole stays whole."""
    tokens: list[str] = []
    for cell in cells:
        whole = any(bare(cell) in words for words in vocabulary.DAYS.values())
        tokens += [cell] if whole else [part for part in re.split(r"[,;/+&\s–—-]+", cell) if part]
    return list(dict.fromkeys(tokens))


def day_languages(cells: list[str]) -> list[str]:
    """The languages in which every name in these cells is a day; numbers from 1 to 7 count in each."""
    tokens = [bare(token) for token in day_tokens(cells)]
    return [
        language
        for language, words in vocabulary.DAYS.items()
        if tokens and all(token in words or re.fullmatch("[1-7]", token) for token in tokens)
    ]
