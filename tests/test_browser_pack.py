"""The pack in a real browser: axe finds nothing, nothing is asked for, paper cuts nothing off."""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from pypdf import PdfReader

from auditor.report.links import page_name

from .browser_case import Watched, chromium
from .pack_case import kept, pack

PAPERS = {"A4": (794 - 113, 1123), "Letter": (816 - 113, 1056)}  # CSS pixels, less margins of 15 mm


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as browser:
        yield browser


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("pack")
    pack(kept(folder), folder / "pack")
    return [folder / "pack" / page_name(site) for site in "LDE"] + [folder / "pack" / "matrix.html"]


@pytest.mark.parametrize(
    ("width", "scheme"), [pytest.param(1440, "light", marks=pytest.mark.nightly), (390, "dark")]
)
def test_axe_finds_nothing_and_nothing_is_asked_for(
    browser: Browser, pages: list[Path], width: int, scheme: str
) -> None:
    for path in pages:
        seen = Watched(browser, path, viewport={"width": width, "height": 900}, color_scheme=scheme)
        assert seen.axe() == []
        assert (seen.requests, seen.complaints, seen.overflowing()) == ([path.as_uri()], [], [])
        seen.shot(f"pack-{path.stem}-{width}")


@pytest.mark.parametrize("paper", ["A4", pytest.param("Letter", marks=pytest.mark.nightly)])
def test_on_paper_no_table_is_cut_off(browser: Browser, pages: list[Path], paper: str) -> None:
    width, height = PAPERS[paper]
    for path in pages:
        room = (height, width) if path.stem == "matrix" else (width, height)  # the matrix lies on its side
        page = Watched(browser, path, viewport={"width": room[0], "height": room[1]}).page
        page.emulate_media(media="print")
        rights = "tables => tables.map(table => table.getBoundingClientRect().right)"
        assert max(page.eval_on_selector_all("table", rights), default=0) <= room[0] + 1


def test_printed_pages_have_numbers_and_the_site(browser: Browser, pages: list[Path]) -> None:
    printed = PdfReader(BytesIO(Watched(browser, pages[0]).page.pdf(prefer_css_page_size=True)))
    for number, page in enumerate(printed.pages, 1):
        text = " ".join(page.extract_text().split())
        assert f"{number} / {len(printed.pages)}" in text and "L · IECC 2021" in text


def test_without_script_every_link_leads_somewhere(browser: Browser, pages: list[Path]) -> None:
    page = Watched(browser, pages[0], java_script_enabled=False).page
    targets = page.locator("a[href^='#']")
    names = {targets.nth(place).get_attribute("href") for place in range(targets.count())}
    assert len(names) > 20
    assert [name for name in names if name and not page.locator(f"[id='{name[1:]}']").count()] == []


@pytest.mark.parametrize(("width", "seen"), [(390, True), (1440, False)])
def test_the_matrix_says_where_it_is_wider_than_the_screen(
    browser: Browser, pages: list[Path], width: int, seen: bool
) -> None:
    page = Watched(browser, pages[-1], viewport={"width": width, "height": 900}).page
    assert page.locator("#sideways").is_visible() is seen
    wider = page.eval_on_selector(".scroll", "box => box.scrollWidth > box.clientWidth")
    assert wider is seen
