"""Columns and cells: which there are, what each takes, and what rejects a row."""

from datetime import date, datetime

import pytest

from auditor.errors import UserError
from auditor.model import CODE_EDITIONS
from auditor.normalise.specs import SPECS

from .conftest import small
from .judging import COLUMNS, NEEDED, alone, changed, first, judge, kept, own_rejection, with_cell

AREAS = "interior parking walkway canopy facade landscape sign egress security other-exterior"
AMOUNTS = "connected_watts override_minutes floor_area_m2 luminaire_watts mounting_height_m"


def test_the_columns_are_those_of_the_contract() -> None:
    known = {
        table: " ".join(f"{column.name}{'*' * column.needed}" for column in columns)
        for table, columns in SPECS.items()
    }
    assert known == COLUMNS


def test_the_small_portfolio_is_accepted_as_it_is() -> None:
    found = judge(small())
    assert (found.rejections, found.notices) == ([], [])
    assert [kept(found, table) for table in COLUMNS] == [
        [number + 2 for number in range(len(rows))] for rows in small().values()
    ]


@pytest.mark.parametrize(("table", "column"), NEEDED)
def test_a_needed_cell_that_is_blank_rejects_its_row(table: str, column: str) -> None:
    lost = own_rejection(with_cell(table, column, "  "), table)
    assert (lost.column, lost.value, lost.reason) == (column, "", f"{column} is blank and must not be")


@pytest.mark.parametrize(("table", "column"), NEEDED)
def test_a_needed_column_that_is_absent_stops_the_run(table: str, column: str) -> None:
    tables = small()
    for row in tables[table]:
        row[f"{column}s"] = row.pop(column)
    sentence = (
        f'{table}.csv, row 1: column "{column}" is missing; add it, or rename "{column}s" if that is it.'
    )
    with pytest.raises(UserError) as refused:
        judge(tables)
    assert str(refused.value) == sentence


def test_a_table_of_needed_columns_only_is_enough() -> None:
    tables = {
        table: [{name: row[name] for where, name in NEEDED if where == table} for row in rows]
        for table, rows in small().items()
    }
    tables["events"] = [{**row, "anchor": "dusk"} for row in tables["events"]]
    found = judge(tables)
    assert found.rejections == []
    assert found.tables["circuits"]["connected_watts"].to_list() == [None, None, None]


@pytest.mark.parametrize("table", COLUMNS)
def test_blank_optional_cells_are_unknown_and_harm_nothing(table: str) -> None:
    optional = [name for name in COLUMNS[table].split() if "*" not in name and name != "time"]
    found = judge(changed(table, **dict.fromkeys(optional, " ")))
    assert found.rejections == []
    names = {column.name: column.out for column in SPECS[table]}
    assert [first(found, table, names[name]) for name in optional] == [None] * len(optional)


