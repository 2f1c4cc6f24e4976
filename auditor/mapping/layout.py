"""Which files a map means, and how they are laid out."""

from dataclasses import dataclass
from pathlib import Path

import polars as pl

from auditor.mapping.judging import Keys, Place
from auditor.mapping.words import bare

_KINDS = ("tables", "icalendar", "schedule-objects")
_FILES = ("kind", "files", "folder", "inside", "name")  # of every kind
_SOURCE = (
    *_FILES, "sheets", "header_row", "skip_rows", "encoding", "separator",
    "decimal", "thousands", "fill_down", "blanks",
)  # fmt: skip


@dataclass(frozen=True)
class Parts:
    """A regular expression with named parts. Not Python's own, which some expressions keep busy for ever."""

    pattern: str
    names: tuple[str, ...]

    def of(self, text: str) -> dict[str, str | None] | None:
        """Each part as it stands in the text, None where it does not; None where the text does not fit."""
        texts = pl.Series([text])
        if not texts.str.contains(self.pattern).item():
            return None
        found = texts.str.extract_groups(self.pattern).item()
        return {name: found[name] for name in self.names}


@dataclass(frozen=True)
class Source:
    """Which files, and how they are laid out. ``name`` finds named parts in a file's path."""

    folder: Path
    files: tuple[str, ...]
    kind: str = "tables"
    inside: tuple[str, ...] = ("*",)
    sheets: tuple[str, ...] = ()
    name: Parts | None = None
    header_rows: tuple[int, ...] = (1,)
    skip_rows: tuple[int, ...] = ()
    encoding: str | None = None
    separator: str | None = None
    decimal: str = "."
    thousands: str = ""
    fill_down: tuple[str, ...] = ()
    blanks: frozenset[str] = frozenset()  # words that mean a blank cell, bare

    @property
    def is_programs(self) -> bool:
        """Whether its files are programs of an open standard, and no tables."""
        return self.kind != "tables"


def source_of(place: Place, keys: Keys, path: Path, folder: Path | None) -> Source:
    """The section [source] of the map at ``path``; its exports lie in ``folder``, where that is given."""
    kind = place.one_of(keys, "kind", _KINDS) or "tables"
    place.only(keys, _SOURCE if kind == "tables" else _FILES)
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
        kind,
        place.texts(keys, "inside") or ("*",),
        place.texts(keys, "sheets"),
        _parts(place, place.text(keys, "name")),
        _header_rows(place, keys),
        place.numbers(keys, "skip_rows", []),
        _encoding(place, place.text(keys, "encoding")),
        _separator(place, place.text(keys, "separator")),
        place.one_of(keys, "decimal", (".", ",")) or ".",
        place.text(keys, "thousands") or "",
        place.texts(keys, "fill_down"),
        frozenset(map(bare, place.texts(keys, "blanks"))),
    )


def _header_rows(place: Place, keys: Keys) -> tuple[int, ...]:
    rows = place.numbers(keys, "header_row", [1])
    if not rows:
        raise place.wrong("header_row names no row; write the one that names the columns, such as 1.")
    return rows


def _parts(place: Place, text: str | None) -> Parts | None:
    if text is None:
        return None
    try:
        groups = pl.Series([""]).str.extract_groups(text).struct.fields
    except pl.exceptions.ComputeError as error:
        trouble = str(error).splitlines()[-1].removeprefix("error: ")
        raise place.wrong(f"name is no regular expression ({trouble}).") from error
    names = tuple(name for name in groups if not name.isdecimal())  # others are numbered
    if not names:
        raise place.wrong("name must have a named part, such as '(?P<controller>C-[0-9]+)'.")
    return Parts(text, names)


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
