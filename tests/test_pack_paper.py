"""The pack as PDF: tagged, with bookmarks and page numbers, the same bytes every time."""

import os
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from auditor.errors import UserError
from auditor.pack.paper import library, printed
from auditor.pack.views import css_text
from auditor.report.links import page_name

from .pack_case import kept, pack


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    try:
        library()
    except UserError as error:  # Pango is a library of the system; CI installs it
        assert not os.environ.get("AUDITOR_NEEDS_PANGO"), error
        pytest.skip(str(error))
    folder = tmp_path_factory.mktemp("paper")
    pack(kept(folder), folder / "pack", "LD", paper="letter")
    return folder / "pack"


@pytest.fixture(scope="module")
def pdf(out: Path) -> PdfReader:
    return PdfReader((out / page_name("L")).with_suffix(".pdf"))


def elements(part: Any) -> list[Any]:
    """Every element of the structure below this one."""
    part = part.get_object() if hasattr(part, "get_object") else part
    if isinstance(part, list):
        return [found for each in part for found in elements(each)]
    if not hasattr(part, "keys"):
        return []
    return [part, *elements(part.get("/K", []))]


def test_it_is_tagged_and_says_its_language_and_title(pdf: PdfReader) -> None:
    root: Any = pdf.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] and root["/Lang"] == "en"
    assert (
        pdf.metadata is not None
        and pdf.metadata.title == "Library: evidence from schedules, IECC 2021, commercial provisions"
    )
    kinds = {str(found["/S"]) for found in elements(root["/StructTreeRoot"]) if "/S" in found}
    assert {"/H1", "/H2", "/H3", "/Table", "/TH", "/TD", "/L", "/Link", "/Figure"} <= kinds


def test_every_figure_has_its_text(pdf: PdfReader) -> None:
    root: Any = pdf.trailer["/Root"]
    figures = [found for found in elements(root["/StructTreeRoot"]) if found.get("/S") == "/Figure"]
    assert len(figures) > 4
    assert all(str(found.get("/Alt", "")).strip() for found in figures)


def test_its_bookmarks_are_the_headings(pdf: PdfReader) -> None:
    def titles(entries: Any) -> list[str]:
        return [
            name
            for entry in entries
            for name in (titles(entry) if isinstance(entry, list) else [entry.title])
        ]

    found = titles(pdf.outline)
    assert {
        "Library",
        "Items by clause",
        "Sequence of operation",
        "To be tested on site",
        "Signatures",
    } <= set(found)


def test_every_page_has_its_number_and_the_site(pdf: PdfReader) -> None:
    pages = len(pdf.pages)
    for number, page in enumerate(pdf.pages, 1):
        text = " ".join(page.extract_text().split())
        assert f"{number} / {pages}" in text
        assert "L · IECC 2021, commercial provisions" in text


def test_the_paper_is_the_one_that_was_asked_for(pdf: PdfReader, out: Path) -> None:
    assert tuple(map(float, pdf.pages[0].mediabox[2:])) == (612, 792)  # letter: 8.5 by 11 inches of 72 points
    (matrix,) = PdfReader(out / "matrix.pdf").pages
    assert tuple(map(float, matrix.mediabox[2:])) == (792, 612)


def test_pictures_keep_their_letters_and_textures(pdf: PdfReader) -> None:
    text = " ".join(page.extract_text() for page in pdf.pages)
    assert "06:00" in text and "Sep" not in text and "Nov" in text and "sunset" in text


def test_the_same_page_gives_the_same_bytes() -> None:
    page = '<html lang="en"><title>t</title><h1>t</h1>'
    first = printed(page, "a4")
    assert first == printed(page, "a4")
    assert len(PdfReader(BytesIO(first)).pages) == 1


def test_text_in_a_style_sheet_cannot_end_it() -> None:
    assert css_text('a"</style>') == r'"a\22 \3c \2f style\3e "'
