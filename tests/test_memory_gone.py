"""Why a finding is gone, as a store tells it: fixed only where something was changed at the device."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from .conftest import Row, Tables, report
from .memory_case import HELD, Keeper, portfolio


@pytest.fixture
def keeper(tmp_path: Path) -> Keeper:
    return Keeper(tmp_path)


# Why a finding is gone -------------------------------------------------------------------------------------


def test_every_reason_for_which_a_finding_can_go_is_named(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD, s2=HELD, s3=HELD, s4=HELD, s5=HELD))
    later = portfolio(11, s1=HELD, s2={"circuits": {"hold": "on", "in_use": "no"}}, s4=HELD, s5=HELD)
    later["waivers"] = [{"site_id": "s1", "rule": "left-in-hand", "reason": "Cabinet on order"}]
    later["sites"][4]["latitude"] = "north"  # rejected
    later["circuits"][2] |= {"circuit_id": "c3b", "exempt_reason": "Cash machine"}
    later["events"] = [row | {"targets": "c3b"} if row["targets"] == "c3" else row for row in later["events"]]
    later["circuits"][3]["exempt_reason"] = "Cash machine"
    keeper.run(later)
    changes = keeper.changes()
    assert changes["left-in-hand", "c1"] == ("gone", "waived")
    assert changes["left-in-hand", "c2"] == ("gone", "left out of use")
    assert changes["left-in-hand", "c3"] == ("gone", "subject no longer in the export")
    assert changes["lit-in-daylight", "c4"] == ("gone", "exempt")
    assert changes["left-in-hand", "c5"] == ("gone", "site missing: its row was rejected")


def test_what_is_no_longer_looked_at_is_not_called_fixed(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD, s2=HELD, s3=HELD))
    later = portfolio(11, s1=HELD, s2=HELD, s3=HELD)
    later["hours"] = later["hours"][1:]
    keeper.run(
        later,
        "[rules.left-in-hand]\nenabled = false\n[rules.lit-in-daylight]\ntotal_minutes = 1e8\n",
    )
    changes = keeper.changes()
    assert changes["no-night-cutoff", "c1"] == ("gone", "no longer evaluated: hours")
    assert changes["left-in-hand", "c2"] == ("gone", "rule switched off")
    assert changes["lit-in-daylight", "c3"] == (
        "gone",
        "no longer found; changed: thresholds, not the device",
    )


LOOSE = "[rules.lit-in-daylight]\ntotal_minutes = 1e8\n"
LIT, DARK, BACKUP = "lit-in-daylight", "dark-while-open", "short-backup"
# By name: settings of the second run; and for one site after the other what it was and what it is.
CASES: dict[str, tuple[str, list[tuple[str, Any, Any, str]]]] = {
    "light": ("", [
        (LIT, HELD, {}, "fixed"),
        (LIT, HELD, {"circuits": {"hold": "on", "area": "security"}},
         "no longer found; changed: area, not the device"),
        (LIT, HELD, {"circuits": {"hold": "on", "must_be_lit": "always"}},
         "no longer found; changed: duty to light, not the device"),
        (LIT, HELD, {"circuits": {"area": "security"}}, "no longer found; changed: hand switch, area"),
        (LIT, HELD, {"hours": {"closes": "19:00"}}, "fixed"),  # hours are not read by it
    ]),
    "thresholds": (LOOSE, [
        (LIT, HELD, HELD, "no longer found; changed: thresholds, not the device"),
        (LIT, HELD, {}, "no longer found; changed: hand switch, thresholds"),
    ]),
    "codes and hours": ("", [
        (BACKUP, {"controllers": {"clock_backup_hours": 5}, "sites": {"energy_code": "iecc-2021"}},
         {"controllers": {"clock_backup_hours": 5}, "sites": {"energy_code": "none"}},
         "no longer evaluated: energy_code"),
        (BACKUP, {"controllers": {"clock_backup_hours": 20}, "sites": {"energy_code": "title-24-2022"}},
         {"controllers": {"clock_backup_hours": 20}, "sites": {"energy_code": "iecc-2021"}},
         "no longer found; changed: energy code, not the device"),
        (DARK, {"circuits": {"hold": "off"}},
         {"circuits": {"hold": "off"}, "hours": {"opens": "10:00", "closes": "15:00"}},
         "no longer found; changed: opening hours, not the device"),
    ]),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_only_what_was_changed_at_the_device_is_called_fixed(keeper: Keeper, case: str) -> None:
    settings, sites = CASES[case]
    keeper.run(portfolio(10, **{f"s{number}": before for number, (_, before, _, _) in enumerate(sites, 1)}))
    later = portfolio(11, **{f"s{number}": after for number, (_, _, after, _) in enumerate(sites, 1)})
    keeper.run(later, settings)
    for number, (rule, _, _, reason) in enumerate(sites, 1):
        subject = f"{'t' if rule == BACKUP else 'c'}{number}"
        assert keeper.changes()[rule, subject] == ("gone", reason)


def test_a_finding_that_went_by_itself_is_not_called_fixed(keeper: Keeper) -> None:
    leap_day = {"event_id": "9", "controller_id": "t1", "targets": "c1", "action": "off", "days": "daily"}
    leap_day |= {"anchor": "clock", "time": "03:00", "from": "02-29", "until": "02-29"}
    tables = portfolio(11)
    tables["events"].append(leap_day)
    keeper.run(tables)  # a year without a 29 February
    tables["controllers"][1] |= {"read_at": "2027-11-20T12:00:00Z", "clock_reading": "2027-11-20T12:00:00"}
    keeper.run(tables)  # 2028 has one
    said = keeper.changes()["step-never-fires", "t1/9"]
    assert said == ("gone", "no longer found, though nothing of it was changed")


def test_a_waived_finding_that_goes_is_listed_but_not_counted(keeper: Keeper) -> None:
    waiver = {"waivers": [{"site_id": "s1", "rule": "left-in-hand", "reason": "Cabinet on order"}]}
    keeper.run(portfolio(10, s1=HELD, s2=HELD) | waiver)
    keeper.run(portfolio(11, s2=HELD) | waiver, pages=9)
    assert keeper.changes()["left-in-hand", "c1"] == ("gone", "fixed")
    assert keeper.ask("SELECT was FROM changes WHERE rule = 'left-in-hand' AND change = 'gone'") == [
        ("waived",)
    ]
    ((new, persisting, away),) = keeper.ask(
        "SELECT new, persisting, gone FROM runs WHERE run_date = '2026-11-20'"
    )
    ((before,),) = keeper.ask("SELECT critical + high + medium + low FROM runs WHERE run_date = '2026-10-20'")
    ((now,),) = keeper.ask("SELECT critical + high + medium + low FROM runs WHERE run_date = '2026-11-20'")
    assert (before + new - away, persisting + new) == (now, now) and away > 0
    page = report(keeper.out)
    assert "Gone as well: 1 finding that was waived" in page and "Fixed. It was waived." in page


def test_a_waiver_that_lapses_says_so(keeper: Keeper) -> None:
    waiver = {"site_id": "s1", "rule": "left-in-hand", "expires": "2026-10-31"}
    keeper.run(portfolio(10, s1=HELD) | {"waivers": [waiver]})
    keeper.run(portfolio(11, s1=HELD) | {"waivers": [waiver]})
    assert keeper.changes()["left-in-hand", "c1"] == ("new", "its waiver no longer stands")


def test_a_fault_that_only_changed_its_name_is_not_called_fixed(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1={"controllers": {"clock_reading": "2026-10-20T12:08:00"}}))
    keeper.run(portfolio(11, s1={"controllers": {"clock_reading": "2026-11-20T14:00:00"}}))
    assert keeper.changes()["clock-drift", "t1"] == ("gone", "no longer found; new there: clock-wrong-zone")


# Found by using it -----------------------------------------------------------------------------------------


def renamed(tables: Tables, device: str) -> Tables:
    """Device t1 under another id, with the same circuit and program."""
    swap = {"t1": device}
    return {
        name: [
            row
            | (
                {"controller_id": swap.get(str(row["controller_id"]))}
                if row.get("controller_id") == "t1"
                else {}
            )
            for row in rows
        ]
        for name, rows in tables.items()
    }


@pytest.mark.nightly
def test_a_device_under_another_id_is_no_accident(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD))
    keeper.run(renamed(portfolio(11, s1=HELD), "t1x"))
    assert keeper.changes()["left-in-hand", "c1"] == ("persisting", "")


@pytest.mark.nightly
def test_a_clock_that_only_drifts_fixes_nothing(keeper: Keeper) -> None:
    # Off at 20:29 by the clock, closing at 21:00: dark for 31 min, then for 29.
    def early(month: int, shown: str) -> Tables:
        tables = portfolio(month, s1={"controllers": {"clock_reading": f"2026-{month}-20T{shown}"}})
        tables["hours"][0]["closes"] = "21:00"
        tables["events"] += [
            {"event_id": "4", "controller_id": "t1", "targets": "c1", "action": "off", "days": "daily"}
            | {"anchor": "clock", "time": "20:29"},
        ]
        return tables

    alone = "[rules.dark-around-closing]\nenabled = false\n"
    keeper.run(early(10, "12:00:00"), alone)
    assert keeper.changes() == {}
    keeper.run(early(11, "11:58:00"), alone)  # now the off comes two minutes later
    reason = "no longer found, though nobody changed anything: its clock has drifted"
    assert keeper.changes()["dark-while-open", "c1"] == ("gone", reason)


@pytest.mark.nightly
def test_what_was_not_looked_at_for_a_month_comes_back_with_its_first_date(keeper: Keeper) -> None:
    keeper.run(portfolio(9, s1=HELD, s2=HELD))
    bad = portfolio(10, s1=HELD, s2=HELD)
    for place in (0, 1):
        bad["circuits"][place]["connected_watts"] = "3 kW"
    keeper.run(bad)
    reason = "subject missing: rows of this site were rejected"
    assert keeper.changes()["left-in-hand", "c1"] == ("gone", reason)
    keeper.run(portfolio(11, s1=HELD))
    changes = keeper.changes()
    back = "it was found before, and not looked at in the run before"
    assert changes["left-in-hand", "c1"] == ("new", back)
    assert changes["left-in-hand", "c2"] == ("gone", "fixed")
    since = keeper.ask("SELECT since, was FROM changes WHERE rule = 'left-in-hand' ORDER BY subject_id")
    assert since == [(date(2026, 9, 20), "unseen"), (date(2026, 9, 20), "unseen")]
    assert keeper.ask("SELECT gone FROM runs ORDER BY run_date DESC LIMIT 1") == [(0,)]


def test_nothing_is_recovered_by_writing_a_table_otherwise(keeper: Keeper) -> None:
    keeper.run(portfolio(10, s1=HELD, s2=HELD, s3=HELD))
    told: dict[str, dict[str, Row]] = {
        "s1": {"circuits": {"hold": "on", "area": "security"}},
        "s2": {"circuits": {"hold": "on", "connected_watts": 400}},
        "s3": {"circuits": {"hold": "on"}, "hours": {"days": "MO"}},
    }
    keeper.run(portfolio(11, **told))
    assert keeper.ask("SELECT recovered_cost FROM runs WHERE run_date = '2026-11-20'") == [(0,)]
