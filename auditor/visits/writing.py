"""The plan as files: three lists for machines and people, and a page with a card a stop."""

from collections.abc import Sequence
from pathlib import Path

import polars as pl

from auditor.report import write_cards
from auditor.report.rows import Row
from auditor.resources import query
from auditor.results import replacing_in, write_csv
from auditor.store import Connection, load
from auditor.visits.planning import CrewDay, Plan, Stop
from auditor.visits.telling import (
    aside_counts,
    day_end,
    day_start,
    day_title,
    free_days,
    needs_electrician,
    reckoning,
    time_text,
    to_bring,
)

CARDS = "visits.html"
_STOPS = {
    "day": pl.Int64,
    "date": pl.Date,
    "crew": pl.Int64,
    "stop": pl.Int64,
    **dict.fromkeys(("site_id", "arrive", "leave", "findings", "bring", "answered"), pl.String),
}
_UNPLANNED = {
    "site_id": pl.String,
    "critical": pl.Int64,
    "minutes": pl.Int64,
    **dict.fromkeys(("reason", "findings", "answered"), pl.String),
}
_REASONS = {
    "declined": "Declined: it is on nobody's list.",
    "rejected": "Rows of this site were rejected: nobody is sent before they are mended.",
    "done": "Recorded as done: nobody is sent again before an export shows whether it is.",
}


def write_plan(connection: Connection, plan: Plan, folder: Path) -> None:
    """visits.csv, desk.csv, unplanned.csv and visits.html, all or none; same store and crews, same bytes."""
    stops = [_stop_row(day, stop) for day, stop in plan.stops]
    load(connection, "plan_stops", pl.DataFrame(stops, _STOPS))
    load(connection, "plan_unplanned", pl.DataFrame(_unplanned_rows(plan), _UNPLANNED))
    with replacing_in(folder, CARDS) as draft:
        for name in ("visits", "desk", "unplanned"):
            write_csv(connection, draft / f"{name}.csv", query(f"visits/{name}.sql"))
        write_cards(connection, draft / CARDS, _view(plan))


def _unplanned_rows(plan: Plan) -> list[Row]:
    """Sites that stay undone, and each finding that nobody is sent for: no minutes, for it is no work."""
    aside = [
        {"site_id": row["site_id"], "critical": int(row["severity"] == "critical"), "minutes": None}
        | {"reason": _REASONS[row["aside"]], "findings": [row]}
        for row in plan.work.aside
    ]
    return [row | _told(row["findings"]) for row in [*plan.unplanned, *aside]]


def _told(findings: Sequence[Row]) -> Row:
    """The cells that say which findings these are, and what was recorded about them before."""
    answered = [f"{row['finding_id']}: {row['answered']}" for row in findings if row["answered"]]
    return {
        "findings": ";".join(row["finding_id"] for row in findings),
        "answered": " ".join(answered) or None,
    }


def _stop_row(day: CrewDay, stop: Stop) -> Row:
    return {
        "day": day.day,
        "date": day.date,
        "crew": day.crew,
        "stop": stop.number,
        "site_id": stop.choice.site["site_id"],
        "arrive": time_text(stop.arrive),
        "leave": time_text(stop.leave),
        "bring": "; ".join(to_bring(stop)),
    } | _told(stop.choice.findings)


def _view(plan: Plan) -> Row:
    """What the page is made from, in words and numbers alone."""
    return {
        "portfolio": plan.work.portfolio,
        "cost_per_visit": plan.work.settings["cost_per_visit"],
        "reckoning": reckoning(plan),
        "unplanned": plan.unplanned,
        "aside": plan.work.aside,
        "aside_counts": aside_counts(plan.work.aside),
        "days": [
            {"title": day_title(day), "start": day_start(day), "end": day_end(day), "stops": _stops(day)}
            for day in plan.busy
        ],
        "free": free_days(plan),
    }


def _stops(day: CrewDay) -> list[Row]:
    return [
        _stop_row(day, stop)
        | {
            "title": f"{day_title(day)}, stop {stop.number}",
            "drive": stop.drive,
            "finding_ids": {row["finding_id"] for row in stop.choice.findings},
            "bring": to_bring(stop),
            "electrician": needs_electrician(stop),
            "avoidable_cost": stop.choice.site["avoidable_cost"],
        }
        for stop in day.stops
    ]
