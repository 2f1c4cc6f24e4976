"""The text of a calendar as components: what is taken, and what is refused with its row.

Sources: RFC 5545 by section; bounds of ours on length and number as DEVELOPERS.md gives them.
"""

import pytest

from auditor.errors import UserError
from auditor.intake.calendars.lines import Component, components

from .programs_case import calendar


def only(text: str) -> Component:
    (found,) = components(calendar(text), "a.ics")
    return found


def test_a_long_line_goes_on_in_the_next_after_one_space_or_tab() -> None:  # section 3.1
    found = only("DTSTART:20261\n 110T08\n\t0000\nDURATION:PT1H")
    assert found.lines == [(5, "DTSTART:20261110T080000"), (8, "DURATION:PT1H")]


def test_a_name_is_its_summary_without_escapes() -> None:  # section 3.3.11
    assert only("DESCRIPTION:x\nSUMMARY;LANGUAGE=en:Hall\\, north\\nwing\\Nand \\\\ yard\\;").called == (
        "Hall, north wing and \\ yard;"
    )
    assert only("summary:yard\nSUMMARY:hall").called == "yard"
    assert only("UID:1").called == ""


def test_a_line_and_a_file_of_the_most_that_is_taken() -> None:
    assert only("X:" + "a" * 199_998).lines == [(5, "X:" + "a" * 199_998)]
    with pytest.raises(UserError, match="row 5: a line of more than 200000 characters"):
        only("X:" + "a" * 199_999)
    with pytest.raises(UserError, match="a line of more than"):  # and not: larger than 20 MB
        components(b"a" * 20_000_000, "a.ics")


def test_as_many_components_as_are_taken() -> None:
    content = calendar(before="BEGIN:X-A\nEND:X-A\n" * 20_000)
    assert len(components(content, "a.ics")) == 20_000
    with pytest.raises(UserError, match="more than 20000 components"):
        components(calendar("UID:1", before="BEGIN:X-A\nEND:X-A\n" * 20_000), "a.ics")


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b" site,name\n1,Hall\n", "row 1: no BEGIN:VCALENDAR"),
        (calendar("SUMMARY:Caf\xe9").decode().encode("latin-1"), "row 5: not UTF-8"),
        (b"BEGIN:VCALENDAR\nBEGIN:X-" + b"a" * 99, f"a.ics: END:X-{'A' * 54} is missing"),  # 60 characters
    ],
    ids=["row 1", "row 5", "60 characters"],
)
def test_where_a_file_is_no_calendar(content: bytes, sentence: str) -> None:
    with pytest.raises(UserError, match=sentence):
        components(content, "a.ics")
