"""A map: what one kind of export means, read from a TOML file and judged."""

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from auditor.errors import UserError
from auditor.mapping.blocks import Block, blocks_of
from auditor.mapping.conditions import Condition, condition_of
from auditor.mapping.judging import Keys, Place
from auditor.mapping.words import bare
from auditor.model import TABLE_NAMES

_SOURCE = (
    "files", "folder", "inside", "sheets", "name", "header_row", "skip_rows", "encoding", "separator",
    "decimal", "thousands", "fill_down", "blanks",
)  # fmt: skip


@dataclass(frozen=True)
class Source:
    """Which files, and how they are laid out. ``name`` finds named parts in a file's path."""

    folder: Path
    files: tuple[str, ...]
    inside: tuple[str, ...] = ("*",)
    sheets: tuple[str, ...] = ()
    name: re.Pattern[str] | None = None
    header_rows: tuple[int, ...] = (1,)
    skip_rows: tuple[int, ...] = ()
    encoding: str | None = None
    separator: str | None = None
    decimal: str = "."
    thousands: str = ""
    fill_down: tuple[str, ...] = ()
    blanks: frozenset[str] = frozenset()  # words that mean a blank cell, bare


@dataclass(frozen=True)
class Map:
    """One file: its source, the rules by which rows are left out, and the rows of tables that it gives."""

    path: Path
    source: Source
    skip: tuple[Condition, ...]
    blocks: tuple[Block, ...]

    @property
    def place(self) -> Place:
        """For sentences about it."""
        return Place(self.path.name)


def read_map(path: Path, folder: Path | None = None) -> Map:
    """The map in a TOML file; its exports lie in ``folder`` (None: where the map says, or beside it).

    Raises UserError with file, key and what to do.
    """
    found = _load(path)
    place = Place(path.name)
    place.only(found, ("about", "questions", "source", "skip", "words", *TABLE_NAMES))
    place.text(found, "about")
    source = _source(place.below("source"), place.table(found, "source"), path, folder)
    words = {name: place.below("words").words(found["words"], name) for name in place.table(found, "words")}
    skip = tuple(
        condition_of(place.below(f'skip."{rule}"'), keys, rule)
        for rule, keys in place.table(found, "skip").items()
    )
    blocks = tuple(block for table in TABLE_NAMES for block in _blocks(place, found, table, words, source))
    if not blocks:
        raise place.wrong("gives no table; add one, such as [[circuits]].")
    if "questions" in found:
        raise place.wrong("is a draft: answer each QUESTION in it, then delete the line questions.")
    return Map(path, source, skip, blocks)


def _blocks(
    place: Place, found: Keys, table: str, words: dict[str, dict[str, str]], source: Source
) -> list[Block]:
    given = found.get(table, [])
    if not isinstance(given, list) or not all(isinstance(keys, dict) for keys in given):
        raise place.wrong(f"{table} must stand in double brackets: [[{table}]].")
    numbers = (source.decimal, source.thousands)
    return [
        block
        for number, keys in enumerate(given, 1)
        for block in blocks_of(
            place.below(table if len(given) == 1 else f"{table} {number}"), table, keys, words, numbers
        )
    ]


def _load(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except OSError as error:
        raise UserError(f"{path.name} cannot be read ({error.strerror}); check the file.") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError) as error:
        raise UserError(f"{path.name} is not readable as TOML ({error}); mend that line.") from error


def _source(place: Place, keys: Keys, path: Path, folder: Path | None) -> Source:
    place.only(keys, _SOURCE)
    files = place.texts(keys, "files")
    if not files:
        raise place.wrong('says no files; add which are meant, such as files = "exports/*.csv".')
    for pattern in files:
        if Path(pattern).is_absolute() or ".." in Path(pattern).parts or "\\" in pattern:
            raise place.wrong(
                f'files = "{pattern}" leads out of the folder; name the folder with folder = "…".'
            )
    own = place.text(keys, "folder")
    return Source(
        folder or path.parent / (own or ""),
        files,
        place.texts(keys, "inside") or ("*",),
        place.texts(keys, "sheets"),
        _pattern(place, place.text(keys, "name")),
        place.numbers(keys, "header_row", [1]),
        place.numbers(keys, "skip_rows", []),
        _encoding(place, place.text(keys, "encoding")),
        _separator(place, place.text(keys, "separator")),
        place.one_of(keys, "decimal", (".", ",")) or ".",
        place.text(keys, "thousands") or "",
        place.texts(keys, "fill_down"),
        frozenset(map(bare, place.texts(keys, "blanks"))),
    )


def _pattern(place: Place, text: str | None) -> re.Pattern[str] | None:
    if text is None:
        return None
    try:
        pattern = re.compile(text)
    except re.error as error:
        raise place.wrong(f"name is no regular expression ({error}).") from error
    if not pattern.groupindex:
        raise place.wrong("name must have a named part, such as '(?P<controller>C-[0-9]+)'.")
    return pattern


def _encoding(place: Place, name: str | None) -> str | None:
    try:
        if name is not None:
            "é".encode(name, errors="replace").decode(name, errors="replace")
    except (LookupError, ValueError, TypeError) as error:
        raise place.wrong(
            f'encoding = "{name}" is not known; such as "utf-8", "cp1252" or "utf-16".'
        ) from error
    return name


def _separator(place: Place, text: str | None) -> str | None:
    if text is not None and (len(text) != 1 or text in '"\r\n'):
        raise place.wrong('separator must be one character, such as ";" or "\\t".')
    return text
