"""The columns of each input table: how a cell is read, which must be there, and what it means.

The guide in the template and the table in the README are made from here. Derived column names carry their
unit: ``_s`` seconds, ``_utc`` a naive datetime in UTC.
"""

import polars as pl

from auditor.model import CODE_EDITIONS
from auditor.normalise import values as v
from auditor.normalise.columns import Column

__all__ = ["AREAS", "KEYS", "SPECS", "Column"]

_FLOAT = pl.Float64()
_SECONDS = pl.Int64()
_MOMENT = pl.Datetime("us")
_IDS = pl.List(pl.String)


def _key(name: str, about: str) -> Column:
    return Column(name, about, needed=True)


def _amount(name: str, about: str, unit: str, most: float = 1e9) -> Column:
    """Beyond ``most`` something was mistyped, and sums of money would burst their columns."""
    return Column(name, about, v.Number(0, most), _FLOAT, unit=unit)


def _place(needed: bool, north: str, east: str) -> tuple[Column, ...]:
    return (
        Column("latitude", north, v.Number(-90, 90), _FLOAT, needed, unit="degrees"),
        Column("longitude", east, v.Number(-180, 180), _FLOAT, needed, unit="degrees"),
    )


def _hold(whose: str) -> Column:
    about = f"left by hand in that state, {whose}; blank: it runs its program"
    return Column("hold", about, v.Choice(("on", "off")))


