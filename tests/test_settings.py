"""``portfolio.toml``: defaults, what is taken, and that nothing unknown or mistyped slips through."""

from pathlib import Path

import pytest

from auditor.errors import UserError
from auditor.model import CODE_EDITIONS, SEVERITIES, Settings
from auditor.rules import load_rules
from auditor.settings import read_settings

RULES = load_rules()


def read(folder: Path, text: str) -> Settings:
    (folder / "portfolio.toml").write_text(text, encoding="utf-8")
    return read_settings(folder / "portfolio.toml", RULES)


def refusal(folder: Path, text: str) -> str:
    with pytest.raises(UserError) as refused:
        read(folder, text)
    sentence = str(refused.value)
    assert sentence.startswith("portfolio.toml")
    assert "\n" not in sentence
    return sentence


@pytest.mark.parametrize(
    "text", [None, "", "# nothing\n", "[figures]\n[score]\n[rules]\n[portfolio]\n[visits]\n"]
)
def test_without_a_word_the_defaults_hold(tmp_path: Path, text: str | None) -> None:
    found = read_settings(tmp_path / "portfolio.toml", RULES) if text is None else read(tmp_path, text)
    assert found.figures == {
        "daylight_margin_minutes": 30,
        "hours_margin_minutes": 60,
        "staff_margin_minutes": 30,
    }
    assert found.score == {"critical": 1000, "high": 250, "medium": 60, "low": 10}
    assert (found.name, found.currency, found.emission_source) == ("", "", "")
    assert (found.rate_per_kwh, found.energy_code, found.emission_kg_per_kwh) == (None, None, None)
    assert found.rules == {}
    assert found.visits == {
        "first_minutes": 30,
        "clock_minutes": 20,
        "program_minutes": 15,
        "hand_minutes": 10,
        "sensor_minutes": 30,
        "backup_minutes": 45,
        "look_minutes": 20,
        "other_minutes": 30,
        "speed_kmh": 60,
        "detour_factor": 1.3,
        "day_hours": 8,
        "start_minutes": 480,
        "cost_per_visit": None,
    }


def test_what_is_given_is_taken_and_the_rest_stays(tmp_path: Path) -> None:
    found = read(
        tmp_path,
        """
        [portfolio]
        name = "Quernholt"
        currency = "EUR"
        rate_per_kwh = 0.16
        energy_code = "title-24-2025"
        emission_kg_per_kwh = 0
        emission_source = "a table"
        [figures]
        hours_margin_minutes = 0
        [score]
        low = 2.5
        [rules.clock-drift]
        enabled = false
        severity = "critical"
        """,
    )
    assert (found.name, found.currency, found.rate_per_kwh) == ("Quernholt", "EUR", 0.16)
    assert (found.energy_code, found.emission_kg_per_kwh, found.emission_source) == (
        "title-24-2025",
        0,
        "a table",
    )
    assert (found.figures["hours_margin_minutes"], found.figures["daylight_margin_minutes"]) == (0, 30)
    assert (found.score["low"], found.score["high"]) == (2.5, 250)
    assert found.rules == {"clock-drift": {"enabled": False, "severity": "critical"}}


def test_every_threshold_of_every_rule_can_be_set(tmp_path: Path) -> None:
    for rule in RULES:
        for name in rule.params:
            wanted = 0.75 if rule.units[name].startswith("share") else 17.5
            found = read(tmp_path, f"[rules.{rule.name}]\n{name} = {wanted}\n")
            assert found.rules == {rule.name: {name: wanted}}


def test_a_byte_order_mark_is_no_matter(tmp_path: Path) -> None:
    assert read(tmp_path, '\ufeff[portfolio]\nname = "Café"\n').name == "Café"


@pytest.mark.parametrize("edition", CODE_EDITIONS)
def test_every_code_edition_is_known(tmp_path: Path, edition: str) -> None:
    assert read(tmp_path, f'[portfolio]\nenergy_code = "{edition}"\n').energy_code == edition


