"""What the circuits and sensors of one site do on one date, and why."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from auditor.errors import UserError
from auditor.loading import fill, read_judged, settings_of
from auditor.model import Period, Portfolio
from auditor.resources import query
from auditor.rules import load_rules
from auditor.store import open_store, run_script
from auditor.wording import clock_text, nearest, step_text
from auditor.year import compute
from auditor.zones import Clock, device_clock, zone_clock

Row = dict[str, Any]


@dataclass(frozen=True)
class Line:
    """What happens, and why: true local time, and the device's own time (blank where it is the same)."""

    at_utc: str
    local: str
    device: str
    subject: str
    what: str
    why: str


@dataclass(frozen=True)
class Why:
    """What a circuit is programmed to do at an instant, and everything that this hangs on."""

    circuit_id: str
    name: str
    what: str
    reasons: tuple[str, ...]


class SiteDay:
    """One site on one date: ``lines()`` is its log, ``why(time)`` every circuit's state with its reasons."""

    def __init__(self, source: Path, site_id: str, day: date) -> None:
        self.day = day
        portfolio = _one_site(read_judged(source), site_id)
        (self.site,) = portfolio.tables["sites"].to_dicts()
        self.law = zone_clock(self.site["timezone"])
        self.controllers = {row["controller_id"]: row for row in portfolio.tables["controllers"].to_dicts()}
        self.circuits = {row["circuit_id"]: row for row in _used(portfolio.tables["circuits"])}
        self.sensors = {row["sensor_id"]: row for row in _used(portfolio.tables["sensors"])}
        self.steps = {
            (row["controller_id"], row["event_id"]): row for row in portfolio.tables["events"].to_dicts()
        }
        self._clocks = {key: self._device_clock(row) for key, row in self.controllers.items()}
        self.start, self.end = self._events(source, portfolio)

    def _device_clock(self, row: Row) -> tuple[Clock, int]:
        reading = row["clock_reading_local"] and _epoch(row["clock_reading_local"])
        found = device_clock(
            self.site["timezone"], _epoch(row["read_at_utc"]), reading, row["dst_rule"], row["utc_offset_s"]
        )
        return found.clock, found.residual_s

    def _events(self, source: Path, portfolio: Portfolio) -> tuple[int, int]:
        """Computes the day by the audit's own queries and keeps what happened, by kind and subject."""
        _, settings = settings_of(source, load_rules())
        self.events: dict[tuple[str, str | None], list[Row]] = defaultdict(list)
        with open_store(Path(":memory:")) as connection:
            fill(connection, portfolio, settings, Period(self.day, 1))
            run_script(connection, query("prepare.sql"))
            session = compute(connection.cursor(), 1, 1)
            found = session.execute(query("day.sql"))
            names = [column[0] for column in found.description]
            for row in (dict(zip(names, values, strict=True)) for values in found.fetchall()):
                self.events[row["kind"], row["subject_id"]].append(row)
            bounds = session.execute("SELECT start_s, end_s FROM b_dates WHERE audited").fetchone()
        if bounds is None:
            raise UserError(f"{self.day} does not exist at {self.site['site_id']}; name another date.")
        return bounds[0], bounds[1]

    def _of(self, kind: str, subject: str | None) -> list[Row]:
        return self.events.get((kind, subject), [])

    def lines(self) -> list[Line]:
        """Everything that happens on the date, in order."""
        told = [*self._site_lines(), *self._step_lines(), *self._state_lines()]
        order = {"site": 0, "step": 1, "state": 2}
        told.sort(key=lambda pair: (pair[0], order[pair[1]], pair[2].subject))
        return [line for _, _, line in told]

    def _site_lines(self) -> Iterator[tuple[int, str, Line]]:
        words = {
            ("light", True): "sunrise",
            ("light", False): "sunset",
            ("open", True): "opens",
            ("open", False): "closes",
        }
        for kind in ("light", "open"):
            for row in self._within(self._of(kind, None)):
                yield row["at_s"], "site", self._line(row["at_s"], None, "site", words[kind, row["flag"]], "")

    def _step_lines(self) -> Iterator[tuple[int, str, Line]]:
        for (kind, subject), rows in self.events.items():
            if kind != "firing":
                continue
            owner = (self.circuits.get(subject or "") or self.sensors[subject or ""])["controller_id"]
            changes = {row["at_s"] for row in self._of("state", subject)}
            for row in self._within(rows):
                if row["at_s"] not in changes:  # else the change says which step it comes from
                    step = self.steps[owner, row["event_id"]]
                    idle = " and changes nothing" if subject in self.circuits else ""
                    what = f"step {step['event_id']} fires{idle}: {step_text(step)}"
                    line = self._line(row["at_s"], owner, self._label(subject or ""), what, "")
                    yield row["at_s"], "step", line

    def _state_lines(self) -> Iterator[tuple[int, str, Line]]:
        for circuit_id, circuit in self.circuits.items():
            for row in self._within(self._of("state", circuit_id)):
                why = "; ".join(self._reasons(circuit_id, row["at_s"]))
                line = self._line(
                    row["at_s"], circuit["controller_id"], self._label(circuit_id), _state_text(row), why
                )
                yield row["at_s"], "state", line

    def _within(self, rows: list[Row]) -> Iterator[Row]:
        return (row for row in rows if self.start <= row["at_s"] < self.end)

    def why(self, time_s: int) -> list[Why]:
        """State and reasons of every circuit at a local time of day, in seconds after 00:00."""
        midnight = (self.day - date(1970, 1, 1)).days * 86400
        at = next(
            (t for t in range(self.start, self.end) if t + self.law.offset_at(t) >= midnight + time_s), None
        )
        if at is None:
            raise UserError(f"{clock_text(time_s)} does not come on {self.day}; name another time.")
        return [
            Why(
                key,
                self._label(key),
                _state_text(_last(self._of("state", key), at) or {}),
                tuple(self._reasons(key, at)),
            )
            for key in self.circuits
        ]

    def _reasons(self, circuit_id: str, at: int) -> Iterator[str]:
        circuit = self.circuits[circuit_id]
        hold = circuit["hold"] or self.controllers[circuit["controller_id"]]["hold"]
        if hold:
            yield f"left by hand in {hold}; its program counts for nothing"
            return
        yield self._program_reason(circuit, at)
        for sensor in self.sensors.values():
            if circuit_id in (sensor["circuits"] or []):
                yield self._sensor_reason(sensor, circuit["combine"] or "any", at)

    def _program_reason(self, circuit: Row, at: int) -> str:
        fired = _last(self._of("firing", circuit["circuit_id"]), at)
        if fired is None:
            has_steps = any(circuit["circuit_id"] in step["targets"] for step in self.steps.values())
            in_series = circuit["combine"] == "all" and not has_steps
            return (
                "no steps of its own: on as far as its sensors allow"
                if in_series
                else "no step has turned it on"
            )
        step = self.steps[circuit["controller_id"], fired["event_id"]]
        what = f"step {step['event_id']} ({step_text(step)}) left it at {fired['level']:g} %"
        return f"{what} {self._since(fired['at_s'])}"

    def _sensor_reason(self, sensor: Row, combine: str, at: int) -> str:
        name = f"{sensor['kind']} {sensor['sensor_id']} {'in series' if combine == 'all' else 'in parallel'}"
        changed = _last(self._of("service", sensor["sensor_id"]), at)
        if changed and not changed["flag"]:
            return f"{name} is out of service {self._since(changed['at_s'])}"
        if sensor["kind"] == "occupancy":
            return f"{name} is in service: it calls when somebody is there"
        light = _last(self._of("light", None), at)
        calls = not (light and light["flag"])
        return f"{name} is in service and it is {'dark: it calls' if calls else 'light: it does not call'}"

    def _since(self, at: int) -> str:
        moment = datetime.fromtimestamp(at + self.law.offset_at(at), UTC)
        return (
            f"since {moment:%H:%M:%S}"
            if moment.date() == self.day
            else f"since {moment:%a %-d %b %Y %H:%M:%S}"
        )

    def _label(self, subject: str) -> str:
        name = self.circuits.get(subject, {}).get("name")
        label = f"{name} ({subject})" if name else subject
        # A terminal obeys control characters, whoever wrote them.
        return "".join(letter if letter.isprintable() else "�" for letter in label)

    def _line(self, at: int, controller_id: str | None, subject: str, what: str, why: str) -> Line:
        local = datetime.fromtimestamp(at + self.law.offset_at(at), UTC)
        device = ""
        if controller_id is not None:
            clock, residual = self._clocks[controller_id]
            shown = datetime.fromtimestamp(0, UTC) + timedelta(seconds=at + clock.offset_at(at) + residual)
            device = f"{shown:%H:%M:%S}" if shown.date() == local.date() else f"{shown:%Y-%m-%d %H:%M:%S}"
            device = "" if shown == local else device
        return Line(
            f"{datetime.fromtimestamp(at, UTC):%Y-%m-%dT%H:%M:%SZ}",
            f"{local:%H:%M:%S}",
            device,
            subject,
            what,
            why,
        )


