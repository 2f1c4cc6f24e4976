"""``findings.xlsx``: the same bytes every time, and what is too long, odd, unknown or in the way."""

import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from zipfile import ZipFile

import pytest

from auditor import workbook
from auditor.errors import UserError
from auditor.store import Connection, open_store
from auditor.workbook import write_workbook

from .workbook_case import book, own_reading

MOST_UNITS = 32_767  # UTF-16 units of a cell, as the makers of spreadsheets publish it


@pytest.fixture
def store() -> Connection:
    return open_store(Path(":memory:"))


def reject(store: Connection, *values: str) -> None:
    """Rows for the sheet of rejected rows: the simplest place for a text."""
    for number, value in enumerate(values, 2):
        row = [f"{number}.csv", number, "name", value, "is odd"]
        store.execute(
            'INSERT INTO rejected (source_file, source_row, "column", value, reason) VALUES (?,?,?,?,?)', row
        )


def values_in(path: Path) -> list[str | None]:
    """The column of values of the sheet of rejected rows, by our own reader."""
    return [row[3] for row in own_reading(path, "Rejected")]


def test_without_a_currency_money_is_called_money(store: Connection, tmp_path: Path) -> None:
    write_workbook(store, tmp_path / "a.xlsx")
    assert "Cost, money a year\ncost" in [cell.value for cell in book(tmp_path / "a.xlsx")["Findings"][1]]


def test_the_same_store_gives_the_same_bytes_at_another_time(store: Connection, tmp_path: Path) -> None:
    reject(store, "a", "b")
    write_workbook(store, tmp_path / "a.xlsx")
    time.sleep(1.1)  # the file's own times are of whole seconds
    write_workbook(store, tmp_path / "b.xlsx")
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()
    with ZipFile(tmp_path / "a.xlsx") as archive:
        assert {entry.date_time[0] for entry in archive.infolist()} == {1980}
        assert str(date.today().year).encode() not in archive.read("docProps/core.xml")


def test_a_list_that_is_too_long_says_where_its_rest_is(store: Connection, tmp_path: Path) -> None:
    reject(store, *"abcdefgh")
    write_workbook(store, tmp_path / "a.xlsx", most_rows=5)
    sheet = book(tmp_path / "a.xlsx")["Rejected"]
    assert (sheet.max_row, sheet.auto_filter.ref) == (5, "A1:E4")
    assert [cell.value for cell in sheet["D"][1:4]] == ["a", "b", "c"]
    assert sheet["A5"].value == "5 further rows did not fit; rejected.csv holds every row."


def test_a_list_that_just_fits_says_nothing(store: Connection, tmp_path: Path) -> None:
    reject(store, *"abcd")
    write_workbook(store, tmp_path / "a.xlsx", most_rows=5)
    sheet = book(tmp_path / "a.xlsx")["Rejected"]
    assert [cell.value for cell in sheet["D"][1:]] == ["a", "b", "c", "d"]
    write_workbook(store, tmp_path / "a.xlsx", most_rows=4)
    assert book(tmp_path / "a.xlsx")["Rejected"]["A4"].value.startswith("2 further rows did not fit")


@pytest.mark.parametrize(
    "text", ["a\x01b", "a\x0b\x1fb", "a\r\nb", "<r><t>x</t></r>", "<r>a</r", "]]>&amp;", "a\x00b"]
)
def test_text_that_xml_cannot_hold_survives(store: Connection, tmp_path: Path, text: str) -> None:
    reject(store, text)
    write_workbook(store, tmp_path / "a.xlsx")
    assert values_in(tmp_path / "a.xlsx") == [text]


@pytest.mark.parametrize("noncharacter", ["\ufffe", "\uffff"])
def test_what_is_no_character_at_all_does_not_break_the_file(
    store: Connection, tmp_path: Path, noncharacter: str
) -> None:
    reject(store, f"a{noncharacter}b")
    write_workbook(store, tmp_path / "a.xlsx")
    value = values_in(tmp_path / "a.xlsx")[0] or ""
    assert (value[0], value[-1], noncharacter in value) == ("a", "b", False)


