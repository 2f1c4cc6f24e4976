"""The report for every reader: axe finds nothing, paper cuts nothing off, pictures of the pages are kept."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from unicodedata import normalize

import pytest
from playwright.sync_api import Browser
from pypdf import PdfReader

from .browser_case import PHONE, Watched, chromium

PAPER = {
    "width": 680,
    "height": 960,
}  # A4 within margins of 15 mm, in CSS pixels


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as browser:
        yield browser


@pytest.fixture(scope="module")
def pages(demo: Path) -> list[Path]:
    """The front page, and the pages of the first site by rank and of the last."""
    sites = sorted((demo / "sites").iterdir())
    return [demo / "report.html", demo / "rules.html", sites[0], sites[-1]]


@pytest.mark.parametrize(
    ("width", "scheme"), [pytest.param(1280, "light", marks=pytest.mark.nightly), (390, "dark")]
)
def test_axe_finds_nothing(browser: Browser, pages: list[Path], width: int, scheme: str) -> None:
    for path in pages:
        size = {"width": width, "height": 900}
        assert Watched(browser, path, viewport=size, color_scheme=scheme).axe() == []


def test_on_paper_no_table_is_cut_off(browser: Browser, pages: list[Path]) -> None:
    for path in pages:
        page = Watched(browser, path, viewport=PAPER).page
        page.emulate_media(media="print")
        rights = "tables => tables.map(table => table.getBoundingClientRect().right)"
        assert max(page.eval_on_selector_all("table", rights), default=0) <= PAPER["width"] + 1


def test_the_printed_front_page_has_all_its_words_and_its_page_numbers(browser: Browser, demo: Path) -> None:
    page = Watched(browser, demo / "report.html").page
    paper = PdfReader(BytesIO(page.pdf(format="A4", prefer_css_page_size=True)))
    texts = [sheet.extract_text() for sheet in paper.pages]
    said = normalize("NFKC", "".join("".join(texts).split()))  # ligatures as letters
    words = {word for cell in page.locator("td, th").all_inner_texts() for word in cell.split()}
    assert {word for word in words - {"↑", "↓"} if word not in said} == set() and len(words) > 500
    assert all(f"{number} / {len(texts)}" in text for number, text in enumerate(texts, 1))


def test_a_printed_site_page_tells_its_first_finding_on_its_first_sheet(
    browser: Browser, pages: list[Path]
) -> None:
    """A rule for another page's last lines once kept all findings together with the circuits below them."""
    page = Watched(browser, pages[2]).page
    first = PdfReader(BytesIO(page.pdf(format="A4", prefer_css_page_size=True))).pages[0].extract_text()
    said = page.locator(".work h3").first.inner_text()
    assert "".join(said.split()) in normalize("NFKC", "".join(first.split()))


@pytest.mark.nightly
@pytest.mark.parametrize("scheme", [pytest.param("light", marks=pytest.mark.nightly), "dark"])
def test_pictures_of_the_pages_are_kept(browser: Browser, pages: list[Path], scheme: str) -> None:
    for name, path in zip(("front", "rules", "site", "last-site"), pages, strict=True):
        size = {"width": 1280, "height": 900}
        Watched(browser, path, viewport=size, color_scheme=scheme).shot(f"{name}-{scheme}")
        seen = Watched(browser, path, color_scheme=scheme, **PHONE)
        seen.shot(f"{name}-{scheme}-phone")
        assert seen.overflowing() == []
