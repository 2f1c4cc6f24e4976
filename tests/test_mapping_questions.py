"""A draft whose questions are open says which they are, whatever else is missing in it."""

from pathlib import Path

import pytest

from auditor.errors import UserError
from auditor.mapping import draft, read_map

from .conftest import Console

DRAFT = """# Draft of a map.

questions = 3

[source]
files = "a.csv"

[[controllers]]
controller_id = "{Panel}"
# QUESTION 1: Which site does the device belong to?
#: site_id = "{No.}"
# QUESTION 2: When was this export read?
#: read_at = { cell = "{Read}", utc_offset = "+00:00" }
#: read_at = { cell = "{Read}", zone = "Area/City" }

[[sites]]
site_id = "{No.}"
# QUESTION 3: How are they written?
#: latitude = "{Lat}"
longitude = "{Lon}"
"""
DO = (
    "take the #: of one answer of each away and fill it in, delete its other answers, "
    "then the line questions."
)


def said(folder: Path, text: str) -> str:
    (folder / "m.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as refused:
        read_map(folder / "m.toml")
    return str(refused.value)


def test_open_questions_are_named_before_anything_that_they_leave_out(tmp_path: Path) -> None:
    named = "1 (line 10), 2 (line 12), 3 (line 18)"
    assert said(tmp_path, DRAFT) == f"m.toml: is a draft, of which 3 QUESTIONs are open: {named}; {DO}"


def test_an_answer_may_be_one_of_those_offered_or_an_own_one(tmp_path: Path) -> None:
    answered = DRAFT.replace("#: site_id", "site_id").replace("#: latitude", "latitude")
    assert said(tmp_path, answered) == f"m.toml: is a draft, of which 1 QUESTION is open: 2 (line 12); {DO}"
    own = answered.replace("[[sites]]", 'read_at = "2026-11-03T12:00:00Z"\n[[sites]]')
    assert said(tmp_path, own) == (
        "m.toml: is a draft without an open QUESTION; delete the line questions, and it runs."
    )
    assert read_map_of(tmp_path, own.replace("questions = 3", "")) == ["sites", "controllers"]


def read_map_of(folder: Path, text: str) -> list[str]:
    (folder / "m.toml").write_text(text, encoding="utf-8")
    return [block.table for block in read_map(folder / "m.toml").blocks]


def test_a_draft_of_ours_counts_its_own_questions(console: Console, tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("Panel,Load,On,Off\nP1,Yard,18:00,6:00\n", encoding="utf-8")
    text = draft([tmp_path / "a.csv"], tmp_path / "m.toml")
    (tmp_path / "m.toml").write_text(text, encoding="utf-8")
    asked = text.count("# QUESTION ")
    status, _, error = console("check", tmp_path / "m.toml")
    assert asked > 1 and status == 2
    assert f"m.toml: is a draft, of which {asked} QUESTIONs are open: 1 (line " in error
