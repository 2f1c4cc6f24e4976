"""The year picture under a pointer, a finger and the arrow keys, in a real browser."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from .browser_case import PHONE, Watched, chromium
from .conftest import run_audit, write_folder
from .picture_case import NEW_YORK, one_site, step

WAITS = "Point at a date, or move with the arrow keys, to read its times."
CHANGED = 133  # dates from 1 November 2026 to 14 March 2027, when clocks go forward in New York (tzdata)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as browser:
        yield browser


@pytest.fixture(scope="module")
def lot(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A lot on from 16:00 to 10:00 by a device that stays on standard time; open from 09:00 to 21:00."""
    folder = tmp_path_factory.mktemp("lot")
    hours = [{"days": "daily", "opens": "09:00", "closes": "21:00"}]
    tables = one_site(NEW_YORK, hours=hours, dst_rule="none", utc_offset="-05:00")
    tables["events"] = [step("on", "16:00"), step("off", "10:00")]
    run_audit(write_folder(folder / "in", tables), folder / "out", days=365)
    (page,) = (folder / "out" / "sites").iterdir()
    return page


def reading(page: Page) -> str:
    return page.locator(".yp-reading").first.inner_text()


def point(page: Page, plot: int, day: int) -> tuple[float, float]:
    """Where a date is in a plot."""
    box = page.locator(".yp-plot .yp-dark").nth(plot).bounding_box()
    assert box is not None
    return box["x"] + box["width"] * (day + 0.5) / 365, box["y"] + box["height"] / 2


def test_the_pointer_reads_a_date(browser: Browser, lot: Path) -> None:
    seen = Watched(browser, lot)
    assert reading(seen.page) == WAITS
    seen.page.locator(".yp-plot").first.scroll_into_view_if_needed()
    seen.page.mouse.move(*point(seen.page, 0, CHANGED + 1))
    told = reading(seen.page)
    assert told.startswith("Monday, 15 March 2027. On in darkness 00:00–")
    # On at 16:00 and off at 10:00 of the device's clock, which is 17:00 and 11:00 of local daylight time.
    assert re.search(r"[Oo]n in daylight \d\d:\d\d–11:00, 17:00–\d\d:\d\d", told)
    assert re.search(r"Sunrise 07:\d\d, sunset 19:\d\d\. Open 09:00–21:00\.", told)
    assert seen.complaints == []


def test_a_change_of_clocks_is_said_on_its_date(browser: Browser, lot: Path) -> None:
    seen = Watched(browser, lot)
    seen.page.locator(".yp-plot").first.scroll_into_view_if_needed()
    seen.page.mouse.move(*point(seen.page, 0, CHANGED))
    assert "Clocks go forward 1 h on 14 March 2027, and this device does not follow." in reading(seen.page)


def test_the_arrow_keys_move_and_stop_at_the_ends(browser: Browser, lot: Path) -> None:
    page = Watched(browser, lot).page
    plot = page.get_by_role("slider", name="Date of the picture").first
    plot.focus()
    for keys, date in (
        (["Home"], "1 November 2026"),
        (["ArrowLeft"], "1 November 2026"),
        (["ArrowRight", "ArrowUp"], "3 November 2026"),
        (["PageUp"], "3 December 2026"),
        (["End", "ArrowRight"], "31 October 2027"),
        (["PageDown"], "1 October 2027"),
    ):
        for key in keys:
            plot.press(key)
        assert plot.get_attribute("aria-valuetext") == date
        assert date in reading(page)


def test_both_pictures_of_a_circuit_move_together(browser: Browser, lot: Path) -> None:
    seen = Watched(browser, lot)
    seen.page.locator(".yp-plot").nth(1).scroll_into_view_if_needed()
    seen.page.mouse.move(*point(seen.page, 1, CHANGED + 1))
    told = [plot.get_attribute("aria-valuetext") for plot in seen.page.locator(".yp-plot").all()]
    assert told == ["15 March 2027"] * 2
    assert "On, would be off with a right clock 10:00–11:00" in reading(seen.page)


def test_a_finger_reads_a_date(browser: Browser, lot: Path) -> None:
    page = Watched(browser, lot, **PHONE).page
    page.locator(".yp-plot").first.scroll_into_view_if_needed()
    page.touchscreen.tap(*point(page, 0, CHANGED + 1))
    assert "15 March 2027" in reading(page)
