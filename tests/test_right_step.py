"""A remedy names the step that is wrong, not the one that is near: mornings, hand switches, sun steps."""

from pathlib import Path

import pytest

from .test_evidence import found, lot, step

EARLY = [{"site_id": "s", "days": "daily", "opens": "06:00", "closes": "22:00"}]
ROUND = [{"site_id": "s", "days": "daily", "opens": "00:00", "closes": "24:00"}]
SENSOR = {"sensor_id": "p", "controller_id": "t", "kind": "photocontrol", "circuits": "c"}


def test_a_morning_on_that_summer_makes_useless_is_kept_for_the_winter(tmp_path: Path) -> None:
    steps = [step("1", "on", "05:30"), step("2", "off", "sunrise+5")]
    steps += [step("3", "on", "sunset-5"), step("4", "off", "22:40")]
    lit = found(tmp_path, lot() | {"events": steps, "hours": EARLY}, "lit-in-daylight", 365)
    assert "keep step 1 (on at 05:30, every day) for those who come while it is dark" in lit["remedy"]


def test_an_off_that_comes_before_its_on_in_summer_is_not_moved_to_sunrise(tmp_path: Path) -> None:
    steps = [step("1", "on", "sunset-5"), step("2", "off", "19:30")]
    lit = found(tmp_path, lot() | {"events": steps}, "lit-in-daylight", 365)
    assert "add an off at sunrise" in lit["remedy"]
    assert "step 2 (off at 19:30, every day) comes before the on of the same evening" in lit["remedy"]


@pytest.mark.parametrize(
    ("steps", "hours", "words"),
    [
        (
            [step("1", "on", "sunset-5"), step("2", "off", "23:00")],
            [EARLY[0] | {"opens": "05:30"}],
            "Add an on half an hour before opening (05:00 on that date), and keep the light until sunrise.",
        ),
        (
            [
                *(step("1", "on", "04:40"), step("2", "off", "06:00")),
                *(step("3", "on", "sunset-5"), step("4", "off", "23:00")),
            ],
            [EARLY[0] | {"opens": "05:00"}],
            "Let step 2 (off at 06:00, every day) wait for sunrise",
        ),
        (
            [step("1", "on", "sunset-5"), step("2", "off", "23:00")],
            ROUND,
            "Let step 2 (off at 23:00, every day) wait for sunrise",
        ),
        (
            [
                *(step("1", "on", "sunset-5"), step("2", "off", "sunrise+5")),
                *(step("3", "off", "18:00"), step("4", "on", "20:00")),
            ],
            EARLY,
            "Let no gap be between step 3 (off at 18:00, every day) and step 4 (on at 20:00, every day).",
        ),
    ],
    ids=["no morning on", "morning off too early", "round the clock", "gap"],
)
def test_dark_hours_of_the_morning_and_of_the_night_have_their_own_words(
    tmp_path: Path, steps: list[dict[str, object]], hours: list[dict[str, object]], words: str
) -> None:
    assert words in found(tmp_path, lot() | {"events": steps, "hours": hours}, "dark-while-open")["remedy"]


def test_before_opening_an_on_is_missing_and_not_an_off_to_be_moved_through_the_night(tmp_path: Path) -> None:
    steps = [step("1", "on", "sunset-5"), step("2", "off", "23:00")]
    hours = [EARLY[0] | {"opens": "07:00"}]
    dark = found(tmp_path, lot() | {"events": steps, "hours": hours}, "dark-around-closing", 60)
    assert "Add an on by 06:30 on that date, half an hour before opening" in dark["remedy"]


@pytest.mark.nightly
def test_a_duty_missed_by_a_hand_switch_or_a_sensor_is_not_laid_to_the_program(tmp_path: Path) -> None:
    steps = [step("1", "on", "sunset-10"), step("2", "off", "sunrise+10")]
    held = found(tmp_path / "a", lot(hold="off", must_be_lit="dark") | {"events": steps}, "duty-not-met")
    assert held["remedy"].startswith("Its hand switch comes first") and held["who"] == "site staff"
    plain = lot(must_be_lit="dark") | {"events": [step("1", "on", "sunset-10"), step("2", "off", "23:00")]}
    assert found(tmp_path / "b", plain, "duty-not-met")["remedy"].startswith(
        "The light is missing after step 2."
    )
    suspended = [step("1", "suspend", "22:00", target="p"), step("2", "resume", "05:00", target="p")]
    sensed = lot(must_be_lit="dark") | {"events": suspended, "sensors": [SENSOR]}
    remedy = found(tmp_path / "c", sensed, "duty-not-met")["remedy"]
    assert remedy.startswith("What would light it is out of service then: photocontrol p.")


def test_a_wrong_location_does_not_excuse_a_clock_program(tmp_path: Path) -> None:
    tables = lot() | {"events": [step("1", "on", "18:00"), step("2", "off", "23:00")]}
    tables["circuits"].append({"circuit_id": "other", "controller_id": "t", "area": "sign"})
    tables["events"].append(step("3", "on", "sunset", target="other"))
    tables["controllers"][0] |= {"latitude": 25, "longitude": -74}
    remedy = found(tmp_path, tables, "dark-while-open")["remedy"]
    assert "Let step 1 (on at 18:00, every day) come at sunset" in remedy and "location" not in remedy


def test_a_clocks_offset_does_not_excuse_steps_by_the_sun(tmp_path: Path) -> None:
    tables = lot() | {"events": [step("1", "on", "sunset+45"), step("2", "off", "sunrise")]}
    tables["controllers"][0] |= {
        "dst_rule": "none",
        "utc_offset": "-07:00",
        "clock_reading": "2026-11-02T08:00:00",
    }
    remedy = found(tmp_path, tables, "dark-while-open")["remedy"]
    assert "Let step 1 (on 45 min after sunset, every day) come at sunset" in remedy


def test_a_site_that_never_closes_is_told_no_time_after_closing(tmp_path: Path) -> None:
    tables = lot(area="interior") | {"events": [step("1", "on", "00:00")], "hours": ROUND}
    for number in range(6):
        circuit = f"x{number}"
        tables["circuits"].append({"circuit_id": circuit, "controller_id": "u", "area": "interior"})
        tables["events"] += [
            step(f"{number}a", "on", "08:00", target=circuit) | {"controller_id": "u"},
            step(f"{number}b", "off", "20:30", target=circuit) | {"controller_id": "u"},
        ]
    tables["sites"].append(tables["sites"][0] | {"site_id": "r"})
    tables["controllers"].append(tables["controllers"][0] | {"controller_id": "u", "site_id": "r"})
    tables["hours"] = [*ROUND, {"site_id": "r", "days": "daily", "opens": "08:00", "closes": "20:00"}]
    assert "in this portfolio" not in found(tmp_path, tables, "on-without-off")["remedy"]
