"""Calendars and schedule objects by a map: each file's program as rows of the contract."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import polars as pl

from auditor.errors import UserError
from auditor.intake.calendars import read_calendar, read_closures
from auditor.intake.objects import read_objects
from auditor.intake.program import Owner, Read
from auditor.mapping.applying import Applied
from auditor.mapping.blocks import Block
from auditor.mapping.cells import Cell
from auditor.mapping.owners import ACTIONS, OBJECT, OBJECTS
from auditor.mapping.sources import Sheet, files_of, parts_of
from auditor.mapping.spec import Map
from auditor.model import Period, RawTable
from auditor.normalise import normalise
from auditor.period import audited_period
from auditor.places import locate
from auditor.zones import zone_names


@dataclass(frozen=True)
class Setting:
    """What programs are worked out for: the audited dates, and the zone of each device's site."""

    period: Period
    zones: Mapping[str, str]


def setting_of(tables: Sequence[RawTable], first: date | None, days: int) -> Setting:
    """By the sites and devices among some tables; a device that is not there is taken to keep UTC.

    Raises UserError where neither they nor ``first`` say which dates are audited.
    """
    few = [table for table in tables if table.name in ("sites", "controllers")]
    portfolio = normalise(few, zone_names())
    if first is None and all(table.name != "controllers" for table in few):
        raise UserError(
            "programs are worked out for a year: add --start DATE, or name the source of controllers, too."
        )
    period = Period(first, days) if first else audited_period(portfolio, None, days)
    sites, _ = locate(portfolio.tables["sites"])
    devices = portfolio.tables["controllers"].join(sites.select("site_id", "timezone"), on="site_id")
    return Setting(period, dict(devices.select("controller_id", "timezone").iter_rows()))


def read_programs(found: Map, setting: Setting) -> Iterator[Applied]:
    """Each file of a map of programs.

    Raises UserError where one cannot be read, or where nothing says whose it is.
    """
    (block,) = found.blocks
    for file in files_of(found.place, found.source):
        name, content = file.name, file.content
        said = _Said(name, {cell.name: cell for cell in block.cells}, parts_of(found.source, name))
        read = _read(found.source.kind, block, name, content, said, setting)
        yield Applied(replace(_listing(name, read), held=file.held), [read.table])


class _Said:
    """What a map's cells say about one file."""

    def __init__(self, file: str, cells: dict[str, Cell], parts: dict[str, str | None]) -> None:
        self.file, self.cells, self.parts = file, cells, parts

    def of(self, column: str, default: str | None = None) -> str:
        """The text of one column. Raises UserError where it is blank or has no translation."""
        if column not in self.cells:
            return default or ""
        try:
            (text,) = self.cells[column].texts(self.parts)
        except ValueError as error:
            raise UserError(f"{self.file}: {column} {error}.") from error
        if not text:
            raise UserError(f"{self.file}: {column} is blank; check name in [source].")
        return text

    def targets_of(self, name: str) -> list[str]:
        """What a Schedule object acts on. Raises ValueError where its name has no translation."""
        (text,) = self.cells["targets"].texts({**self.parts, OBJECT: name or None})
        return _ids(text or "")

    @property
    def by_name(self) -> bool:
        """Whether targets hang on the name of each object."""
        return OBJECT in self.cells["targets"].references


def _read(kind: str, block: Block, name: str, content: bytes, said: _Said, setting: Setting) -> Read:
    if block.table == "closures":
        return read_closures(content, name, said.of("site_id"), said.of("calendar"), setting.period)
    if kind != OBJECTS:
        return read_calendar(content, name, _owner(said, setting, _ids(said.of("targets"))), setting.period)
    if said.by_name:
        return read_objects(content, name, _owner(said, setting, []), setting.period, said.targets_of)
    return read_objects(content, name, _owner(said, setting, _ids(said.of("targets"))), setting.period)


def _owner(said: _Said, setting: Setting, targets: list[str]) -> Owner:
    device, action = said.of("controller_id"), said.of("action", "on")
    if action not in ACTIONS:
        raise UserError(
            f'{said.file}: action "{action}" must be one of {", ".join(ACTIONS)}: what an event does.'
        )
    zone = setting.zones.get(device, "UTC")  # of a device that nobody lists, whose steps will be rejected
    return Owner(device, tuple(targets), zone, ACTIONS[action], _level(said, action))


def _level(said: _Said, action: str) -> float:
    level = said.of("level", "100")
    try:
        value = float(level)
    except ValueError:
        value = -1
    if not 0 < value <= 100:
        raise UserError(f'{said.file}: level "{level}" must be a percentage above 0, up to 100.')
    if value < 100 and action != "on":
        raise UserError(f"{said.file}: level goes with circuits; take it away where a sensor is meant.")
    return value


def _ids(text: str) -> list[str]:
    return list(dict.fromkeys(part.strip() for part in text.split(";") if part.strip()))


def _listing(name: str, read: Read) -> Sheet:
    """The entries of a file as a table, for people to look at."""
    frame = pl.DataFrame(
        {
            "entry": pl.Series([entry.kind or None for entry in read.listed], dtype=pl.String),
            "called": pl.Series([entry.name or None for entry in read.listed], dtype=pl.String),
            "source_row": pl.Series([entry.row for entry in read.listed], dtype=pl.Int64),
        }
    )
    return Sheet(name, read.table.sha256, frame, {}, {}, {}, ())
