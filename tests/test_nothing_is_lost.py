"""Whatever the cells hold: every row is kept or rejected with its reason, and nothing is lost."""

import copy

import hypothesis.strategies as st
from hypothesis import given, settings

from auditor.normalise import normalise
from auditor.zones import zone_names

from .conftest import small
from .judging import COLUMNS, kept, raw

NASTY = [
    "",
    " ",
    "*",
    ";",
    "'=1",
    "-",
    "0",
    "1e999",
    "24:00",
    "9999-12-31T23:59:59-12:00",
    "2026-W01-1",
    "\x00",
    "NaN",
]
SEEN = sorted({str(cell) for rows in small().values() for row in rows for cell in row.values()})
CELLS = st.one_of(st.sampled_from(NASTY), st.sampled_from(SEEN), st.text(max_size=12))
PLACES = [(table, row, name.strip("*")) for table, rows in small().items() for row in range(len(rows))
          for name in COLUMNS[table].split()]  # fmt: skip
ALL_NAMES = {table: [name.strip("*") for name in names.split()] for table, names in COLUMNS.items()}


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from(PLACES), CELLS), max_size=12),
    st.lists(st.sampled_from(PLACES), max_size=3),
)
def test_every_row_is_either_kept_or_rejected_with_a_reason(
    spoilt: list[tuple[tuple[str, int, str], str]], doubled: list[tuple[str, int, str]]
) -> None:
    tables = copy.deepcopy(small())
    for (table, row, column), cell in spoilt:
        tables[table][row][column] = cell
    for table, row, _ in doubled:
        tables[table].append(dict(tables[table][row]))
    given_rows = [raw(name, rows, ALL_NAMES[name]) for name, rows in tables.items()]
    found = normalise(given_rows, zone_names())
    for table, counts in zip(given_rows, found.inputs, strict=True):
        stayed = set(kept(found, table.name))
        went = {row.source_row for row in found.rejections if row.source_file == table.source_file}
        assert (stayed | went, stayed & went) == (set(table.frame["source_row"]), set())
        assert (counts["rows"], counts["kept"], counts["rejected"]) == (
            table.frame.height,
            len(stayed),
            len(went),
        )
    assert all(row.reason and row.column for row in found.rejections)
