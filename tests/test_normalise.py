"""Rows: which contradict themselves, which are there twice, what hangs on what; and nothing is lost."""

import pytest

from auditor.model import RawTable, Rejection
from auditor.normalise import normalise
from auditor.zones import zone_names

from .conftest import Row, small
from .judging import COLUMNS, alone, changed, first, judge, kept, own_rejection, raw, with_cell

SUN = {"anchor": "sunset", "time": ""}
BAD_ROWS = [
    ("controllers", {"latitude": "40.7"}, "latitude", "40.7", "give both or neither"),
    ("controllers", {"longitude": "-74"}, "latitude", "", "give both or neither"),
    ("events", {"from": "11-01"}, "from", "11-01", "give both or neither"),
    ("events", {"until": "2026-11-01"}, "from", "", "give both or neither"),
    ("events", {"from": "2026-11-02", "until": "2026-11-01"}, "from", "2026-11-02", "from lies after until"),
    ("events", {"from": "11-01", "until": "2026-12-01"}, "from", "11-01", "both be MM-DD or both be dates"),
    (
        "events",
        {"from": "2026-11-01", "until": "12-01"},
        "from",
        "2026-11-01",
        "both be MM-DD or both be dates",
    ),
    ("events", {"action": "level"}, "level", "", "level is blank"),
    ("events", {"level": "40"}, "level", "40", "level goes with the action level only"),
    ("events", {"action": "off", "level": "0"}, "level", "0", "level goes with the action level only"),
    ("events", {"time": ""}, "time", "", "a clock step needs its time of day"),
    ("events", {"anchor": "sunset"}, "time", "07:00", "time goes with the anchor clock only"),
    (
        "events",
        {"anchor": "dawn", "time": "07:00:30"},
        "time",
        "07:00:30",
        "time goes with the anchor clock only",
    ),
    ("events", {"offset_minutes": "-12.5"}, "offset_minutes", "-12.5", "goes with sun anchors only"),
]


@pytest.mark.parametrize(("table", "cells", "column", "value", "reason"), BAD_ROWS)
def test_a_row_that_contradicts_itself_is_rejected(
    table: str, cells: Row, column: str, value: str, reason: str
) -> None:
    found = judge(changed(table, **cells))
    lost = own_rejection(found, table)
    assert (lost.column, lost.value) == (column, value)
    assert reason in lost.reason
    assert 2 not in kept(found, table)


@pytest.mark.parametrize(
    "cells",
    [
        {"from": "11-01", "until": "02-28"},  # wraps over New Year
        {"from": "02-29", "until": "02-29"},
        {"from": "2026-11-01", "until": "2026-11-01"},
        {"from": "2026-11-01", "until": "2027-02-28"},
        {"action": "level", "level": "0"},
        {"action": "level", "level": "100"},
        {"offset_minutes": "0"},
        {"anchor": "dusk", "time": "", "offset_minutes": "-30"},
        {"calendar": "holidays"},
    ],
)
def test_a_step_that_agrees_with_itself_is_kept(cells: Row) -> None:
    assert alone("events", **cells).rejections == []


def test_dates_kept_as_midnights_bound_a_season_as_dates_do() -> None:
    found = alone("events", **{"from": "2026-11-01 00:00:00", "until": "2027-02-28T00:00"})
    assert first(found, "events", "season_from") == "2026-11-01"
    assert first(found, "events", "season_until") == "2027-02-28"


def test_a_device_may_be_set_to_a_place_of_its_own() -> None:
    found = judge(changed("controllers", latitude="41", longitude="-73"))
    assert found.rejections == []
    assert first(found, "controllers", "latitude") == 41.0


# Keys ------------------------------------------------------------------------------------------------------

KEYS = [
    ("sites", "site_id"),
    ("controllers", "controller_id"),
    ("circuits", "circuit_id"),
    ("sensors", "sensor_id"),
]


