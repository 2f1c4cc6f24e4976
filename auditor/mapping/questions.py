"""Questions of a draft that nobody has answered yet."""

import re
from collections.abc import Iterator
from itertools import takewhile

from auditor.wording import counted

_QUESTION = re.compile(r"#\s*QUESTION (\d+)")
_ANSWER = "#:"  # how a line begins that answers the question above it, once that is taken away
_SHOWN = 8  # questions that a sentence names


def unanswered(text: str) -> str:
    """What to do about a draft: which of its questions are open, or that none is."""
    asked = list(_open(text.splitlines()))
    if not asked:
        return "is a draft without an open QUESTION; delete the line questions, and it runs."
    named = [f"{number} (line {line})" for number, line in asked[:_SHOWN]]
    more = f" and {len(asked) - _SHOWN} more" if len(asked) > _SHOWN else ""
    many = counted(len(asked), "QUESTION is", "QUESTIONs are")
    return (
        f"is a draft, of which {many} open: {', '.join(named)}{more}; take the #: of one answer of each away "
        "and fill it in, delete its other answers, then the line questions."
    )


def _open(lines: list[str]) -> Iterator[tuple[str, int]]:
    """Number and line of each question whose answers all stand behind their mark still."""
    for place, line in enumerate(lines, 1):
        if found := _QUESTION.match(line.strip()):
            below = list(takewhile(_goes_on, map(str.strip, lines[place:])))
            offered = {_key(one.removeprefix(_ANSWER)) for one in below if one.startswith(_ANSWER)}
            given = {_key(one) for one in below if not one.startswith("#")}
            if offered - {""} and not offered & given:
                yield found[1], place


def _goes_on(line: str) -> bool:
    """Whether a line is still of the same question and section."""
    return not line.startswith("[") and not _QUESTION.match(line)


def _key(line: str) -> str:
    return line.partition("=")[0].strip()
