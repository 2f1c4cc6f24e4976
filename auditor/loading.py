"""From a source to a filled store: what the audit and the log of a day share."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import polars as pl

from auditor.clocks import clock_tables, needed_days
from auditor.intake import not_read, read_portfolio
from auditor.model import SEVERITIES, Period, Portfolio, Rule, Settings
from auditor.normalise import normalise
from auditor.places import locate
from auditor.settings import read_settings
from auditor.store import Connection, load
from auditor.sun import sun_days
from auditor.zones import zone_names


def settings_of(source: Path, rules: list[Rule] | None) -> tuple[Path, Settings]:
    """The settings file that belongs to a folder or a workbook, and what it says (also of ``rules``)."""
    path = (source if source.is_dir() else source.parent) / "portfolio.toml"
    return path, read_settings(path, rules)


def read_judged(source: Path) -> Portfolio:
    """The portfolio after judgement, every site with its time zone."""
    portfolio = normalise(read_portfolio(source), zone_names())
    sites, doubts = locate(portfolio.tables["sites"])
    doubts = [*not_read(source), *doubts]
    return Portfolio(
        portfolio.tables | {"sites": sites},
        portfolio.rejections,
        portfolio.notices + doubts,
        portfolio.inputs,
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
    read = [file | {"holds": file["table"]} for file in facts["inputs"]]
    read += [facts["settings"] | {"holds": "settings"}] if facts["settings"] else []
    read += [file | {"holds": "own rule"} for file in facts["own_rules"]]
    files = pl.DataFrame(read, _INPUTS).rename({"file": "source_file"})
    load(connection, "inputs", files)
    versions = {"program": facts["program"]["version"], "tzdb": facts["tzdb"]}
    load(connection, "versions", pl.DataFrame({"name": list(versions), "version": list(versions.values())}))


_INPUTS = dict.fromkeys(("file", "holds", "sha256"), pl.String) | dict.fromkeys(
    ("rows", "kept", "rejected"), pl.Int64
)
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
