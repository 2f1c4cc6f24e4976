"""The yardstick: a year of minutes for each circuit with pandas and astral, as an analyst would write it.

Whole columns at a time, a minute counting by its middle. It knows what the made-up fleet needs and no more:
clocks with a constant error, clock and sun steps, one photocontrol, hours, closures, no calendars.
"""

from datetime import timedelta, timezone, tzinfo
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd
from astral import Observer, SunDirection
from astral.sun import time_of_transit

Tables = dict[str, pd.DataFrame]
WEEKDAYS = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"]
EXTERIOR = ["parking", "walkway", "sign"]
VALUE = {"on": True, "off": False, "suspend": False, "resume": True}
PARALLAX = 8.794 / 3600  # degrees (IAU); altitudes are meant from the surface, and astral's from the centre
SUN = {  # zenith in degrees, and the way it is crossed
    "sunrise": (90 + 50 / 60 - PARALLAX, SunDirection.RISING),
    "sunset": (90 + 50 / 60 - PARALLAX, SunDirection.SETTING),
    "dusk": (96 - PARALLAX, SunDirection.SETTING),
}
DAY, HOUR, MINUTE = pd.Timedelta(days=1), pd.Timedelta(hours=1), pd.Timedelta(minutes=1)


def evaluate(folder: Path, sites: int, first: str, days: int, share: bool) -> dict[str, dict[str, int]]:
    """Minutes by circuit and figure of the portfolio's first ``sites`` sites.

    ``share``: what holds at a site is worked out once for all its circuits, not once for each.
    """
    tables = {path.stem: pd.read_csv(path, dtype=str, keep_default_na=False) for path in folder.glob("*.csv")}
    figures: dict[str, dict[str, int]] = {}
    for site_id in tables["sites"]["site_id"][:sites]:
        site = None
        for device in rows(tables, "controllers", site_id=site_id).itertuples():
            for circuit in rows(tables, "circuits", controller_id=device.controller_id).itertuples():
                if site is None or not share:
                    site = Site(tables, site_id, pd.Timestamp(first), days)
                figures[circuit.circuit_id] = circuit_minutes(Device(tables, site, device), circuit)
    return figures


def rows(tables: Tables, name: str, **key: str) -> pd.DataFrame:
    ((column, value),) = key.items()
    return tables[name][tables[name][column] == value]


def listed(dates: pd.DatetimeIndex, days: str) -> pd.DatetimeIndex:
    """The dates whose weekday is in a list such as MO,TU; all of them where it is daily."""
    if days == "daily":
        return dates
    return dates[dates.dayofweek.isin([WEEKDAYS.index(day) for day in days.split(",")])]


def to_utc(local: pd.DatetimeIndex, zone: tzinfo, first: bool = True) -> pd.DatetimeIndex:
    """Instants of local times: of a doubled one the first or the second, of a skipped one the jump."""
    doubled = [first] * len(local)
    return local.tz_localize(zone, ambiguous=doubled, nonexistent="shift_forward").tz_convert("UTC")


def latest(minutes: pd.DatetimeIndex, changes: pd.Series, before: bool | int) -> pd.Series:
    """The value of the last change at or before each minute."""
    grid, changes = pd.DataFrame({"at": minutes}), changes.rename("value").rename_axis("at").reset_index()
    changes["at"] = changes["at"].astype(grid["at"].dtype)
    return pd.merge_asof(grid, changes, on="at")["value"].fillna(before)


def inside(minutes: pd.DatetimeIndex, starts: pd.DatetimeIndex, ends: pd.DatetimeIndex) -> pd.Series:
    """Whether each minute lies in any of the stretches."""
    edges = pd.concat([pd.Series(1, starts), pd.Series(-1, ends)]).sort_index(kind="stable")
    return latest(minutes, edges[edges.index >= starts.min()].cumsum(), 0) > 0


