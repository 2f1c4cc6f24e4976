"""The example exports: each gives by its maps the rows beside it, and every row is accounted for."""

import importlib.util
from pathlib import Path

import pytest
from polars.testing import assert_frame_equal

from auditor.intake import read_portfolio
from auditor.loading import read_judged
from auditor.model import TABLE_NAMES, Portfolio
from auditor.normalise import normalise
from auditor.normalise.typed import OWN
from auditor.zones import zone_names

EXPORTS = Path(__file__).parent.parent / "fixtures" / "exports"
NOTHING = "gives nothing"
# What is wrong in each, as its files show: (file, row, column); and its rows by the rule that skips them.
REJECTED = {
    "long": [("steps.csv", 12, "time")],  # 25:00 PM
    "weekdays": [
        ("kreise.csv", 5, "time"),  # a comma between hours and minutes
        ("kreise.csv", 6, "area"),  # a word that the map does not translate; its steps hang on it
        ("kreise.csv", 6, "targets"),
    ],
    "devices": [("programs/DEP-7_B_20261101.txt", 5, "time")],  # 1500 minutes after midnight
    "book": [("network.xlsx:Lights", 7, "time")],  # "at 15"
    "archive": [("novembre.zip/programmes/M2.csv", 3, "time")],  # 90000 seconds after midnight
    "calendars": [
        ("town-holidays.ics", 17, "DTSTART"),  # closed from noon: a closure is a whole date
        ("heron-library-reading-room.ics", 55, "UID"),  # of the series that the next one changes
        ("heron-library-reading-room.ics", 62, "RECURRENCE-ID"),  # RANGE=THISANDFUTURE
    ],
    "objects": [("north-depot.json", 5, "Out_Of_Service")],
}
SKIPPED = {
    "long": {"steps.csv": {"above the header": 2, "repeated header": 1, "totals": 1}},
    "weekdays": {"oeffnungszeiten.csv": {"count of sites": 1, NOTHING: 1}},
    "devices": {
        "programs/DEP-7_B_20261101.txt": {"above the header": 1},
        "programs/MUS-2_A_20261103.txt": {"above the header": 1},
    },
    "book": {"network.xlsx:Buildings": {"above the header": 1}, "network.xlsx:Lights": {"sum": 1}},
    "archive": {},
    "calendars": {
        "heron-library-porch.ics": {"only VEVENT components switch anything": 1},
        "heron-library-reading-room.ics": {
            "it is called off, or nothing of it lies between 2026-10-31 and 2027-11-07": 1,
            "only VEVENT components switch anything": 1,
        },
    },
    "objects": {"north-depot.json": {"only Schedule and Calendar objects are programs": 1}},
}
# Rows with something in them below the header, and what stands above it, counted in the files.
ROWS = {"long": 12, "weekdays": 11, "devices": 12, "book": 9, "archive": 6, "calendars": 16, "objects": 10}


@pytest.fixture(scope="module", params=sorted(ROWS))
def example(request: pytest.FixtureRequest) -> tuple[str, Portfolio]:
    maps = sorted((EXPORTS / request.param / "maps").glob("*.toml"))
    return request.param, read_judged(maps)


def test_it_gives_the_expected_rows(example: tuple[str, Portfolio]) -> None:
    name, found = example
    expected = normalise(read_portfolio(EXPORTS / name / "expected"), zone_names()).tables
    for table in TABLE_NAMES:
        ours = found.tables[table].drop(OWN)
        assert_frame_equal(
            ours.select(
                column
                for column in ours.columns
                if column in expected[table].columns and column != "timezone"
            ),
            expected[table].drop(*OWN, "timezone", strict=False),
        )


def test_what_cannot_be_used_is_rejected_where_it_stands(example: tuple[str, Portfolio]) -> None:
    name, found = example
    assert [(row.source_file, row.source_row, row.column) for row in found.rejections] == REJECTED[name]
    assert all(row.reason for row in found.rejections)


def test_every_row_is_kept_rejected_or_skipped_by_a_rule_with_a_name(example: tuple[str, Portfolio]) -> None:
    name, found = example
    for counted in found.inputs:
        assert counted["rows"] == counted["kept"] + counted["rejected"] + counted["skipped"]
        assert counted["skipped_by"] == SKIPPED[name].get(counted["file"], {})
    assert sum(counted["rows"] for counted in found.inputs) == ROWS[name]
    lost = {(row.source_file, row.source_row) for row in found.rejections}
    assert sum(counted["rejected"] for counted in found.inputs) == len(lost)


def test_the_workbook_and_the_archive_are_what_their_script_makes(tmp_path: Path) -> None:
    spec = importlib.util.spec_from_file_location("make_exports", EXPORTS / "make.py")
    assert spec is not None and spec.loader is not None
    maker = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(maker)
    maker.archive(tmp_path / "novembre.zip")
    assert (tmp_path / "novembre.zip").read_bytes() == (EXPORTS / "archive" / "novembre.zip").read_bytes()
