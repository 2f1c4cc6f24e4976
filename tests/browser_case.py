"""A real browser for the tests of the report: Chromium, driven by Playwright, with nothing to talk to."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
SHOTS = Path(__file__).parent.parent / ".artefacts"  # pictures of the pages, for somebody to look at
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]  # axe's names of its rules
PHONE: dict[str, Any] = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}


def needs_chromium() -> None:
    """Skips where there is no Chromium; in CI, which installs one, that is a failure."""
    if not CHROMIUM:
        assert not os.environ.get("AUDITOR_NEEDS_CHROMIUM"), "no Chromium, although it was asked for"
        pytest.skip("no Chromium on this machine; on Debian: apt-get install chromium")


@contextmanager
def chromium() -> Iterator[Browser]:
    """A browser without a sandbox (CI runs as root), for files of our own only."""
    needs_chromium()
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        yield browser
        browser.close()


class Watched:
    """A page, and everything that it asked for or complained of."""

    def __init__(self, browser: Browser, path: Path, part: str = "", **context: Any) -> None:
        self.page: Page = browser.new_context(**context).new_page()
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("dialog", lambda dialog: self.complaints.append(dialog.message) or dialog.dismiss())
        self.page.goto(f"{path.as_uri()}{part}")

    def until(self, condition: str) -> None:
        """Waits for a condition. A page's policy forbids the way in which playwright itself asks again."""
        for _ in range(200):
            if self.page.evaluate(condition):
                return
            self.page.wait_for_timeout(50)
        raise AssertionError(f"never: {condition}")

    def axe(self) -> list[str]:
        """What axe finds against WCAG 2.2 A and AA, and its best practice, as sentences."""
        found = Axe().run(self.page, options={"runOnly": WCAG}).response
        assert len(found["passes"]) > 10, "axe did not look"
        return [f"{rule['id']}: {node['html']}" for rule in found["violations"] for node in rule["nodes"]]

    def rows(self) -> list[str]:
        """Ids of the listed sites, in their order."""
        return self.page.eval_on_selector_all(
            "#list tbody th",
            "heads => heads.map(head => (head.querySelector('.id') ?? head).textContent)",
        )

    def overflowing(self) -> list[str]:
        """Beginnings of the elements that stand out of their page at the right."""
        return self.page.evaluate(
            """() => [...document.querySelectorAll('body *')].filter(element => {
                const box = element.getBoundingClientRect();
                const apart = element.closest('.skip, .scroll, svg, thead') || !box.width;
                return !apart && box.right > document.documentElement.clientWidth + 1;
            }).map(element => element.outerHTML.slice(0, 120))"""
        )

    def shot(self, name: str) -> None:
        """Keeps a picture of the whole page."""
        SHOTS.mkdir(exist_ok=True)
        self.page.screenshot(path=SHOTS / f"{name}.png", full_page=True)
