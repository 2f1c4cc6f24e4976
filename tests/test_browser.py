"""The report in a real browser: the list of sites, keyboard and touch, no script, and nothing that leaves."""

import csv
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from auditor.letters import on_page
from auditor.report.links import page_name

from .browser_case import PHONE, Watched, chromium
from .conftest import run_audit, write_folder
from .report_case import BRACES, IMAGE, SCRIPT, SETTINGS, tables

EMOJI, RIGHT_TO_LEFT = "Kiosk 🎡 \"quoted\" & 'so'", "ספרייה‮evil"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as browser:
        yield browser


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("hostile")
    bent = tables()
    bent["sites"][2]["name"], bent["sites"][3]["name"] = EMOJI, RIGHT_TO_LEFT
    run_audit(write_folder(folder / "in", bent, SETTINGS), folder / "out", days=365)
    return folder / "out"


def rows_of(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def open_sites(folder: Path, **wanted: str) -> set[str]:
    """Sites with an open finding of this kind."""
    return {
        row["site_id"]
        for row in rows_of(folder, "findings")
        if row["status"] == "open" and all(row[key] == value for key, value in wanted.items())
    }


# Nothing leaves, nothing is complained of ------------------------------------------------------------------


def test_no_page_asks_for_anything_or_complains(browser: Browser, demo: Path, hostile: Path) -> None:
    for folder in (demo, hostile):
        for path in (
            folder / "report.html",
            folder / "rules.html",
            *sorted((folder / "sites").iterdir())[:12],
        ):
            seen = Watched(browser, path)
            assert (seen.requests, seen.complaints) == ([path.as_uri()], [])
            seen.page.context.close()


@pytest.mark.parametrize(
    "attempt",
    [
        "fetch('https://example.org/').catch(() => 0)",
        "document.body.append(Object.assign(new Image(), {src: 'https://example.org/a.png'}))",
        "let s = document.createElement('script'); s.textContent = 'window.ran = 1'; document.body.append(s)",
        "document.body.insertAdjacentHTML('beforeend', '<p onclick=\"window.ran = 1\">x</p>')",
        "document.body.insertAdjacentHTML('beforeend', '<p style=\"color: red\">x</p>')",
    ],
)
def test_the_policy_stops_what_is_not_the_pages_own(browser: Browser, demo: Path, attempt: str) -> None:
    seen = Watched(browser, demo / "report.html")
    page = seen.page
    page.evaluate("document.addEventListener('securitypolicyviolation', () => window.stopped = true)")
    page.evaluate(attempt)
    seen.until("window.stopped")
    assert page.evaluate("window.ran") is None


def test_hostile_names_show_as_text(browser: Browser, hostile: Path) -> None:
    seen = Watched(browser, hostile / "report.html")
    listed = seen.page.inner_text("#list")
    for name in (IMAGE, BRACES, EMOJI, on_page(RIGHT_TO_LEFT)):
        assert name in listed
    assert SCRIPT in seen.page.inner_text("h1") and seen.complaints == []
    seen.page.click(f"#list a:text-is('{BRACES}')")
    assert seen.page.inner_text("h1").startswith(BRACES) and seen.complaints == []


# The list of sites -----------------------------------------------------------------------------------------


def test_it_lists_every_site_by_rank(browser: Browser, demo: Path) -> None:
    assert Watched(browser, demo / "report.html").rows() == [row["site_id"] for row in rows_of(demo, "sites")]


def test_it_is_sorted_by_a_click_and_back_by_another(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "report.html")
    cost = {row["site_id"]: float(row["avoidable_cost"] or -1) for row in rows_of(demo, "sites")}
    seen.page.click("th[data-sort=cost] button")
    dear = [round(cost[site]) for site in seen.rows()]
    assert dear == sorted(dear, reverse=True) and dear[0] > 0
    assert seen.page.get_attribute("th[data-sort=cost]", "aria-sort") == "descending"
    seen.page.click("th[data-sort=cost] button")
    known = [round(cost[site]) for site in seen.rows() if cost[site] >= 0]
    assert (known == sorted(known) and cost[seen.rows()[-1]] <= known[0]) or min(cost.values()) >= 0
    assert seen.page.get_attribute("th[data-sort=cost]", "aria-sort") == "ascending"


def test_rule_severity_and_area_must_meet_in_one_finding(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "report.html")
    seen.page.select_option("[name=rule]", "lit-in-daylight")
    assert set(seen.rows()) == open_sites(demo, rule="lit-in-daylight")
    seen.page.select_option("[name=severity]", "high")
    both = open_sites(demo, rule="lit-in-daylight", severity="high")
    assert set(seen.rows()) == both and 0 < len(both) < len(open_sites(demo, rule="lit-in-daylight"))
    assert seen.page.inner_text("#matches") == f"{len(both)} of 122 sites"
    seen.page.click("#filter button")
    assert len(seen.rows()) == 122


def test_region_and_text_narrow_it_further(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "report.html")
    seen.page.select_option("[name=region]", "Germany")
    german = seen.rows()
    seen.page.fill("[name=text]", "museum GERMANY")
    some = seen.rows()
    assert 0 < len(some) < len(german) < 122 and set(some) < set(german)
    assert all("Museum" in row for row in seen.page.locator("#list tbody th").all_inner_texts())
    seen.page.fill("[name=text]", "nowhere at all")
    assert seen.rows() == [] and seen.page.inner_text("#matches") == "No site matches."


@pytest.mark.parametrize("text", ["koln", "KÖLN", "Korbmachergasse 17", "cologne koln"])
def test_the_text_is_looked_for_in_addresses_too_accents_or_not(
    browser: Browser, demo: Path, text: str
) -> None:
    seen = Watched(browser, demo / "report.html")
    seen.page.fill("[name=text]", text)
    assert seen.rows() == ([] if "cologne" in text else ["M-0305"])
    seen.page.fill("[name=text]", "enzianstrasse")
    assert seen.rows() == ["L-0304"]  # Enzianstraße


def test_back_undoes_a_choice(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "report.html")
    seen.page.select_option("[name=region]", "UK North")
    some = seen.rows()
    seen.page.select_option("[name=severity]", "high")
    assert len(seen.rows()) < len(some)
    seen.page.go_back()
    seen.until("!document.querySelector('[name=severity]').value")
    assert seen.rows() == some and seen.page.input_value("[name=region]") == "UK North"


def test_a_link_shows_the_same_to_others(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "report.html")
    seen.page.select_option("[name=region]", "UK North")
    seen.page.click("th[data-sort=name] button")
    part = seen.page.evaluate("location.hash")
    assert part == "#region=UK+North&sort=name"
    other = Watched(browser, demo / "report.html", part)
    assert other.rows() == seen.rows() and 0 < len(other.rows()) < 122
    assert other.page.input_value("[name=region]") == "UK North"


@pytest.mark.parametrize("part", ["#sort=__proto__", "#area=", "#x=%3Cscript%3E", "#sites", "#=", "#%"])
def test_an_address_that_nobody_meant_breaks_nothing(browser: Browser, demo: Path, part: str) -> None:
    seen = Watched(browser, demo / "report.html", part)
    assert seen.complaints == [] and seen.page.inner_text("#matches").endswith("122 sites")


def test_a_region_in_the_tables_leads_to_its_sites(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "report.html")
    seen.page.click("#regions a:text-is('Japan')")
    regions = seen.page.locator("#list tbody td.region").all_inner_texts()
    assert regions and set(regions) == {"Japan"}


def test_a_rule_in_words_leads_to_its_sites(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "rules.html")
    seen.page.click("#r-left-in-hand a >> nth=0")
    seen.until("document.querySelector('#matches')?.textContent")
    assert set(seen.rows()) == open_sites(demo, rule="left-in-hand")


# Hands ------------------------------------------------------------------------------------------------------


def test_the_keyboard_alone_finds_and_opens_a_site(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "report.html")
    keys = seen.page.keyboard
    keys.press("Tab")  # the skip link
    assert seen.page.evaluate("document.activeElement.textContent") == "To the list of sites"
    keys.press("Enter")
    keys.press("Tab")
    assert seen.page.evaluate("document.activeElement.name") == "text"
    keys.type("Enzian")
    (site,) = seen.rows()
    for _ in range(20):
        keys.press("Tab")
        if seen.page.evaluate("document.activeElement.closest('tbody') !== null"):
            break
    keys.press("Enter")
    seen.page.wait_for_url(f"**/sites/{page_name(site)}")
    assert site in seen.page.inner_text("h1")


def test_a_tap_on_a_phone_opens_a_site_and_nothing_stands_out(browser: Browser, demo: Path) -> None:
    seen = Watched(browser, demo / "report.html", **PHONE)
    assert seen.overflowing() == []
    seen.page.tap(".first a >> nth=0")
    seen.page.wait_for_url("**/sites/*")
    assert seen.overflowing() == [] and seen.complaints == []


def test_on_a_phone_a_caption_is_read_without_moving_its_table(browser: Browser, demo: Path) -> None:
    page = Watched(browser, demo / "report.html", **PHONE).page
    widths = page.evaluate(
        "[...document.querySelectorAll('caption')].map(c => c.getBoundingClientRect().width)"
    )
    assert len(widths) > 3 and max(widths) <= PHONE["viewport"]["width"]


def test_the_front_page_answers_on_one_screen(browser: Browser, demo: Path) -> None:
    page = Watched(browser, demo / "report.html", viewport={"width": 1440, "height": 800}).page
    for part in (".lede", "ol.first li", ".brief", ".beside .caution"):
        box = page.locator(f"#summary {part}").last.bounding_box()
        assert box is not None and box["y"] + box["height"] <= 800, part


# Without its script ----------------------------------------------------------------------------------------


def test_without_script_it_is_a_plain_document(browser: Browser, demo: Path) -> None:
    page = Watched(browser, demo / "report.html", java_script_enabled=False).page
    assert page.locator("#list tbody tr").count() == 122
    assert not page.locator("#filter").is_visible() and not page.locator("#more").is_visible()
