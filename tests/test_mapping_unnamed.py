"""What an archive or a workbook holds and no map names is said; patterns take what comes next month."""

import zipfile
from pathlib import Path

import pytest
import xlsxwriter

from auditor.errors import UserError
from auditor.mapping import mapped_tables

from .conftest import Console

MAP = """
[source]
files = "FILES"
KEY
[[circuits]]
circuit_id = "{Circuit}"
controller_id = "P1"
area = "parking"
"""


def read(folder: Path, *maps: tuple[str, str]) -> tuple[list[str], list[str]]:
    """Where the tables of some maps come from, and what is noted."""
    for number, (files, key) in enumerate(maps):
        (folder / f"{number}.toml").write_text(
            MAP.replace("FILES", files).replace("KEY", key), encoding="utf-8"
        )
    tables, notices = mapped_tables([folder / f"{number}.toml" for number in range(len(maps))])
    return [table.source_file for table in tables], notices


def archive(path: Path, *names: str) -> None:
    with zipfile.ZipFile(path, "w") as packed:
        for name in names:
            packed.writestr(name, f"Circuit\n{name}\n")


def book(path: Path, *sheets: str) -> None:
    with xlsxwriter.Workbook(path) as made:
        for name in sheets:
            made.add_worksheet(name).write_column(0, 0, ["Circuit", name])


def test_members_and_sheets_that_no_map_names_are_said_once_for_all_maps(tmp_path: Path) -> None:
    archive(tmp_path / "october.zip", "panels/a.csv", "panels/b.csv", "panels/c.csv", "notes.txt")
    book(tmp_path / "book.xlsx", "Lights", "Signs", "Holidays")
    files, notices = read(
        tmp_path,
        ("october.zip", 'inside = "panels/a.csv"'),
        ("october.zip", 'inside = "panels/b.csv"'),
        ("book.xlsx", 'sheets = "Lights"'),
    )
    assert files == ["october.zip/panels/a.csv", "october.zip/panels/b.csv", "book.xlsx:Lights"]
    assert notices == [
        "2 members of october.zip and 2 sheets of book.xlsx are named by no map: notes.txt, panels/c.csv, "
        "Signs, Holidays; where they count, add them to inside or sheets."
    ]


def test_patterns_take_what_is_new_and_then_nothing_is_said(tmp_path: Path) -> None:
    archive(tmp_path / "november.zip", "panels/a.csv", "panels/d.csv", "new/e.csv")
    book(tmp_path / "book.xlsx", "Lights 1", "Lights 2")
    files, notices = read(
        tmp_path, ("*.zip", 'inside = ["panels/*.csv", "new/?.csv"]'), ("book.xlsx", 'sheets = "Lights *"')
    )
    assert files == ["november.zip/new/e.csv", "november.zip/panels/a.csv", "november.zip/panels/d.csv",
                     "book.xlsx:Lights 1", "book.xlsx:Lights 2"]  # fmt: skip
    assert notices == []


def test_many_names_are_shortened_and_a_check_says_them_too(console: Console, tmp_path: Path) -> None:
    archive(tmp_path / "o.zip", "a.csv", *(f"{number}{'x' * 60}.csv" for number in range(9)))
    _, notices = read(tmp_path, ("o.zip", 'inside = "a.csv"'))
    assert notices[0].startswith("9 members of o.zip are named by no map: 0xxx") and len(notices[0]) < 400
    assert " and 3 more; where they count" in notices[0]
    _, shown, _ = console("check", tmp_path / "0.toml")
    assert f"Note: {notices[0]}" in shown


def test_an_archive_of_which_nothing_is_named_is_refused_with_what_it_holds(tmp_path: Path) -> None:
    archive(tmp_path / "o.zip", "a.csv", "b.csv")
    with pytest.raises(UserError) as refused:
        read(tmp_path, ("o.zip", 'inside = "panels/*"'))
    assert str(refused.value) == (
        'o.zip holds "a.csv", "b.csv", and nothing named like "panels/*"; change inside.'
    )
