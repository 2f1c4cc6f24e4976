"""What kind of thing each contract column holds, and in which unit: from what judges them."""

import polars as pl

from auditor.normalise import values as v
from auditor.normalise.specs import SPECS, Column

WHEN = "when"  # of events: anchor, time and offset_minutes from one cell
WHEN_COLUMNS = ("anchor", "time", "offset_minutes")
UNITS: dict[str, dict[str, tuple[int, int]]] = {  # by the contract's unit: what one of it is, as a fraction
    "W": {"W": (1, 1), "kW": (1000, 1), "MW": (1_000_000, 1)},
    "min": {"min": (1, 1), "h": (60, 1), "s": (1, 60)},
    "h": {"h": (1, 1), "min": (1, 60), "d": (24, 1)},
    "m": {"m": (1, 1), "cm": (1, 100), "ft": (3048, 10_000)},  # the international foot of 1959
    "m2": {"m2": (1, 1), "ft2": (9_290_304, 100_000_000)},
    "%": {"%": (1, 1), "share": (100, 1)},
    "per kWh": {"per kWh": (1, 1), "hundredths per kWh": (1, 100), "per MWh": (1, 1000)},
}
_BY_PARSER = {
    v.text: "text",
    v.boolean: "words",
    v.instant: "instant",
    v.local_datetime: "moment",
    v.utc_offset: "text",
    v.iso_date: "date",
    v.season_edge: "edge",
    v.time_of_day: "time",
    v.end_time: "time",
    v.days: "days",
    v.id_list: "ids",
}


def columns_of(table: str) -> tuple[str, ...]:
    """The names that a map may fill, in the order of the contract."""
    names = tuple(column.name for column in SPECS[table])
    return (*names, WHEN) if table == "events" else names


def needed_of(table: str) -> tuple[str, ...]:
    """The names that a map must fill; an event's id may be left to us."""
    return tuple(column.name for column in SPECS[table] if column.needed and column.name != "event_id")


def kind_of(table: str, name: str) -> str:
    """text, words, number, date, edge, time, moment, instant, days, ids or when."""
    if name == WHEN:
        return WHEN
    column = _column(table, name)
    if column.parse in _BY_PARSER:
        return _BY_PARSER[column.parse]
    return "words" if column.dtype == pl.String() else "number"


def unit_of(table: str, name: str) -> str | None:
    """The contract's unit of a number; None where it has none, or one that everybody uses, as degrees."""
    unit = "" if name == WHEN else _column(table, name).unit
    return unit if unit in UNITS else None


def _column(table: str, name: str) -> Column:
    return next(column for column in SPECS[table] if column.name == name)
