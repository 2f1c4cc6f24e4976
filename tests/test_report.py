"""The report's pages: safe to open, complete, calm about what they do not know, and the same every time."""

import base64
import csv
import hashlib
import json
import posixpath
import re
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.report.links import PATTERN, page_name

from .conftest import Tables, front, run_audit, site_page, write_folder
from .report_case import BAD_ROWS, BRACES, IMAGE, SCRIPT, SETTINGS, circuit, device, tables
from .report_page import Page


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The result files of the four sites, a year."""
    folder = tmp_path_factory.mktemp("report")
    run_audit(write_folder(folder / "in", tables(), SETTINGS), folder / "out", days=365)
    return folder / "out"


@pytest.fixture(scope="module")
def pages(results: Path) -> dict[str, str]:
    """Every page by its path in the folder of results."""
    paths = [results / "report.html", results / "rules.html", *sorted((results / "sites").iterdir())]
    return {path.relative_to(results).as_posix(): path.read_text(encoding="utf-8") for path in paths}


@pytest.fixture(scope="module")
def text(results: Path) -> str:
    """The front page."""
    return front(results)


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    return Page(text)


@pytest.fixture(scope="module")
def said(pages: dict[str, str]) -> str:
    """The words of all pages, spaces as one."""
    return " ".join(" ".join(Page(text).said for text in pages.values()).split())


@pytest.fixture(scope="module")
def findings(results: Path) -> list[dict[str, str]]:
    with (results / "findings.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_pages_are_well_formed_and_their_ids_are_unique(pages: dict[str, str]) -> None:
    for text in pages.values():
        page = Page(text)
        assert {"html", "head", "body", "main", "h1"} <= page.tags
        assert len(page.ids) == len(set(page.ids))


def test_pages_ask_nothing_of_the_network(pages: dict[str, str]) -> None:
    for text in pages.values():
        page = Page(text)
        assert page.requests == []
        assert not page.tags & {"link", "img", "iframe", "object", "embed", "base"}
        assert not re.search(r"url\((?!#)|@import|@font-face", page.style)
        assert set(re.findall(r"https?://[^\"' <]+", text)) <= {
            "http://www.w3.org/2000/svg"
        }  # a name, no address
        assert "default-src 'none'" in text and "unsafe" not in text


def test_the_policy_names_the_very_style_and_script_of_the_page(pages: dict[str, str]) -> None:
    for text in pages.values():
        page = Page(text)
        run = [code for code in page.scripts if not code.startswith("{")]
        for code in [page.style, *run]:
            digest = base64.b64encode(hashlib.sha256(code.encode()).digest()).decode()
            assert f"'sha256-{digest}'" in text
        assert len(page.scripts) - len(run) <= 1 and text.count(" style=") == 0


def test_every_link_leads_somewhere(pages: dict[str, str]) -> None:
    places = {name: set(Page(text).ids) for name, text in pages.items()}
    for name, text in pages.items():
        for link in Page(text).links:
            path, _, part = link.partition("#")
            here = posixpath.normpath(posixpath.join(posixpath.dirname(name), path)) if path else name
            assert here in places and (not part or "=" in part or part in places[here]), f"{name}: {link}"


def test_hostile_names_are_words_and_nothing_else(pages: dict[str, str], said: str) -> None:
    for text in pages.values():
        assert "img" not in Page(text).tags
        assert all("<" not in code for code in Page(text).scripts if code.startswith("{"))
    for name in (IMAGE, BRACES, SCRIPT):
        assert name in said


def test_the_front_page_says_what_was_audited_and_how_complete_it_was(page: Page) -> None:
    words = " ".join(page.said.split())
    assert "4 sites, 7 circuits in use." in words
    assert f"{BAD_ROWS} of {len(rows_in())} input rows were rejected" in words
    assert f"Input rows read {len(rows_in())} kept {len(rows_in()) - BAD_ROWS} rejected {BAD_ROWS}" in words
    assert "Sites whose hours are not known 1" in words
    assert "Circuits without connected watts 2" in words
    assert "Devices without a clock reading 1" in words


def rows_in() -> list[object]:
    return [row for rows in tables().values() for row in rows]


def test_every_open_critical_finding_is_on_the_front_page(page: Page, findings: list[dict[str, str]]) -> None:
    worst = {
        row["finding_id"] for row in findings if (row["severity"], row["status"]) == ("critical", "open")
    }
    assert len(worst) >= 2
    assert worst <= {link.partition("#f")[2] for link in page.links}


def test_a_critical_rule_that_could_not_look_is_named_beside_the_critical_findings(text: str) -> None:
    safety = text[text.index('<section id="safety">') : text.index('<section id="rules">')]
    assert "Not judged for want of opening hours: Programmed dark while people are there" in safety


def test_every_finding_has_its_place_on_its_sites_page(results: Path, findings: list[dict[str, str]]) -> None:
    assert findings
    for row in findings:
        assert f"f{row['finding_id']}" in Page(site_page(results, row["site_id"])).ids


def test_every_site_is_listed_by_rank_for_readers_and_for_the_script(
    text: str, page: Page, results: Path
) -> None:
    with (results / "sites.csv").open(encoding="utf-8", newline="") as file:
        ranks = [row["site_id"] for row in csv.DictReader(file)]
    listed = text[text.index('<table class="index" id="list">') :].split("</table>")[0]
    assert re.findall(r'href="sites/([^"]+)"', listed) == [page_name(site) for site in ranks]
    island = json.loads(page.scripts[0])
    assert [(row[0], row[1], row[-1]) for row in island["sites"]] == [
        (rank, site, page_name(site)) for rank, site in enumerate(ranks, 1)
    ]


def test_only_the_first_sites_have_pages_where_so_many_are_wanted(tmp_path: Path) -> None:
    many = tables()
    many["sites"] += [{"site_id": f"T{n:02}", "latitude": 40, "longitude": -3} for n in range(20)]
    source = write_folder(tmp_path / "in", many, SETTINGS)
    stale = tmp_path / "out" / "sites" / "S9-0123abcd.html"
    stale.parent.mkdir(parents=True)
    stale.write_text("of a site that is gone")
    (stale.parent / "mine.html").write_text("a reader's own")
    audit(source, tmp_path / "out", None, 2, None, lambda *_: lambda _: None, pages=10)
    kept = {path.name for path in stale.parent.iterdir()}
    assert len(kept) == 11 and "mine.html" in kept and stale.name not in kept
    linked = {link.partition("#")[0] for link in Page(front(tmp_path / "out")).links}
    assert linked - {"", "rules.html"} == {f"sites/{name}" for name in kept - {"mine.html"}}


def test_ids_that_no_file_could_have_still_have_a_page_of_their_own() -> None:
    names = [page_name(site) for site in ("a/b", "a-b", "A-B", "../..", "", "ü", "x" * 10_000, "CON", "a\0b")]
    assert len({name.lower() for name in names}) == len(names)
    assert all(PATTERN.fullmatch(name) and len(name) <= 54 for name in names)


def words_of(results: Path, site: str) -> str:
    return " ".join(site_page(results, site).split())


def test_programs_are_told_in_sentences(results: Path) -> None:
    assert "Every day: on 20 min after sunset, off at 19:00." in words_of(results, "S1")
    path = words_of(results, "S2")
    assert "Every day: to 80 % at 20:00, off at 23:00." in path
    assert "Photocontrol P2, in series: keeps the circuit off until it is dark. Always in service." in path


def test_a_site_without_findings_has_its_programs_too(results: Path) -> None:
    calm = words_of(results, "S3")
    assert "No finding is open here" in calm and "Photocontrol P3, in parallel" in calm


def test_a_site_says_its_hours_and_its_clock(results: Path) -> None:
    section = words_of(results, "S1")
    assert "Open every day 09:00–22:00." in section
    assert "1 h less than local time" in section
    assert "2 h less than local time" in section
    assert "Opening hours are not known" in words_of(results, "S2")
    assert "Europe/Madrid (looked up from the coordinates)" in words_of(results, "S2")


def test_what_is_blank_is_not_known_and_never_zero(results: Path) -> None:
    page = words_of(results, "S2")
    path = page[page.index("path, walkway") :].split("</p>")[0]
    assert "watts not known" in path
    assert "while closed not known" in path
    assert "Energy not known, avoidable not known" in path
    assert "Energy and money not known." in page


def test_a_duty_to_light_and_a_reason_are_told_where_the_circuit_is_judged(results: Path) -> None:
    page = words_of(results, "S2")
    porch = page[page.index("porch, canopy") :].split("</p>")[0]
    assert "Must be lit whenever it is dark." in porch
    assert "Recorded reason: Lease of 2019." in porch
    assert "A duty to light is recorded: whenever it is dark." in page
    assert "Keep this egress lighting lit." in words_of(results, "S1")


def test_waived_and_exempt_findings_stand_apart_with_their_reason(said: str) -> None:
    assert (
        "Waived. Town fair. Approved by A. V., until 31 January 2027. No cutoff or setback at night" in said
    )
    assert "Exempt. Monument." in said


def test_a_waiver_that_lapsed_is_remembered(said: str) -> None:
    assert "Its waiver lapsed on 30 June 2026. Works." in said


def test_what_was_done_about_a_finding_that_is_still_there_is_told(said: str) -> None:
    assert "Recorded as done 1 October 2026 by T. O., and still there in the export read on " in said


def test_only_the_first_rejected_rows_are_printed_and_the_rest_is_named(text: str) -> None:
    rejected = text[text.index('id="rejected"') : text.index('id="not-evaluated"')]
    assert rejected.count("<tr>") == 1 + 200
    assert f"The first 200 of {3 * BAD_ROWS}; all of them are in rejected.csv." in rejected


def test_a_rule_that_is_switched_off_is_not_passed_off_as_silent(said: str) -> None:
    assert "Switched off in the settings, and so not looked for: Clock has drifted." in said


def test_cautions_stand_on_every_page(pages: dict[str, str], said: str) -> None:
    never = "ever switch off egress, emergency, security or care lighting on the strength of this"
    for text in pages.values():
        assert " ".join(Page(text).said.split()).count(never) >= 1
    for words in (
        "qualified people",
        "de-energised and locked out",
        "the authority having jurisdiction",
        "ask first",
    ):
        assert words in said
    assert "what is programmed, never that a lamp is lit" in said


def test_no_promise_is_made(said: str) -> None:
    assert not re.search(r"complian|certif|guarant", said, re.I)


def test_versions_and_inputs_are_on_the_page(said: str) -> None:
    assert "time zone database 20" in said
    assert re.search(r"circuits\.csv 7 7 0 [0-9a-f]{16}\b", said)
    assert "0.5 kg per kWh; no source given" in said


def test_the_same_inputs_give_the_same_bytes(results: Path, tmp_path: Path) -> None:
    run_audit(write_folder(tmp_path / "in", tables(), SETTINGS), tmp_path / "out", days=365)
    again = tmp_path / "out"
    for path in (results / "report.html", *(results / "sites").iterdir()):
        assert (again / path.relative_to(results)).read_bytes() == path.read_bytes()


def test_a_portfolio_without_findings_or_names_still_gives_a_page(tmp_path: Path) -> None:
    bare: Tables = {
        "sites": [{"site_id": "S3", "latitude": 41, "longitude": -3.7}],
        "controllers": [
            device("D3", "S3", clock_reading="2026-11-03T15:05:00", dst_rule="zone", clock_backup_hours=100)
        ],
        "circuits": [circuit("hall", "D3", "parking")],
        "events": [
            {
                "event_id": "1",
                "controller_id": "D3",
                "targets": "gone",
                "action": "on",
                "days": "daily",
                "anchor": "dusk",
            }
        ],
        "sensors": [{"sensor_id": "P3", "controller_id": "D3", "kind": "photocontrol", "circuits": "hall"}],
    }
    run_audit(write_folder(tmp_path / "in", bare), tmp_path / "out")
    words = " ".join(Page((tmp_path / "out/report.html").read_text(encoding="utf-8")).said.split())
    assert "No critical finding is open. That holds only for what could be judged" in words
    assert "How much energy could be avoided is not known." in words
