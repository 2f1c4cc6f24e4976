"""The nouns that rooms hand to each other."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import polars as pl

TABLE_NAMES = (
    "sites",
    "controllers",
    "circuits",
    "sensors",
    "events",
    "hours",
    "closures",
    "waivers",
    "actions",
)
NEEDED_TABLES = ("sites", "controllers", "circuits", "events")
# How a cell begins that stands for an error of a spreadsheet, or for a formula whose result nobody stored.
ERROR, FORMULA = "(error) #", "(formula) ="
EXAMPLE, GUIDE = "EXAMPLE", "Guide"  # how ids of the template's examples begin; its sheet that explains
SEVERITIES = ("critical", "high", "medium", "low")
PEOPLE = ("site staff", "qualified electrician")  # who may do it where a desk cannot, or must not alone
SUBJECT_KINDS = ("site", "controller", "circuit", "sensor", "step")
CODE_EDITIONS = (
    *(f"iecc-{year}" for year in (2015, 2018, 2021, 2024)),
    *(f"ashrae-90.1-{year}" for year in (2013, 2016, 2019, 2022)),
    *(f"title-24-{year}" for year in (2019, 2022, 2025)),
)


@dataclass(frozen=True)
class RawTable:
    """One table as its file gives it: every cell trimmed text, null where blank.

    ``frame`` has the file's columns as strings and ``source_row`` (header = 1, as a spreadsheet counts).
    ``rejections`` are rows that could not be read; such a row may stand in ``frame`` as far as it could.
    ``skipped`` names, for each row left out on purpose, the rule of the map that did so. ``repeats``: rows
    may say again what an earlier one of the same key said, as lists do that give a site in every line.
    ``silent``: rows that were understood and need give none of their own; they may change what others give.
    ``notices`` are sentences about the file that hold whatever its rows say.
    """

    name: str
    source_file: str
    sha256: str
    frame: pl.DataFrame
    rejections: tuple["Rejection", ...] = ()
    skipped: Mapping[int, str] = field(default_factory=dict)
    repeats: bool = False
    silent: frozenset[int] = frozenset()
    notices: tuple[str, ...] = ()
    header_row: int = 1


@dataclass(frozen=True)
class Rejection:
    """One reason why one input row is left out; ``site_id`` where the row still says whose it is."""

    source_file: str
    source_row: int
    column: str
    value: str
    reason: str
    site_id: str | None = None


@dataclass(frozen=True)
class Portfolio:
    """The contract tables after judgement: typed frames by table name, and what was left out."""

    tables: dict[str, pl.DataFrame]
    rejections: list[Rejection]
    notices: list[str]
    inputs: list[dict[str, Any]]


@dataclass(frozen=True)
class Period:
    """The audited days: ``first`` and ``days`` of them, from 00:00 to 00:00 in each site's zone."""

    first: date
    days: int

    @property
    def last(self) -> date:
        """Last audited date."""
        return self.first + timedelta(days=self.days - 1)


@dataclass(frozen=True)
class Settings:
    """``portfolio.toml`` with every default filled in; durations in minutes, money in ``currency``.

    ``maps`` are patterns of map files beside it, ``exports`` the folder of what these read.
    """

    name: str = ""
    currency: str = ""
    rate_per_kwh: float | None = None
    energy_code: str | None = None
    emission_kg_per_kwh: float | None = None
    emission_source: str = ""
    figures: dict[str, float] = field(default_factory=dict)
    score: dict[str, float] = field(default_factory=dict)
    rules: dict[str, dict[str, Any]] = field(default_factory=dict)
    visits: dict[str, float | None] = field(default_factory=dict)
    maps: tuple[str, ...] = ()
    exports: str | None = None


@dataclass(frozen=True)
class Rule:
    """One file of ``queries/rules``, or of a user's own: what its header says, its prose, and its query.

    ``params`` maps each ``$name`` of the query to its default; ``units`` to that parameter's unit.
    """

    name: str
    title: str
    severity: str
    subject: str
    fix: str
    needs: tuple[str, ...]
    params: dict[str, Any]
    units: dict[str, str]
    prose: str
    sql: str
    path: Path
    money: bool = False
    who: str = ""  # blank: a desk where it reaches the device, else site staff
    after: tuple[str, ...] = ()
    own: bool = False
