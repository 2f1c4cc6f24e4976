"""Evidence from a kept store: what is asked, what is told, and what it may never say."""

import hashlib
import re
from pathlib import Path

import pytest

from auditor.audit import demo_folder
from auditor.codes import load_codes
from auditor.errors import UserError
from auditor.evidence import Evidence, evidence, load_items
from auditor.evidence.deciding import Row
from auditor.kept import FORMAT, kept_store
from auditor.model import CODE_EDITIONS
from auditor.resources import resource

from .conftest import Tables, run_audit, write_folder

CLAIMS = re.compile(r"complian|compliant|certif|approved(?!_by)|guarantee|violat", re.I)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store of the demo, 30 days of it."""
    folder = tmp_path_factory.mktemp("demo")
    run_audit(demo_folder(), folder / "out", folder / "kept.duckdb", days=30, pages=0)
    return folder / "kept.duckdb"


def asked(store: Path, edition: str | None, sites: list[str] | None = None) -> Evidence:
    with kept_store(store, FORMAT) as connection:
        every = [site for (site,) in connection.execute("SELECT site_id FROM sites ORDER BY 1").fetchall()]
        return evidence(connection, sites or every, edition, load_codes())


@pytest.fixture(scope="module")
def told(demo: Path) -> dict[str, Evidence]:
    """One edition of each code, asked of every site of the demo."""
    return {edition: asked(demo, edition) for edition in ("iecc-2018", "ashrae-90.1-2019", "title-24-2025")}


def every_row(told: dict[str, Evidence]) -> list[Row]:
    return [row for found in told.values() for row in found.rows]


def test_every_site_and_item_has_an_outcome(told: dict[str, Evidence]) -> None:
    names = [item.name for item in load_items()]
    for edition, found in told.items():
        by_site: dict[str, list[str]] = {}
        for row in found.outcomes:
            by_site.setdefault(row["site_id"], []).append(row["item"])
            assert row["edition"] == edition
        assert len(by_site) == 122 and all(items == names for items in by_site.values())


def test_a_site_and_item_comes_out_as_its_loudest_row(told: dict[str, Evidence]) -> None:
    loud = ["contrary", "insufficient data", "consistent", "not applicable"]
    for found in told.values():
        rows: dict[tuple[str, str], list[str]] = {}
        for row in found.rows:
            rows.setdefault((row["site_id"], row["item"]), []).append(row["outcome"])
        for row in found.outcomes:
            mine = rows[row["site_id"], row["item"]]
            assert row["outcome"] == min(mine, key=loud.index)
            counted = [row["contrary"], row["insufficient"], row["consistent"], row["not_applicable"]]
            assert counted == [mine.count(outcome) for outcome in loud]


def test_no_row_claims_more_than_a_schedule_can_show(told: dict[str, Evidence]) -> None:
    rows = every_row(told)
    texts = {str(row[key]) for row in rows for key in ("outcome", "said", "basis", "test", "title")}
    assert len(rows) > 5000
    assert [text for text in texts if CLAIMS.search(text.replace("approved_by", ""))] == []


def test_no_query_words_a_claim() -> None:
    texts = [*resource("queries/evidence").rglob("*.sql"), *resource("evidence").glob("*.py")]
    assert len(texts) > 25
    wrong = [path.name for path in texts if CLAIMS.search(path.read_text("utf-8").replace("approved_by", ""))]
    assert wrong == []


def test_every_row_says_why_by_which_clause_and_what_to_test(told: dict[str, Evidence]) -> None:
    of_code = {item.name for item in load_items() if item.of_code}
    for row in every_row(told):
        assert row["said"] and row["test"] and row["source_file"] and row["source_row"]
        if row["outcome"] in ("consistent", "contrary") and row["item"] in of_code:
            assert row["clause"] and row["clause"] in row["basis"]
            assert "seen in a public copy" in row["basis"] or "from memory, check" in row["basis"]


def test_what_rests_on_memory_says_so_in_place(told: dict[str, Evidence]) -> None:
    rows = [row for row in every_row(told) if row["outcome"] in ("consistent", "contrary")]
    assert {row["from_memory"] for row in rows} == {True, False}
    for row in rows:
        assert row["from_memory"] == ("From memory, check: " in row["said"])
        # where nothing that a row rests on is from memory, all of it was seen
        assert row["from_memory"] == ("from memory, check" in (row["basis"] or ""))


def test_egress_and_security_are_never_contrary_and_always_named(
    told: dict[str, Evidence], demo: Path
) -> None:
    with kept_store(demo, FORMAT) as connection:
        protected = connection.execute(
            "SELECT circuit_id FROM circuits WHERE area IN ('egress', 'security') AND coalesce(in_use, true)"
        ).fetchall()
    names = {name for (name,) in protected}
    assert len(names) > 50
    for found in told.values():
        about = [row for row in found.rows if names & set(row["subject_id"].split(";"))]
        assert {row["item"] for row in about} == {"claimed-exemptions"}
        assert {row["subject_id"] for row in about} == names
        assert {row["outcome"] for row in about} <= {"insufficient data", "not applicable"}


def test_light_that_somebody_claims_is_never_contrary_at_night(told: dict[str, Evidence], demo: Path) -> None:
    with kept_store(demo, FORMAT) as connection:
        claimed = connection.execute(
            "SELECT circuit_id FROM circuits "
            "WHERE exempt_reason IS NOT NULL OR must_be_lit IN ('always', 'dark')"
        ).fetchall()
    names = {name for (name,) in claimed}
    wrong = [
        row
        for row in every_row(told)
        if row["outcome"] == "contrary" and names & set(row["subject_id"].split(";"))
        if row["item"] != "exterior-daylight-off"
    ]
    assert len(names) > 20 and wrong == []


@pytest.mark.nightly
def test_the_store_stays_as_it_was_and_the_same_is_told_again(demo: Path) -> None:
    before = hashlib.sha256(demo.read_bytes()).hexdigest()
    with kept_store(demo, FORMAT) as connection:
        first = evidence(connection, ["M-0004", "L-0003"], "iecc-2021", load_codes())
        again = evidence(connection, ["L-0003", "M-0004"], "iecc-2021", load_codes())
    assert first == again
    assert [row["site_id"] for row in first.outcomes] == ["L-0003"] * 20 + ["M-0004"] * 20
    assert hashlib.sha256(demo.read_bytes()).hexdigest() == before


def test_a_site_is_told_the_same_alone_as_among_others(demo: Path) -> None:
    among = [row for row in asked(demo, "ashrae-90.1-2019").rows if row["site_id"] == "L-0003"]
    assert asked(demo, "ashrae-90.1-2019", ["L-0003"]).rows == among


def test_without_an_edition_each_site_is_asked_by_its_own(demo: Path) -> None:
    # sites.csv: L-0003 has iecc-2021, L-0007 iecc-2018; portfolio.toml: ashrae-90.1-2019 for L-0055
    found = asked(demo, None, ["L-0003", "L-0007", "L-0055"]).outcomes
    assert {(row["site_id"], row["edition"]) for row in found} == {
        ("L-0003", "iecc-2021"),
        ("L-0007", "iecc-2018"),
        ("L-0055", "ashrae-90.1-2019"),
    }


@pytest.mark.nightly
def test_every_edition_can_be_asked(demo: Path) -> None:
    for edition in CODE_EDITIONS:
        assert len(asked(demo, edition, ["L-0003"]).outcomes) == 20


def test_what_is_not_known_gets_a_sentence(demo: Path) -> None:
    with pytest.raises(UserError, match='there is no site "L-003" in this store; did you mean "L-00'):
        asked(demo, "iecc-2021", ["L-003"])
    with pytest.raises(UserError, match='there is no code edition "iecc-2020"; did you mean "iecc-20'):
        asked(demo, "iecc-2020", ["L-0003"])


def drifting(reading: str, read_at: str) -> Tables:
    """A device with steps by the sun, in a zone that shows UTC."""
    return {
        "sites": [{"site_id": "S", "latitude": 0, "longitude": 0, "timezone": "UTC"}],
        "controllers": [
            {"controller_id": "T", "site_id": "S", "read_at": read_at, "clock_reading": reading},
        ],
        "circuits": [{"circuit_id": "C", "controller_id": "T", "area": "parking"}],
        "events": [
            {
                "event_id": event,
                "controller_id": "T",
                "targets": "C",
                "action": action,
                "days": "daily",
                "anchor": anchor,
            }
            for event, action, anchor in (("1", "on", "sunset"), ("2", "off", "sunrise"))
        ],
    }


@pytest.mark.parametrize(
    ("shown", "outcome", "a_year"),
    [
        # from 1 October to 1 December 2026 are 61 days; 30 s more: 30 x 365.25 / 61 = 179.6 s a year
        pytest.param("2026-12-01T12:00:37", "consistent", "3.0", marks=pytest.mark.nightly),
        ("2026-12-01T12:01:07", "contrary", "6.0"),  # 60 s more: 359.3 s
    ],
)
def test_two_readings_tell_how_fast_a_clock_runs(
    shown: str, outcome: str, a_year: str, tmp_path: Path
) -> None:
    # Title 24 110.9(b)1B: within 5 minutes a year
    store = tmp_path / "kept.duckdb"
    for number, (reading, read_at) in enumerate(
        [("2026-10-01T12:00:07", "2026-10-01T12:00:00Z"), (shown, "2026-12-01T12:00:00Z")]
    ):
        source = write_folder(tmp_path / f"in{number}", drifting(reading, read_at))
        run_audit(source, tmp_path / f"out{number}", store)
    (row,) = [row for row in asked(store, "title-24-2022").rows if row["item"] == "clock-accuracy"]
    assert (row["outcome"], row["subject_id"]) == (outcome, "T")
    assert f"it moved at {a_year} min a year; at most 5 are asked for" in row["said"]
