"""From a source to a filled store: what the audit and the log of a day share."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from auditor.clocks import clock_tables, needed_days
from auditor.errors import UserError
from auditor.intake import not_read, read_portfolio
from auditor.mapping import mapped_tables
from auditor.model import NEEDED_TABLES, SEVERITIES, Period, Portfolio, RawTable, Rule, Settings
from auditor.normalise import normalise
from auditor.places import locate
from auditor.settings import read_settings
from auditor.store import Connection, load
from auditor.sun import sun_days
from auditor.zones import zone_names

Given = Path | Sequence[Path]  # one source, or several that together give the tables
SETTINGS = "portfolio.toml"


def paths_of(given: Given) -> tuple[Path, ...]:
    """The sources one by one, as they were named."""
    return (given,) if isinstance(given, Path) else tuple(given)


def settings_of(given: Given, rules: list[Rule] | None) -> tuple[Path, Settings]:
    """The settings file, named or in or beside the first source, and what it says (also of ``rules``)."""
    paths = paths_of(given)
    named = [path for path in paths if path.name == SETTINGS]
    first = paths[0]
    path = named[0] if named else (first if first.is_dir() else first.parent) / SETTINGS
    return path, read_settings(path, rules)


def maps_of(given: Given) -> list[Path]:
    """The map files: those named, then those that the settings name."""
    file, settings = settings_of(given, None)
    found = [path for path in paths_of(given) if path.suffix.lower() == ".toml" and path.name != SETTINGS]
    for pattern in settings.maps:
        matches = _matches(file.parent, pattern)
        if not matches:
            raise UserError(f'{file.name}: [sources] maps = "{pattern}": no file is named like that.')
        found += [path for path in matches if path not in found]
    return found


def _matches(folder: Path, pattern: str) -> list[Path]:
    try:
        return sorted(path for path in folder.glob(pattern) if path.name != SETTINGS)
    except (OSError, ValueError, NotImplementedError):  # an absolute path, or no name at all
        return []


def read_judged(given: Given, first: date | None = None, days: int = 365) -> Portfolio:
    """The portfolio after judgement, every site with its time zone.

    Calendars and schedule objects are worked out for the ``days`` from ``first`` (None: as the audit has it).
    """
    raw, doubts = _raw(given, first, days)
    portfolio = normalise(raw, zone_names())
    sites, strange = locate(portfolio.tables["sites"])
    return Portfolio(
        portfolio.tables | {"sites": sites},
        portfolio.rejections,
        _nothing_kept(portfolio) + portfolio.notices + doubts + strange,
        portfolio.inputs,
    )


def _nothing_kept(portfolio: Portfolio) -> list[str]:
    """A sentence for each needed table of which no row is left: a report without findings would mislead."""
    lost = {name for read in portfolio.inputs if read["rejected"] for name in read["table"].split(";")}
    return [
        f"nothing of {name} is audited: every row was rejected, and what rests on them is not looked at; "
        "mend the input by rejected.csv and run again before you rely on anything here."
        for name in NEEDED_TABLES
        if name in lost and portfolio.tables[name].is_empty()
    ]


def _raw(given: Given, first: date | None, days: int) -> tuple[list[RawTable], list[str]]:
    """All tables of all sources, and a sentence for everything in them that was not read."""
    maps, sources = maps_of(given), contract_sources(given)
    if not maps and len(sources) == 1:
        return read_portfolio(sources[0]), not_read(sources[0])
    file, settings = settings_of(given, None)
    exports = None if settings.exports is None else file.parent / settings.exports
    own = [table for source in sources for table in read_portfolio(source, needed=())]
    mapped, doubts = mapped_tables(maps, exports, own, first, days)
    raw = own + mapped
    _check_needed(raw, maps)
    _check_names(raw)
    read = {table.source_file.partition(":")[0].partition("/")[0] for table in mapped}
    strangers = [
        said for source in sources for said in not_read(source) if said.partition(" was ")[0] not in read
    ]
    return raw, doubts + strangers


def contract_sources(given: Given) -> list[Path]:
    """Folders and workbooks that hold the contract's own tables."""
    return [
        path.parent if path.name == SETTINGS else path
        for path in paths_of(given)
        if path.name == SETTINGS or path.suffix.lower() != ".toml"
    ]


