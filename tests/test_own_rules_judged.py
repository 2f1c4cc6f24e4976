"""What a user's rule answers: a row that a rule of ours could not say ends the run in one sentence."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from auditor.errors import UserError
from auditor.ownrules.judging import RELIED_ON, Key, Subject, verdicts
from auditor.rules import COLUMNS, load_rules

RULE = replace(load_rules()[0], name="mine", severity="low", subject="circuit or step", needs=("hours",))
RULE = replace(RULE, path=Path("mine.sql"), money=True, fix="on-site")
SUBJECTS: dict[Key, Subject] = {
    ("S", "circuit", "C"): Subject(in_use=True, relied_on=False, times=1),
    ("S", "circuit", "A"): Subject(in_use=True, relied_on=True, times=1),
    ("S", "circuit", "out"): Subject(in_use=False, relied_on=False, times=1),
    ("S", "step", "a/b/e"): Subject(in_use=True, relied_on=False, times=2),  # ids with slashes
    ("S", "site", "S"): Subject(in_use=True, relied_on=False, times=1),
}
GOOD = {
    "site_id": "S",
    "subject_kind": "circuit",
    "subject_id": "C",
    "summary": "Seen.",
    "remedy": "Mend it.",
}
Row = dict[str, Any]


def judged(*rows: Row, chosen: str | None = None) -> list[Row]:
    return verdicts(RULE, [[(GOOD | row).get(name) for name in COLUMNS] for row in rows], SUBJECTS, chosen)


def test_a_good_row_becomes_a_verdict() -> None:
    (found,) = judged({"minutes": 1, "kwh": 0.0, "first_date": "2026-12-01", "last_date": "2026-12-01"})
    assert (found["rule"], found["money"], found["rule_fix"]) == ("mine", True, "on-site")
    assert (found["severity"], found["minutes"], found["kwh"]) == ("low", 1, 0)
    assert str(found["first_date"]) == "2026-12-01"
    assert found["remedy"] == "Mend it."


@pytest.mark.parametrize(
    ("own", "chosen", "wanted"),
    [
        (None, None, "low"),
        ("high", None, "high"),
        ("high", "medium", "medium"),
        (None, "critical", "critical"),
    ],
)
def test_the_settings_severity_goes_first_then_the_rows(
    own: str | None, chosen: str | None, wanted: str
) -> None:
    assert judged({"severity": own}, chosen=chosen)[0]["severity"] == wanted


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({"site_id": None}, "row 1 of its answer: there is no such circuit at site NULL."),
        ({"site_id": "T"}, '(circuit C): there is no such circuit at site "T".'),
        ({"subject_id": "X"}, '(circuit X): there is no such circuit at site "S".'),
        ({"subject_id": None}, "row 1 of its answer: there is no such circuit"),
        ({"subject_kind": None}, "subject_kind is NULL, and the header says circuit or step"),
        (
            {"subject_kind": "site", "subject_id": "S"},
            'subject_kind is "site", and the header says circuit or',
        ),
        ({"subject_kind": "lamp"}, 'subject_kind is "lamp"'),
        (
            {"severity": "urgent"},
            'severity is "urgent"; it must be NULL or one of critical, high, medium, low',
        ),
        ({"severity": ""}, 'severity is ""'),
        ({"minutes": -1}, "minutes is -1; it must be NULL or a number from 0 to"),
        ({"minutes": float("nan")}, "minutes is nan"),
        ({"minutes": float("inf")}, "minutes is inf"),
        ({"kwh": 1e13}, "kwh is 10000000000000.0"),
        ({"first_date": "2026-12-01"}, "first_date and last_date must both be given, in order, or both"),
        ({"last_date": "2026-12-01"}, "first_date and last_date must both be given"),
        ({"first_date": "2026-12-02", "last_date": "2026-12-01"}, "in order"),
        (
            {"first_date": "20000-01-01", "last_date": "20000-01-02"},
            "is no date of the calendar (20000-01-01",
        ),
        ({"summary": None}, "summary is blank; say it in a sentence"),
        ({"summary": " "}, "summary is blank"),
        ({"remedy": None}, "remedy is blank"),
        ({"seen": "x" * 2001}, "seen is longer than 2000 characters"),
        ({"missing": "watts"}, 'missing is "watts", which is not among the needs of its header'),
        ({"missing": ""}, 'missing is ""'),
    ],
)
def test_a_row_that_cannot_be_a_verdict_is_named(row: Row, words: str) -> None:
    with pytest.raises(UserError) as refusal:
        judged(row)
    sentence = str(refusal.value)
    assert (
        sentence.startswith("mine.sql: row 1 of its answer") and sentence.endswith(".") and words in sentence
    )


def test_one_bad_row_among_good_ones_is_enough_and_is_counted(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"mine\.sql: row 2 of its answer \(circuit A\): minutes is -3"):
        judged({}, {"subject_id": "A", "minutes": -3})


def test_a_subject_comes_once(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"row 2 of its answer \(circuit C\): its subject was there before"):
        judged({}, {"summary": "Again."})
    with pytest.raises(UserError, match="its subject was there before; return one row a subject"):
        judged({}, {"missing": "hours"})


def test_steps_that_look_alike_come_as_often_as_they_are_there() -> None:
    step = {"subject_kind": "step", "subject_id": "a/b/e"}
    assert len(judged(step, step)) == 2
    with pytest.raises(UserError, match="row 3 of its answer"):
        judged(step, step, step)


def test_what_is_not_in_use_has_no_verdicts() -> None:
    assert judged({"subject_id": "out"}) == []
    assert judged({"subject_id": "out", "missing": "hours"}) == []


def test_verdicts_come_in_the_order_of_their_subjects() -> None:
    assert [row["subject_id"] for row in judged({"subject_id": "C"}, {"subject_id": "A"})] == ["A", "C"]


def test_a_row_that_could_not_be_evaluated_needs_no_words() -> None:
    (found,) = judged({"missing": "hours", "summary": None, "remedy": None})
    assert (found["missing"], found["remedy"]) == ("hours", "")


@pytest.mark.parametrize("remedy", ["Mend it", "Mend it. ", "Mend it."])
def test_a_remedy_ends_as_a_sentence(remedy: str) -> None:
    assert judged({"remedy": remedy})[0]["remedy"] == "Mend it."


def test_where_people_rely_on_light_the_remedy_begins_with_the_caution() -> None:
    assert judged({"subject_id": "A"})[0]["remedy"] == f"{RELIED_ON}Mend it."
    assert "stays lit" in RELIED_ON and "asked" in RELIED_ON