def _in_use(without: str) -> Column:
    return Column("in_use", f"blank: it is; false: {without}", v.boolean, pl.Boolean())


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
        _key("site_id", "the site's id, unique, and not *"),
        Column("name", "what people call it"),
        Column("address", "where it is"),
        Column("region", "groups sites for crews"),
        Column("site_type", "library, depot …; circuits are compared with those of its kind"),
        *_place(
            True, "of the site, north of the equator positive", "of the site, east of Greenwich positive"
        ),
        Column("timezone", "IANA name such as Europe/Oslo; blank: looked up from the coordinates"),
        Column("energy_code", "code edition; blank: that of portfolio.toml", suggested=CODE_EDITIONS),
        _amount(
            "rate_per_kwh",
            "what energy costs, in the portfolio's currency; blank: the rate of portfolio.toml",
            "per kWh",
            most=1e6,
        ),
    ),
    "controllers": (
        _key("controller_id", "the time switch's id, unique among all"),
        _key("site_id", "the site that it stands at"),
        Column(
            "read_at",
            "the true instant at which its export was read",
            v.instant,
            _MOMENT,
            True,
            "read_at_utc",
        ),
        Column(
            "clock_reading",
            "what its own clock showed at read_at",
            v.local_datetime,
            _MOMENT,
            store_name="clock_reading_local",
        ),
        Column(
            "utc_offset",
            "the standard-time offset set in it; used with a fixed dst_rule only",
            v.utc_offset,
            _SECONDS,
            store_name="utc_offset_s",
        ),
        Column(
            "dst_rule",
            "the rule for daylight saving set in it; zone: the law of the site's zone",
            v.Choice(("zone", "none", "us-2007", "us-1987", "eu")),
        ),
        *_place(False, "set in it for sun times; blank: the site's own", "likewise; both or neither"),
        _hold("every circuit"),
        Column("remote", "true: its program can be changed from a desk", v.boolean, pl.Boolean()),
        _amount("clock_backup_hours", "how long program and clock survive a power cut", "h"),
        Column(
            "last_contact", "when it was last heard from", v.instant, _MOMENT, store_name="last_contact_utc"
        ),
    ),
    "circuits": (
        _key("circuit_id", "the switched load's id, unique among all"),
        _key("controller_id", "the time switch that it hangs on"),
        Column("name", "what people call it"),
        Column("area", "what it lights", v.Choice(AREAS), needed=True),
        _amount("connected_watts", "connected load; blank: energy and money stay blank", "W"),
        Column(
            "combine",
            "how schedule and sensors act together: any in parallel, all in series; blank: any",
            v.Choice(("any", "all")),
        ),
        _hold("this circuit alone"),
        _in_use("left out of every figure"),
        _amount("override_minutes", "how long a manual override lasts before the program takes over", "min"),
        _amount("floor_area_m2", "area that it lights; for code evidence only", "m2"),
        _amount("luminaire_watts", "load of one luminaire; for code evidence only", "W"),
        _amount("mounting_height_m", "height of its luminaires; for code evidence only", "m"),
        Column(
            "must_be_lit",
            "a duty to light from outside (law, lease, insurer): always, when dark, or when dark and open",
            v.Choice(("always", "dark", "open")),
        ),
        Column("exempt_reason", "a claimed exemption or the duty's source; printed wherever it is judged"),
    ),
    "sensors": (
        _key("sensor_id", "the sensor's id, unique among all"),
        _key("controller_id", "the time switch that it is wired to"),
        Column("kind", "what it senses", v.Choice(("photocontrol", "occupancy")), needed=True),
        Column("circuits", "ids of the circuits that it acts on", v.id_list, _IDS),
        _amount(
            "timeout_minutes", "of an occupancy sensor: how long light stays on after the last motion", "min"
        ),
        _in_use("as if it were not there"),
    ),
    "events": (
        _key("event_id", "the program step's id, unique within its controller; rows stand in program order"),
        _key("controller_id", "the time switch that runs it"),
        Column("targets", "ids of circuits, or of sensors, of that controller", v.id_list, _IDS, True),
        Column(
            "action",
            "circuits: on, off, level; sensors: suspend, resume",
            v.Choice(("on", "off", "level", "suspend", "resume")),
            needed=True,
        ),
        Column("level", "the level to dim to", v.Percent(0, 100), _FLOAT, unit="%", when="with action level"),
        Column("days", "weekdays on which it runs", v.days, pl.Int64(), True, "days_mask"),
        Column(
            "anchor",
            "what it goes by; dawn and dusk are civil, the sun 6° below the horizon",
            v.Choice(("clock", "sunrise", "sunset", "dawn", "dusk")),
            needed=True,
        ),
        Column(
            "time",
            "on the device's own clock",
            v.time_of_day,
            _SECONDS,
            store_name="time_s",
            when="with anchor clock",
        ),
        Column(
            "offset_minutes",
            "with sun anchors only: how long after, negative before; blank: 0",
            v.minutes_to_seconds,
            _SECONDS,
            store_name="offset_s",
            unit="min",
        ),
        Column("from", "first day; blank: all year round", v.season_edge, store_name="season_from"),
        Column(
            "until", "last day, inclusive; may wrap over New Year", v.season_edge, store_name="season_until"
        ),
        Column("calendar", "blank: an ordinary step; a name: runs only on that calendar's dates in closures"),
    ),
    "hours": (
        _key("site_id", "the site; one without a row has unknown hours"),
        Column("days", "weekdays; one in no row is closed", v.days, pl.Int64(), True, "days_mask"),
        Column("opens", "local time", v.time_of_day, _SECONDS, True, "opens_s"),
        Column(
            "closes", "local time; at or before opens: past midnight", v.end_time, _SECONDS, True, "closes_s"
        ),
    ),
    "closures": (
        _key("site_id", "the site, or * for every site"),
        Column("date", "closed for what would open on this date", v.iso_date, pl.Date(), True),
        Column("calendar", "steps of this calendar run on it; blank: it only closes"),
    ),
    "waivers": (
        _key("site_id", "the site"),
        Column("subject_id", "circuit, controller or sensor, or controller/event; blank: the whole site"),
        _key("rule", "name of the rule, as auditor rules lists them"),
        Column("reason", "why it is as it should be"),
        Column("approved_by", "who says so"),
        Column("expires", "last date on which it holds; blank: no end", v.iso_date, pl.Date()),
    ),
    "actions": (
        _key("finding_id", "id of an earlier finding, from findings.csv"),
        Column("date", "when", v.iso_date, pl.Date()),
        Column("by", "who"),
        Column("disposition", "what was done", v.Choice(("ordered", "done", "declined")), needed=True),
        Column("note", "anything else; why, where it was declined"),
    ),
}

KEYS = {
    "sites": ("site_id",),
    "controllers": ("controller_id",),
    "circuits": ("circuit_id",),
    "sensors": ("sensor_id",),
    "events": ("controller_id", "event_id"),
}
