"""Programs read from open standards: calendars, steps told one by one, a portfolio of many circuits."""

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import polars as pl

from auditor.intake.calendars import read_calendar
from auditor.intake.program import Owner, Read
from auditor.model import Period, Rejection

from .conftest import run_audit, write_folder, write_table

YEAR = Period(date(2026, 11, 1), 365)
DAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
Stretch = tuple[datetime, datetime, float]  # naive UTC, and the level


def owner(zone: str = "Europe/Berlin", *targets: str, **more: object) -> Owner:
    return Owner("K1", targets or ("c1",), zone, **more)


def calendar(*events: str, before: str = "") -> bytes:
    """A calendar of VEVENTs, given by their lines without BEGIN and END; the first VEVENT begins in row 4."""
    blocks = "".join(f"BEGIN:VEVENT\n{event.strip()}\nEND:VEVENT\n" for event in events)
    text = f"BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//test//EN\n{before}{blocks}END:VCALENDAR\n"
    return text.replace("\n", "\r\n").encode()


def read(*events: str, zone: str = "Europe/Berlin", period: Period = YEAR, before: str = "") -> Read:
    return read_calendar(calendar(*events, before=before), "hall.ics", owner(zone), period)


def reasons(found: Read) -> list[tuple[int, str, str]]:
    """Row, column and reason of every rejection."""
    return [(one.source_row, one.column, one.reason) for one in found.rejections]


def rejection(found: Read) -> Rejection:
    """The only one."""
    (one,) = found.rejections
    return one


def steps(found: Read) -> list[tuple[str, ...]]:
    """Action, days, time, and from and until where there are any, of every step, in program order."""
    rows = found.table.frame.select("action", "days", "time", "from", "until").rows()
    return [tuple(cell for cell in row if cell is not None) for row in rows]


def firings(frame: pl.DataFrame, first: date, last: date) -> list[tuple[datetime, str]]:
    """When each step fires on the device's clock by section 2 of the contract, from first to last date."""
    found = []
    for row in frame.iter_rows(named=True):
        begins = max(first, date.fromisoformat(row["from"] or first.isoformat()))
        ends = min(last, date.fromisoformat(row["until"] or last.isoformat()))
        days = DAYS if row["days"] == "daily" else row["days"].split(",")
        for number in range((ends - begins).days + 1):
            day = begins + timedelta(days=number)
            if DAYS[day.weekday()] in days:
                found.append((datetime.combine(day, time.fromisoformat(row["time"])), row["action"]))
    return sorted(found)


def audited(
    folder: Path, frames: dict[str, pl.DataFrame], zone: str, period: Period, place: tuple[float, float]
) -> dict[str, list[Stretch]]:
    """What the engine makes of steps: the stretches in which each circuit is on, by circuit_id."""
    read_at = datetime(period.first.year, period.first.month, 3, 12, tzinfo=UTC).isoformat()
    made = {
        "sites": [{"site_id": "S", "latitude": place[0], "longitude": place[1], "timezone": zone}],
        "controllers": [
            {"controller_id": f"K{name}", "site_id": "S", "read_at": read_at, "dst_rule": "zone"}
            for name in frames
        ],
        "circuits": [
            {"circuit_id": name, "controller_id": f"K{name}", "area": "interior"} for name in frames
        ],
    }
    source = write_folder(folder / "portfolio", made)
    events = [
        row | {"controller_id": f"K{name}", "targets": name}
        for name, frame in frames.items()
        for row in frame.drop("source_row").to_dicts()
    ]
    write_table(source / "events.csv", events)
    outcome = run_audit(source, folder / "out", days=period.days, pages=0)
    assert outcome.facts["rows"]["rejected"] == 0
    line = pl.read_parquet(folder / "out" / "timeline.parquet").filter(pl.col("level") > 0)
    found: dict[str, list[Stretch]] = {name: [] for name in frames}
    for row in line.sort("circuit_id", "start_utc").iter_rows(named=True):
        found[row["circuit_id"]].append((_naive(row["start_utc"]), _naive(row["end_utc"]), row["level"]))
    return found


def _naive(moment: datetime) -> datetime:
    return moment.astimezone(UTC).replace(tzinfo=None) if moment.tzinfo else moment
