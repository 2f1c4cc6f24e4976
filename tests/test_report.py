"""report.html: safe to open, complete, calm about what it does not know, and the same every time."""

import csv
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from .conftest import Tables, run_audit, write_folder
from .report_case import BAD_ROWS, BRACES, IMAGE, SCRIPT, SETTINGS, circuit, device, tables

VOID = {"meta", "br"}
PHRASING = {"a", "b", "br", "em", "strong", "span"}  # all that a paragraph may hold here


class Page(HTMLParser):
    """A report taken apart; raises AssertionError where a tag is not closed in its order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.requests: list[str] = []
        self.style = ""
        self.said = ""
        self.feed(text)
        self.close()
        assert not self.open, f"never closed: {self.open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        facts = dict(attrs)
        assert "p" not in self.open or tag in PHRASING, f"<{tag}> ends the paragraph that it stands in"
        self.tags.add(tag)
        self.ids += [facts["id"] or ""] if "id" in facts else []
        self.links += [facts["href"] or ""] if tag == "a" else []
        self.requests += [name for name in facts if name in {"src", "srcset", "action", "data", "poster"}]
        self.requests += [name for name in facts if name.startswith("on") or (name == "href" and tag != "a")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, (
            f"</{tag}> while {self.open[-3:]} are open, near line {self.getpos()}"
        )
        self.open.pop()
        self.said += "" if tag in PHRASING else " "

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] == "style":
            self.style += data
        else:
            self.said += data


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The result files of the four sites, a year."""
    folder = tmp_path_factory.mktemp("report")
    run_audit(write_folder(folder / "in", tables(), SETTINGS), folder / "out", days=365)
    return folder / "out"


@pytest.fixture(scope="module")
def text(results: Path) -> str:
    return (results / "report.html").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def page(text: str) -> Page:
    return Page(text)


@pytest.fixture(scope="module")
def said(page: Page) -> str:
    """The words of the page, spaces as one."""
    return " ".join(page.said.split())


@pytest.fixture(scope="module")
def findings(results: Path) -> list[dict[str, str]]:
    with (results / "findings.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def first_page(text: str) -> str:
    """The part before the exceptions by rule."""
    return text[text.index('<section id="summary">') : text.index('<section id="rules">')]


def section_of(text: str, rank: int) -> str:
    """The section of the site of this rank."""
    start = text.index(f'<section class="site" id="s{rank}">')
    return text[start : text.index("</section>", start)]


def test_the_page_is_well_formed_and_its_ids_are_unique(page: Page) -> None:
    assert {"html", "head", "body", "main", "table", "h1"} <= page.tags
    assert len(page.ids) == len(set(page.ids))


def test_the_page_asks_nothing_of_the_network(page: Page, text: str) -> None:
    assert page.requests == []
    assert not page.tags & {"script", "link", "img", "iframe", "object", "embed", "base", "form"}
    assert not re.search(r"url\(|@import|@font-face", page.style)
    assert not re.search(r"https?://", text)
    assert "default-src 'none'" in text


def test_every_link_leads_somewhere_on_the_page(page: Page) -> None:
    assert len(page.links) > 20
    assert {link[0] for link in page.links} == {"#"}
    assert {link[1:] for link in page.links} <= set(page.ids)


def test_hostile_names_are_words_and_nothing_else(page: Page, said: str) -> None:
    assert not page.tags & {"img", "script"}
    for name in (IMAGE, BRACES, SCRIPT):
        assert name in said


def test_the_first_page_says_what_was_audited_and_how_complete_it_was(text: str) -> None:
    words = " ".join(Page(first_page(text)).said.split())
    assert "4 sites with 4 devices and 7 circuits in use" in words
    assert f"Input rows read {len(rows_in())} kept {len(rows_in()) - BAD_ROWS} rejected {BAD_ROWS}" in words
    assert "Sites whose hours are not known 1" in words
    assert "Circuits without connected watts 2" in words
    assert "Devices without a clock reading 1" in words


def rows_in() -> list[object]:
    return [row for rows in tables().values() for row in rows]


def test_every_open_critical_finding_is_on_the_first_page(text: str, findings: list[dict[str, str]]) -> None:
    worst = {
        row["finding_id"] for row in findings if (row["severity"], row["status"]) == ("critical", "open")
    }
    assert len(worst) >= 2
    assert worst <= {link[2:] for link in Page(first_page(text)).links if link.startswith("#f")}


def test_a_critical_rule_that_could_not_look_is_named_beside_the_critical_findings(text: str) -> None:
    safety = text[text.index('<section id="safety">') : text.index('<section id="first">')]
    assert "Not judged for want of opening hours: Programmed dark while people are there" in safety


def test_every_finding_has_its_place(page: Page, findings: list[dict[str, str]]) -> None:
    assert findings
    assert {f"f{row['finding_id']}" for row in findings} == {
        name for name in page.ids if re.match(r"f[0-9a-f]{12}$", name)
    }


def test_sections_come_in_the_order_of_rank_and_only_for_open_findings(
    text: str, results: Path, findings: list[dict[str, str]]
) -> None:
    with (results / "sites.csv").open(encoding="utf-8", newline="") as file:
        ranks = {row["site_id"]: int(row["rank"]) for row in csv.DictReader(file)}
    opened = {ranks[row["site_id"]] for row in findings if row["status"] == "open"}
    assert [int(rank) for rank in re.findall(r'<section class="site" id="s(\d+)">', text)] == sorted(opened)
    assert {f"s{rank}" for rank in ranks.values()} <= set(Page(text).ids)
    assert ranks["S3"] not in opened


def test_programs_are_told_in_sentences(text: str) -> None:
    section = " ".join(section_of(text, 1).split())
    assert "Every day: on 20 min after sunset, off at 19:00." in section
    assert "Every day: to 80 % at 20:00, off at 23:00." in text
    assert "Photocontrol P2, in series: keeps the circuit off until it is dark. Always in service." in text


def test_a_site_says_its_hours_and_its_clock(text: str) -> None:
    section = " ".join(section_of(text, 1).split())
    assert "Open every day 09:00–22:00." in section
    assert "1 h less than local time" in section
    assert "2 h less than local time" in section
    assert "Opening hours are not known" in text
    assert "Europe/Madrid (looked up from the coordinates)" in text


def test_what_is_blank_is_not_known_and_never_zero(text: str) -> None:
    path = text[text.index("path, walkway") :].split("</li>")[0]
    assert "watts not known" in path
    assert "while closed not known" in path
    assert "Energy not known, avoidable not known" in " ".join(path.split())
    assert "Energy and money not known." in text


def test_a_duty_to_light_and_a_reason_are_told_where_the_circuit_is_judged(text: str) -> None:
    porch = text[text.index("porch, canopy") :].split("</li>")[0]
    assert "Must be lit whenever it is dark." in porch
    assert "Recorded reason: Lease of 2019." in porch
    assert "A duty to light is recorded: whenever it is dark." in text
    assert "Keep this egress lighting lit." in section_of(text, 1)


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


def test_cautions_stand_at_the_top_in_every_section_and_at_the_end(text: str, said: str) -> None:
    never = "ever switch off egress, emergency, security or care lighting on the strength of this"
    assert said.count(never) == 2 + text.count('<section class="site"')
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
    assert (tmp_path / "out/report.html").read_bytes() == (results / "report.html").read_bytes()


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