@pytest.mark.parametrize(
    ("text", "key", "near"),
    [
        ("[portfolios]", "portfolios", "portfolio"),
        ("[figure]", "figure", "figures"),
        ("curency = 1", "curency", "score"),  # at the top, where only sections are known
        ('[portfolio]\ncurency = "EUR"', "curency", "currency"),
        ("[portfolio]\nrate = 1", "rate", "rate_per_kwh"),
        ("[figures]\nhour_margin_minutes = 1", "hour_margin_minutes", "hours_margin_minutes"),
        ("[score]\nhihg = 1", "hihg", "high"),
        ("[visits]\nspeed = 1", "speed", "speed_kmh"),
        ("[visits]\nstarttime = 1", "starttime", "start_time"),
        ("[rules.clock-drift]\nenable = true", "enable", "enabled"),
        ("[rules.clock-drift]\nSeverity = 'low'", "Severity", "severity"),
    ],
)
def test_an_unknown_key_is_refused_with_the_nearest_known_one(
    tmp_path: Path, text: str, key: str, near: str
) -> None:
    assert refusal(tmp_path, text).endswith(f'"{key}" is not known; did you mean "{near}"?')


def test_an_unknown_rule_is_refused_with_the_nearest_known_one_and_where_own_ones_come_from(
    tmp_path: Path,
) -> None:
    sentence = refusal(tmp_path, "[rules.clock-drifts]\nenabled = true")
    wanted = (
        '[rules] "clock-drifts" is not known (a rule of your own needs --rules); did you mean "clock-drift"?'
    )
    assert sentence.endswith(wanted)


def test_where_nobody_asks_for_rules_their_sections_are_passed_over(tmp_path: Path) -> None:
    (tmp_path / "portfolio.toml").write_text("[rules.mine]\nmost_minutes = 3\n[score]\nlow = 1\n")
    found = read_settings(tmp_path / "portfolio.toml", None)
    assert (found.rules, found.score["low"]) == ({}, 1)


@pytest.mark.parametrize("key", ["name", "currency", "energy_code", "emission_source"])
@pytest.mark.parametrize("value", ["1", "true", '["x"]', "2026-11-03"])
def test_a_text_must_be_a_text(tmp_path: Path, key: str, value: str) -> None:
    assert f"[portfolio] {key} must be a text in quotes" in refusal(
        tmp_path, f"[portfolio]\n{key} = {value}\n"
    )


def test_a_text_that_stands_on_every_page_has_an_end(tmp_path: Path) -> None:
    assert read(tmp_path, f'[portfolio]\nname = "{"x" * 200}"\n').name == "x" * 200
    said = refusal(tmp_path, f'[portfolio]\nname = "{"x" * 201}"\n')
    assert "[portfolio] name must be at most 200 letters long" in said


@pytest.mark.parametrize(
    "place",
    [
        "[portfolio]\nrate_per_kwh",
        "[portfolio]\nemission_kg_per_kwh",
        "[figures]\nstaff_margin_minutes",
        "[score]\ncritical",
        "[visits]\nclock_minutes",
        "[visits]\ncost_per_visit",
        "[rules.lit-in-daylight]\nminutes",
    ],
)
@pytest.mark.parametrize("value", ['"0.16"', "true", "-1", "nan", "inf", "[1]", "1e300", "1" + "0" * 400])
def test_an_amount_must_be_a_plain_number_of_a_sane_size(tmp_path: Path, place: str, value: str) -> None:
    if "rules" in place:
        place = place.replace("minutes", next(iter(rule_of("lit-in-daylight"))))
    sentence = refusal(tmp_path, f"{place} = {value}\n")
    assert f"{place.splitlines()[1]} must be a number from 0 to" in sentence


def rule_of(name: str) -> dict[str, object]:
    """The thresholds of a rule."""
    return next(rule.params for rule in RULES if rule.name == name)


