"""The key area of a draft: what the words for a use mean, and which of them must be looked at."""

import re

from auditor.mapping.drafts.vocabulary import AREAS, CARE, GUARD, WAY_OUT
from auditor.mapping.drafts.writing import Page, inline, samples
from auditor.mapping.words import bare

_ALL = (*AREAS, "egress", "security", "other-exterior")
_OPEN = "…"
_PLAIN = ("egress", "security")  # the contract's own words


def area_key(page: Page, cell: str, words: list[str]) -> None:
    """The key area; a question where a word is not known or may mean two areas, or no column says it.

    Light that may have to stay is never taken for any other: it is egress or security until somebody says
    what it is.
    """
    if not cell:
        question = f"What do these circuits light? No column says so; one of {', '.join(_ALL)}."
        page.ask(question, 'area = "interior"', 'area = "parking"')
        return
    meanings = {word: _area_of(word) for word in words}
    page.note("What these words mean here is a proposal; look at each.")
    asked = " ".join(filter(None, (_unknown(meanings), _staying(meanings))))
    page.put(asked, [f"area = {inline({'cell': cell, 'words': meanings})}"])


def _unknown(meanings: dict[str, str]) -> str:
    unknown = [word for word, meaning in meanings.items() if meaning == _OPEN]
    return f"What is {samples(unknown)}? Put one of {', '.join(_ALL)}." if unknown else ""


def _staying(meanings: dict[str, str]) -> str:
    """The question about light that may have to stay, but for what is plainly that."""
    odd = [word for word in meanings if _hints(f"{WAY_OUT}|{CARE}", word) and bare(word) not in _PLAIN]
    told = "may show a way out, guard or care for somebody, and be kept lit. Are egress and security right?"
    return f"{samples(odd)} {told}" if odd else ""


def _area_of(word: str) -> str:
    if _hints(WAY_OUT, word):
        return "security" if _hints(GUARD, word) else "egress"
    parts = set(re.findall(r"\w+", bare(word)))
    found = [area for area, known in AREAS.items() if parts & set(bare(known).split())]
    return found[0] if len(found) == 1 and not _hints(CARE, word) else _OPEN


def _hints(pattern: str, word: str) -> bool:
    return bool(re.search(pattern, word, re.IGNORECASE))
