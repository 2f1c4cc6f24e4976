"""The template: it reads back as its examples, and its drop-downs are the words that are accepted."""

import re
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.datavalidation import DataValidation

from auditor.model import CODE_EDITIONS, TABLE_NAMES
from auditor.normalise.specs import SPECS

from .conftest import Console, run_audit, small
from .judging import COLUMNS, PARENTS, changed, judge
from .test_intake import assert_same_portfolio, judged

ROOT = Path(__file__).parent.parent
EXAMPLES = ROOT / "auditor" / "template" / "examples"
LAST = 1_048_576
# The closed lists of the contract's section 1, and its booleans.
TRUTH = ["true", "yes", "1", "false", "no", "0"]
HOLD = ["on", "off"]
LISTS = {
    ("controllers", "dst_rule"): ["zone", "none", "us-2007", "us-1987", "eu"],
    ("controllers", "hold"): HOLD,
    ("controllers", "remote"): TRUTH,
    ("circuits", "area"): [
        "interior", "parking", "walkway", "canopy", "facade", "landscape", "sign", "egress", "security",
        "other-exterior",
    ],
    ("circuits", "combine"): ["any", "all"],
    ("circuits", "hold"): HOLD,
    ("circuits", "in_use"): TRUTH,
    ("circuits", "must_be_lit"): ["always", "dark", "open"],
    ("sensors", "kind"): ["photocontrol", "occupancy"],
    ("sensors", "in_use"): TRUTH,
    ("events", "action"): ["on", "off", "level", "suspend", "resume"],
    ("events", "anchor"): ["clock", "sunrise", "sunset", "dawn", "dusk"],
    ("actions", "disposition"): ["ordered", "done", "declined"],
}  # fmt: skip


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The template, as the command writes it."""
    from auditor.template import write_template

    path = tmp_path_factory.mktemp("template") / "portfolio.xlsx"
    write_template(path)
    return path


@pytest.fixture(scope="module")
def book(template: Path) -> Any:
    """The same to an independent reader."""
    return openpyxl.load_workbook(template)


def named(sheet: Any) -> dict[str, str]:
    """The letters of a sheet's columns by their names."""
    return {cell.value: cell.column_letter for cell in sheet[1]}


def rules(book: Any) -> dict[tuple[str, str], DataValidation]:
    """What may be typed, by table and column."""
    letters = {table: {letter: name for name, letter in named(book[table]).items()} for table in TABLE_NAMES}
    return {
        (table, letters[table][re.match("[A-Z]+", str(rule.sqref))[0]]): rule
        for table in TABLE_NAMES
        for rule in book[table].data_validations.dataValidation
    }


def test_it_reads_back_as_the_example_portfolio(template: Path) -> None:
    found, examples = judged(template), judged(EXAMPLES)
    assert_same_portfolio(found, examples)
    assert found.rejections == []
    assert [file["kept"] for file in found.inputs] == [file["kept"] for file in examples.inputs]
    assert all(frame.height for frame in found.tables.values())


def test_a_run_takes_it_and_says_that_the_examples_are_still_there(template: Path, tmp_path: Path) -> None:
    outcome = run_audit(template, tmp_path / "results", pages=0)
    assert outcome.notices == [
        "portfolio.xlsx:sites: 2 sites are examples of the template and audited like any other; delete the "
        "examples on every sheet (rows in italics, with EXAMPLE in them)."
    ]


def test_every_row_of_the_examples_says_that_it_is_one(book: Any) -> None:
    for table in TABLE_NAMES:
        for row in book[table].iter_rows(min_row=2):
            assert any("EXAMPLE" in str(cell.value) for cell in row), (table, row[0].row)
            assert all(cell.font.italic for cell in row)


def test_the_same_bytes_each_time_and_none_over_a_file_that_is_there(
    console: Console, template: Path, tmp_path: Path
) -> None:
    path = tmp_path / "mine.xlsx"
    status, said, _ = console("template", path)
    assert (status, said) == (0, f"Template: {path}. Its sheet Guide says how to fill it in.\n")
    assert path.read_bytes() == template.read_bytes()
    status, _, error = console("template", path)
    assert status == 2
    assert error == f"auditor: {path} is there already, perhaps with your rows in it; name a new file.\n"
    status, _, error = console("template", tmp_path / "mine.csv")
    assert (status, error) == (2, f"auditor: {tmp_path / 'mine.csv'} must end in .xlsx; name it so.\n")
    status, _, error = console("template")
    assert (status, "name the workbook that is to be written" in error) == (2, True)
    status, _, error = console("template", tmp_path / "nowhere" / "mine.xlsx")
    assert (status, "cannot be written; check the folder" in error) == (2, True)


def test_an_empty_one_has_all_columns_and_no_rows(console: Console, tmp_path: Path) -> None:
    console("template", tmp_path / "empty.xlsx", "--empty")
    found = judged(tmp_path / "empty.xlsx")
    assert [frame.height for frame in found.tables.values()] == [0] * len(TABLE_NAMES)
    assert found.notices == []


