"""A user's own rules: what a file must be, where it stands among ours, and what comes of its findings."""

import csv
import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import duckdb
import pytest

from auditor import audit as program
from auditor.audit import Outcome, audit, demo_folder
from auditor.errors import UserError
from auditor.model import Rule, Settings
from auditor.ownrules import own_rules, run_own_rules
from auditor.ownrules.judging import RELIED_ON
from auditor.rules import load_rules
from auditor.settings import read_settings

from .cases import quietly
from .conftest import Console, Tables, small, write_folder
from .test_cli import refused

ROOT = Path(__file__).parent.parent
EXAMPLE = ROOT / "fixtures" / "own_rules"
BUILT_IN = load_rules()
Shell = Callable[..., Console]


def rule_text(name: str = "mine", sql: str = "", **header: str) -> str:
    """A rule file that finds every circuit in use; ``header`` replaces or adds lines of its header."""
    lines = {
        "name": f'"{name}"',
        "title": '"A title"',
        "severity": '"low"',
        "subject": '"circuit"',
        "needs": "[]",
        "fix": '"device"',
    } | header
    head = "\n".join(f"--: {key} = {value}" for key, value in lines.items() if value)
    return f"{head}\n--\n-- What goes wrong. Something.\n\n{sql or select()}\n"


def select(frm: str = "circuits JOIN controllers USING (controller_id)", **columns: str) -> str:
    """A rule's query; ``columns`` replaces what it says."""
    said = {
        "site_id": "site_id",
        "subject_kind": "'circuit'",
        "subject_id": "circuit_id",
        "severity": "NULL",
        "minutes": "NULL",
        "kwh": "NULL",
        "first_date": "NULL",
        "last_date": "NULL",
        "summary": "'Seen by me.'",
        "seen": "NULL",
        "remedy": "'Do this.'",
        "missing": "NULL",
    } | columns
    return f"SELECT {', '.join(f'{value} AS {name}' for name, value in said.items())}\nFROM {frm}"


def folder_of(place: Path, *texts: str) -> Path:
    """A folder with these rules, each in the file that its header names."""
    place.mkdir(exist_ok=True)
    for text in texts:
        name = re.search(r'^--: name = "(.*)"', text, re.MULTILINE)
        assert name is not None
        (place / f"{name[1]}.sql").write_text(text, encoding="utf-8")
    return place


def tables() -> Tables:
    """The small portfolio with an exit light, overrides, and a circuit and a sensor that are not in use."""
    found = small()
    found["circuits"] = [
        {"circuit_id": "012", "controller_id": "01A", "area": "interior", "override_minutes": 180},
        {"circuit_id": "013", "controller_id": "01A", "area": "interior", "override_minutes": 120},
        {"circuit_id": "014", "controller_id": "01A", "area": "interior"},
        {"circuit_id": "011", "controller_id": "01A", "area": "egress"},
        {"circuit_id": "015", "controller_id": "01A", "area": "interior", "override_minutes": 500},
        {"circuit_id": "021", "controller_id": "02A", "area": "sign", "hold": "on"},
    ]
    found["circuits"][4]["in_use"] = "no"
    return found


def run(tmp_path: Path, rules: Path, settings: str = "", changed: Tables | None = None) -> Outcome:
    source = write_folder(tmp_path / "portfolio", tables() | (changed or {}), settings)
    return audit(source, tmp_path / "out", None, 7, None, quietly, rules)


def rows(tmp_path: Path, rule: str, table: str = "findings") -> list[dict[str, str]]:
    with (tmp_path / "out" / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["rule"] == rule]


def page(tmp_path: Path) -> str:
    return (tmp_path / "out" / "report.html").read_text(encoding="utf-8")


# The README's example ---------------------------------------------------------------------------------------


