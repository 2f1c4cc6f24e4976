"""What a mutant is."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Mutant:
    """A file with one change. ``file`` is its path below the project, ``text`` all of its new content."""

    file: str
    line: int  # from 1
    was: str  # the first line that differs, trimmed
    becomes: str
    text: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}\n    - {self.was}\n    + {self.becomes}"


def replaced(file: str, source: str, start: int, end: int, new: str) -> Mutant:
    """The mutant in which ``new`` stands for ``source[start:end]``."""
    return changed(file, source, source[:start] + new + source[end:])


def changed(file: str, source: str, text: str) -> Mutant:
    """The mutant that has ``text`` in place of ``source``, known by the first line that differs."""
    pairs = enumerate(zip(source.splitlines(), text.splitlines(), strict=False), 1)
    line, (was, becomes) = next(found for found in pairs if found[1][0] != found[1][1])
    return Mutant(file, line, was.strip(), becomes.strip(), text)


def each_once(mutants: Iterable[Mutant]) -> list[Mutant]:
    """The mutants without those that say the same as an earlier one."""
    return list({mutant.text: mutant for mutant in mutants}.values())
