"""What a picture is called: the finding, how much and when, against hand-worked cases."""

from pathlib import Path

from auditor.picture import pictures

from .conftest import Row
from .picture_case import drawn, kept, one_site, step

PHOENIX: Row = {"latitude": 33.4, "longitude": -112.1, "timezone": "America/Phoenix"}  # never changes
NOON = ({"action": "on", "time": "12:00"}, {"action": "off", "time": "13:00"})
TITLES: dict[
    str, tuple[Row, Row]
] = {  # from 1 November 2026: 52 Mondays; in March 2027 five Mondays, five Tuesdays
    "Lit up to 1 h 30 min into daylight, every day": (
        {"action": "on", "anchor": "sunset"},
        {"action": "off", "anchor": "sunrise", "offset_minutes": 90},
    ),
    "Lit up to 2 h before sunset, every day": (
        {"action": "on", "anchor": "sunset", "offset_minutes": -120},
        {"action": "off", "anchor": "sunrise"},
    ),
    "Lit by day up to 1 h, every day": NOON,
    "Lit by day up to 1 h, on 52 days of the year": (NOON[0] | {"days": "MO"}, NOON[1]),
    "Lit by day up to 1 h, from 1 October to 15 December": (
        NOON[0] | {"from": "10-01", "until": "12-15"},
        NOON[1],
    ),
    "Lit by day up to 1 h, on 10 days from 1 March to 30 March": (
        NOON[0] | {"days": "MO,TU", "from": "03-01", "until": "03-31"},
        NOON[1],
    ),
    "Nothing stands out: on in darkness, off in daylight": (
        {"action": "on", "time": "20:00"},
        {"action": "off", "time": "22:00"},
    ),
}


def test_a_title_says_what_is_wrong_how_much_and_when(tmp_path: Path) -> None:
    tables = one_site(PHOENIX)
    tables["circuits"] = [
        {"circuit_id": title, "controller_id": "D", "area": "landscape"} for title in TITLES
    ]
    tables["events"] = [
        step("", "") | {"event_id": f"{place}.{number}", "targets": title} | row
        for place, (title, rows) in enumerate(TITLES.items())
        for number, row in enumerate(rows)
    ]
    with kept(tmp_path, tables, "2026-11-01", 365) as connection:
        found = pictures(connection, list(TITLES))
    assert {circuit: picture.title for circuit, picture in found.items()} == {
        title: title for title in TITLES
    }


def test_what_holds_from_edge_to_edge_is_said_first(tmp_path: Path) -> None:
    tables = one_site(
        PHOENIX, "walkway", [{"days": "daily", "opens": "20:00", "closes": "22:00"}], hold="off"
    )
    picture = drawn(tmp_path, tables, "2026-11-03", 4)
    assert picture.title == "Left by hand in off; dark while open up to 2 h, every day"


def test_what_is_short_of_a_finding_is_not_called_nothing(tmp_path: Path) -> None:
    # On 10 min after sunset, while open: dark for 10 min on each of 10 dates; a finding takes over 30.
    steps = [
        step("on", "") | {"event_id": "1", "anchor": "sunset", "offset_minutes": 10, "time": ""},
        step("off", "23:00") | {"event_id": "2"},
    ]
    hours = [{"days": "daily", "opens": "10:00", "closes": "22:00"}]
    tables = one_site(PHOENIX, "walkway", hours) | {"events": steps}
    title = drawn(tmp_path, tables, "2026-11-03", 10).title
    assert title == "Short of a finding: dark while open for 1 h 40 min on 10 dates"