def _one_site(portfolio: Portfolio, site_id: str) -> Portfolio:
    sites = portfolio.tables["sites"]
    if site_id not in sites["site_id"]:
        near = nearest(site_id, sites["site_id"].to_list())
        raise UserError(f'there is no site "{site_id}" among the accepted rows; did you mean "{near}"?')
    own = dict(portfolio.tables)
    for table in ("sites", "controllers", "hours", "waivers"):
        own[table] = own[table].filter(pl.col("site_id") == site_id)
    own["closures"] = own["closures"].filter(pl.col("site_id").is_in([site_id, "*"]))
    for table in ("circuits", "sensors", "events"):
        own[table] = own[table].filter(
            pl.col("controller_id").is_in(own["controllers"]["controller_id"].implode())
        )
    return Portfolio(own, [], portfolio.notices, portfolio.inputs)


def _used(frame: pl.DataFrame) -> list[Row]:
    return frame.filter(pl.col("in_use").fill_null(True)).to_dicts()


def _last(rows: list[Row], at: int) -> Row | None:
    place = bisect_right(rows, at, key=lambda row: row["at_s"])
    return rows[place - 1] if place else None


def _epoch(moment: datetime) -> int:
    return (moment - datetime(1970, 1, 1)) // timedelta(seconds=1)


def _state_text(row: Row) -> str:
    if row.get("flag"):
        return "on only if somebody is there"
    level = row.get("level") or 0
    return (
        "programmed off"
        if not level
        else "programmed on"
        if level == 100
        else f"programmed on at {level:g} %"
    )
