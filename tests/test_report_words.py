"""The report's words: figures, clocks, places, programs, prose."""

from datetime import date

from auditor.report.devices import clock_words, offset_words
from auditor.report.figures import Money, hours, kwh, lacking, plain, sentence, whole
from auditor.report.findings import reasons
from auditor.report.fleet import prose_parts
from auditor.report.programs import programs
from auditor.report.rows import by


def test_figures_are_whole_with_thin_spaces_and_blanks_are_named() -> None:
    assert [whole(value) for value in (None, 0, 0.2, 0.5, 1234.5, 1e6)] == [
        "not known",
        "0",
        "< 1",
        "0",
        "1\u202f234",
        "1\u202f000\u202f000",
    ]
    assert [hours(value) for value in (None, 0, 0.3, 42, 59.6, 75_000)] == [
        "not known",
        "0 h",
        "< 1 min",
        "42 min",
        "1 h",
        "1\u202f250 h",
    ]
    assert [kwh(None), kwh(12)] == ["not known", "12 kWh"]
    assert [plain(30.0), plain(0.185), plain(12000)] == ["30", "0.185", "12\u202f000"]


def test_money_has_its_currency_where_one_is_named() -> None:
    assert Money("XTS")(2192.4) == "XTS\u00a02\u202f192"
    assert Money("")(2192.4) == "2\u202f192"
    assert Money("XTS")(None) == "not known"
    assert [Money("XTS").column, Money(" ").column] == ["XTS a year", "money a year"]


def test_missing_columns_and_foreign_words_read_as_sentences() -> None:
    assert [lacking("hours"), lacking("some_column")] == ["opening hours", "some column"]
    assert [sentence(" Dimmer on order. "), sentence("Fair")] == ["Dimmer on order.", "Fair."]


def test_a_clock_is_told_stretch_by_stretch() -> None:
    right = {"error_s": 0, "first_date": date(2026, 11, 1), "last_date": date(2027, 3, 13)}
    slow = {"error_s": -3600, "first_date": date(2027, 3, 14), "last_date": date(2027, 10, 31)}
    assert clock_words(True, [right]) == "shows local time on every audited date"
    assert clock_words(True, [right, slow]) == (
        "shows local time, 1 November 2026 to 13 March 2027; "
        "1 h less than local time, 14 March to 31 October 2027"
    )
    assert clock_words(True, [right, slow] * 3).endswith("; and 2 changes more")
    assert clock_words(False, [slow]) == (
        "no reading; by its settings it shows 1 h less than local time on every audited date"
    )


def test_offsets_have_their_signs_in_words() -> None:
    assert [offset_words(-18000), offset_words(19800)] == ["−05:00", "+05:30"]


def test_the_reasons_of_a_site_name_three_kinds_of_finding_and_count_the_others() -> None:
    found = [
        {"title": title, "subject_kind": kind}
        for title, kind in [
            ("A", "circuit"),
            ("A", "circuit"),
            ("A", "controller"),
            ("B", "step"),
            ("C", "site"),
        ]
    ]
    assert reasons(found) == ["A (2 circuits, 1 device)", "B", "C"]
    assert reasons(found, shown=1) == ["A (2 circuits, 1 device)", "and 2 other kinds"]
    assert reasons(found, shown=2)[-1] == "and 1 other kind"
    assert reasons([]) == []


def test_circuits_that_run_the_same_program_are_told_once() -> None:
    step = {
        "action": "on",
        "level": None,
        "days_mask": 127,
        "anchor": "sunset",
        "time_s": None,
        "offset_s": 0,
        "season_from": None,
        "season_until": None,
        "calendar": None,
    }
    circuits = [
        {
            "circuit_id": key,
            "controller_id": "D",
            "name": None,
            "hold": None,
            "combine": combine,
            "must_be_lit": None,
        }
        for key, combine in (("a", "any"), ("b", "any"), ("c", "all"))
    ]
    steps = by([step | {"for_sensor": False, "target": key} for key in "ab"], "for_sensor", "target")
    told = programs(circuits, {}, steps)
    assert [[row["circuit_id"] for row in program["circuits"]] for program in told] == [["a", "b"], ["c"]]
    assert [program["lines"] for program in told] == [
        ("Every day: on at sunset.",),
        ("No steps of its own: on, as far as its sensors allow.",),
    ]


def test_the_prose_of_a_rule_is_parted_at_its_leads() -> None:
    prose = "Before.\nWhat goes wrong. It\nbreaks.\nSource: common practice"
    assert prose_parts(prose) == [
        ("", "Before."),
        ("What goes wrong", "It breaks."),
        ("Source", "Common practice"),
    ]
