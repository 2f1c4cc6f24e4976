"""Workbooks that cannot be read: one sentence each, whoever reads them, and nothing worse."""

import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
import xlsxwriter

from auditor.errors import UserError
from auditor.intake import read_portfolio
from auditor.intake.books import Book
from auditor.mapping.grids import grids_of

from .book_case import patched, written

UNREADABLE = "book.xlsx cannot be read as a workbook; save it again as .xlsx."
# The workbook of one site, locked with "quernholt" by msoffcrypto-tool 6.1 (agile encryption).
LOCKED = Path(__file__).parent.parent / "fixtures" / "workbooks" / "locked.xlsx"
SHEET = "xl/worksheets/sheet1.xml"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The small portfolio as a workbook."""
    return written(tmp_path_factory.mktemp("sound") / "book.xlsx", {}).read_bytes()


def refusal(folder: Path, content: bytes) -> str:
    """What a person reads, from the contract's reader and from that of maps alike."""
    (folder / "book.xlsx").write_bytes(content)
    with pytest.raises(UserError) as refused:
        read_portfolio(folder / "book.xlsx")
    with pytest.raises(UserError) as of_maps:
        list(grids_of("book.xlsx", content, ("*",)))
    assert str(refused.value) == str(of_maps.value)
    return str(refused.value)


@pytest.mark.parametrize("share", [0.01, 0.3, 0.9, 0.999])
def test_one_that_is_cut_short(share: float, sound: bytes, tmp_path: Path) -> None:
    assert refusal(tmp_path, sound[: int(share * len(sound))]) == UNREADABLE


def test_one_that_is_locked_with_a_password(tmp_path: Path) -> None:
    assert refusal(tmp_path, LOCKED.read_bytes()) == (
        "book.xlsx is locked with a password; open it and save a copy without one."
    )


SPOILT: dict[str, tuple[str, Callable[[bytes], bytes]]] = {
    "a sheet cut short": (SHEET, lambda part: part[: len(part) // 2]),
    "a sheet that is no XML": (SHEET, lambda part: b"site_id,latitude"),
    "a sheet with a document type": (
        SHEET,
        lambda part: part.replace(b"<worksheet", b'<!DOCTYPE x [<!ENTITY a "aaaa">]><worksheet', 1),
    ),
    "a cell of no place": (SHEET, lambda part: part.replace(b'r="A2"', b'r="2A"')),
    "a cell in the row of another": (SHEET, lambda part: part.replace(b'r="A2"', b'r="A3"')),
    "a number that is none": (
        SHEET,
        lambda part: re.sub(rb'<c r="A2" t="s"><v>\d+</v>', b'<c r="A2"><v>x</v>', part),
    ),
    "a style that is not there": (SHEET, lambda part: part.replace(b'r="A2" t="s"', b'r="A2" s="x"')),
    "relations cut short": ("xl/_rels/workbook.xml.rels", lambda part: part[:200]),
    "a list of sheets cut short": ("xl/workbook.xml", lambda part: part[:300]),
    "styles cut short": ("xl/styles.xml", lambda part: part[:300]),
}


@pytest.mark.parametrize("case", sorted(SPOILT))
def test_one_that_is_damaged(case: str, sound: bytes, tmp_path: Path) -> None:
    assert refusal(tmp_path, patched(sound, *SPOILT[case])) == UNREADABLE


@pytest.mark.parametrize("kind", ["text", "number", "formula"])
def test_a_cell_far_from_its_table_is_refused_before_room_is_made_for_all_between(
    kind: str, tmp_path: Path
) -> None:
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        sheet = book.add_worksheet("sites")
        sheet.write(0, 0, "site_id")
        sheet.write(1_048_575, 16_383, {"text": " ", "number": 7, "formula": "=1"}[kind])
    with pytest.raises(UserError) as refused:
        Book("book.xlsx", data.getvalue()).sheet("sites")
    assert str(refused.value) == (
        "book.xlsx:sites reaches to row 1,048,576 and column XFD, which is more than 20,000,000 cells; "
        "delete what stands far from the table, or give it in parts."
    )


def test_cells_without_places_stand_one_behind_the_other() -> None:
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        sheet = book.add_worksheet("x")
        for row in range(3):
            sheet.write_row(row, 0, ["a", row, "b"])
            sheet.write_number(row, 3, row / 4, book.add_format({"num_format": "0%"}))
    bare = patched(data.getvalue(), SHEET, lambda part: re.sub(rb' r="[A-Z]*\d+"', b"", part))
    frame = Book("book.xlsx", bare).sheet("x").frame
    assert frame.rows() == Book("book.xlsx", data.getvalue()).sheet("x").frame.rows()
    assert frame["3"].to_list() == ["0%", "25%", "50%"]
