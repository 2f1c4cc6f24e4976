"""The lines of a draft: keys that are understood, and questions whose answers stand there to choose from."""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from auditor.letters import printable, spelled
from auditor.wording import short

ANSWER = "#: "  # before a line that answers a question once this is taken away


@dataclass
class Page:
    """A draft as it grows."""

    lines: list[str] = field(default_factory=list)
    questions: int = 0

    def say(self, *lines: str) -> None:
        """Lines as they are."""
        self.lines += lines

    def note(self, text: str) -> None:
        """A comment."""
        self.lines.append(f"# {one_line(text)}")

    def section(self, name: str) -> None:
        """A table or an array of tables."""
        self.lines += ["", name]

    def ask(self, question: str, *answers: str) -> None:
        """A question, and lines of which one is to be kept."""
        self.questions += 1
        self.lines.append(f"# QUESTION {self.questions}: {one_line(question)}")
        self.lines += [f"{ANSWER}{answer}" for answer in answers]

    def put(self, question: str, answers: list[str]) -> None:
        """The one line that fits; a question where several do, or one that must be looked at."""
        if len(answers) == 1 and not question:
            self.lines.append(answers[0])
        else:
            self.ask(question, *answers)


def quoted(text: str) -> str:
    """A text of TOML."""
    return spelled(json.dumps(text, ensure_ascii=False), lambda letter: f"\\U{ord(letter):08x}")


def inline(keys: Mapping[str, str | Mapping[str, str]]) -> str:
    """An inline table of TOML; what is blank is left out."""
    parts = [f"{name} = {_value(name, value)}" for name, value in keys.items() if value]
    return "{ " + ", ".join(parts) + " }"


def _value(name: str, value: str | Mapping[str, str]) -> str:
    if not isinstance(value, str):
        return words(value)
    return value if name == "part" else quoted(value)


def words(meanings: Mapping[str, str]) -> str:
    """Words and what they mean, as an inline table."""
    return (
        "{ " + ", ".join(f"{quoted(word)} = {quoted(meaning)}" for word, meaning in meanings.items()) + " }"
    )


def samples(cells: list[str]) -> str:
    """The first few cells, for a comment."""
    shown = ", ".join(short(one_line(cell), 30) for cell in cells[:4])
    return f"{shown}, …" if len(cells) > 4 else shown or "all blank"


def one_line(text: str) -> str:
    """One line without what a terminal or a comment of TOML would choke on."""
    return printable(" ".join(text.split()))


def name_pattern(stems: Sequence[str]) -> tuple[str, list[str]]:
    """A pattern of files' names by the parts between their _, and the parts of the first; blank where they
    have no parts, or not the same number of them."""
    parts = [re.split("_+", stem) for stem in stems]
    if (
        len(parts) < 2
        or len(parts[0]) < 2
        or len({len(one) for one in parts}) > 1
        or not all(map(all, parts))
    ):
        return "", []
    named = "_+".join(f"(?P<part{place}>[^_/]+)" for place in range(1, len(parts[0]) + 1))
    return f"{named}[.][^.]+$", parts[0]
