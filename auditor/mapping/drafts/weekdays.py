"""What words for days of the week mean, in every language that knows them, and what must be asked."""

import re
from collections.abc import Callable
from itertools import product
from typing import NamedTuple

from auditor.mapping.drafts.vocabulary import DAYS, THROUGH, UNSURE
from auditor.mapping.drafts.ways import Ways
from auditor.mapping.words import bare
from auditor.normalise.values import WEEKDAYS

_TO = "|".join(THROUGH)
_RANGE = re.compile(rf"(\S+)\s+(?:{_TO})\s+(\S+)", re.IGNORECASE)
_OTHERS = "Which days do these words mean? (Listed dates: daily, with the name of their list as calendar.)"


def is_days(cell: str) -> bool:
    """Whether each name in a cell is a day, or a set of days, in one language."""
    return any(all(_known(token, language) for token in _tokens([cell])) for language in DAYS)


def is_day(word: str) -> bool:
    """Whether a word is the name of a day in some language."""
    return any(bare(word) in names for names in DAYS.values())


def is_daily(cell: str | None) -> bool:
    """Whether a cell says every day, in some language."""
    return any(names.get(bare(cell or "")) == "daily" for names in DAYS.values())


def day_ways(cells: list[str]) -> Ways:
    """What the names of days in these cells mean, by the languages that know most of them."""
    tokens = _tokens(cells)
    named = [token for token in tokens if not _open(token)]
    words = _by_languages(named)
    asked = [_OTHERS] if any("…" in one.values() for one in words) else []
    if len(words) > 1:
        asked.insert(0, "These names mean other days in other languages. Which?")
    variants: list[list[dict[str, str]]] = [words]
    for variant in _VARIANTS:
        if some := [token for token in tokens if variant.found(token)]:
            variants.append([{token: meaning(token) for token in some} for meaning in variant.meanings])
            asked.append(variant.question)
    joined = [{key: day for one in parts for key, day in one.items()} for parts in product(*variants)]
    return Ways([{"words": one} for one in joined], " ".join(asked))


def _tokens(cells: list[str]) -> list[str]:
    """The names in lists and ranges of days, each once; a cell that is known as a whole stays whole."""
    tokens: list[str] = []
    for cell in cells:
        whole = is_day(cell) or bare(cell) in UNSURE or _RANGE.fullmatch(cell.strip())
        tokens += [cell] if whole else [part for part in re.split(r"[,;/+&\s–—-]+", cell) if part]
    return list(dict.fromkeys(tokens))


def _by_languages(tokens: list[str]) -> list[dict[str, str]]:
    """The meanings of all tokens in each language that knows most of them; what it does not know is "…"."""
    found = [{token: _meaning(token, language) for token in tokens} for language in DAYS]
    most = max(len(one) - list(one.values()).count("") for one in found)
    best = [one for one in found if len(one) - list(one.values()).count("") == most]
    filled = [{token: day or _elsewhere(token) for token, day in one.items()} for one in best]
    return [one for place, one in enumerate(filled) if one not in filled[:place]]


def _meaning(token: str, language: str) -> str:
    """The days of the contract that a name, or a range in words, stands for; blank where it is not known."""
    names = DAYS[language]
    if bare(token) in names:
        return names[bare(token)]
    ends = _RANGE.fullmatch(token.strip())
    first, last = (WEEKDAYS.index(day) if day in WEEKDAYS else -1 for day in _ends(ends, names))
    if first < 0 or last < 0:
        return ""
    return ",".join(WEEKDAYS[place % 7] for place in range(first, last + 1 + 7 * (last < first)))


def _ends(ends: re.Match[str] | None, names: dict[str, str]) -> tuple[str, str]:
    return (names.get(bare(ends[1]), ""), names.get(bare(ends[2]), "")) if ends else ("", "")


def _elsewhere(token: str) -> str:
    """What it means in whatever language knows it."""
    return next(filter(None, (_meaning(token, language) for language in DAYS)), "…")


def _known(token: str, language: str) -> bool:
    return _open(token) or bool(_meaning(token, language))


def _open(token: str) -> bool:
    """Whether it names days, and no language says which."""
    return any(variant.found(token) for variant in _VARIANTS)


def _numbered(number: str, first: int) -> str:
    """A number as a day; ``first`` 1: 1 is Monday, 0: 1 is Sunday."""
    return WEEKDAYS[(int(number) - 2 + first) % 7]


def _marked(marks: str, first: int) -> str:
    """Seven marks, 1 where a day counts; ``first``: 0 where they begin with Monday, 6 with Sunday."""
    days = (day for place, day in enumerate(WEEKDAYS) if marks[(place - first) % 7] == "1")
    return ",".join(days) or "…"


class _Variant(NamedTuple):
    """Tokens that may mean one thing or another: how they are found, what is asked, and each meaning."""

    found: Callable[[str], bool]
    question: str
    meanings: tuple[Callable[[str], str], ...]


_VARIANTS = (
    _Variant(
        lambda token: bool(re.fullmatch("[1-7]", token)),
        "On which day does the week begin: is 1 Monday, or Sunday?",
        (lambda token: _numbered(token, 1), lambda token: _numbered(token, 0)),
    ),
    _Variant(
        lambda token: bool(re.fullmatch("[01]{7}", token)),
        "Do these seven marks begin with Monday, or with Sunday?",
        (lambda token: _marked(token, 0), lambda token: _marked(token, 6)),
    ),
    _Variant(
        lambda token: bare(token) in UNSURE,
        "Is Saturday one of the days of work?",
        (lambda token: UNSURE[bare(token)][0], lambda token: UNSURE[bare(token)][1]),
    ),
)
