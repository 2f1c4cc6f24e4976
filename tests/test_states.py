"""Whether a finding holds at the newest reading, begins or resumes later, or is over."""

from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import pytest

from auditor.audit import audit

from .conftest import Row, Tables, write_folder

NEWEST = "2026-11-20T14:00:00Z"  # a Friday; in Auckland it is 03:00 of the 21st already
# Circuit: site, days, and seasons in which it is lit from 10:00 to 12:00.
LIT: dict[str, tuple[str, str, list[tuple[str, str]]]] = {
    "daily": ("ny", "daily", [("01-01", "12-31")]),
    "today": ("ny", "daily", [("2026-11-20", "2026-11-20")]),
    "later": ("ny", "daily", [("12-10", "12-20")]),
    "past": ("ny", "daily", [("11-02", "11-12")]),
    "winter": ("ny", "daily", [("11-02", "11-12"), ("12-20", "12-24")]),
    "saturdays": ("ny", "SA", [("01-01", "12-31")]),
    "eight": ("ny", "daily", [("2026-11-13", "2026-11-13"), ("2026-11-21", "2026-11-21")]),
    "tomorrow": ("ny", "daily", [("2026-11-21", "2026-11-21")]),
    "antipodes": ("ak", "daily", [("2026-11-21", "2026-11-21")]),
}
States = dict[tuple[str, str], tuple[str | None, date | None]]


def tables() -> Tables:
    places = {"ny": (40.7, -74.0, "America/New_York"), "ak": (-36.8, 174.8, "Pacific/Auckland")}
    return {
        "sites": [
            {"site_id": key, "latitude": north, "longitude": east, "timezone": zone}
            for key, (north, east, zone) in places.items()
        ],
        "controllers": [
            *(
                {"controller_id": f"T-{site}", "site_id": site, "read_at": NEWEST, "dst_rule": "zone"}
                for site in places
            ),
            {
                "controller_id": "T-old",
                "site_id": "ak",
                "read_at": "2026-10-01T00:00:00Z",
                "dst_rule": "zone",
            },
            {
                "controller_id": "T-none",
                "site_id": "ny",
                "read_at": NEWEST,
                "clock_reading": "2026-11-20T09:00:00",
                "dst_rule": "none",
                "utc_offset": "-05:00",
            },
        ],
        "circuits": [
            *(
                {"circuit_id": key, "controller_id": f"T-{site}", "area": "sign"}
                for key, (site, _, _) in LIT.items()
            ),
            {"circuit_id": "hand", "controller_id": "T-ny", "area": "interior", "hold": "off"},
        ],
        "sensors": [{"sensor_id": "P", "controller_id": "T-ny", "kind": "photocontrol", "circuits": "hand"}],
        "events": [*(event for key, (_, *when) in LIT.items() for event in _lit(key, *when)), *_suspended()],
        "waivers": [{"site_id": "ny", "subject_id": "later", "rule": "lit-in-daylight"}],
    }


def _lit(circuit_id: str, days: str, seasons: list[tuple[str, str]]) -> list[Row]:
    return [
        _step(f"{circuit_id}-{number}-{action}", circuit_id, action, time, days, season)
        for number, season in enumerate(seasons)
        for action, time in (("on", "10:00"), ("off", "12:00"))
    ]


def _suspended() -> list[Row]:
    return [
        _step("gone", "P", "suspend", "08:00", "daily", ("2026-12-05", "2026-12-05")),
        _step("back", "P", "resume", "08:00", "daily", ("2026-12-07", "2026-12-07")),
    ]


def _step(event_id: str, target: str, action: str, time: str, days: str, season: tuple[str, str]) -> Row:
    return {
        "event_id": event_id,
        "controller_id": f"T-{LIT[target][0]}" if target in LIT else "T-ny",
        "targets": target,
        "action": action,
        "days": days,
        "anchor": "clock",
        "time": time,
        "from": season[0],
        "until": season[1],
    }


def states(folder: Path, first: date | None, days: int) -> States:
    """State and next date by rule and subject."""
    source = write_folder(folder / "source", tables())
    audit(
        source,
        folder / "out",
        first,
        days,
        folder / "store",
        lambda stage, length: lambda step: None,
        pages=0,
    )
    with duckdb.connect(str(folder / "store"), read_only=True) as store:
        rows: list[Any] = store.execute(
            "SELECT rule, subject_id, state, next_date, first_date FROM findings"
        ).fetchall()
    assert all((state is None) == (first is None) for *_, state, _, first in rows)
    return {(rule, subject): (state, following) for rule, subject, state, following, _ in rows}


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> States:
    """From 1 November 2026 into the summer time of 2027."""
    return states(tmp_path_factory.mktemp("states"), None, 150)


@pytest.mark.parametrize(
    ("circuit_id", "state", "following"),
    [
        ("daily", "holds", None),
        ("today", "holds", None),
        ("later", "begins", date(2026, 12, 10)),  # also a waived one
        ("past", "over", None),
        ("winter", "resumes", date(2026, 12, 20)),
        ("saturdays", "holds", None),  # a week between two times is its rhythm
        ("eight", "resumes", date(2026, 11, 21)),  # eight days are a pause
        ("tomorrow", "begins", date(2026, 11, 21)),
        ("antipodes", "holds", None),  # the date is that of the site
    ],
)
def test_light_in_daylight_and_what_explains_it(
    found: States, circuit_id: str, state: str, following: date | None
) -> None:
    assert found["lit-in-daylight", circuit_id] == (state, following)
    assert found["clock-times-at-dusk", circuit_id] == (state, following)


def test_a_clock_that_will_miss_the_next_change_resumes_then(found: States) -> None:
    # Wrong until 02:00 of 1 November, when New York went back, and again from 14 March on.
    assert found["clock-dst-offset", "T-none"] == ("resumes", date(2027, 3, 14))


def test_a_suspension_still_to_come_begins(found: States) -> None:
    assert found["sensor-left-suspended", "P"] == ("begins", date(2026, 12, 5))


def test_an_export_that_is_old_holds_wherever_it_is(found: States) -> None:
    # Its dates are of UTC: the newest reading's is the 20th, the site's own already the 21st.
    assert found["stale-export", "T-old"] == ("holds", None)


def test_what_has_no_dates_has_no_state(found: States) -> None:
    assert found["left-in-hand", "hand"] == (None, None)


def test_the_last_week_of_the_period_does_not_show_that_something_is_over(tmp_path: Path) -> None:
    found = states(tmp_path, None, 20)  # to 20 November; the last Saturday is the 14th
    assert found["lit-in-daylight", "saturdays"] == ("holds", None)
    assert found["lit-in-daylight", "past"] == ("over", None)


def test_a_period_that_begins_after_the_newest_reading_is_judged_at_its_first_date(tmp_path: Path) -> None:
    found = states(tmp_path, date(2026, 12, 1), 31)
    assert found["lit-in-daylight", "daily"] == ("holds", None)
    assert found["lit-in-daylight", "winter"] == ("begins", date(2026, 12, 20))