def test_the_readme_shows_the_example_as_it_is() -> None:
    block = re.search(r"^```sql\n(.*?)^```", (ROOT / "README.md").read_text(encoding="utf-8"), re.M | re.S)
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
    marks = re.compile(r'<h4><a href="#r-([a-z-]+)">[^<]*</a> <span class="fine">from your own rule</span>')
    assert marks.findall(page(example)) == ["long-override"]
    assert "Your own rule, from long-override.sql." in page(example)
    assert '<th scope="row">own rule</th><td>long-override.sql</td>' in page(example)


def test_the_same_inputs_give_the_same_bytes(example: Path) -> None:
    first = {path.name: path.read_bytes() for path in (example / "out").iterdir()}
    run(example, EXAMPLE)
    assert first == {path.name: path.read_bytes() for path in (example / "out").iterdir()}


# Among ours -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("settings", "wanted"),
    [
        ("most_minutes = 119", ["012 low", "013 low"]),
        ("most_minutes = 180", []),
        ('severity = "critical"', ["012 critical"]),
        ("enabled = false", []),
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


def test_our_rules_say_the_same_when_run_as_ones_own(tmp_path: Path) -> None:
    audit(demo_folder(), tmp_path / "out", None, 7, tmp_path / "store.duckdb", quietly)
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


# A file that is no rule -------------------------------------------------------------------------------------

PARAM = '{ default = 3, unit = "days", meaning = "older" }'
NO_RULES = {
    "no header": ("SELECT 1", "its header must have fix, name, needs, severity, subject, title"),
    "no TOML": ("--: name = mine", "its header is not readable as TOML"),
    "a line is missing": (rule_text(fix=""), "its header must have fix, name, needs"),
    "a line is unknown": (rule_text(colour='"red"'), 'see "colour"'),
    "another name": (rule_text(name="mine").replace('"mine"', '"yours"'), "name and file must be the same"),
    "unknown severity": (rule_text(severity='"urgent"'), "severity must be one of critical, high"),
    "unknown fix": (rule_text(fix='"phone"'), "and fix device or on-site"),
    "unknown subject": (rule_text(subject='"lamp"'), "subject in its header must be one of site, controller"),
    "one subject unknown": (rule_text(subject='"circuit or lamp"'), "subject in its header must be"),
    "title is no text": (rule_text(title="1"), "title in its header must be a text in quotes"),
    "title is blank": (rule_text(title='" "'), "title in its header must be a text in quotes"),
    "needs is a text": (rule_text(needs='"hours"'), "needs in its header must be a list of columns"),
    "after is a text": (rule_text(after='"always-on"'), "after in its header must be a list of rules"),
    "money is a number": (rule_text(money="1"), "money in its header must be true or false"),
    "params is a number": (
        rule_text(params="1"),
        "params in its header must be lines such as params.age_days",
    ),
    "a parameter is a number": (rule_text(**{"params.x": "1"}), "params in its header must be"),
    "a parameter lacks its unit": (rule_text(**{"params.x": PARAM.replace("unit", "size")}), "params in its"),
    "a parameter is a text": (rule_text(**{"params.x": PARAM.replace("3", '"3"')}), "params in its header"),
    "a parameter is below 0": (rule_text(**{"params.x": PARAM.replace("3", "-3")}), "params in its header"),
    "a parameter is a setting": (rule_text(**{"params.severity": PARAM}), "params in its header must be"),
    "a parameter cannot be named": (rule_text(**{'params."x y"': PARAM}), "params in its header must be"),
    "after an unknown rule": (
        rule_text(after='["always-onn"]'),
        'it runs after "always-onn", and there is no such rule; did you mean "always-on"',
    ),
    "after itself": (
        rule_text(after='["mine"]'),
        "these rules would run mine after mine; take one of them out",
    ),
    "no prose": (rule_text().replace("-- What goes wrong. Something.", "--"), "it has no prose"),
    "no query": (rule_text().split("SELECT")[0], "it has no query; write one SELECT"),
    "the time of day": (
        rule_text(sql=select() + " WHERE now() > x"),
        "the answer of now changes from run to run",
    ),
    "the date": (
        rule_text(sql=select() + " WHERE x < current_date"),
        "take newest_read_at_utc from the table",
    ),
    "chance": (rule_text(sql=select() + " ORDER BY Random ()"), "the answer of Random changes"),
    "a sample": (rule_text(sql=select() + " USING  SAMPLE 3"), "changes from run to run"),
}


@pytest.mark.parametrize("fault", NO_RULES)
def test_a_file_that_is_no_rule_is_refused_with_its_name(tmp_path: Path, fault: str) -> None:
    text, words = NO_RULES[fault]
    (tmp_path / "mine.sql").write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as refusal:
        own_rules(tmp_path, BUILT_IN)
    sentence = str(refusal.value)
    assert words in sentence and "\n" not in sentence
    assert sentence.startswith("mine.sql: ") or fault == "after itself"


def test_words_of_time_and_chance_may_be_names_and_texts(tmp_path: Path) -> None:
    sql = f"WITH today AS ({select()}) SELECT * FROM today -- random() or current_date"
    sql += "\n/* now() */ WHERE 'uuid()' <> \"summary\" AND \"summary\" <> 'it''s current_date'"
    assert own_rules(folder_of(tmp_path / "rules", rule_text(sql=sql)), BUILT_IN)


@pytest.mark.parametrize(
    "name", ["Mine", "my_rule", "-mine", "mine-", "my--rule", "=mine", "mein-übel", "my rule"]
)
def test_a_name_that_other_places_could_not_take_is_refused(tmp_path: Path, name: str) -> None:
    rules = folder_of(tmp_path / "rules", rule_text(name))
    with pytest.raises(UserError, match='a name is small letters, digits and "-"'):
        own_rules(rules, BUILT_IN)


def test_a_name_of_ours_is_refused(tmp_path: Path) -> None:
    rules = folder_of(tmp_path / "rules", rule_text("always-on"))
    with pytest.raises(UserError, match=r"always-on\.sql: a built-in rule has this name; rename the file"):
        own_rules(rules, BUILT_IN)


def test_rules_in_a_circle_are_named(tmp_path: Path) -> None:
    rules = folder_of(tmp_path / "rules", rule_text("a", after='["b"]'), rule_text("b", after='["a"]'))
    with pytest.raises(UserError, match=r"these rules would run (a after b after a|b after a after b); take"):
        own_rules(rules, BUILT_IN)


def test_a_file_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    (tmp_path / "mine.sql").write_bytes(b"-- caf\xe9")
    with pytest.raises(UserError, match=r"mine\.sql is not UTF-8 text; save it as UTF-8\."):
        own_rules(tmp_path, BUILT_IN)
    (tmp_path / "mine.sql").unlink()
    (tmp_path / "mine.sql").mkdir()
    with pytest.raises(UserError, match=r"mine\.sql cannot be read"):
        own_rules(tmp_path, BUILT_IN)


def test_byte_order_mark_line_ends_and_a_last_semicolon_are_no_matter(tmp_path: Path) -> None:
    rules = folder_of(tmp_path / "rules")
    text = "\ufeff" + rule_text(sql=f"{select()};").replace("\n", "\r\n")
    (rules / "mine.sql").write_bytes(text.encode())
    (rules / "._mine.sql").write_bytes(b"\x00")  # what some systems leave beside a file
    (rules / "notes.txt").write_text("no rule")
    run(tmp_path, rules)
    assert len(rows(tmp_path, "mine")) == 5


# Commands ---------------------------------------------------------------------------------------------------


def test_the_list_and_the_table_hold_ones_own_too(console: Shell) -> None:
    status, out, _ = console("rules", "--rules", EXAMPLE)
    assert (status, len(out.splitlines())) == (0, len(BUILT_IN) + 1)
    assert re.search(r"^long-override +low +A manual override that lasts too long \(your own\)$", out, re.M)
    assert (
        "| `long-override` | low | circuit | A manual"
        in console("rules", "--rules", EXAMPLE, "--markdown")[1]
    )


def test_one_is_explained_and_its_sql_printed_like_ours(console: Shell) -> None:
    _, out, _ = console("rules", "long-override", "--rules", EXAMPLE)
    assert f"\nyour own rule, from {EXAMPLE / 'long-override.sql'}\n" in out
    assert "  most_minutes = 120   # minutes; an override that lasts longer is a finding\n" in out
    assert "\nReads: circuits, controllers.\nNot evaluated without: override_minutes.\n" in out
    _, out, _ = console("rules", "long-override", "--rules", EXAMPLE, "--sql")
    assert out.startswith("PREPARE rule AS\nWITH scope AS") and "most_minutes := 120" in out


def test_to_list_them_is_to_try_them(console: Shell, tmp_path: Path) -> None:
    rules = folder_of(tmp_path / "rules", rule_text(), rule_text("other", "SELECT * FROM circuit"))
    sentence = refused(console("rules", "--rules", rules))
    assert (
        "other.sql: its query does not run (Catalog Error: Table with name circuit does not exist" in sentence
    )
    assert console("rules", "mine", "--rules", rules)[0] == 0


@pytest.mark.parametrize("command", [("rules",), ("run", "p", "--out", "o")])
def test_a_folder_without_rules_is_refused(
    console: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: tuple[str, ...]
) -> None:
    monkeypatch.chdir(tmp_path)
    write_folder(tmp_path / "p", tables())
    (tmp_path / "empty").mkdir()
    assert "empty holds no rule; put a file NAME.sql there" in refused(console(*command, "--rules", "empty"))
    assert "'gone' does not exist" in refused(console(*command, "--rules", "gone"))
    assert not (tmp_path / "o").exists()


def test_one_that_takes_too_long_ends_the_run_and_leaves_the_store_as_it_was(
    console: Shell, tmp_path: Path
) -> None:
    source = write_folder(tmp_path / "p", tables())
    (tmp_path / "store.duckdb").write_bytes(b"earlier")
    options = ("--out", tmp_path / "out", "--days", 1, "--store", tmp_path / "store.duckdb")
    slow = folder_of(tmp_path / "rules", rule_text(sql=select(summary="sleep_ms(100000)::VARCHAR")))
    sentence = refused(console("run", source, *options, "--rules", slow, "--rule-seconds", 1))
    assert "mine.sql: its query was stopped after 1 s" in sentence
    assert (tmp_path / "store.duckdb").read_bytes() == b"earlier"
    assert [path.name for path in (tmp_path / "out").iterdir()] == []


def test_a_wrong_answer_ends_the_run_in_one_sentence(console: Shell, tmp_path: Path) -> None:
    source = write_folder(tmp_path / "p", tables())
    rules = folder_of(tmp_path / "rules", rule_text(sql=select(site_id="'03'")))
    sentence = refused(console("run", source, "--out", tmp_path / "out", "--days", 1, "--rules", rules))
    assert 'mine.sql: row 1 of its answer (circuit 012): there is no such circuit at site "03".' in sentence


@pytest.mark.parametrize("seconds", ["0", "3601", "1.5"])
def test_a_time_limit_is_whole_seconds_up_to_an_hour(console: Shell, tmp_path: Path, seconds: str) -> None:
    assert "--rule-seconds" in refused(console("run", tmp_path, "--out", "o", "--rule-seconds", seconds))


def test_a_day_is_told_whatever_rules_portfolio_toml_speaks_of(console: Shell, tmp_path: Path) -> None:
    source = write_folder(tmp_path / "p", tables(), "[rules.long-override]\nmost_minutes = 3\n")
    assert console("day", "01", "2026-11-03", "--portfolio", source)[0] == 0
