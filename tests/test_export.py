"""auditor export: a kept store as a calendar, read back by our own reader and by another."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import duckdb
import icalendar
import pytest
import recurring_ical_events

from auditor.intake.calendars import read_calendar
from auditor.intake.program import Owner
from auditor.model import Period

from .conftest import Console, run_audit, small, write_folder
from .programs_case import firings

EXPORT = tuple[int, Path, str, str]  # exit status, the file, standard output, standard error


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Forty days from 1 October 2026: New York, whose device is an hour slow in October, and Helsinki."""
    folder = tmp_path_factory.mktemp("export")
    tables = small()
    tables["circuits"][1]["name"] = (
        "Reading room, upstairs;\x07 a name so long that no line of a calendar holds it"
    )
    tables["events"][0]["days"] = "MO,TU"
    tables["events"] += [
        tables["events"][0]
        | {"event_id": "007", "action": "level", "level": 40, "time": "18:00", "days": "TU"}
    ]
    tables["controllers"][0] |= {"dst_rule": "none", "utc_offset": "-05:00"}
    tables["controllers"][0]["read_at"] = tables["controllers"][1]["read_at"] = "2026-10-20T14:05:00Z"
    path = folder / "kept.duckdb"
    run_audit(write_folder(folder / "portfolio", tables), folder / "out", path, days=40, pages=0)
    return path


@pytest.fixture
def export(store: Path, tmp_path: Path, console: Callable[..., Console]) -> Callable[..., EXPORT]:
    def run(*words: object) -> EXPORT:
        path = tmp_path / "year.ics"
        status, said, wrong = console("export", "--store", store, "--ics", path, *words)
        return status, path, said, wrong

    return run


def stretches(store: Path, circuit: str) -> list[tuple[datetime, datetime]]:
    """On-stretches of the store, naive UTC, of whatever level, touching ones merged."""
    with duckdb.connect(str(store), read_only=True) as connection:
        rows = connection.execute(
            "SELECT start_utc, end_utc FROM timeline WHERE circuit_id = ? AND level > 0 ORDER BY 1", [circuit]
        ).fetchall()
    merged: list[tuple[datetime, datetime]] = []
    for start, end in rows:
        if merged and merged[-1][1] == start:
            merged[-1] = (merged[-1][0], end)
        else:
            merged.append((start, end))
    return merged


def test_the_year_of_a_controller_read_by_another_reader(export: Callable[..., EXPORT], store: Path) -> None:
    status, path, said, _ = export("--controller", "01A")
    content = path.read_bytes()
    calendar = icalendar.Calendar.from_ical(content)
    assert (status, said) == (0, f"Calendar: {path.resolve()} ({len(calendar.walk('VEVENT'))} events).\n")
    by_name: dict[str, list[tuple[datetime, datetime]]] = {"011": [], "012": []}
    for one in recurring_ical_events.of(calendar).between(date(2026, 9, 1), date(2027, 2, 1)):
        circuit = "012" if "012" in str(one["SUMMARY"]) or "Reading" in str(one["SUMMARY"]) else "011"
        span = tuple(one[key].dt.astimezone(UTC).replace(tzinfo=None) for key in ("DTSTART", "DTEND"))
        by_name[circuit].append(span)
    for circuit, spans in by_name.items():
        merged = sorted(spans)
        for n in range(len(merged) - 1, 0, -1):
            if merged[n - 1][1] == merged[n][0]:
                merged[n - 1 : n + 1] = [(merged[n - 1][0], merged[n][1])]
        assert merged == stretches(store, circuit)


def test_what_is_written_comes_back_through_our_own_reader(
    export: Callable[..., EXPORT], store: Path
) -> None:
    # Circuit 021 in Helsinki is in hand: on throughout, 40 days from the first of the month of the reading
    _, path, _, _ = export("--controller", "02A")
    owner = Owner("02A", ("021",), "UTC")
    read = read_calendar(path.read_bytes(), "year.ics", owner, Period(date(2026, 10, 1), 60))
    steps = firings(read.table.frame, date(2026, 9, 1), date(2026, 12, 31))
    ((start, end),) = stretches(store, "021")
    assert steps == [(start, "on"), (end, "off")]
    _, path, _, _ = export("--site", "01")
    read = read_calendar(path.read_bytes(), "year.ics", owner, Period(date(2026, 10, 1), 60))
    assert read.kept == read.entries > 40


def test_lines_are_folded_and_the_same_store_gives_the_same_bytes(export: Callable[..., EXPORT]) -> None:
    _, path, _, _ = export("--controller", "01A")
    first = path.read_bytes()
    assert all(len(line) <= 75 for line in first.split(b"\r\n"))  # RFC 5545, section 3.1
    _, path, _, _ = export("--controller", "01A")
    assert path.read_bytes() == first
    events = icalendar.Calendar.from_ical(first).walk("VEVENT")
    assert len({str(event["UID"]) for event in events}) == len(events)
    assert {event["DTSTAMP"].dt for event in events} == {datetime(2026, 10, 20, 14, 5, tzinfo=UTC)}
    assert b"\x07" not in first
    assert any(str(event["SUMMARY"]).endswith(": at 40 %") for event in events)


def test_findings_stand_on_their_dates_with_a_caution(export: Callable[..., EXPORT], store: Path) -> None:
    status, path, said, _ = export("--site", "01", "--findings")
    assert status == 0
    with duckdb.connect(str(store), read_only=True) as connection:
        dated = connection.execute(
            "SELECT first_date, last_date FROM findings WHERE site_id = '01' AND status = 'open' "
            "AND first_date IS NOT NULL ORDER BY 1"
        ).fetchall()
        (undated,) = connection.execute(
            "SELECT count(*) FROM findings WHERE site_id = '01' AND status = 'open' AND first_date IS NULL"
        ).fetchone()
    events = icalendar.Calendar.from_ical(path.read_bytes()).walk("VEVENT")
    assert [(e["DTSTART"].dt, e["DTEND"].dt - timedelta(days=1)) for e in events] == dated
    assert dated
    assert (f"{undated} finding" in said) == (undated > 0)
    assert all("Never switch off egress" in str(event["DESCRIPTION"]) for event in events)


REFUSED = [
    ((), "name either a --controller or a --site."),
    (("--controller", "01A", "--site", "01"), "name either a --controller or a --site."),
    (("--controller", "01B"), 'there is no controller "01B" in the store; did you mean "01A"?'),
    (("--site", "3"), 'there is no site "3" in the store; did you mean "02"?'),
]


@pytest.mark.parametrize(("words", "sentence"), REFUSED)
def test_what_cannot_be_written_gets_one_sentence(
    export: Callable[..., EXPORT], words: tuple[str, ...], sentence: str
) -> None:
    status, path, said, wrong = export(*words)
    assert (status, said, wrong, path.exists()) == (2, "", f"auditor: {sentence}\n", False)
