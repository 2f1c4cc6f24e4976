"""What is told of a set location, from shifts of sunset that are written by hand, to the second."""

from collections.abc import Iterator
from datetime import date

import pytest

from auditor.model import Settings
from auditor.rules import load_rules
from auditor.store import Connection

from .conftest import write_folder
from .year_case import finding_rows, judged, ready_for_rules, worked_year

DATES = [date(2026, 12, day) for day in range(1, 11)]
Store = tuple[Connection, Settings]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """The year of a device on the equator that is set to another place there."""
    tables = {
        "sites": [{"site_id": "S", "latitude": 0, "longitude": 0, "timezone": "UTC"}],
        "controllers": [
            {
                "controller_id": "T",
                "site_id": "S",
                "read_at": "2026-12-01T12:00:00Z",
                "latitude": 0,
                "longitude": 2,
            }
        ],
        "circuits": [{"circuit_id": "C", "controller_id": "T", "area": "parking"}],
        "events": [
            {
                "event_id": "on",
                "controller_id": "T",
                "targets": "C",
                "action": "on",
                "days": "daily",
                "anchor": "sunset",
            }
        ],
    }
    connection, settings = worked_year(
        write_folder(tmp_path_factory.mktemp("in"), tables), DATES[0], len(DATES)
    )
    ready_for_rules(connection)
    yield connection, settings
    connection.close()


def told(store: Store, shifts_s: list[int]) -> str:
    """The evidence where sunset moves by these seconds on the ten dates."""
    connection, settings = store
    connection.begin()
    try:
        connection.execute("DELETE FROM sun_shifts")
        connection.execute("INSERT INTO sun_shifts VALUES ('T', 'sunset', ?, ?)", [shifts_s, DATES])
        judged(connection, settings, [rule for rule in load_rules() if rule.name == "sun-location-off"])
        (row,) = finding_rows(connection)
    finally:
        connection.rollback()
    return row["seen"]


@pytest.mark.parametrize(
    ("shifts_s", "way"),
    [  # nine of ten dates must have it on one side; the very second is on neither
        ([1, 0, *[420] * 8], "late"),
        ([0, 0, *[420] * 8], "early or late, by season,"),
        ([-1, 0, *[-420] * 8], "early"),
        ([0, 0, *[-420] * 8], "early or late, by season,"),
        ([-420, *[420] * 9], "late"),
        ([-420, -420, *[420] * 8], "early or late, by season,"),
    ],
)
def test_it_comes_late_or_early_where_it_does_on_nine_of_ten_dates(
    store: Store, shifts_s: list[int], way: str
) -> None:
    assert f"By the device sunset comes 7 min or more {way} on half of the dates." in told(store, shifts_s)


@pytest.mark.parametrize(
    ("shifts_s", "day"),
    [
        ([420] * 10, "Tuesday 1 December 2026"),
        ([420, 421, 421, *[420] * 7], "Wednesday 2 December 2026"),
        ([420, 420, -421, 421, *[420] * 6], "Thursday 3 December 2026"),
    ],
)
def test_the_date_shown_is_the_first_on_which_it_moves_most(
    store: Store, shifts_s: list[int], day: str
) -> None:
    assert f" On {day} sunset is at " in told(store, shifts_s)