@pytest.mark.parametrize(("table", "key"), KEYS)
def test_of_rows_with_one_key_the_first_is_kept(table: str, key: str) -> None:
    tables = small()
    tables[table].append(tables[table][0] | {"name": "again"})
    found = judge(tables)
    (lost,) = found.rejections
    assert (lost.source_row, lost.column, lost.value) == (len(tables[table]) + 1, key, tables[table][0][key])
    assert f"a row with this {key} stands above; only the first counts" == lost.reason
    assert 2 in kept(found, table)


def test_a_step_id_is_unique_within_its_controller_only() -> None:
    tables = small()
    again = tables["events"][0] | {"time": "08:00"}
    tables["events"].append(again)
    found = judge(tables)
    (lost,) = found.rejections
    assert (lost.source_row, lost.column, lost.value) == (8, "event_id", "001")
    assert kept(found, "events") == [2, 3, 4, 5, 6, 7]


@pytest.mark.parametrize("fault", [{"latitude": "x"}, {"timezone": "Nowhere/Land"}])
def test_a_row_that_was_rejected_takes_no_key_from_a_later_one(fault: Row) -> None:
    tables = small()
    tables["sites"].insert(0, tables["sites"][0] | fault)
    found = judge(tables)
    assert kept(found, "sites") == [3, 4]
    assert [row.source_row for row in found.rejections] == [2]


def test_no_site_may_be_called_like_all_of_them() -> None:
    """Else a closure of that site would close every site."""
    found = with_cell("sites", "site_id", "*")
    lost = own_rejection(found, "sites")
    assert (lost.column, lost.value) == ("site_id", "*") and "give the site another id" in lost.reason


def test_ids_that_differ_by_a_leading_zero_or_by_case_are_different() -> None:
    tables = small()
    tables["sites"] += [tables["sites"][0] | {"site_id": "1"}, tables["sites"][0] | {"site_id": "001"}]
    assert kept(judge(tables), "sites") == [2, 3, 4, 5]


# What hangs on what ----------------------------------------------------------------------------------------

ORPHANS = [
    ("controllers", "site_id", "99", "no accepted row of sites has this site_id"),
    ("circuits", "controller_id", "99", "no accepted row of controllers has this controller_id"),
    ("sensors", "controller_id", "99", "no accepted row of controllers has this controller_id"),
    ("sensors", "circuits", "99", "no accepted circuit of this id"),
    ("events", "controller_id", "99", "no accepted row of controllers has this controller_id"),
    ("events", "targets", "99", "no accepted circuit of this id"),
    ("hours", "site_id", "99", "no accepted row of sites has this site_id"),
    ("hours", "site_id", "*", "no accepted row of sites has this site_id"),
    ("closures", "site_id", "99", "no accepted row of sites has this site_id"),
    ("waivers", "site_id", "99", "no accepted row of sites has this site_id"),
]


@pytest.mark.parametrize(("table", "column", "cell", "reason"), ORPHANS)
def test_a_row_that_points_at_nothing_is_rejected(table: str, column: str, cell: str, reason: str) -> None:
    found = with_cell(table, column, cell)
    lost = own_rejection(found, table)
    assert (lost.column, lost.value) == (column, cell)
    assert reason in lost.reason
    assert 2 not in kept(found, table)


def test_what_hangs_on_a_rejected_row_goes_with_it_and_nothing_else() -> None:
    tables = changed("sites", latitude="north")
    tables["closures"].append({"site_id": "01", "date": "2026-07-04"})
    found = judge(tables)
    gone = {(row.source_file, row.source_row) for row in found.rejections}
    assert gone == {
        ("sites.csv", 2),
        ("controllers.csv", 2),
        ("circuits.csv", 2),
        ("circuits.csv", 3),
        ("sensors.csv", 2),
        *(("events.csv", row) for row in (2, 3, 4, 5)),
        ("hours.csv", 2),
        ("closures.csv", 3),
    }
    assert all(row.reason for row in found.rejections)
    assert [kept(found, table) for table in ("sites", "controllers", "circuits", "events", "closures")] == [
        [3],
        [3],
        [4],
        [6, 7],
        [2],
    ]