class Site:
    """What holds at a site, minute by minute."""

    def __init__(self, tables: Tables, site_id: str, first: pd.Timestamp, days: int) -> None:
        row = rows(tables, "sites", site_id=site_id).iloc[0]
        self.zone, self.place = ZoneInfo(row["timezone"]), (float(row["latitude"]), float(row["longitude"]))
        self.dates = pd.date_range(first - 15 * DAY, periods=days + 20)
        start, end = to_utc(pd.DatetimeIndex([first, first + days * DAY]), self.zone)
        self.minutes = pd.date_range(start, end, freq="min", inclusive="left") + MINUTE / 2
        self.sun = {kind: self._crossings(kind) for kind in SUN}
        hours = rows(tables, "hours", site_id=site_id)
        self.openings = pd.concat(self._openings(tables, row) for row in hours.itertuples())
        rises, sets = (pd.DatetimeIndex(self.sun[kind]) for kind in ("sunrise", "sunset"))
        opens, closes = (pd.DatetimeIndex(self.openings[edge]) for edge in ("opens", "closes"))
        self.dark = ~inside(self.minutes, rises, sets)
        self.daylight = inside(self.minutes, rises + 30 * MINUTE, sets - 30 * MINUTE)
        self.open = inside(self.minutes, opens, closes)
        self.closed = ~inside(self.minutes, opens - HOUR, closes + HOUR)
        self.night = self._night(pd.date_range(first, periods=days))

    def _crossings(self, kind: str) -> pd.Series:
        """The sun's crossings by local date."""
        observer, (zenith, way) = Observer(*self.place, 0.0), SUN[kind]
        found = [time_of_transit(observer, day, zenith, way, False) for day in self.dates.date]
        utc = pd.DatetimeIndex(found)
        return pd.Series(utc, utc.tz_convert(self.zone).tz_localize(None).normalize())

    def _openings(self, tables: Tables, hours: Any) -> pd.DataFrame:
        """Date, opening and closing instant of one row of hours, and whether it runs past midnight."""
        closed = pd.to_datetime(rows(tables, "closures", site_id=hours.site_id)["date"])
        dates = listed(self.dates[~self.dates.isin(closed)], hours.days)
        late = hours.closes <= hours.opens
        opens = to_utc(dates + pd.Timedelta(f"{hours.opens}:00"), self.zone)
        closes = to_utc(dates + int(late) * DAY + pd.Timedelta(f"{hours.closes}:00"), self.zone, first=False)
        return pd.DataFrame({"date": dates, "opens": opens, "closes": closes, "late": late})

    def _night(self, dates: pd.DatetimeIndex) -> pd.Series:
        """From midnight, or the end of a late opening, to 06:00 or the first opening."""
        late = self.openings[self.openings["late"]]
        nights = pd.DataFrame({"start": to_utc(dates, self.zone)}, dates)
        nights["end"] = to_utc(dates + 6 * HOUR, self.zone)
        nights["ran_over"] = late.groupby(late["date"] + DAY)["closes"].max()
        nights["opening"] = self.openings.groupby("date")["opens"].min()
        start, end = nights[["start", "ran_over"]].max(axis=1), nights[["end", "opening"]].min(axis=1)
        return inside(self.minutes, pd.DatetimeIndex(start[start < end]), pd.DatetimeIndex(end[start < end]))


class Device:
    """A time switch: what its steps left, minute by minute."""

    def __init__(self, tables: Tables, site: Site, row: Any) -> None:
        self.site = site
        self.events = rows(tables, "events", controller_id=row.controller_id)
        self.sensors = rows(tables, "sensors", controller_id=row.controller_id)
        self.zone: tzinfo = timezone(_standard(site.zone)) if row.dst_rule == "none" else site.zone
        read_at = pd.Timestamp(row.read_at).tz_convert(self.zone).tz_localize(None)
        self.error = pd.Timestamp(row.clock_reading) - read_at

    def state(self, target: str, before: bool) -> pd.Series:
        """Whether a circuit's steps have it on, or a sensor's have it in service."""
        steps = [self._firings(step) for step in self.events[self.events["targets"] == target].itertuples()]
        changes = pd.concat(steps) if steps else pd.Series(before, self.site.minutes[:1])
        return latest(self.site.minutes, changes.sort_index(kind="stable"), before).astype(bool)

    def _firings(self, step: Any) -> pd.Series:
        dates = listed(self.site.dates, step.days)
        if step.anchor == "clock":
            at = to_utc(dates + pd.Timedelta(f"{step.time}:00") - self.error, self.zone)
        else:
            crossings = pd.DatetimeIndex(self.site.sun[step.anchor].reindex(dates).dropna())
            at = crossings + int(step.offset_minutes or 0) * MINUTE - self.error
        return pd.Series(VALUE[step.action], at)


def _standard(zone: ZoneInfo) -> timedelta:
    return min(pd.Timestamp(f"2026-{month}-15", tz=zone).utcoffset() for month in ("01", "07"))


def circuit_minutes(device: Device, circuit: Any) -> dict[str, int]:
    """The figures of one circuit in minutes."""
    site, on = device.site, device.state(circuit.circuit_id, before=False)
    for sensor in device.sensors[device.sensors["circuits"] == circuit.circuit_id].itertuples():
        on |= site.dark & device.state(sensor.sensor_id, before=True)
    figures = {
        "on_minutes": on,
        "daylight_minutes": on & site.daylight,
        "closed_minutes": on & site.closed,
        "curfew_minutes": on & site.night,
    }
    if circuit.area in EXTERIOR:
        figures["dark_open_minutes"] = ~on & site.dark & site.open
    return {name: int(column.sum()) for name, column in figures.items()}
