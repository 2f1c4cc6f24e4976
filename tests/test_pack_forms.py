"""Blank forms for tests on site, and what a test must not darken."""

import re
from pathlib import Path

import pytest

from auditor.report.links import page_name
from auditor.report.rows import Row

from .conftest import run_audit, small, write_folder
from .pack_case import kept, pack


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("pack")


@pytest.fixture(scope="module")
def facts(out: Path) -> Row:
    """Of the library."""
    return pack(kept(out), out / "pack", "L")["L"]


@pytest.fixture(scope="module")
def forms(out: Path, facts: Row) -> str:
    """The part of the library's page with the forms."""
    page = (out / "pack" / page_name("L")).read_text("utf-8")
    return page[page.index('id="forms"') : page.index('id="method"')]


def test_every_item_to_be_tested_has_a_blank_form(facts: Row, forms: str) -> None:
    wanted = [row["place"] for row in facts["items"] if row["outcome"] != "not applicable"]
    assert len(wanted) < 20  # sign dimming is not asked for: nothing of it can be tested
    assert [int(place) for place in re.findall(r"<h3>(\d+)\.", forms)] == wanted
    assert forms.count("Actual response") == len(wanted)
    assert set(re.findall(r"<dd>(.*?)</dd>", forms)) == {""}  # blank: for the tester to fill in


def test_a_form_names_what_must_stay_lit_on_the_devices_that_it_tests(facts: Row, forms: str) -> None:
    # on LA hang L5 (egress, a duty) and L6 (security); on LB, with all exterior light, neither
    stay = {row["item"]: row["stay_lit"] for row in facts["items"]}
    for name in ("export-soundness", "clock-backup", "interior-shutoff"):
        assert stay[name] == ["L5", "L6"], name
    assert stay["exterior-daylight-off"] == []
    for place in (8, 20):
        form = re.split(r"</article>", forms[forms.index(f"<h3>{place}. ") :])[0]
        assert "Must stay lit on the same devices: L5 (egress, must be lit: always, claimed exempt)" in form
        assert "L6 (security)" in form and "agree with the authority having jurisdiction" in form


@pytest.mark.parametrize(
    ("site", "circuit", "why"),
    [
        ({}, {"name": "EXITS and stairs"}, "its name says exits"),
        ({"site_type": "Elder home"}, {"area": "interior"}, "a site for care, by its name or type"),
        ({}, {"area": "egress", "name": "Egress, in use no more", "in_use": "no"}, "egress"),
    ],
)
def test_what_only_hints_at_light_that_must_stay_counts(
    tmp_path: Path, site: dict[str, object], circuit: dict[str, object], why: str
) -> None:
    given = small()
    given["sites"][0] |= site
    given["circuits"][0] |= circuit
    store = tmp_path / "kept.duckdb"
    run_audit(write_folder(tmp_path / "in", given), tmp_path / "out", store, days=2, pages=0)
    told = {
        row["circuit_id"]: row["why"] for row in pack(store, tmp_path / "pack", ["01"])["01"]["must_stay_lit"]
    }
    assert told["011"] == why