# Words -----------------------------------------------------------------------------------------------------


def test_the_drop_downs_are_the_closed_lists_of_the_contract(book: Any) -> None:
    lists = {
        place: str(rule.formula1).strip('"').split(",")
        for place, rule in rules(book).items()
        if rule.type == "list" and rule.showErrorMessage
    }
    assert lists == LISTS
    offered = rules(book)["sites", "energy_code"]  # usual words, and not the only ones
    assert (str(offered.formula1).strip('"').split(","), offered.showErrorMessage) == (
        list(CODE_EDITIONS),
        False,
    )
    assert {str(rule.sqref)[1:] for rule in rules(book).values()} == {
        f"2:{str(rule.sqref)[3]}{LAST}" for rule in rules(book).values()
    }


@pytest.mark.parametrize(("table", "column"), sorted(LISTS))
def test_every_word_of_a_drop_down_is_accepted_and_no_other(table: str, column: str) -> None:
    for word in LISTS[table, column]:
        assert faults(table, column, word) == []
    for word in ("", "whatever", "auto", "TRUE."):
        assert bool(faults(table, column, word)) is bool(word) or f"{column}*" in COLUMNS[table].split()


def faults(table: str, column: str, cell: str) -> list[str]:
    """What is wrong with a cell in the first row of the small portfolio's table."""
    beside = {"latitude": {"longitude": "0"}, "longitude": {"latitude": "0"}, "level": {"action": "level"}}
    tables = changed(table, **{**beside.get(column, {}), column: cell})
    found = judge({name: tables[name] for name in [*PARENTS.get(table, []), table]})
    return [row.reason for row in found.rejections if row.column == column and row.source_row == 2]


def test_limits_of_numbers_are_those_that_are_accepted(book: Any) -> None:
    limits = {place: rule for place, rule in rules(book).items() if rule.type == "decimal"}
    assert {column for _, column in limits} >= {"latitude", "level", "connected_watts", "rate_per_kwh"}
    for (table, column), rule in limits.items():
        for cell, good in ((rule.formula1, True), (rule.formula2, True), (float(rule.formula2) + 1, False)):
            assert (faults(table, column, str(cell)) == []) is good
    assert float(limits["sites", "latitude"].formula1) == -90


# Looks -----------------------------------------------------------------------------------------------------


def test_cells_keep_what_is_typed_into_them(book: Any) -> None:
    """Text format for ids, days and instants; times, dates and numbers are real ones; in later rows, too."""
    wanted = {
        "opens": "hh:mm",
        "time": "hh:mm",
        "closes": "[hh]:mm",
        "date": "yyyy-mm-dd",
        "expires": "yyyy-mm-dd",
    }
    for table in TABLE_NAMES:
        numbers = {
            name for (where, name), rule in rules(book).items() if (where, rule.type) == (table, "decimal")
        }
        for name, letter in named(book[table]).items():
            code = wanted.get(name, "General" if name in numbers | {"offset_minutes"} else "@")
            assert book[table].column_dimensions[letter].number_format == code, (table, name)
            assert book[table][f"{letter}2"].number_format == code
            longest = max(len(str(cell.value)) for cell in book[table][letter] if isinstance(cell.value, str))
            assert book[table].column_dimensions[letter].width >= min(longest, 44)


def test_headers_stay_in_sight_and_say_what_their_column_holds(book: Any) -> None:
    for table, columns in SPECS.items():
        assert book[table].freeze_panes == "A2"
        for cell, column in zip(book[table][1], columns, strict=True):
            assert (cell.value, cell.font.bold) == (column.name, column.needed)
            assert column.about.casefold() in cell.comment.text.casefold()
    assert book["events"]["E1"].comment.text == (
        "The level to dim to.\nMay hold: 0 to 100 (%).\nNeeded with action level."
    )


def test_the_guide_has_a_line_a_column_of_the_contract(book: Any) -> None:
    lines = [row for row in book["Guide"].iter_rows(values_only=True) if row[0] in COLUMNS]
    told = {table: [line for line in lines if line[0] == table and line[1]] for table in COLUMNS}
    assert {
        table: [f"{line[1]}{'*' * (line[2] == 'yes')}" for line in rows] for table, rows in told.items()
    } == {table: names.split() for table, names in COLUMNS.items()}
    assert all(line[3] and line[5] and line[6] for rows in told.values() for line in rows)
    assert [line[2] for line in lines if not line[1]] == ["yes"] * 3 + ["no", "yes"] + ["no"] * 4  # of tables
    units = {line[1]: line[4] for line in lines if line[4]}
    assert (
        units["connected_watts"] == "W" and units["floor_area_m2"] == "m2" and units["latitude"] == "degrees"
    )


def test_its_first_sheet_is_the_guide_and_the_others_are_the_tables(book: Any) -> None:
    assert book.sheetnames == ["Guide", *small()]
