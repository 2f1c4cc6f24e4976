"""The log of one day at one site, worked by hand."""

import json
from datetime import date
from pathlib import Path

import pytest

from auditor.day import SiteDay
from auditor.errors import UserError

from .conftest import Console, small, write_folder

NOON = 12 * 3600


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """New York: interior 012 on 07:00, off 19:00; car park 011 on a photocontrol, out 23:00 to 05:00.

    Its device was read in November an hour slow and a minute fast, its rule is none on -05:00.
    """
    tables = small()
    tables["controllers"][0] |= {
        "dst_rule": "none",
        "utc_offset": "-05:00",
        "clock_reading": "2026-11-03T09:06:00",
    }
    tables["circuits"][1]["name"] = "Reading\x1b[31m room"
    tables["events"].append(
        {**tables["events"][0], "event_id": "009", "action": "on", "time": "08:00", "targets": "012"}
    )
    return write_folder(tmp_path / "portfolio", tables)


def told(folder: Path, day: str) -> list[tuple[str, str, str, str]]:
    lines = SiteDay(folder, "01", date.fromisoformat(day)).lines()
    return [(line.local, line.device, line.subject, line.what) for line in lines]


def test_steps_come_at_true_local_time_beside_the_time_that_the_device_shows(folder: Path) -> None:
    # Read 14:05 UTC as 09:06: a minute fast on -05:00. In summer New York is an hour ahead of that clock:
    # the device's 07:00 is 06:59 standard time, 07:59 daylight time.
    lines = told(folder, "2027-07-01")
    assert ("07:59:00", "07:00:00", "Reading�[31m room (012)", "programmed on") in lines
    lines = told(folder, "2026-12-01")
    assert ("06:59:00", "07:00:00", "Reading�[31m room (012)", "programmed on") in lines


def test_a_step_that_finds_the_circuit_as_it_leaves_it_is_said_to_change_nothing(folder: Path) -> None:
    idle = [line for line in told(folder, "2026-12-01") if "changes nothing" in line[3]]
    assert idle == [
        ("07:59:00", "08:00:00", "Reading�[31m room (012)", "step 009 fires and changes nothing: on at 08:00")
    ]


def test_opening_hours_and_the_sun_stand_between(folder: Path) -> None:
    # Tuesday, open 08:00 to 18:30. Sunset in New York on 1 December: 16:29 (from memory, check).
    lines = [(local[:5], what) for local, _, subject, what in told(folder, "2026-12-01") if subject == "site"]
    assert [what for _, what in lines] == ["sunrise", "opens", "sunset", "closes"]
    assert lines[1][0] == "08:00" and lines[3][0] == "18:30"
    assert "16:27" <= lines[2][0] <= "16:31"


@pytest.mark.parametrize(
    ("time_s", "state", "reason"),
    [
        (3 * 3600, "programmed off", "photocontrol 01P in parallel is out of service since"),
        (
            NOON,
            "programmed off",
            "photocontrol 01P in parallel is in service and it is light: it does not call",
        ),
        (20 * 3600, "programmed on", "photocontrol 01P in parallel is in service and it is dark: it calls"),
    ],
)
def test_why_a_circuit_is_as_it_is(folder: Path, time_s: int, state: str, reason: str) -> None:
    lot = SiteDay(folder, "01", date(2026, 12, 1)).why(time_s)[0]
    assert (lot.circuit_id, lot.what) == ("011", state)
    assert lot.reasons[0] == "no step has turned it on"
    assert lot.reasons[1].startswith(reason)


def test_a_hold_is_the_whole_reason(folder: Path) -> None:
    (sign,) = SiteDay(folder, "02", date(2026, 12, 1)).why(NOON)
    assert (sign.what, sign.reasons) == (
        "programmed on",
        ("left by hand in on; its program counts for nothing",),
    )


def test_a_time_that_a_change_of_the_clocks_skips_is_answered_after_it(folder: Path) -> None:
    # 14 March 2027: 02:30 does not come in New York; the first instant at or past it is 03:00.
    assert SiteDay(folder, "01", date(2027, 3, 14)).why(9000)[1].what == "programmed off"


def test_an_unknown_site_is_refused_with_the_nearest_one(folder: Path) -> None:
    with pytest.raises(UserError, match=r'there is no site "03" .* did you mean "0[12]"'):
        SiteDay(folder, "03", date(2026, 12, 1))


def test_the_command_prints_a_log_the_reasons_and_json(folder: Path, console: Console) -> None:
    base = ("day", "01", "2026-12-01", "--portfolio", folder)
    status, log, _ = console(*base)
    assert status == 0 and "device 07:00:00" in log and "\x1b[31m room" not in log
    status, reasons, _ = console(*base, "--at", "20:00")
    assert status == 0 and "it is dark: it calls" in reasons
    status, facts, _ = console(*base, "--json")
    assert status == 0 and {"at_utc", "local", "device", "subject", "what", "why"} == set(
        json.loads(facts)[0]
    )
    status, _, sentence = console(*base, "--at", "25:00")
    assert (status, sentence) == (2, 'auditor: --at "25:00" is not a time of day; write it like 06:30.\n')
