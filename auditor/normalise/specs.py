"""The columns of each input table: how a cell is read, and which must be there.

Derived column names carry their unit: ``_s`` seconds, ``_utc`` a naive datetime in UTC.
"""

from dataclasses import dataclass

import polars as pl

from auditor.normalise import values as v

_TEXT = pl.String()
_FLOAT = pl.Float64()
_SECONDS = pl.Int64()
_MOMENT = pl.Datetime("us")


@dataclass(frozen=True)
class Column:
    """``name`` in the file becomes ``store_name`` in the store, read by ``parse``."""

    name: str
    parse: v.Parser = v.text
    dtype: pl.DataType = _TEXT
    needed: bool = False
    store_name: str = ""

    @property
    def out(self) -> str:
        """Name in the store."""
        return self.store_name or self.name


def _needed(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name, needed=True) for name in names)


def _texts(*names: str) -> tuple[Column, ...]:
    return tuple(Column(name) for name in names)


def _amounts(*names: str, most: float = 1e9) -> tuple[Column, ...]:
    """Beyond ``most`` something was mistyped, and sums of money would burst their columns."""
    return tuple(Column(name, v.number(0, most), _FLOAT) for name in names)


def _place(needed: bool) -> tuple[Column, ...]:
    return (
        Column("latitude", v.number(-90, 90), _FLOAT, needed),
        Column("longitude", v.number(-180, 180), _FLOAT, needed),
    )


_HOLD = Column("hold", v.choice("on", "off"))
_IN_USE = Column("in_use", v.boolean, pl.Boolean())
AREAS = (
    "interior",
    "parking",
    "walkway",
    "canopy",
    "facade",
    "landscape",
    "sign",
    "egress",
    "security",
    "other-exterior",
)

SPECS: dict[str, tuple[Column, ...]] = {
    "sites": (
        *_needed("site_id"),
        *_texts("name", "address", "region", "site_type"),
        *_place(needed=True),
        Column("timezone"),
        Column("energy_code"),
        *_amounts("rate_per_kwh", most=1e6),
    ),
    "controllers": (
        *_needed("controller_id", "site_id"),
        Column("read_at", v.instant, _MOMENT, True, "read_at_utc"),
        Column("clock_reading", v.local_datetime, _MOMENT, store_name="clock_reading_local"),
        Column("utc_offset", v.utc_offset, _SECONDS, store_name="utc_offset_s"),
        Column("dst_rule", v.choice("zone", "none", "us-2007", "us-1987", "eu")),
        *_place(needed=False),
        _HOLD,
        Column("remote", v.boolean, pl.Boolean()),
        *_amounts("clock_backup_hours"),
        Column("last_contact", v.instant, _MOMENT, store_name="last_contact_utc"),
    ),
    "circuits": (
        *_needed("circuit_id", "controller_id"),
        Column("name"),
        Column("area", v.choice(*AREAS), needed=True),
        *_amounts("connected_watts"),
        Column("combine", v.choice("any", "all")),
        _HOLD,
        _IN_USE,
        *_amounts("override_minutes", "floor_area_m2", "luminaire_watts", "mounting_height_m"),
        Column("must_be_lit", v.choice("always", "dark", "open")),
        Column("exempt_reason"),
    ),
    "sensors": (
        *_needed("sensor_id", "controller_id"),
        Column("kind", v.choice("photocontrol", "occupancy"), needed=True),
        Column("circuits", v.id_list, pl.List(pl.String)),
        *_amounts("timeout_minutes"),
        _IN_USE,
    ),
    "events": (
        *_needed("event_id", "controller_id"),
        Column("targets", v.id_list, pl.List(pl.String), True),
        Column("action", v.choice("on", "off", "level", "suspend", "resume"), needed=True),
        Column("level", v.number(0, 100), _FLOAT),
        Column("days", v.days, pl.Int64(), True, "days_mask"),
        Column("anchor", v.choice("clock", "sunrise", "sunset", "dawn", "dusk"), needed=True),
        Column("time", v.time_of_day, _SECONDS, store_name="time_s"),
        Column("offset_minutes", v.minutes_to_seconds, _SECONDS, store_name="offset_s"),
        Column("from", v.season_edge, store_name="season_from"),
        Column("until", v.season_edge, store_name="season_until"),
        Column("calendar"),
    ),
    "hours": (
        *_needed("site_id"),
        Column("days", v.days, pl.Int64(), True, "days_mask"),
        Column("opens", v.time_of_day, _SECONDS, True, "opens_s"),
        Column("closes", v.end_time, _SECONDS, True, "closes_s"),
    ),
    "closures": (
        *_needed("site_id"),
        Column("date", v.iso_date, pl.Date(), True),
        Column("calendar"),
    ),
    "waivers": (
        *_needed("site_id"),
        Column("subject_id"),
        Column("rule", needed=True),
        *_texts("reason", "approved_by"),
        Column("expires", v.iso_date, pl.Date()),
    ),
    "actions": (
        *_needed("finding_id"),
        Column("date", v.iso_date, pl.Date()),
        Column("by"),
        Column("disposition", v.choice("ordered", "done", "declined"), needed=True),
        Column("note"),
    ),
}

KEYS = {
    "sites": ("site_id",),
    "controllers": ("controller_id",),
    "circuits": ("circuit_id",),
    "sensors": ("sensor_id",),
    "events": ("controller_id", "event_id"),
}