GOOD = [
    ("sites", "site_type", "Depot, east", "site_type", "Depot, east"),
    ("sites", "latitude", "-90", "latitude", -90.0),
    ("sites", "latitude", "+40.712776", "latitude", 40.712776),
    ("sites", "longitude", "180", "longitude", 180.0),
    ("sites", "longitude", "-.5", "longitude", -0.5),
    ("sites", "timezone", "Asia/Kathmandu", "timezone", "Asia/Kathmandu"),
    ("sites", "rate_per_kwh", "0", "rate_per_kwh", 0.0),
    ("sites", "rate_per_kwh", "1.85e-1", "rate_per_kwh", 0.185),
    *(("sites", "energy_code", code, "energy_code", code) for code in CODE_EDITIONS),
    ("controllers", "read_at", "2026-11-03T14:05:00Z", "read_at_utc", datetime(2026, 11, 3, 14, 5)),
    ("controllers", "read_at", "2026-11-03T14:05:00.9-05:00", "read_at_utc", datetime(2026, 11, 3, 19, 5)),
    ("controllers", "read_at", "2026-11-04 00:30+05:45", "read_at_utc", datetime(2026, 11, 3, 18, 45)),
    (
        "controllers",
        "clock_reading",
        "2026-11-03T09:05:20",
        "clock_reading_local",
        datetime(2026, 11, 3, 9, 5, 20),
    ),
    ("controllers", "clock_reading", "1900-01-01 00:00", "clock_reading_local", datetime(1900, 1, 1)),
    ("controllers", "utc_offset", "-05:00", "utc_offset_s", -18000),
    ("controllers", "utc_offset", "+05:45", "utc_offset_s", 20700),
    *(
        ("controllers", "dst_rule", rule, "dst_rule", rule)
        for rule in ("zone", "none", "us-2007", "us-1987", "eu")
    ),
    *(("controllers", "hold", word, "hold", word) for word in ("on", "off")),
    *(("controllers", "remote", word, "remote", True) for word in ("true", "Yes", "1", "TRUE")),
    *(("controllers", "remote", word, "remote", False) for word in ("false", "No", "0", "FALSE")),
    ("controllers", "clock_backup_hours", "72", "clock_backup_hours", 72.0),
    ("controllers", "last_contact", "2026-11-03T14:05Z", "last_contact_utc", datetime(2026, 11, 3, 14, 5)),
    *(("circuits", "area", area, "area", area) for area in AREAS.split()),
    *(("circuits", "combine", word, "combine", word) for word in ("any", "all")),
    *(("circuits", "must_be_lit", word, "must_be_lit", word) for word in ("always", "dark", "open")),
    ("circuits", "in_use", "no", "in_use", False),
    ("circuits", "connected_watts", "0", "connected_watts", 0.0),
    ("circuits", "mounting_height_m", "6.", "mounting_height_m", 6.0),
    *(("sensors", "kind", kind, "kind", kind) for kind in ("photocontrol", "occupancy")),
    ("sensors", "circuits", " 012 ;011;; 012", "circuits", ["012", "011"]),
    ("sensors", "timeout_minutes", "20", "timeout_minutes", 20.0),
    ("events", "targets", "012;011", "targets", ["012", "011"]),
    ("events", "days", "daily", "days_mask", 127),
    ("events", "days", "MO", "days_mask", 1),
    ("events", "days", "SU, SA,MO,MO", "days_mask", 97),
    ("events", "time", "00:00", "time_s", 0),
    ("events", "time", "23:59:59", "time_s", 86399),
    # A time that a program keeps as a moment of its first day: 1899-12-30 and -31, 1900-01-01, 1904-01-01.
    ("events", "time", "1900-01-01 07:30:00", "time_s", 27000),
    ("hours", "opens", "1904-01-01T08:30:00", "opens_s", 30600),
    ("hours", "closes", "1899-12-30 18:00:00.000", "closes_s", 64800),
    ("hours", "opens", "08:30:30", "opens_s", 30630),
    ("hours", "closes", "24:00", "closes_s", 86400),
    ("hours", "closes", "24:00:00", "closes_s", 86400),
    ("hours", "closes", "02:00", "closes_s", 7200),
    ("closures", "date", "2028-02-29", "date", date(2028, 2, 29)),
    ("waivers", "expires", "9999-12-31", "expires", date(9999, 12, 31)),
    ("waivers", "expires", "2026-10-31T00:00:00", "expires", date(2026, 10, 31)),
    *(("actions", "disposition", word, "disposition", word) for word in ("ordered", "done", "declined")),
]


@pytest.mark.parametrize(("table", "column", "cell", "store_name", "value"), GOOD)
def test_a_good_cell_is_read(table: str, column: str, cell: str, store_name: str, value: object) -> None:
    assert first(with_cell(table, column, cell), table, store_name) == value


@pytest.mark.parametrize("cell", ["40", "40%", "40 %", "4e1%"])
def test_a_level_may_have_its_sign(cell: str) -> None:
    assert first(alone("events", action="level", level=cell, targets="012"), "events", "level") == 40


@pytest.mark.parametrize(
    ("cell", "seconds"), [("90", 5400), ("-90", -5400), ("-0.5", -30), ("+10", 600), ("10080", 604800)]
)
def test_an_offset_in_minutes_becomes_whole_seconds(cell: str, seconds: int) -> None:
    found = alone("events", anchor="sunset", time="", offset_minutes=cell)
    assert first(found, "events", "offset_s") == seconds


