"""Judgement on small tables, for the tests of normalising."""

import polars as pl

from auditor.intake.cells import clean
from auditor.model import Portfolio, RawTable, Rejection
from auditor.normalise import normalise
from auditor.zones import zone_names

from .conftest import Row, Tables, columns_of, small

# The input tables as the contract lists them; a star marks what every row needs.
COLUMNS = {
    "sites": "site_id* name address region site_type latitude* longitude* timezone energy_code rate_per_kwh",
    "controllers": "controller_id* site_id* read_at* clock_reading utc_offset dst_rule latitude longitude "
    "hold remote clock_backup_hours last_contact",
    "circuits": "circuit_id* controller_id* name area* connected_watts combine hold in_use override_minutes "
    "floor_area_m2 luminaire_watts mounting_height_m must_be_lit exempt_reason",
    "sensors": "sensor_id* controller_id* kind* circuits timeout_minutes in_use",
    "events": "event_id* controller_id* targets* action* level days* anchor* time offset_minutes "
    "from until calendar",
    "hours": "site_id* days* opens* closes*",
    "closures": "site_id* date* calendar",
    "waivers": "site_id* subject_id rule* reason approved_by expires",
    "actions": "finding_id* date by disposition* note",
}
NEEDED = [
    (table, name.strip("*")) for table, names in COLUMNS.items() for name in names.split() if "*" in name
]


def raw(name: str, rows: list[Row], columns: list[str] | None = None) -> RawTable:
    """A table as intake hands it over."""
    names = columns or columns_of(rows)
    data = {column: [str(row.get(column, "")) for row in rows] for column in names}
    frame = pl.DataFrame(data, schema=dict.fromkeys(names, pl.String)).with_row_index("source_row", offset=2)
    return RawTable(name, f"{name}.csv", "0", clean(frame))


def judge(tables: Tables) -> Portfolio:
    return normalise([raw(name, rows) for name, rows in tables.items()], zone_names())


def changed(table: str, **cells: object) -> Tables:
    """The small portfolio with these cells in the first row of a table."""
    tables = small()
    tables[table][0] |= cells
    return tables


PARENTS = {
    "controllers": ["sites"],
    "circuits": ["sites", "controllers"],
    "sensors": ["sites", "controllers", "circuits"],
    "events": ["sites", "controllers", "circuits", "sensors"],
    "hours": ["sites"],
    "closures": ["sites"],
    "waivers": ["sites"],
}


def with_cell(table: str, column: str, cell: str) -> Portfolio:
    """Judgement on a table with this cell in its first row, and on what it hangs on."""
    tables = changed(table, **{column: cell})
    return judge({name: tables[name] for name in [*PARENTS.get(table, []), table]})


def alone(table: str, **cells: object) -> Portfolio:
    """Judgement on the small portfolio with nothing but this row in a table that nothing hangs on."""
    tables = small()
    tables[table] = [{**tables[table][0], **cells}]
    return judge(tables)


def own_rejection(found: Portfolio, table: str) -> Rejection:
    """The one rejection of a table's first row."""
    (lost,) = [row for row in found.rejections if (row.source_file, row.source_row) == (f"{table}.csv", 2)]
    return lost


def kept(found: Portfolio, table: str) -> list[int]:
    return found.tables[table]["source_row"].to_list()


def first(found: Portfolio, table: str, column: str) -> object:
    assert kept(found, table)[0] == 2
    return found.tables[table][column].to_list()[0]
