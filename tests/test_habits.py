"""What circuits usually do, against a walk through the timeline, and steps in words."""

from bisect import bisect_right
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import median_low

import duckdb
import pytest

from auditor.audit import audit
from auditor.store import Connection, open_store
from auditor.wording import step_text
from tests.reference.random_portfolio import write

DAY = timedelta(days=1)
Stretch = tuple[datetime, datetime, float]


@pytest.mark.parametrize(
    ("seed", "start", "days"),
    [(101, date(2026, 11, 1), 365), pytest.param(106, date(2027, 4, 1), 40, marks=pytest.mark.nightly)],
)
def test_the_first_off_after_closing_is_the_one_that_a_walk_through_the_timeline_finds(
    seed: int, start: date, days: int, tmp_path: Path
) -> None:
    write(tmp_path / "in", seed)
    audit(
        tmp_path / "in",
        tmp_path,
        start,
        days,
        tmp_path / "s.duckdb",
        lambda stage, length: lambda step: None,
        pages=0,
    )
    with duckdb.connect(str(tmp_path / "s.duckdb"), read_only=True) as store:
        rows = store.execute(
            "SELECT circuit_id, site_id, off_after_closing_minutes FROM circuit_figures"
        ).fetchall()
        walked = [(typical_off(store, circuit, site), found) for circuit, site, found in rows]
    assert [found for _, found in walked] == [expected for expected, _ in walked]
    assert len({found for _, found in walked}) > 5


def typical_off(store: Connection, circuit: str, site: str) -> float | None:
    """Minutes from closing to the first off: the median of all closings in the period."""
    timeline: list[Stretch] = store.execute(
        "SELECT start_utc, end_utc, level FROM timeline WHERE circuit_id = ? ORDER BY start_utc", [circuit]
    ).fetchall()
    spans = store.execute(
        "SELECT start_utc, end_utc FROM site_spans WHERE site_id = ? AND kind = 'open' ORDER BY 1", [site]
    ).fetchall()
    end = timeline[-1][1]
    opens = [*(start for start, _ in spans[1:]), end]
    offs = [
        first_off(timeline, closes, min(reopens, closes + DAY))
        for (_, closes), reopens in zip(spans, opens, strict=False)
        if closes < end
    ]
    return median_low(offs) / timedelta(minutes=1) if offs else None


def first_off(timeline: list[Stretch], closes: datetime, reopens: datetime) -> timedelta:
    """From closing until it goes from on to off; until the next opening if it does not."""
    place = bisect_right(timeline, closes, key=lambda stretch: stretch[0]) - 1
    if timeline[place][0] == closes and place and timeline[place][2] == 0 < timeline[place - 1][2]:
        return timedelta()
    lit = timeline[place][2] > 0
    before = lit
    for start, _, level in timeline[place + 1 :]:
        if start >= reopens:
            break
        if before and level == 0:
            return start - closes
        before = level > 0
    return reopens - closes if lit else timedelta()


@pytest.fixture(scope="module")
def macros() -> Connection:
    return open_store(Path(":memory:"))


@pytest.mark.parametrize(
    ("macro", "words"),
    [
        ("days_words(127)", "every day"),
        ("days_words(31)", "Monday to Friday"),
        ("days_words(126)", "Tuesday to Sunday"),
        ("days_words(96)", "Saturday, Sunday"),
        ("days_words(65)", "Monday, Sunday"),
        ("days_words(21)", "Monday, Wednesday, Friday"),
        ("when_words(127, NULL, NULL)", "every day"),
        ("when_words(127, '12-24', '12-24')", "on 24 December"),
        ("when_words(64, '12-24', '12-24')", "Sunday on 24 December"),
        ("when_words(127, '10-01', '02-29')", "every day from 1 October to 29 February"),
        (
            "when_words(31, '2026-12-01', '2027-01-06')",
            "Monday to Friday from 1 December 2026 to 6 January 2027",
        ),
        ("anchor_words('clock', 63000, NULL)", "at 17:30"),
        ("anchor_words('clock', 63001, NULL)", "at 17:30:01"),
        ("anchor_words('clock', 86400, NULL)", "at 24:00"),
        ("anchor_words('sunset', NULL, 0)", "at sunset"),
        ("anchor_words('dusk', NULL, -600)", "10 min before dusk"),
        ("anchor_words('sunrise', NULL, 5400)", "1 h 30 min after sunrise"),
        ("action_words('level', 40::DOUBLE)", "to 40 %"),
        ("action_words('level', 12.5::DOUBLE)", "to 12.5 %"),
        ("action_words('resume', NULL)", "back in service"),
        ("clock_words(TIMESTAMP '2026-11-01 17:29:30')", "17:30"),
        ("day_words(TIMESTAMP '2026-11-01 23:59:45')", "Monday 2 November 2026"),
        ("shown_words(TIMESTAMP '2026-11-01 12:00', 59)", ""),
        ("shown_words(TIMESTAMP '2026-11-01 12:00', NULL)", ""),
        ("shown_words(TIMESTAMP '2026-11-01 12:00', -3600)", " (the device itself shows 11:00)"),
        (
            "shown_words(TIMESTAMP '2026-11-01 23:30', 3600)",
            " (the device itself shows 00:30, Monday 2 November 2026)",
        ),
        ("also('in force: x')", " In force: x."),
        ("also(NULL)", ""),
    ],
)
def test_the_words_of_the_store(macros: Connection, macro: str, words: str) -> None:
    assert macros.execute(f"SELECT {macro}").fetchone() == (words,)


@pytest.mark.parametrize("action", ["on", "off", "level", "suspend", "resume"])
@pytest.mark.parametrize(
    ("anchor", "time_s", "offset_s"),
    [
        ("clock", 0, None),
        ("clock", 86399, None),
        ("sunset", None, None),
        ("dawn", None, -60),
        ("dusk", None, 7260),
    ],
)
def test_a_step_has_the_same_words_in_the_store_and_in_the_report(
    macros: Connection, action: str, anchor: str, time_s: int | None, offset_s: int | None
) -> None:
    step = {"action": action, "level": 12.5, "anchor": anchor, "time_s": time_s, "offset_s": offset_s}
    told = macros.execute(
        "SELECT action_words($action, $level::DOUBLE) || ' ' "
        "|| anchor_words($anchor, $time_s::BIGINT, $offset_s::BIGINT)",
        step,
    ).fetchone()
    assert told == (step_text(step),)
