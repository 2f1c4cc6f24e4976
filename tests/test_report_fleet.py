"""The front page of a large fleet: what it cannot tell at length it names, and nothing is left out."""

import csv
import json
import re
from pathlib import Path

import pytest

from auditor.audit import demo_folder
from auditor.kept import FORMAT, kept_store
from auditor.report import fleet, write_report
from auditor.rules import load_rules
from auditor.settings import read_settings

from .conftest import front, site_page
from .report_page import Page

SAID, PAGES, LISTED = 3, 5, 20  # sites told at length, with a page, and listed; 13 have critical findings


@pytest.fixture(scope="module")
def out(demo: Path, demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A report from the demo's store that tells few sites at length and lists few."""
    folder = tmp_path_factory.mktemp("fleet")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fleet, "SAID", SAID)
        patch.setattr(fleet, "APART", 1)
        patch.setattr("auditor.report.front.LISTED", LISTED)
        _write(demo, demo_store, folder)
    return folder


def _write(demo: Path, store: Path, folder: Path) -> None:
    facts = json.loads((demo / "run.json").read_text(encoding="utf-8"))
    rules = load_rules()
    settings = read_settings(demo_folder() / "portfolio.toml", rules)
    with kept_store(store, FORMAT, folder) as connection:
        write_report(connection, folder, rules, settings, facts, PAGES)


def table(out: Path, name: str) -> list[dict[str, str]]:
    with (out / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def section(out: Path, name: str) -> str:
    """The words of a section of the front page."""
    text = front(out).split(f'<section id="{name}">')[1].split("</section>")[0]
    return " ".join(Page(text).said.split())


def test_every_critical_finding_is_told_or_named_site_by_site_in_the_order_of_rank(
    out: Path, demo: Path
) -> None:
    critical = [
        row for row in table(demo, "findings") if (row["severity"], row["status"]) == ("critical", "open")
    ]
    names = {row["site_id"]: row["name"] for row in table(demo_folder(), "sites")}
    by_rank = {row["site_id"]: names[row["site_id"]] for row in table(demo, "sites")}
    sites = [by_rank[site_id] for site_id in by_rank if site_id in {row["site_id"] for row in critical}]
    said = section(out, "safety")
    assert f"{len(critical)} critical findings are open at {len(sites)} sites" in said
    at_length, named = said.split(f"{len(sites) - SAID} more sites, in the order of rank:")
    assert [name for name in by_rank.values() if name in at_length] == sites[:SAID]
    assert re.findall("|".join(map(re.escape, by_rank.values())), named) == sites[SAID:]
    circuits = {row["circuit_id"]: row["name"] for row in table(demo_folder(), "circuits")}
    for row in critical:
        label = circuits.get(row["subject_id"], row["subject_id"])  # sensors have no names
        assert label in (at_length if by_rank[row["site_id"]] in at_length else named)


def test_what_was_answered_counts_at_whatever_site_it_is(out: Path, demo: Path) -> None:
    ids = {row["finding_id"] for row in table(demo, "findings") if row["severity"] == "critical"}
    answered = {row["finding_id"] for row in table(demo_folder(), "actions")} & ids
    assert answered
    assert f"{len(ids - answered)} of them have no action and no waiver." in section(out, "safety")


def test_what_is_waived_or_exempt_is_counted_whole(out: Path, demo: Path) -> None:
    number = sum(row["status"] != "open" for row in table(demo, "findings"))
    assert f"The first 1 of {number};" in section(out, "apart")


def test_a_list_that_is_cut_short_says_so(out: Path, demo: Path) -> None:
    assert f"The first {LISTED} of {len(table(demo, 'sites'))} sites by rank" in section(out, "sites")


def test_pages_have_all_findings_of_their_sites(out: Path, demo: Path) -> None:
    told = {row["site_id"] for row in table(demo, "sites")[:PAGES]}
    found = [row for row in table(demo, "findings") if row["site_id"] in told]
    assert found
    for row in found:
        assert f"f{row['finding_id']}" in Page(site_page(out, row["site_id"])).ids
