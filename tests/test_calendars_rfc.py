"""The recurrence rules of RFC 5545's own examples, and what the RFC says of local times around a change."""

import csv
import tomllib
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from auditor.model import Period
from auditor.zones import zone_clock

from .programs_case import firings, read, reasons

PUBLISHED = Path(__file__).parent.parent / "fixtures" / "published"
EXAMPLES = tomllib.loads((PUBLISHED / "rfc5545_recurrence.toml").read_text(encoding="utf-8"))["example"]
CASES = [(example, rule) for example in EXAMPLES for rule in example["rules"]]


def listed(months: list[str]) -> list[date]:
    """Dates such as "1997-09 2-30/2" or "1997-10 2,12"."""
    found = []
    for month, days in (text.split(" ") for text in months):
        for part in days.split(","):
            span, _, step = part.partition("/")
            first, _, last = span.partition("-")
            numbers = range(int(first), int(last or first) + 1, int(step or 1))
            found += [date.fromisoformat(f"{month}-{number:02}") for number in numbers]
    return found


@pytest.mark.parametrize(("example", "rule"), CASES, ids=[f"{e['title']}: {rule}" for e, rule in CASES])
def test_a_rule_of_the_rfc_gives_the_dates_that_the_rfc_prints(example: dict, rule: str) -> None:
    days = listed(example["dates"])
    event = f"DTSTART;TZID=America/New_York:{example['start']}\nDURATION:PT5M\nRRULE:{rule}"
    if "except" in example:
        event += f"\nEXDATE;TZID=America/New_York:{example['except']}"
    first = datetime.fromisoformat(example["start"]).date()
    found = read(event, zone="America/New_York", period=Period(first, (days[-1] - first).days + 1))
    assert reasons(found) == []
    on = [at for at, action in firings(found.table.frame, first, days[-1]) if action == "on"]
    times = [datetime.strptime(text, "%H:%M").time() for text in example.get("times", ["09:00"])]
    assert on == [datetime.combine(day, at) for day in days for at in times]


def test_local_times_around_a_change_mean_the_instants_of_section_3_3_5() -> None:
    # dst_cases.csv gives PEP 495's two instants. With fold=0 a skipped time has the offset of before the gap,
    # and a doubled one is the first: the same as RFC 5545, section 3.3.5, says.
    with (PUBLISHED / "dst_cases.csv").open(encoding="utf-8") as file:
        cases = list(csv.DictReader(file))
    assert {case["kind"] for case in cases} == {"gap", "fold", "normal"}
    for case in cases:
        shown = (datetime.fromisoformat(case["local"]) - datetime(1970, 1, 1)) // timedelta(seconds=1)
        meant = zone_clock(case["zone"]).reaches(shown)
        assert datetime.fromisoformat("1970-01-01T00:00:00Z") + timedelta(
            seconds=meant
        ) == datetime.fromisoformat(case["utc_fold0"]), case


def test_the_rfc_s_own_skipped_time_is_an_hour_later() -> None:
    # Section 3.3.5: 2007-03-11 02:30 in New York "is interpreted" as 3:30 A.M. EDT.
    event = "DTSTART;TZID=America/New_York:20070311T023000\nDTEND;TZID=America/New_York:20070311T050000"
    found = read(event, zone="America/New_York", period=Period(date(2007, 3, 1), 30))
    assert firings(found.table.frame, date(2007, 3, 1), date(2007, 3, 30)) == [
        (datetime(2007, 3, 11, 3, 30), "on"),
        (datetime(2007, 3, 11, 5, 0), "off"),
    ]
