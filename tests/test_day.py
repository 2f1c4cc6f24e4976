"""The log of one day at one site, worked by hand."""

from datetime import date
from pathlib import Path

import pytest

from auditor.day import SiteDay, tell
from auditor.errors import UserError

from .conftest import Row, Tables, small, write_folder

ROOM = "Reading�[31m room (012)"


def tables() -> Tables:
    """New York: interior 012 on 07:00, off 19:00; car park 011 on a photocontrol, out 23:00 to 05:00.

    Its device was read in November an hour slow and a minute fast, its rule is none on -05:00.
    """
    made = small()
    made["controllers"][0] |= {
        "dst_rule": "none",
        "utc_offset": "-05:00",
        "clock_reading": "2026-11-03T09:06:00",
    }
    made["circuits"][1]["name"] = "Reading\x1b[31m room"
    made["events"].append(step("009", "012", "on", "08:00"))
    return made


def step(event_id: str, targets: str, action: str, time: str, **more: object) -> Row:
    return {
        "event_id": event_id,
        "controller_id": "01A",
        "targets": targets,
        "action": action,
        "days": "daily",
        "anchor": "clock",
        "time": time,
        **more,
    }


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return write_folder(tmp_path / "portfolio", tables())


def site_day(folder: Path, day: str, site_id: str = "01") -> SiteDay:
    return SiteDay(folder, site_id, date.fromisoformat(day))


def told(folder: Path, day: str, subject: str = "", site_id: str = "01") -> list[tuple[str, str, str, str]]:
    """Kind, local time, what and why of each line, of one subject or of all."""
    lines = tell(site_day(folder, day, site_id)).lines
    return [(line.kind, line.local, line.what, line.why) for line in lines if subject in line.subject]


def test_steps_come_at_true_local_time_beside_the_time_that_the_device_shows(folder: Path) -> None:
    # Read 14:05 UTC as 09:06: a minute fast on -05:00. In summer New York is an hour ahead of that clock:
    # the device's 07:00 is 06:59 standard time, 07:59 daylight time.
    for day, local in (("2027-07-01", "07:59:00"), ("2026-12-01", "06:59:00")):
        (line,) = [line for line in tell(site_day(folder, day)).lines if line.why == "step 001 (on at 07:00)"]
        assert (line.local, line.device, line.subject) == (local, "07:00:00", ROOM)
        assert (line.kind, line.what, line.level, line.conditional) == ("change", "programmed on", 100, False)


def test_it_begins_with_every_state_and_where_that_comes_from(folder: Path) -> None:
    begun = [line for line in told(folder, "2026-12-01") if line[0] == "start"]
    # 23:00 and 19:00 by the device are 22:59 and 18:59.
    out = "step 003 (out of service at 23:00)"
    by_sensor = f"no steps of its own; photocontrol 01P in parallel is out of service by {out}"
    by_step = "step 002 (off at 19:00), since 18:59 the day before"
    assert begun == [
        ("start", "00:00:00", "programmed off", by_sensor),
        ("start", "00:00:00", "programmed off", by_step),
        ("start", "00:00:00", "out of service", f"{out}, since 22:59 the day before"),
    ]


def test_what_last_happened_long_ago_is_told_with_its_date(tmp_path: Path) -> None:
    made = tables()
    made["events"] = [step("005", "012", "on", "07:00", **{"from": "10-05", "until": "10-05"})]
    folder = write_folder(tmp_path / "p", made)
    # In October New York is an hour ahead of the device, which is a minute fast.
    assert (
        "start",
        "00:00:00",
        "programmed on",
        "step 005 (on at 07:00), since 07:59 on 5 October 2026",
    ) in told(folder, "2026-12-01", "012")


def test_a_step_that_finds_the_circuit_as_it_leaves_it_is_said_to_change_nothing(folder: Path) -> None:
    idle = [line for line in told(folder, "2026-12-01", ROOM) if line[0] == "step"]
    assert idle == [("step", "07:59:00", "step 009 (on at 08:00) fires", "changes nothing")]


def test_a_step_that_a_sensor_in_series_holds_back_says_so_and_takes_effect_at_dusk(tmp_path: Path) -> None:
    made = tables()
    made["circuits"][0]["combine"] = "all"
    made["events"] = [step("010", "011", "on", "12:00"), step("011", "011", "off", "22:00")]
    lines = told(write_folder(tmp_path / "p", made), "2026-12-01", "011")
    light = "photocontrol 01P in series keeps it off, for it is light"
    assert lines[1] == ("step", "11:59:00", "step 010 (on at 12:00) fires", f"it stays off: {light}")
    kind, local, what, why = lines[2]
    assert (kind, what) == ("change", "programmed on")
    assert "16:27" <= local <= "16:31"  # sunset in New York on 1 December: 16:29 (from memory, check)
    assert why == "photocontrol 01P in series lets it be on, for it is dark"
    assert lines[3] == ("change", "21:59:00", "programmed off", "step 011 (off at 22:00)")


