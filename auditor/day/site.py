"""One site on one date: its rows of the input, its clocks, and what happens by the audit's own queries."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from auditor.errors import UserError
from auditor.letters import printable
from auditor.loading import fill, read_judged, settings_of
from auditor.model import Period, Portfolio
from auditor.resources import query
from auditor.store import open_store, run_script
from auditor.wording import nearest
from auditor.year import compute
from auditor.zones import DeviceClock, device_clock, zone_clock

Row = dict[str, Any]
Subject = tuple[str, str]  # "circuit" or "sensor", and its id: a circuit and a sensor may share an id
_KINDS = {"photocontrol": "Photocontrol", "occupancy": "Occupancy sensor"}


class SiteDay:
    """Rows by id, instants in whole seconds since 1970 UTC. Its subjects are circuits and sensors in use."""

    def __init__(self, source: Path, site_id: str, day: date) -> None:
        self.day = day
        portfolio = _one_site(read_judged(source, day, 1), site_id)
        (self.site,) = portfolio.tables["sites"].to_dicts()
        self.law = zone_clock(self.site["timezone"])
        self.rejections = portfolio.rejections
        self.controllers = {row["controller_id"]: row for row in portfolio.tables["controllers"].to_dicts()}
        self.subjects: dict[Subject, Row] = {
            (kind, row[f"{kind}_id"]): row
            for kind in ("circuit", "sensor")
            for row in _used(portfolio.tables[f"{kind}s"])
        }
        self.unused = [
            row[f"{kind}_id"]
            for kind in ("circuit", "sensor")
            for row in portfolio.tables[f"{kind}s"].filter(~pl.col("in_use")).to_dicts()
        ]
        self.circuits = [subject for subject in self.subjects if subject[0] == "circuit"]
        self.sensors = [subject for subject in self.subjects if subject[0] == "sensor"]
        self.steps = {
            (row["controller_id"], row["event_id"]): row for row in portfolio.tables["events"].to_dicts()
        }
        self.hours_known = not portfolio.tables["hours"].is_empty()
        self.closures = portfolio.tables["closures"].to_dicts()
        self.clocks = {key: self._device_clock(row) for key, row in self.controllers.items()}
        self.events, (self.start, self.end) = self._happening(source, portfolio)

    def _device_clock(self, row: Row) -> DeviceClock:
        reading = row["clock_reading_local"] and epoch(row["clock_reading_local"])
        return device_clock(
            self.site["timezone"], epoch(row["read_at_utc"]), reading, row["dst_rule"], row["utc_offset_s"]
        )

    def _happening(
        self, source: Path, portfolio: Portfolio
    ) -> tuple[dict[tuple[str, Subject | None], list[Row]], tuple[int, int]]:
        """What happens, by kind and subject, and the first and last instant of the date."""
        _, settings = settings_of(source, None)
        events: dict[tuple[str, Subject | None], list[Row]] = defaultdict(list)
        with open_store(Path(":memory:"), 1) as connection:
            fill(connection, portfolio, settings, Period(self.day, 1))
            run_script(connection, query("prepare.sql"))
            session = compute(connection.cursor(), 1, 1)
            found = session.execute(query("day.sql"))
            names = [column[0] for column in found.description]
            for row in (dict(zip(names, values, strict=True)) for values in found.fetchall()):
                subject = (row["subject_kind"], row["subject_id"]) if row["subject_id"] else None
                events[row["kind"], subject].append(row)
            bounds = session.execute("SELECT start_s, end_s FROM b_dates WHERE audited").fetchone()
        if bounds is None:
            raise UserError(f"{self.day} does not exist at {self.site['site_id']}; name another date.")
        return events, bounds

    def of(self, kind: str, subject: Subject | None = None) -> list[Row]:
        """What happens of one kind, in order, from before the date on."""
        return self.events.get((kind, subject), [])

    def within(self, kind: str, subject: Subject | None = None) -> Iterator[Row]:
        """What of it happens on the date."""
        return (row for row in self.of(kind, subject) if self.start <= row["at_s"] < self.end)

    def last(self, kind: str, subject: Subject | None, at: int) -> Row | None:
        """What of it happened last, at an instant or before it."""
        rows = self.of(kind, subject)
        place = bisect_right(rows, at, key=lambda row: row["at_s"])
        return rows[place - 1] if place else None

    def step(self, subject: Subject, fired: Row) -> Row:
        """The step that fired on a subject."""
        return self.steps[self.subjects[subject]["controller_id"], fired["event_id"]]

    def local(self, at: int) -> datetime:
        """What the clocks of the site's zone show."""
        return _moment(at + self.law.offset_at(at))

    def shown(self, controller_id: str, at: int) -> datetime:
        """What a device's own clock shows."""
        return self.local(at) + timedelta(seconds=self.error(controller_id, at))

    def error(self, controller_id: str, at: int) -> int:
        """Seconds by which a device shows more than local time."""
        device = self.clocks[controller_id]
        return device.clock.offset_at(at) + device.residual_s - self.law.offset_at(at)

    def errors(self, controller_id: str) -> list[tuple[int, int]]:
        """A device's errors on the date, each with the instant from which it holds."""
        own = self.clocks[controller_id].clock.stretches(self.start, self.end)
        edges = sorted({start for start, _, _ in [*own, *self.law.stretches(self.start, self.end)]})
        found: list[tuple[int, int]] = []
        for at in edges:
            error = self.error(controller_id, at)
            if not found or found[-1][1] != error:
                found.append((at, error))
        return found

    def label(self, subject: Subject) -> str:
        """What people call a subject."""
        row, (_, key) = self.subjects[subject], subject
        kind = _KINDS.get(row.get("kind") or "")
        return printable(f"{kind} {key}" if kind else f"{row['name']} ({key})" if row["name"] else key)


def epoch(moment: datetime) -> int:
    """A naive instant as whole seconds since 1970."""
    return (moment - datetime(1970, 1, 1)) // timedelta(seconds=1)


def _moment(seconds: int) -> datetime:
    return datetime.fromtimestamp(0, UTC) + timedelta(seconds=seconds)


def _one_site(portfolio: Portfolio, site_id: str) -> Portfolio:
    sites = portfolio.tables["sites"]
    if site_id not in sites["site_id"]:
        raise UserError(_no_site(portfolio, site_id))
    own = dict(portfolio.tables)
    for table in ("sites", "controllers", "hours", "waivers"):
        own[table] = own[table].filter(pl.col("site_id") == site_id)
    own["closures"] = own["closures"].filter(pl.col("site_id").is_in([site_id, "*"]))
    for table in ("circuits", "sensors", "events"):
        own[table] = own[table].filter(
            pl.col("controller_id").is_in(own["controllers"]["controller_id"].implode())
        )
    lost = [row for row in portfolio.rejections if row.site_id in (site_id, "*")]
    return Portfolio(own, lost, portfolio.notices, portfolio.inputs)


def _no_site(portfolio: Portfolio, site_id: str) -> str:
    known = portfolio.tables["sites"]["site_id"].to_list()
    files = [read["file"] for read in portfolio.inputs if "sites" in read["table"].split(";")]
    for row in portfolio.rejections:
        if row.site_id == site_id and row.source_file in files:
            where = f"{row.source_file}, row {row.source_row}, column {row.column}"
            return f'site "{site_id}" was rejected: {where}: {row.reason}.'
    near = nearest(site_id, known)
    return f'there is no site "{site_id}" among the accepted rows; did you mean "{near}"?'


def _used(frame: pl.DataFrame) -> list[Row]:
    return frame.filter(pl.col("in_use").fill_null(True)).to_dicts()