def test_a_margin_is_a_day_at_most(tmp_path: Path) -> None:
    assert read(tmp_path, "[figures]\nhours_margin_minutes = 1440").figures["hours_margin_minutes"] == 1440
    assert "from 0 to 1440" in refusal(tmp_path, "[figures]\nhours_margin_minutes = 1441")


@pytest.mark.parametrize(
    ("key", "least", "most"),
    [
        ("first_minutes", "0", "1440"),
        ("speed_kmh", "1", "200"),
        ("detour_factor", "1", "10"),
        ("day_hours", "0.5", "24"),
    ],
)
def test_what_a_plan_of_visits_reckons_with_stays_within_reason(
    tmp_path: Path, key: str, least: str, most: str
) -> None:
    for edge in (least, most):
        assert read(tmp_path, f"[visits]\n{key} = {edge}").visits[key] == float(edge)
    for beyond in (float(least) - 0.01, float(most) + 0.01):
        wanted = f"[visits] {key} must be a number from {least} to {most}"
        assert wanted in refusal(tmp_path, f"[visits]\n{key} = {beyond}")


@pytest.mark.parametrize("value", ['"07:30"', '"07:30:00"', "07:30:00"])
def test_a_crews_day_begins_at_a_time_of_day(tmp_path: Path, value: str) -> None:
    assert read(tmp_path, f"[visits]\nstart_time = {value}").visits["start_minutes"] == 450


@pytest.mark.parametrize("value", ['"7:30"', '"24:00"', '"noon"', "7", "true", '"07:30:30"'])
def test_anything_else_is_no_time_of_day(tmp_path: Path, value: str) -> None:
    sentence = refusal(tmp_path, f"[visits]\nstart_time = {value}")
    assert 'start_time must be a time of day; write "08:00"' in sentence


@pytest.mark.parametrize("section", ["portfolio", "figures", "score", "rules", "visits"])
def test_a_section_must_be_a_section(tmp_path: Path, section: str) -> None:
    assert f"{section} must be a table; write [{section}]" in refusal(tmp_path, f"{section} = 3\n")


def test_a_rule_must_be_a_section(tmp_path: Path) -> None:
    sentence = refusal(tmp_path, "[rules]\nclock-drift = false\n")
    assert "rules.clock-drift must be a table; write [rules.clock-drift]" in sentence


@pytest.mark.parametrize("value", ['"yes"', "1", "[]"])
def test_enabled_must_be_true_or_false(tmp_path: Path, value: str) -> None:
    sentence = refusal(tmp_path, f"[rules.clock-drift]\nenabled = {value}\n")
    assert "[rules.clock-drift] enabled must be true or false" in sentence


@pytest.mark.parametrize("severity", SEVERITIES)
def test_each_severity_is_known(tmp_path: Path, severity: str) -> None:
    found = read(tmp_path, f'[rules.clock-drift]\nseverity = "{severity}"\n')
    assert found.rules["clock-drift"]["severity"] == severity


@pytest.mark.parametrize("value", ['"urgent"', '"High"', "1", "[]"])
def test_any_other_severity_is_refused(tmp_path: Path, value: str) -> None:
    sentence = refusal(tmp_path, f"[rules.clock-drift]\nseverity = {value}\n")
    assert "severity must be one of critical, high, medium, low" in sentence


def test_text_that_is_not_toml_is_refused_with_its_place(tmp_path: Path) -> None:
    assert "line 2" in refusal(tmp_path, "[portfolio]\nname = Quernholt\n")


def test_bytes_that_are_not_utf_8_and_a_folder_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "portfolio.toml"
    path.write_bytes(b'[portfolio]\nname = "Caf\xe9"\n')
    with pytest.raises(UserError, match="not readable as TOML"):
        read_settings(path, RULES)
    path.unlink()
    path.mkdir()
    with pytest.raises(UserError, match="cannot be read"):
        read_settings(path, RULES)
