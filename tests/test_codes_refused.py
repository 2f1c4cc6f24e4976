"""What is wrong with a user's edition: one sentence that says file, place, key and what to do."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from .conftest import Console

GOOD = """id = "town"
title = "Town"
amends = "iecc-2021"
[[item]]
key = "facade-night-off"
clause = "1"
requirement = "Off."
areas = ["facade"]
mark = "from memory, check"
confidence = "low"
source = "the town clerk"
[[item.window]]
name = "night"
from_time = "23:00"
until_time = "05:00"
"""
ITEM = GOOD.split('amends = "iecc-2021"\n')[1]
LIMIT = '[[item.limit]]\nname = "cut_percent"\nbound = "at least"\nunit = "%"\n'
EXCEPTION = '[[item.exception]]\ntag = "a"\nwords = "b"\n'
SETBACK = ("facade-night-off", "exterior-setback")

# What stands instead of what in the good file, and the sentence.
Change = tuple[str, str]
MISTAKES: dict[str, tuple[list[Change], str]] = {
    "not TOML": ([('"Town"', "Town")], r" is not readable as TOML \(.*\); mend that line\."),
    "no id": ([('id = "town"\n', "")], r': "id" is missing; add a line id = "\.\.\."\.'),
    "a key": (
        [("clause", "claus")],
        r': \[\[item\]\] facade-night-off: "claus" is not known; did you mean "clause"\?',
    ),
    "a key that is near none": (
        [("clause =", "zzz =")],
        r'"zzz" is not known; auditor codes --fields lists the fields\.',
    ),
    "an item": (
        [('"facade-', '"fassade-')],
        r'key "fassade-night-off" is not known; did you mean "facade-night-off"\?',
    ),
    "a mark": (
        [("from memory, check", "from memory")],
        r'mark "from memory" is not known; did you mean "from memory, check"\?',
    ),
    "no source": ([('source = "the town clerk"\n', "")], r'"source" is missing; add a line source = '),
    "an empty text": ([('clause = "1"', 'clause = " "')], r"clause must be a text in quotes\."),
    "a bare time": (
        [('"23:00"', "23:00:00")],
        r'window night: from_time must be a time of day in quotes; write from_time = "06:00"\.',
    ),
    "no end": (
        [('until_time = "05:00"\n', "")],
        r"window night: it needs a start \(.*\) and an end \(until_time or until_opening_minutes\)\.",
    ),
    "no window": (
        [(GOOD[GOOD.index("[[item.window]]") :], "")],
        r"the item needs a \[\[item\.window\]\]\.",
    ),
    "an area": ([('["facade"]', '["egress"]')], r'area "egress" is not one of interior, parking'),
    "no area": ([('areas = ["facade"]\n', "")], r"the item needs its areas, such as areas = "),
    "a limit missing": (
        [SETBACK],
        r'exterior-setback: limit "cut_percent" is missing; add a \[\[item\.limit\]\] of that name\.',
    ),
    "a limit that is not read": (
        [
            (ITEM, f"{ITEM.split('[[item.window]]')[0]}{LIMIT}value = 6\n"),
            ("facade-night-off", "weekend-days"),
        ],
        r"limit cut_percent: no limit of this item is read; take it away\.",
    ),
    "a number": (
        [(ITEM, f'{ITEM}{LIMIT}value = "30"\n'), SETBACK],
        r"limit cut_percent: value must be a number from 0 to 100\.",
    ),
    "more than all": (
        [(ITEM, f"{ITEM}{LIMIT}value = 160\n"), SETBACK],
        r"limit cut_percent: value must be a number from 0 to 100\.",
    ),
    "the other bound": (
        [(ITEM, f"{ITEM}{LIMIT}value = 30\n"), SETBACK, ('"at least"', '"at most"')],
        r'bound "at most" is not how this limit is read; write bound = "at least"\.',
    ),
    "another measure": (
        [(ITEM, f"{ITEM}{LIMIT}value = 30\n"), SETBACK, ('"%"', '"W of the group"')],
        r'unit "W of the group" must begin with %, in which this limit is read\.',
    ),
    "twice": ([(ITEM, ITEM + ITEM)], r'item "facade-night-off" stands twice; take one away\.'),
    "an outcome for nobody": (
        [(ITEM, f'{ITEM}{EXCEPTION}outcome = "not applicable"\n')],
        r"exception a: an outcome needs the site_types that it is for\.",
    ),
    "an outcome": (
        [(ITEM, f'{ITEM}{EXCEPTION}site_types = ["c"]\noutcome = "consistent"\n')],
        r'outcome "consistent" is not known; write insufficient data or not applicable\.',
    ),
    "an amended edition": (
        [("iecc-2021", "iecc-2022")],
        r': amends "iecc-2022", which is not here; did you mean "iecc-20\d\d"\?',
    ),
    "a circle": ([('"iecc-2021"', '"town"')], r": town amends town; take one of them out of the circle\."),
    "an id of ours": (
        [('amends = "iecc-2021"\n', ""), ('"town"', '"iecc-2021"')],
        r': id "iecc-2021" is that of iecc-2021\.toml too; choose another id\.',
    ),
}


@pytest.mark.parametrize("wrong", MISTAKES)
def test_a_mistake_in_an_edition_gets_one_sentence(
    wrong: str, console: Callable[..., Console], tmp_path: Path
) -> None:
    changes, sentence = MISTAKES[wrong]
    text = GOOD
    for before, after in changes:
        assert before in text
        text = text.replace(before, after)
    (tmp_path / "town.toml").write_text(text, encoding="utf-8")
    status, said, told = console("codes", "--codes", tmp_path)
    assert (status, said) == (2, "")
    assert told.startswith("auditor: town.toml") and told.count("\n") == 1
    assert re.search(sentence, told), told


def test_the_file_in_which_they_are_made_is_itself_right(
    console: Callable[..., Console], tmp_path: Path
) -> None:
    (tmp_path / "town.toml").write_text(GOOD, encoding="utf-8")
    status, said, _ = console("codes", "town", "--codes", tmp_path)
    assert status == 0 and "Town (amends iecc-2021)" in said


def test_a_file_that_is_no_text_is_refused(console: Callable[..., Console], tmp_path: Path) -> None:
    (tmp_path / "town.toml").write_bytes(b"\xff\xfe")
    status, _, told = console("codes", "--codes", tmp_path)
    assert status == 2 and "town.toml is not readable as TOML" in told


def test_an_empty_folder_of_editions_is_refused(console: Callable[..., Console], tmp_path: Path) -> None:
    status, _, told = console("codes", "--codes", tmp_path)
    assert status == 2 and "holds no file *.toml" in told