def _check_names(raw: list[RawTable]) -> None:
    """A row is known by its file's name: two files of one name would be taken for each other."""
    digests: dict[str, str] = {}
    for table in raw:
        if digests.setdefault(table.source_file, table.sha256) != table.sha256:
            raise UserError(
                f"two sources hold a file {table.source_file}; rename one, or put both below one folder."
            )


def _check_needed(raw: list[RawTable], maps: list[Path]) -> None:
    for name in NEEDED_TABLES:
        if all(table.name != name for table in raw):
            named = ", ".join(path.name for path in maps)
            raise UserError(
                f"no source gives {name}: add [[{name}]] to a map ({named}), or a file {name}.csv."
            )


def fill(connection: Connection, portfolio: Portfolio, settings: Settings, period: Period) -> None:
    """Everything that the year's queries read."""
    for name, frame in portfolio.tables.items():
        load(connection, name, frame)
    clocks = clock_tables(portfolio.tables["sites"], portfolio.tables["controllers"], period)
    for name, frame in clocks.items():
        load(connection, name, frame)
    load(connection, "sun_days", sun_days(needed_days(clocks["device_clocks"], period)))
    load(connection, "rejected", pl.DataFrame([vars(row) for row in portfolio.rejections], _REJECTED))
    load(connection, "period", pl.DataFrame([_period_row(portfolio, settings, period)]))
    load(connection, "portfolio", pl.DataFrame([_portfolio_row(settings)], infer_schema_length=None))
    load(
        connection,
        "visit_settings",
        pl.DataFrame([settings.visits], dict.fromkeys(settings.visits, pl.Float64)),
    )


def fill_origin(connection: Connection, facts: Mapping[str, Any]) -> None:
    """What the audit read and with which versions, from ``facts``, the content of run.json."""
    read = [file | {"holds": file["table"].split(";")} for file in facts["inputs"]]
    read += [facts["settings"] | {"holds": ["settings"]}] if facts["settings"] else []
    read += [file | {"holds": ["map"]} for file in facts["maps"]]
    read += [file | {"holds": ["own rule"]} for file in facts["own_rules"]]
    files = pl.DataFrame(read, _INPUTS).rename({"file": "source_file"})
    load(connection, "inputs", files)
    versions = {"program": facts["program"]["version"], "tzdb": facts["tzdb"]}
    load(connection, "versions", pl.DataFrame({"name": list(versions), "version": list(versions.values())}))


_INPUTS: dict[str, Any] = {
    "file": pl.String,
    "holds": pl.List(pl.String),
    "sha256": pl.String,
} | dict.fromkeys(("rows", "kept", "rejected", "skipped"), pl.Int64)
_REJECTED = {
    "source_file": pl.String,
    "source_row": pl.Int64,
    "column": pl.String,
    "value": pl.String,
    "reason": pl.String,
    "site_id": pl.String,
}


def _period_row(portfolio: Portfolio, settings: Settings, period: Period) -> dict[str, Any]:
    margins = {name.replace("_minutes", "_s"): round(60 * value) for name, value in settings.figures.items()}
    newest = portfolio.tables["controllers"]["read_at_utc"].max()
    return {"first_date": period.first, "days": period.days, "newest_read_at_utc": newest, **margins}


def _portfolio_row(settings: Settings) -> dict[str, Any]:
    plain = {name: getattr(settings, name) for name in ("name", "currency", "rate_per_kwh", "energy_code")}
    emission = {name: getattr(settings, name) for name in ("emission_kg_per_kwh", "emission_source")}
    return plain | emission | {f"score_{severity}": settings.score[severity] for severity in SEVERITIES}