@pytest.mark.parametrize("letter", ["x", "𝄞"])  # one UTF-16 unit, and two
def test_a_text_too_long_for_a_cell_is_cut_and_says_so(
    store: Connection, tmp_path: Path, letter: str
) -> None:
    units = len(letter.encode("utf-16-le")) // 2
    longest = letter * (MOST_UNITS // units)
    reject(store, longest, longest + letter, "=" + letter * 50_000)
    write_workbook(store, tmp_path / "a.xlsx")
    whole, *cut = values_in(tmp_path / "a.xlsx")
    assert whole == longest
    for value in cut:
        assert value is not None
        assert MOST_UNITS - 1 <= len(value.encode("utf-16-le")) // 2 <= MOST_UNITS
        assert value.removeprefix("=").startswith(letter * 10_000)
        assert value.endswith("… (cut here; the CSV file has all of it)")
        assert "\ufffd" not in value  # what is left of a letter cut in two


def test_a_long_text_stays_text_when_it_is_edited_though_not_in_text_format(
    store: Connection, tmp_path: Path
) -> None:
    # A cell of more than 255 characters in text format is shown as a row of # by older spreadsheets.
    reject(store, "=" + "x" * 300)
    write_workbook(store, tmp_path / "a.xlsx")
    cell = book(tmp_path / "a.xlsx")["Rejected"]["D2"]
    assert (cell.number_format, cell.quotePrefix, cell.value[:2]) == ("General", True, "=x")


def test_what_is_unknown_or_no_number_is_blank(store: Connection, tmp_path: Path) -> None:
    columns = "rank, site_id, score, avoidable_kwh, avoidable_cost, visit_needed"
    store.execute(f"INSERT INTO site_ranks ({columns}) VALUES (1, 'a', 'NaN', NULL, 'Infinity', NULL)")
    store.execute(f"INSERT INTO site_ranks ({columns}) VALUES (2, '', -1.5, 0, 12345678.9, false)")
    write_workbook(store, tmp_path / "a.xlsx")
    rows = list(book(tmp_path / "a.xlsx")["Sites"].iter_rows(min_row=2, values_only=True))
    assert rows[0] == (1, "a", *[None] * 8)
    assert rows[1] == (2, None, -1.5, 0, 12345678.9, None, None, None, None, False)


def test_a_portfolio_without_findings_gives_sheets_with_headers_alone(
    store: Connection, tmp_path: Path
) -> None:
    write_workbook(store, tmp_path / "a.xlsx")
    assert {sheet.max_row for sheet in book(tmp_path / "a.xlsx")} == {1}


def test_a_folder_that_is_not_there_is_said_in_one_sentence(store: Connection, tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"findings\.xlsx cannot be written; check the folder"):
        write_workbook(store, tmp_path / "gone" / "findings.xlsx")


@contextmanager
def no_file_beyond(size: int) -> Iterator[None]:
    """What the system says on a full disk, it says here of a file that grows beyond so many bytes."""
    resource = pytest.importorskip("resource", reason="needs limits that the system sets")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


# The library leaves its archive open, which Python then cannot close either.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_full_disk_is_said_and_leaves_the_earlier_workbook(store: Connection, tmp_path: Path) -> None:
    earlier = tmp_path / "findings.xlsx"
    earlier.write_text("earlier")
    with no_file_beyond(1000), pytest.raises(UserError, match="there is no room left"):
        write_workbook(store, earlier)
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("findings.xlsx", "earlier")]


def test_the_limits_are_those_of_the_format() -> None:
    # As the makers of spreadsheets publish them: 1,048,576 rows a sheet, 32,767 characters a cell.
    assert (workbook._MOST_ROWS, workbook._LONGEST) == (1_048_576, MOST_UNITS)