def test_a_sensor_goes_with_its_circuit_and_takes_its_steps_along() -> None:
    found = judge(changed("circuits", area="car park"))
    assert [(row.source_file, row.source_row) for row in found.rejections] == [
        ("circuits.csv", 2),
        ("sensors.csv", 2),
        ("events.csv", 4),
        ("events.csv", 5),
    ]


def test_a_list_with_one_lost_id_rejects_the_row_and_names_that_id() -> None:
    lost = own_rejection(alone("events", targets="012;99;98"), "events")
    assert (lost.column, lost.value) == ("targets", "99")


@pytest.mark.parametrize("action", ["suspend", "resume"])
def test_sensor_actions_do_not_act_on_circuits(action: str) -> None:
    lost = own_rejection(alone("events", action=action), "events")
    assert (lost.value, lost.reason) == (
        "012",
        "this controller has no accepted sensor of this id",
    )


@pytest.mark.parametrize("action", ["on", "off", "level"])
def test_circuit_actions_do_not_act_on_sensors(action: str) -> None:
    level = {"level": 40} if action == "level" else {}
    lost = own_rejection(alone("events", action=action, targets="01P", **level), "events")
    assert (lost.value, lost.reason) == (
        "01P",
        "this controller has no accepted circuit of this id",
    )


def test_a_step_acts_on_its_own_controller_only() -> None:
    assert own_rejection(alone("events", targets="021"), "events").value == "021"


def test_a_sensor_acts_on_circuits_of_any_controller_of_its_site() -> None:
    tables = small()
    tables["controllers"].append(tables["controllers"][0] | {"controller_id": "01B"})
    tables["circuits"].append(tables["circuits"][0] | {"circuit_id": "01B1", "controller_id": "01B"})
    tables["sensors"][0]["circuits"] = "011;01B1"
    assert kept(judge(tables), "sensors") == [2]
    tables["sensors"][0]["circuits"] = "011;021"  # a circuit of the other site
    assert own_rejection(judge(tables), "sensors").value == "021"


def test_an_energy_code_that_is_not_known_is_kept_and_noted() -> None:
    found = judge(changed("sites", energy_code="title24-2022"))
    assert first(found, "sites", "energy_code") == "title24-2022"
    (note,) = found.notices
    assert note.startswith('sites.csv, row 2: energy_code "title24-2022" is not known here')
    assert 'Did you mean "title-24-2022"?' in note


def test_a_closure_of_every_site_is_kept_while_there_is_no_such_site() -> None:
    assert first(judge(small()), "closures", "site_id") == "*"


def test_a_sensor_that_acts_on_nothing_is_no_fault_of_the_table() -> None:
    assert first(judge(changed("sensors", circuits="")), "sensors", "circuits") is None


def test_rejections_come_in_the_order_of_the_tables_and_their_rows() -> None:
    tables = changed("sites", latitude="north")
    tables["events"][-1]["days"] = "sometimes"
    found = judge(tables)
    order = [
        (list(COLUMNS).index(row.source_file.removesuffix(".csv")), row.source_row)
        for row in found.rejections
    ]
    assert order == sorted(order)
    assert len(order) > 5


def test_rows_that_could_not_be_split_are_counted_and_listed() -> None:
    tables = [raw(name, rows) for name, rows in small().items()]
    unreadable = Rejection("sites.csv", 9, "", "a,b", "the row has 2 cells")
    tables[0] = RawTable("sites", "sites.csv", "0", tables[0].frame, (unreadable,))
    found = normalise(tables, zone_names())
    assert found.rejections == [unreadable]
    assert {key: found.inputs[0][key] for key in ("rows", "kept", "rejected")} == {
        "rows": 3,
        "kept": 2,
        "rejected": 1,
    }
