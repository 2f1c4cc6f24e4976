"""Every item against cases that a hand worked out: outcomes, dates, times, minutes and kWh."""

from collections import Counter
from collections.abc import Iterator

import pytest

from auditor.codes import load_codes
from auditor.codes.vocabulary import CONSISTENT, CONTRARY, INSUFFICIENT, ITEMS, NOT_APPLICABLE
from auditor.evidence import load_items
from auditor.evidence.deciding import Row

from .evidence_case import EvidenceCase, evidence_cases, rows_of_run

ALL = {CONSISTENT, CONTRARY, INSUFFICIENT, NOT_APPLICABLE}
# Which outcomes an item can have at all. No export tells floors, so that no schedule's area is ever shown;
# nor what a device could do beyond its program; nor which space a light serves.
POSSIBLE = dict.fromkeys(ITEMS, ALL) | {
    "clock-accuracy": {INSUFFICIENT, NOT_APPLICABLE},  # more needs two runs: test_evidence_store.py
    "clock-backup": ALL - {NOT_APPLICABLE},  # every edition asks it of every device
    "schedule-area": {CONTRARY, INSUFFICIENT, NOT_APPLICABLE},
    "exterior-scheduling": ALL - {CONTRARY},
    "seven-day-clock": {CONSISTENT, INSUFFICIENT, NOT_APPLICABLE},
    "claimed-exemptions": {INSUFFICIENT, NOT_APPLICABLE},
    "export-soundness": {CONSISTENT, INSUFFICIENT},
}
each_case = pytest.mark.parametrize(
    "case", evidence_cases(), ids=lambda case: f"{case.item}: {case.name} ({case.edition})"
)


def own_rows(case: EvidenceCase) -> list[Row]:
    return [row for row in rows_of_run(case.case.run)[case] if row["item"] == case.item]


def named(row: Row) -> str:
    return f"{row['subject_kind']} {row['subject_id']} {row['outcome']}"


@each_case
def test_the_outcomes_are_those_worked_out_by_hand(case: EvidenceCase) -> None:
    found = own_rows(case)
    assert sorted(map(named, found)) == sorted(case.outcomes), [row["said"] for row in found]


@each_case
def test_the_deciding_facts_are_those_worked_out_by_hand(case: EvidenceCase) -> None:
    for row in own_rows(case):
        for words in case.facts.get("says", ()):
            assert words in row["said"]
        for words in case.facts.get("unsaid", ()):
            assert words not in row["said"]
        for name in ("minutes", "kwh"):
            if name in case.facts:
                assert row[name] == pytest.approx(case.facts[name], rel=1e-9), row["said"]
        for name in ("first_date", "last_date"):
            if name in case.facts:
                assert str(row[name]) == case.facts[name], row["said"]
        if "example" in case.facts:
            assert f"{row['example_local']:%Y-%m-%d %H:%M}" == case.facts["example"], row["said"]


@pytest.mark.parametrize("case", [case for case in evidence_cases() if case.also], ids=lambda case: case.name)
def test_what_it_means_for_other_items(case: EvidenceCase) -> None:
    items = {words.split()[0] for words in case.also}
    found = [row for row in rows_of_run(case.case.run)[case] if row["item"] in items]
    assert sorted(f"{row['item']} {named(row)}" for row in found) == sorted(case.also)


def test_every_item_has_a_case_of_every_outcome_that_it_can_have() -> None:
    shown: dict[str, set[str]] = {item.name: set() for item in load_items()}
    for case in evidence_cases():
        shown[case.item] |= {words.split(maxsplit=2)[2] for words in case.outcomes}
    assert shown == POSSIBLE


def asked() -> Iterator[tuple[str, str]]:
    for name, edition in load_codes().items():
        yield from ((item, name) for item, told in edition.items.items() if told.asked)


def facts_of(item: str, edition: str) -> object:
    """What an edition asks about an item, without where it stands and how firm that is."""
    told = load_codes()[edition].items[item]
    return (
        sorted((limit.name, limit.value) for limit in told.limits),
        [
            (w.from_time_s, w.from_closing_minutes, w.until_time_s, w.until_opening_minutes)
            for w in told.windows
        ],
    )


def test_every_limit_and_window_in_which_editions_differ_has_a_case() -> None:
    worked = {(case.item, case.edition) for case in evidence_cases()}
    seen = {(item, repr(facts_of(item, edition))) for item, edition in asked() if (item, edition) in worked}
    wanted = {(item, repr(facts_of(item, edition))) for item, edition in asked()}
    assert wanted - seen == set()


def test_no_name_stands_twice() -> None:
    names = Counter((case.item, case.name, case.edition) for case in evidence_cases())
    assert [name for name, times in names.items() if times > 1] == []


def test_items_and_their_queries_are_the_same_and_in_the_same_order() -> None:
    items = load_items()
    assert [item.name for item in items if item.of_code] == list(ITEMS)
    assert [item.place for item in items] == list(range(1, 21))
