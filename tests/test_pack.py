"""The pack for a reviewer: every line has its rows, nothing is hidden, and nothing more is claimed."""

import csv
import json
import re
from pathlib import Path

import jsonschema
import pytest

from auditor.report.links import page_name
from auditor.report.rows import Row

from .conftest import contents
from .pack_case import SCRIPT, kept, pack

CLAIMS = re.compile(r"complian|compliant|certif|approved|guarantee|violat", re.I)


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return kept(tmp_path_factory.mktemp("kept"))


@pytest.fixture(scope="module")
def out(store: Path) -> Path:
    folder = store.parent / "pack"
    pack(store, folder)
    return folder


@pytest.fixture(scope="module")
def facts(out: Path) -> dict[str, Row]:
    """The facts of each site, as a reader of the JSON files has them."""
    return {
        site: json.loads((out / page_name(site)).with_suffix(".json").read_text("utf-8")) for site in "LDE"
    }


@pytest.fixture(scope="module")
def pages(out: Path) -> dict[str, str]:
    return {site: (out / page_name(site)).read_text("utf-8") for site in "LDE"}


def item(found: Row, name: str) -> Row:
    (wanted,) = [row for row in found["items"] if row["item"] == name]
    return wanted


# Form -----------------------------------------------------------------------------------------------------


