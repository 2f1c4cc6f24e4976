"""The nouns: an edition of a code and what it asks for."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Basis:
    """How firm a fact is: one of the marks, a confidence, and where it comes from."""

    mark: str
    confidence: str
    source: str


@dataclass(frozen=True)
class Limit:
    """A number with its unit; ``bound`` says whether it is the least, the most, or must be exceeded."""

    name: str
    bound: str
    value: float
    unit: str
    basis: Basis


@dataclass(frozen=True)
class Window:
    """When a night's cut must hold: from the later of its starts to the earlier of its ends.

    Times of day are seconds after 00:00, margins minutes after closing and before opening; None: none.
    """

    name: str
    from_time_s: int | None
    from_closing_minutes: float | None
    until_time_s: int | None
    until_opening_minutes: float | None
    basis: Basis


@dataclass(frozen=True)
class Exemption:
    """An exception that the code makes; ``outcome`` is what a site of one of ``site_types`` gets instead."""

    tag: str
    words: str
    site_types: tuple[str, ...]
    outcome: str
    basis: Basis


@dataclass(frozen=True)
class CodeItem:
    """What one edition asks about one item, in own words; ``asked`` is false where it asks nothing."""

    key: str
    clause: str
    requirement: str
    asked: bool
    areas: tuple[str, ...]
    basis: Basis
    limits: tuple[Limit, ...]
    windows: tuple[Window, ...]
    exceptions: tuple[Exemption, ...]


@dataclass(frozen=True)
class Edition:
    """One edition, whole: where it ``amends`` another, what it does not say itself stands there.

    ``items`` are by key, in the order of the vocabulary; ``own`` marks a file of the user's, ``sha256`` is
    of the file's bytes.
    """

    id: str
    title: str
    amends: str
    items: dict[str, CodeItem]
    path: Path
    own: bool
    sha256: str
