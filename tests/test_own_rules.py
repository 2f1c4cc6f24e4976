"""A user's own rules: the README's example, where they stand among ours, and what comes of their findings."""

import hashlib
import json
import re
from dataclasses import replace
from pathlib import Path

import duckdb
import pytest

from auditor import audit as program
from auditor.audit import audit, demo_folder
from auditor.errors import UserError
from auditor.model import Rule, Settings
from auditor.ownrules import own_rules, run_own_rules
from auditor.ownrules.judging import RELIED_ON
from auditor.settings import read_settings

from .cases import quietly
from .conftest import contents
from .own_rules import BUILT_IN, EXAMPLE, folder_of, page, rows, rule_text, run, select

README = Path(__file__).parent.parent / "README.md"


# The README's example ---------------------------------------------------------------------------------------


def test_the_readme_shows_the_example_as_it_is() -> None:
    block = re.search(r"^```sql\n(.*?)^```", README.read_text(encoding="utf-8"), re.M | re.S)
    assert block is not None
    assert block[1] == (EXAMPLE / "long-override.sql").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a run with the example."""
    folder = tmp_path_factory.mktemp("example")
    run(folder, EXAMPLE)
    return folder


def test_the_example_finds_what_it_is_for_and_says_where_it_could_not_look(example: Path) -> None:
    (found,) = rows(example, "long-override")  # 012; 013 is on the threshold, 015 not in use
    assert (found["subject_id"], found["severity"], found["status"]) == ("012", "low", "open")
    assert (found["summary"], found["fix"]) == ("An override lasts 3 h.", "on-site")
    assert "then set the override to 2 h. " in found["remedy"]
    (unseen,) = rows(example, "long-override", "not_evaluated")
    assert (unseen["subject_id"], unseen["missing"]) == ("014", "override_minutes")


def test_a_run_names_the_rules_and_their_files_with_their_digest(example: Path) -> None:
    facts = json.loads((example / "out" / "run.json").read_text(encoding="utf-8"))
    digest = hashlib.sha256((EXAMPLE / "long-override.sql").read_bytes()).hexdigest()
    assert facts["own_rules"] == [{"file": "long-override.sql", "sha256": digest}]
    assert facts["rules"] == [*(rule.name for rule in BUILT_IN), "long-override"]


def test_the_report_marks_what_comes_from_a_rule_of_ones_own(example: Path) -> None:
    marks = re.compile(
        r'<h3><a href="../rules.html#r-([a-z-]+)">[^<]*</a> <span class="fine">from your own rule</span>'
    )
    assert marks.findall(page(example)) == ["long-override"]
    assert "Your own rule, from long-override.sql." in page(example)
    assert '<th scope="row">own rule</th><td>long-override.sql</td>' in page(example)


@pytest.mark.nightly
def test_the_same_inputs_give_the_same_bytes(example: Path) -> None:
    first = contents(example / "out")
    run(example, EXAMPLE)
    assert first == contents(example / "out")


# Among ours -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("settings", "wanted"),
    [
        ("most_minutes = 119", ["012 low", "013 low"]),
        pytest.param("most_minutes = 180", [], marks=pytest.mark.nightly),
        pytest.param('severity = "critical"', ["012 critical"], marks=pytest.mark.nightly),
        pytest.param("enabled = false", [], marks=pytest.mark.nightly),
    ],
)
def test_portfolio_toml_moves_it_like_ours(tmp_path: Path, settings: str, wanted: list[str]) -> None:
    run(tmp_path, EXAMPLE, f"[rules.long-override]\n{settings}\n")
    found = rows(tmp_path, "long-override")
    assert [f"{row['subject_id']} {row['severity']}" for row in found] == wanted
    enabled = json.loads((tmp_path / "out" / "run.json").read_text(encoding="utf-8"))["rules"]
    assert ("long-override" in enabled) == (settings != "enabled = false")


def test_an_unknown_threshold_is_refused_like_ours(tmp_path: Path) -> None:
    (tmp_path / "portfolio.toml").write_text("[rules.long-override]\nmost_minuets = 3\n")
    rules = [*BUILT_IN, *own_rules(EXAMPLE, BUILT_IN)]
    with pytest.raises(UserError, match='"most_minuets" is not known; did you mean "most_minutes"'):
        read_settings(tmp_path / "portfolio.toml", rules)


def test_a_waiver_excuses_it_like_ours(tmp_path: Path) -> None:
    waiver = {"site_id": "01", "subject_id": "012", "rule": "long-override", "reason": "Night school"}
    outcome = run(tmp_path, EXAMPLE, changed={"waivers": [waiver]})
    assert [row["status"] for row in rows(tmp_path, "long-override")] == ["waived"]
    assert outcome.notices == []


def test_money_counts_where_its_header_says_so(tmp_path: Path) -> None:
    sql = select("circuits JOIN controllers USING (controller_id) WHERE circuit_id = '012'", kwh="73")
    rules = folder_of(tmp_path / "rules", rule_text(sql=sql, money="true"), rule_text("other", sql))
    run(tmp_path, rules, "[portfolio]\nrate_per_kwh = 0.5\n")
    # 73 kWh in 7 days at 0.5 a kWh, brought to 365 days.
    assert [float(row["cost"]) for row in rows(tmp_path, "mine")] == [round(73 * 0.5 * 365 / 7, 2)]
    assert [row["cost"] for row in rows(tmp_path, "other")] == [""]


def test_it_sees_the_verdicts_of_ours_and_of_those_that_it_runs_after(tmp_path: Path) -> None:
    first = select("verdicts WHERE rule = 'left-in-hand'", subject_id="subject_id")
    second = select(
        "verdicts WHERE rule = 'z-first'", subject_id="subject_id", summary="'After: ' || summary"
    )
    rules = folder_of(
        tmp_path / "rules",
        rule_text("z-first", first, after='["left-in-hand"]'),
        rule_text("a-second", second, after='["z-first"]'),
    )
    assert [rule.name for rule in own_rules(rules, BUILT_IN)] == ["z-first", "a-second"]
    run(tmp_path, rules)
    assert [row["subject_id"] for row in rows(tmp_path, "z-first")] == ["021"]
    assert [row["summary"] for row in rows(tmp_path, "a-second")] == ["After: Seen by me."]


def test_its_query_is_never_run_where_ours_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ran: list[Rule] = []
    plainly = program.run_rules
    monkeypatch.setattr(
        program, "run_rules", lambda c, rules, *more: (ran.extend(rules), plainly(c, rules, *more))
    )
    run(tmp_path, EXAMPLE)
    assert [rule.name for rule in ran] == [rule.name for rule in BUILT_IN]


@pytest.mark.nightly
def test_our_rules_say_the_same_when_run_as_ones_own(tmp_path: Path) -> None:
    audit(demo_folder(), tmp_path / "out", None, 7, tmp_path / "store.duckdb", quietly, pages=0)
    with duckdb.connect(str(tmp_path / "store.duckdb")) as connection:
        plain = "regexp_replace(coalesce(remedy, ''), '^People rely on .* says: ', '') AS remedy"
        verdicts = f"SELECT * REPLACE ({plain}) FROM verdicts ORDER BY ALL"
        ours = connection.execute(verdicts).fetchall()
        connection.execute("DELETE FROM verdicts")
        run_own_rules(connection, [replace(rule, own=True) for rule in BUILT_IN], Settings(), 60, str)
        assert len(ours) > 100
        assert connection.execute(verdicts).fetchall() == ours


# Light that people rely on ----------------------------------------------------------------------------------


def test_where_people_rely_on_light_a_fixed_caution_goes_before_its_remedy(tmp_path: Path) -> None:
    everyone = "subjects WHERE in_use AND site_id = '01'"
    sql = select(everyone, subject_kind="subject_kind", subject_id="subject_id", remedy="'Switch it off'")
    kinds = '"site or controller or circuit or sensor or step"'
    run(tmp_path, folder_of(tmp_path / "rules", rule_text(sql=sql, subject=kinds)))
    # In the result file words about who may do it follow.
    said = {
        row["subject_id"]: row["remedy"].partition("Switch it off. ")[0] for row in rows(tmp_path, "mine")
    }
    # The exit light 011, its sensor, the device, the site, and the steps of that sensor.
    relied_on = {"01", "01A", "011", "01P", "01A/003", "01A/004"}
    assert {subject for subject, before in said.items() if before == RELIED_ON} == relied_on
    assert {before for subject, before in said.items() if subject not in relied_on} == {""}
    assert RELIED_ON in page(tmp_path)