def test_the_facts_are_those_of_the_published_schema(out: Path, facts: dict[str, Row]) -> None:
    schema = json.loads((out / "evidence.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    check = jsonschema.Draft202012Validator(schema)
    for found in facts.values():
        assert [error.message for error in check.iter_errors(found)] == []
    broken = facts["L"] | {"items": [facts["L"]["items"][0] | {"outcome": "met"}] * 20}
    assert not check.is_valid(broken)


# Traced ---------------------------------------------------------------------------------------------------


def test_every_line_can_be_traced_to_rows_of_the_input(store: Path, facts: dict[str, Row]) -> None:
    read = {}
    for path in (store.parent / "in").glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as file:
            read[path.name] = dict(enumerate(csv.DictReader(file), 2))  # the header is row 1
    seen = set()
    for site, found in facts.items():
        for told in (row for asked in found["items"] for row in asked["rows"]):
            assert told["source"]["row"] in read[told["source"]["file"]]
            assert told["input_rows"] or told["subject_kind"] == "site"
            for part in told["input_rows"]:
                for number in part["rows"]:
                    row = read[part["file"]][number]
                    seen.add(part["table"])
                    if part["table"] == "circuits":
                        assert row["circuit_id"] in told["subject_ids"]
                    if part["table"] in ("hours", "sites"):
                        assert row["site_id"] == site
                    if part["table"] == "closures":
                        assert row["site_id"] == "*"
    assert seen == {"sites", "controllers", "circuits", "sensors", "events", "hours", "closures", "waivers"}


def test_the_steps_behind_an_outcome_are_the_circuits_own(facts: dict[str, Row]) -> None:
    rows = {row["subject_ids"][0]: row for row in item(facts["L"], "interior-shutoff")["rows"]}
    steps = {
        key: next(part["rows"] for part in row["input_rows"] if part["table"] == "events")
        for key, row in rows.items()
    }
    assert steps == {"L1": [2, 3], "L2": [2, 4]}  # rows of events.csv: on for both, and the off of each


def test_every_line_of_the_sequence_has_the_rows_that_it_tells(
    facts: dict[str, Row], pages: dict[str, str]
) -> None:
    told = {tuple(row["circuits"]): row["lines"] for row in facts["L"]["sequence"]}
    rows = [[tuple(row.values()) for row in line["rows"]] for line in told["L3", "L4"]]
    assert rows == [  # no step of their own, and the sensor that acts on both
        [("circuits", "L3", "circuits.csv", 4), ("circuits", "L4", "circuits.csv", 5)],
        [("sensors", "LP", "sensors.csv", 2)],
    ]
    assert [row["id"] for row in told["L1",][0]["rows"]] == ["1", "2"]
    assert "step 1: events.csv row 2; step 3: events.csv row 4" in pages["L"]  # of L2


def test_whose_sun_a_device_goes_by_stands_beside_its_steps_and_its_place(
    facts: dict[str, Row], pages: dict[str, str]
) -> None:
    # set 14.5 degrees east of the site: 14.5 / 15 h = 58 min earlier, sunrise and sunset alike
    (line,) = facts["D"]["sequence"][0]["lines"]
    assert line["sentence"] == "Every day: on at sunset, off at 22:00."
    assert line["sun"] == "By the location set in the device sunset is 58 min early (median of the dates)."
    assert "sunrise is 58 min early and sunset is 58 min early" in facts["D"]["devices"][0]["sun"]
    assert pages["D"].count("By the location set in the device") >= 2
    assert {row["sun"] for row in facts["L"]["devices"]} == {None}


def test_the_page_says_rows_beside_what_is_said(pages: dict[str, str]) -> None:
    assert "circuits.csv 3; closures.csv 2; events.csv 2, 4; hours.csv 2" in pages["L"]


# Said -----------------------------------------------------------------------------------------------------


def test_the_cover_lists_everything_insufficient_beside_everything_contrary(
    facts: dict[str, Row], pages: dict[str, str]
) -> None:
    for site, page in pages.items():
        cover = page[: page.index('id="files"')]
        loud = [row for row in facts[site]["items"] if row["outcome"] in ("contrary", "insufficient data")]
        assert len(loud) > 3
        listed = re.findall(
            r'<td><span class="out ([a-z-]+)">[^<]*</span></td><th scope="row"><a href="#i-([a-z-]+)"', cover
        )
        assert listed == [(row["outcome"].replace(" ", "-"), row["item"]) for row in loud]


def test_no_page_claims_more_than_a_schedule_can_show(out: Path) -> None:
    for name, content in contents(out).items():
        assert CLAIMS.findall(content.decode()) == [], name


def test_every_page_carries_the_cautions(out: Path, pages: dict[str, str]) -> None:
    for page in (*pages.values(), (out / "matrix.html").read_text("utf-8")):
        assert (
            "exterior lighting at cash machines, exits and public ways may be required by other laws" in page
        )
        assert "never switch off egress, emergency, security or care lighting" in page


def test_a_sensor_that_acts_on_nothing_is_listed_as_such(
    facts: dict[str, Row], pages: dict[str, str]
) -> None:
    assert [row["circuits"] for row in facts["D"]["sensors"]] == [[]]
    assert "<td>photocontrol</td><td>nothing</td>" in pages["D"]


def test_the_connected_load_is_summed_as_a_hand_does_it(facts: dict[str, Row], pages: dict[str, str]) -> None:
    # interior 450.5 + 1,200 = 1,650.5 W; parking 2,000 W; the walkway's watts are not exported
    told = {row["area"]: (row["watts"], row["unknown"]) for row in facts["L"]["connected_load"]}
    assert told == {
        "interior": (1650.5, None),
        "parking": (2000.0, None),
        "walkway": (None, "L4"),
        "egress": (80.0, None),
        "security": (60.0, None),
    }
    assert "450.5 + 1\u202f200 = 1\u202f650.5 W" in pages["L"]


def test_what_is_in_the_export_and_not_in_use_is_listed_with_its_rows(
    facts: dict[str, Row], pages: dict[str, str]
) -> None:
    told = [
        (row["kind"], row["id"], row["connected_watts"], row["source"]) for row in facts["L"]["not_in_use"]
    ]
    assert told == [
        ("circuit", "L7", 300, {"file": "circuits.csv", "row": 8}),
        ("occupancy sensor", "LR", None, {"file": "sensors.csv", "row": 4}),
    ]
    cover, rest = pages["L"].split('id="files"')
    assert (
        "circuit L7, occupancy sensor LR" in cover and '<span class="from">circuits.csv row 8</span>' in rest
    )
    (said,) = [row["said"] for row in item(facts["L"], "facade-night-off")["rows"]]
    assert said.startswith("No facade or landscape circuit in use is in the export")


def test_a_claimed_exemption_says_who_looked_at_it_or_that_nobody_is_named(
    facts: dict[str, Row], pages: dict[str, str]
) -> None:
    claims = {
        row["circuit_id"]: (row["exempt_reason"], row["looked_at_by"]) for row in facts["L"]["exemptions"]
    }
    assert claims == {"L5": ("Exit route", "R. Fielding"), "L6": (None, None)}
    assert 'R. Fielding (<span class="from">waivers.csv row 2</span>)' in pages["L"]
    assert (
        "<strong>no reason given</strong>" in pages["L"] and "<strong>nobody is named</strong>" in pages["L"]
    )


def test_egress_and_security_stand_in_no_item_but_their_claim(facts: dict[str, Row]) -> None:
    about = {
        row["item"]
        for row in facts["L"]["items"]
        for told in row["rows"]
        if {"L5", "L6"} & set(told["subject_ids"])
    }
    assert about == {"claimed-exemptions"}


def test_a_wrong_clock_weakens_the_evidence_and_is_said(facts: dict[str, Row], pages: dict[str, str]) -> None:
    weak = {row["rule"] for row in facts["L"]["findings"] if row["why"]}
    assert {"clock-wrong-zone", "short-backup"} <= weak
    part = pages["L"][pages["L"].index('id="doubts"') : pages["L"].index('id="forms"')]
    assert "happens at other times than it says" in part


def test_what_rests_on_memory_says_so_beside_it(facts: dict[str, Row], pages: dict[str, str]) -> None:
    doubtful = [row for row in facts["L"]["items"] if row["rests_on_memory"]]
    assert doubtful
    for row in doubtful:
        start = pages["L"].index(f'id="i-{row["item"]}"')
        assert "from memory: check" in pages["L"][start : pages["L"].index("</article>", start)]


# Without an edition ---------------------------------------------------------------------------------------


def test_a_site_without_an_edition_says_so_and_lists_what_cannot_be_judged(
    facts: dict[str, Row], pages: dict[str, str]
) -> None:
    assert facts["D"]["edition"] is None
    assert "No code edition is known for this site." in pages["D"]
    outcomes = {row["item"]: row["outcome"] for row in facts["D"]["items"] if row["of_code"]}
    assert len(outcomes) == 18 and set(outcomes.values()) == {"insufficient data"}


def test_an_edition_that_is_not_among_the_codes_is_named(
    facts: dict[str, Row], pages: dict[str, str]
) -> None:
    assert facts["E"]["edition"] == {
        "id": "nowhere-1999",
        "title": None,
        "amends": None,
        "own_file": None,
        "given_by": "the site's own energy_code",
    }
    assert "“nowhere-1999” is not among the codes that were read" in pages["E"]


def test_a_site_without_anything_shows_nothing(facts: dict[str, Row], pages: dict[str, str]) -> None:
    assert {row["outcome"] for row in facts["E"]["items"] if row["item"] != "claimed-exemptions"} <= {
        "insufficient data",
        "not applicable",
    }
    assert "No circuit in use of this site is in the export." in pages["E"]


def test_the_edition_of_the_command_goes_before_the_sites_own(store: Path, tmp_path: Path) -> None:
    made = pack(store, tmp_path, "LD", "ashrae-90.1-2019")
    assert {(row["edition"]["id"], row["edition"]["given_by"]) for row in made.values()} == {
        ("ashrae-90.1-2019", "the command")
    }


# Hostile words, the matrix --------------------------------------------------------------------------------


def test_names_are_text_and_never_markup(out: Path) -> None:
    for name, content in contents(out).items():
        if name.endswith(".html"):
            assert SCRIPT not in content.decode() and "<script" not in content.decode()


def test_the_matrix_has_every_site_and_every_outcome_in_letters(out: Path, facts: dict[str, Row]) -> None:
    page = (out / "matrix.html").read_text("utf-8")
    letters = {
        "contrary": "contra.",
        "insufficient data": "insuff.",
        "consistent": "consist.",
        "not applicable": "n/a",
    }
    body = page[page.index("<tbody>") : page.index("</tbody>")]
    cells = re.findall(r'<span class="letters">([^<]+)</span>', body)
    assert cells == [letters[row["outcome"]] for site in "LDE" for row in facts[site]["items"]]
    assert page.count(f'href="{page_name("D")}"') == 1