def test_steps_at_one_instant_are_told_and_which_of_them_is_overridden(tmp_path: Path) -> None:
    made = tables()
    made["events"] = [
        step("a", "012", "on", "08:00"),
        step("b", "012", "level", "08:00", level=40),
        step("c", "012", "off", "18:00"),
    ]
    lines = told(write_folder(tmp_path / "p", made), "2026-12-01", "012")
    over = "overridden at the same instant by step b (to 40 % at 08:00)"
    assert lines[1:3] == [
        ("step", "07:59:00", "step a (on at 08:00) fires", over),
        ("change", "07:59:00", "programmed on at 40 %", "step b (to 40 % at 08:00)"),
    ]


def test_a_sensor_is_told_as_it_leaves_service_and_comes_back_and_what_follows(folder: Path) -> None:
    lines = told(folder, "2026-12-01", "01P")
    assert lines[1:] == [
        ("service", "04:59:00", "in service", "step 004 (back in service at 05:00)"),
        ("service", "22:59:00", "out of service", "step 003 (out of service at 23:00)"),
    ]
    lot = told(folder, "2026-12-01", "011")
    back = "photocontrol 01P in parallel calls for light, for it is dark"
    assert lot[1] == ("change", "04:59:00", "programmed on", back)
    gone = "photocontrol 01P in parallel is out of service by step 003 (out of service at 23:00)"
    assert lot[-1] == ("change", "22:59:00", "programmed off", gone)


@pytest.mark.parametrize(
    ("combine", "evening", "day"),
    [
        ("any", ("on only if somebody is there", "turns it on where somebody is there"), "programmed on"),
        ("all", ("programmed off", ""), "on only if somebody is there"),
    ],
)
def test_what_hangs_on_somebody_being_there_says_so(
    tmp_path: Path, combine: str, evening: tuple[str, str], day: str
) -> None:
    made = tables()
    made["circuits"][1]["combine"] = combine
    made["sensors"].append(
        {"sensor_id": "01O", "controller_id": "01A", "kind": "occupancy", "circuits": "012"}
    )
    changes = [
        line for line in told(write_folder(tmp_path / "p", made), "2026-12-01", ROOM) if line[0] == "change"
    ]
    assert [what for _, _, what, _ in changes] == [day, evening[0]]
    assert changes[1][3].startswith("step 002 (off at 19:00)") and changes[1][3].endswith(evening[1])


def test_a_hold_is_the_whole_reason_and_steps_count_for_nothing(folder: Path) -> None:
    lines = told(folder, "2026-12-01", "021", site_id="02")
    hand = "left by hand in on, and its program counts for nothing"
    assert lines[0] == ("start", "00:00:00", "programmed on", hand)
    assert [line[3] for line in lines[1:]] == [f"it stays on: {hand}"] * 2


def test_opening_hours_and_the_sun_stand_between(folder: Path) -> None:
    # Tuesday, open 08:00 to 18:30. Sunset in New York on 1 December: 16:29 (from memory, check).
    lines = [(local[:5], what) for kind, local, what, _ in told(folder, "2026-12-01") if kind == "site"]
    assert [what for _, what in lines] == ["sunrise", "opens", "sunset", "closes"]
    assert lines[1][0] == "08:00" and lines[3][0] == "18:30"
    assert "16:27" <= lines[2][0] <= "16:31"


def test_a_change_of_the_clocks_is_a_line_and_so_is_what_a_device_makes_of_it(folder: Path) -> None:
    # 14 March 2027: New York goes forward at 02:00; the device keeps -05:00 and its minute.
    lines = [line[1:] for line in told(folder, "2027-03-14") if line[0] == "clock"]
    assert lines == [
        ("03:00:00", "clocks go forward 1 h: after 01:59:59 comes 03:00", ""),
        ("03:00:00", "shows 59 min less than local time from here on", ""),
    ]


def test_an_unknown_site_is_refused_with_the_nearest_one(folder: Path) -> None:
    with pytest.raises(UserError, match=r'there is no site "03" .* did you mean "0[12]"'):
        site_day(folder, "2026-12-01", "03")


def test_a_rejected_site_is_refused_with_the_reason(tmp_path: Path) -> None:
    made = tables()
    made["sites"].append({"site_id": "03", "latitude": "north", "longitude": "0"})
    with pytest.raises(UserError, match=r'site "03" was rejected: sites\.csv, row 4, column latitude: '):
        site_day(write_folder(tmp_path / "p", made), "2026-12-01", "03")


def test_a_circuit_and_a_sensor_of_one_id_are_kept_apart(tmp_path: Path) -> None:
    made = tables()
    made["sensors"][0]["sensor_id"] = "012"
    made["events"][2]["targets"] = made["events"][3]["targets"] = "012"
    lines = tell(site_day(write_folder(tmp_path / "p", made), "2026-12-01")).lines
    assert {line.what for line in lines if line.subject_kind == "sensor"} == {"in service", "out of service"}
    room = [line.why for line in lines if line.subject == ROOM and line.kind == "change"]
    assert room == ["step 001 (on at 07:00)", "step 002 (off at 19:00)"]