BAD = [
    *(("sites", "latitude", cell, "is out of range") for cell in ("90.1", "-91", "1e400")),
    *(
        ("sites", "latitude", cell, "is not a number")
        for cell in ("40,7", "40.7N", "nan", "inf", "1_0", "٤٠", "x")
    ),
    ("sites", "longitude", "180.01", "is out of range; give a number from -180 to 180"),
    ("sites", "timezone", "America/NewYork", 'did you mean "America/New_York"'),
    ("sites", "timezone", "EST5EDT4", "is not an IANA name"),
    ("sites", "timezone", "europe/london", 'did you mean "Europe/London"'),
    ("sites", "rate_per_kwh", "-0.1", "is out of range; give a number from 0 to 1000000"),
    ("sites", "rate_per_kwh", "1e7", "is out of range; give a number from 0 to 1000000"),
    ("circuits", "connected_watts", "1e308", "is out of range; give a number from 0 to 1000000000"),
    ("controllers", "read_at", "2026-11-03T14:05:00", "lacks its offset"),
    ("controllers", "read_at", "2026-11-03", "is not an ISO 8601 date and time"),
    ("controllers", "read_at", "11/03/2026 14:05", "is not an ISO 8601 date and time"),
    ("controllers", "read_at", "0001-01-01T00:00:00+05:00", "is out of range; give a year from 1970 to 2199"),
    ("controllers", "read_at", "9999-12-31T23:59:59-05:00", "is out of range"),
    ("controllers", "read_at", "2026-02-30T00:00Z", "is not an ISO 8601 date and time"),
    ("controllers", "clock_reading", "2026-11-03T09:05:00-05:00", "has an offset"),
    ("controllers", "clock_reading", "09:05", "is not an ISO 8601 date and time"),
    ("controllers", "clock_reading", "0001-01-01T00:00:00", "give a year from 1900 to 2199"),
    *(
        ("controllers", "utc_offset", cell, "is not an offset")
        for cell in ("-5", "05:00", "-05:60", "+16:00", "EST")
    ),
    ("controllers", "dst_rule", "US-2007", 'did you mean "us-2007"'),
    ("controllers", "dst_rule", "summer", "write one of zone, none, us-2007, us-1987, eu"),
    ("controllers", "hold", "auto", "is not known here"),
    *(("controllers", "remote", cell, "is neither true nor false") for cell in ("y", "2", "on", "1.0")),
    ("controllers", "clock_backup_hours", "-1", "is out of range"),
    ("controllers", "last_contact", "yesterday", "is not an ISO 8601 date and time"),
    ("circuits", "area", "parkings", 'did you mean "parking"'),
    ("circuits", "area", "Interior", 'did you mean "interior"'),
    ("circuits", "combine", "series", "write one of any, all"),
    ("circuits", "hold", "ON", 'did you mean "on"'),
    ("circuits", "in_use", "maybe", "is neither true nor false"),
    ("circuits", "must_be_lit", "true", "is not known here"),
    *(
        ("circuits", column, "-1", "is out of range; give a number from 0 to 1000000000")
        for column in AMOUNTS.split()
    ),
    ("sensors", "kind", "photocell", 'did you mean "photocontrol"'),
    ("sensors", "circuits", "; ;", "names nothing"),
    ("sensors", "timeout_minutes", "soon", "is not a number"),
    ("sensors", "in_use", "-", "is neither true nor false"),
    ("events", "targets", ";", "names nothing"),
    ("events", "action", "dim", "is not known here"),
    *(
        ("events", "days", cell, "is not a list of days")
        for cell in ("mo", "MO;TU", "MO,,TU", "Daily", "MO-FR", "1")
    ),
    ("events", "anchor", "noon", "is not known here"),
    *(
        ("events", "time", cell, "is not a time of day")
        for cell in ("24:00", "7:00", "7pm", "23:60", "0700", "07:00Z", "2026-11-03 07:30:00", "0.3125")
    ),
    ("events", "level", "101", "is out of range; give a number from 0 to 100"),
    ("events", "level", "-1", "is out of range"),
    ("events", "level", "101%", "is out of range"),
    ("circuits", "connected_watts", "40%", "is not a number"),
    ("events", "offset_minutes", "10081", "is out of range"),
    ("events", "offset_minutes", "1:30", "is not a number"),
    *(
        ("events", "from", cell, "is neither MM-DD nor a date")
        for cell in ("11-31", "1-1", "13-01", "20261103", "2026-W45-2", "2026-11-3", "Nov 3", "2026-02-29")
    ),
    ("hours", "days", "weekdays", "is not a list of days"),
    ("hours", "opens", "24:00", "is not a time of day"),
    ("hours", "closes", "24:01", "is not a time of day"),
    ("hours", "closes", "25:00", "is not a time of day"),
    *(
        ("closures", "date", cell, "is not a date")
        for cell in ("2026-02-29", "20261225", "25.12.2026", "2026-12-25T08:00", "2026-12-25Z", "0000-01-01")
    ),
    ("waivers", "expires", "never", "is not a date"),
    ("actions", "date", "2026-13-01", "is not a date"),
    ("actions", "disposition", "Done", 'did you mean "done"'),
]


@pytest.mark.parametrize(("table", "column", "cell", "reason"), BAD)
def test_a_bad_cell_rejects_its_row_and_is_quoted(table: str, column: str, cell: str, reason: str) -> None:
    found = with_cell(table, column, cell)
    lost = own_rejection(found, table)
    assert (lost.column, lost.value) == (column, cell)
    assert lost.reason.startswith(f"{column} ")
    assert reason in lost.reason
    assert 2 not in kept(found, table)


def test_every_bad_cell_of_a_row_is_listed() -> None:
    found = judge(changed("sites", latitude="north", longitude="west", rate_per_kwh="cheap"))
    own = [row.column for row in found.rejections if row.source_file == "sites.csv"]
    assert own == ["latitude", "longitude", "rate_per_kwh"]
    assert next(counts for counts in found.inputs if counts["table"] == "sites")["rejected"] == 1
