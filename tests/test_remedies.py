"""No remedy proposes less light where people rely on it: egress, security, and what a duty to light names."""

import re
from dataclasses import replace
from functools import cache
from itertools import product

import pytest

from auditor.rules import load_rules

from .cases import CASES, Case, Row, ask, read_cases

AREAS = {
    "interior",
    "parking",
    "walkway",
    "canopy",
    "facade",
    "landscape",
    "sign",
    "egress",
    "security",
    "other-exterior",
}
DUTIES = {"", "always", "dark", "open"}
PEOPLE_WALK = {"parking", "walkway", "canopy", "egress"}
EXTERIOR = AREAS - {"interior", "egress", "security"}
Light = tuple[str, str]  # area and must_be_lit of a circuit
LIGHTS: list[Light] = sorted(product(AREAS, DUTIES))

# Words that propose less light, or steps that may come to it, whatever stands around them.
LESS_WORDS = """
off, out of use, less, fewer, lower, lowered, lowest, setback, set back, turn down, down to, dim, dimmed,
dimming, darker, reduce, reduced, reduction, by half, halve, cut its, cut the, cut back, shorten, shorter,
curfew, shut, extinguish, put out, go out, save energy, delete, remove, no longer, timed, unneeded, detector,
occupancy, nobody needs, if nobody, midnight, at closing, after closing, at sunset, follow sunset, on until,
until everybody, keep one step, dates that come, program for the day
"""
LESS = re.compile(r"\b(" + "|".join(re.split(r",\s", LESS_WORDS.strip())) + r")\b", re.IGNORECASE)
# "Automatic" may mean off; so may a sensor in series that is back in service.
UNASKED = re.compile(r"to automatic(?! only when its program keeps)|back into service", re.IGNORECASE)
# Words that ask first, or that bring or keep the light.
CARE = re.compile(
    r"\b(ask|find out|go and see|read the duty|keeps?|stays?|lit|check|must be|bring the sensor back)\b",
    re.IGNORECASE,
)
NO_LIGHT_AT_ALL = {"site-without-device"}  # a site without devices has no circuits
ABOUT_CLOCKS = {
    "clock-dst-offset",
    "clock-wrong-zone",
    "clock-drift",
    "sun-location-off",
    "short-backup",
    "stale-export",
}


def speaks_of(rule: str, light: Light) -> bool:
    """Whether the rule, by what it is about, can speak of such a circuit or of what switches it."""
    area, duty = light
    return {
        "lit-in-daylight": area in EXTERIOR and duty != "always",
        "no-night-cutoff": area in EXTERIOR and duty in ("", "open"),
        "dark-while-open": area in PEOPLE_WALK,
        "dark-around-closing": area in PEOPLE_WALK,
        "duty-not-met": duty != "",
        "always-on": area not in ("egress", "security") and duty == "",
        "clock-times-at-dusk": area in EXTERIOR and (duty != "always" or area in PEOPLE_WALK),
        "interior-lit-when-closed": area == "interior",
        "holiday-program-missing": area in ("interior", "sign"),
    }.get(rule, rule not in NO_LIGHT_AT_ALL)


def relied_on(light: Light) -> bool:
    return light[0] in ("egress", "security") or light[1] != ""


@cache
def faults() -> dict[Light, list[tuple[Case, list[Row]]]]:
    """Every fault put on every kind of circuit, and what is found about that circuit and what switches it."""
    templates = read_cases("_protected", CASES / "_protected.toml")
    cases = {(light, template.name): put_on(template, light) for light in LIGHTS for template in templates}
    found = ask(cases.values(), "", templates[0].run)
    told: dict[Light, list[tuple[Case, list[Row]]]] = {light: [] for light in LIGHTS}
    for (light, _), case in cases.items():
        told[light].append((case, [row for row in found[case].findings if about(row)]))
    return told


def put_on(template: Case, light: Light) -> Case:
    area, duty = light
    own = {"C": {"area": area, "must_be_lit": duty}, "P": {"area": area}, "N": {}}
    circuits = [row | own[row["circuit_id"][0]] for row in template.tables["circuits"]]
    sites = [
        row | ({"site_type": f"{area} {duty}"} if row.get("site_type") else {})
        for row in template.tables["sites"]
    ]
    return replace(template, tables=template.tables | {"circuits": circuits, "sites": sites})


def about(row: Row) -> bool:
    """Not what is said of the ordinary neighbour N, or of peers P1, P2 ..."""
    return row["subject_kind"] != "circuit" or row["subject_id"][0] not in "NP"


every_rule = pytest.mark.parametrize("rule", [rule.name for rule in load_rules()])


@every_rule
def test_every_rule_is_brought_out_on_every_circuit_that_it_speaks_of(rule: str) -> None:
    # Otherwise the tests below would be silent about a remedy that they never saw.
    brought_out = {light for light in LIGHTS if rule in told_rules(light)}
    assert brought_out == {light for light in LIGHTS if speaks_of(rule, light)}


def told_rules(light: Light) -> set[str]:
    return {row["rule"] for _, rows in faults()[light] for row in rows}


@every_rule
def test_no_remedy_proposes_less_light_where_people_rely_on_it(rule: str) -> None:
    wrong = {
        (words.group(), row["remedy"])
        for case, row in said_where_relied_on(rule)
        if (words := LESS.search(row["remedy"]) or unasked(case, row))
    }
    assert sorted(wrong) == []


@every_rule
def test_every_remedy_there_asks_first_or_keeps_the_light(rule: str) -> None:
    remedies = {row["remedy"] for _, row in said_where_relied_on(rule)} if rule not in ABOUT_CLOCKS else set()
    assert sorted(remedy for remedy in remedies if not CARE.search(remedy)) == []


def said_where_relied_on(rule: str) -> list[tuple[Case, Row]]:
    """What a rule says about circuits of egress, security or a duty, and about what switches them."""
    told = (pair for light in filter(relied_on, LIGHTS) for pair in faults()[light])
    return [(case, row) for case, rows in told for row in rows if row["rule"] == rule]


def unasked(case: Case, row: Row) -> "re.Match[str] | None":
    """A return to automatic or to service with nobody asked; in parallel a sensor only adds light."""
    in_series = any(circuit.get("combine") == "all" for circuit in case.tables["circuits"])
    return UNASKED.search(row["remedy"]) if row["subject_kind"] != "sensor" or in_series else None


@pytest.mark.parametrize(
    "words",
    [
        "Add an off at closing.",
        "Let the off come at sunrise at the latest.",
        "Set back to a lower level after midnight.",
        "Dim it, or cut its hours.",
        "Return it to automatic and watch the next step.",
        "Shorten the evening by a curfew.",
        "Have it marked as out of use.",
        "Keep the light on until nine, or until everybody has left.",
    ],
)
def test_the_list_of_words_knows_a_proposal_of_less_light(words: str) -> None:
    assert LESS.search(words) or UNASKED.search(words)


@pytest.mark.parametrize(
    "words",
    [
        "Ask who relies on this light. Nothing is to be changed before that is known.",
        "Return it to automatic only when its program keeps that light on.",
        "It must be lit whenever anybody is inside.",
    ],
)
def test_the_list_of_words_lets_pass_what_asks_and_keeps(words: str) -> None:
    assert not LESS.search(words) and not UNASKED.search(words) and CARE.search(words)
