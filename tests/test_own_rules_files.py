"""A user's own rules as files, and at the command line."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from auditor.errors import UserError
from auditor.ownrules import own_rules

from .conftest import Console, contents, write_folder
from .own_rules import BUILT_IN, EXAMPLE, folder_of, rows, rule_text, run, select, tables
from .test_cli import refused

Shell = Callable[..., Console]


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
        "the answer of now may change from run to run or with the machine; for a date",
    ),
    "the date": (
        rule_text(sql=select() + ' WHERE x < "Current_Date"'),
        "take newest_read_at_utc from the table",
    ),
    "chance": (rule_text(sql=select() + " ORDER BY Random ()"), "the answer of random may change"),
    "a sample": (rule_text(sql=select() + " USING  SAMPLE 3"), "the answer of a sample may change"),
}

ENDLESS = "(SELECT count(*)::VARCHAR FROM range(1000000) a, range(1000000) b, range(1000000) c)"


@pytest.mark.parametrize("fault", NO_RULES)
def test_a_file_that_is_no_rule_is_refused_with_its_name(tmp_path: Path, fault: str) -> None:
    text, words = NO_RULES[fault]
    (tmp_path / "mine.sql").write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as refusal:
        own_rules(tmp_path, BUILT_IN)
    sentence = str(refusal.value)
    assert words in sentence and "\n" not in sentence
    assert sentence.startswith("mine.sql: ") or fault == "after itself"


@pytest.mark.parametrize("letter", ["\x1b", "\u202e", "\u200b"])  # the second turns round what follows
def test_a_query_that_is_not_what_it_looks_like_is_refused(tmp_path: Path, letter: str) -> None:
    folder = folder_of(tmp_path, rule_text(sql=select(summary=f"'Seen\tby {letter}me.'")))
    with pytest.raises(UserError, match=r"its query holds a letter that cannot be seen; write it"):
        own_rules(folder, BUILT_IN)
    folder_of(tmp_path, rule_text(sql=select(summary="'Seen\tby 図書館\u3000me.'")))
    assert own_rules(folder, BUILT_IN)


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
    store = tmp_path / "store.duckdb"
    options = ("--out", tmp_path / "out", "--days", 1, "--store", store)
    assert console("run", source, *options, "--pages", 10)[0] == 0
    earlier, results = store.read_bytes(), contents(tmp_path / "out")
    slow = folder_of(tmp_path / "rules", rule_text(sql=select(summary=ENDLESS)))
    sentence = refused(console("run", source, *options, "--rules", slow, "--rule-seconds", 1))
    assert "mine.sql: its query was stopped after 1 s" in sentence
    assert store.read_bytes() == earlier
    assert contents(tmp_path / "out") == results


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
