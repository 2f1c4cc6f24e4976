"""Parquet files and workbooks: typed cells give what a CSV file gives, and rows count as they are shown."""

from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import polars as pl
import pytest
import xlsxwriter

from auditor.errors import UserError
from auditor.intake import read_portfolio
from auditor.model import RawTable

from .conftest import Tables, columns_of, small, write_folder
from .test_intake import assert_same_portfolio, cells, judged, read_sites, row_numbers

# Parquet ---------------------------------------------------------------------------------------------------

NEW_YORK = "America/New_York"
TYPED = {
    "sites": {
        "site_id": pl.Series(["01", "02"], dtype=pl.Categorical),
        "latitude": pl.Series([40.7, 60.2]),
        "longitude": pl.Series([-74.0, 24.9], dtype=pl.Float32),
        "timezone": pl.Series([NEW_YORK, None]),
        "rate_per_kwh": pl.Series([None, "0.2"]).cast(pl.Decimal(10, 4)),
    },
    "controllers": {
        "controller_id": pl.Series(["01A", "02A"]),
        "site_id": pl.Series(["01", "02"]),
        "read_at": pl.Series(
            [datetime(2026, 11, 3, 14, 5, tzinfo=UTC), datetime(2026, 11, 5, 6, 0, tzinfo=UTC)]
        ).dt.convert_time_zone(NEW_YORK),
        "dst_rule": pl.Series(["zone", None]),
        "remote": pl.Series([None, True]),
    },
    "circuits": {
        "circuit_id": pl.Series(["011", "012", "021"]),
        "controller_id": pl.Series(["01A", "01A", "02A"]),
        "area": pl.Series(["parking", "interior", "sign"]),
        "connected_watts": pl.Series([1000, 500, None]),
        "hold": pl.Series([None, None, "on"]),
    },
    "sensors": {
        "sensor_id": pl.Series(["01P"]),
        "controller_id": pl.Series(["01A"]),
        "kind": pl.Series(["photocontrol"]),
        "circuits": pl.Series([["011"]]),
    },
    "events": {
        "event_id": pl.Series(["001", "002", "003", "004", "001", "002"]),
        "controller_id": pl.Series(["01A"] * 4 + ["02A"] * 2),
        "targets": pl.Series([["012"], ["012"], ["01P"], ["01P"], ["021"], ["021"]]),
        "action": pl.Series(["on", "off", "suspend", "resume", "on", "off"]),
        "days": pl.Series(["daily"] * 6),
        "anchor": pl.Series(["clock"] * 4 + ["sunset", "sunrise"]),
        "time": pl.Series([time(7), time(19), time(23), time(5), None, None]),
        "offset_minutes": pl.Series([None, None, None, None, -10.0, None]),
    },
    "hours": {
        "site_id": pl.Series(["01"]),
        "days": pl.Series(["MO,TU,WE,TH,FR"]),
        "opens": pl.Series([time(8)]),
        "closes": pl.Series([time(18, 30)]),
    },
    "closures": {
        "site_id": pl.Series(["*"]),
        "date": pl.Series([date(2026, 12, 25)]),
        "calendar": pl.Series(["holidays"]),
    },
    "waivers": {
        "site_id": pl.Series(["02"]),
        "rule": pl.Series(["left-in-hand"]),
        "reason": pl.Series(["Old cabinet"]),
        "expires": pl.Series([datetime(2026, 10, 31)]),
    },
    "actions": {
        "finding_id": pl.Series(["f0"]),
        "date": pl.Series([date(2026, 10, 12)]),
        "disposition": pl.Series(["done"]),
        "note": pl.Series(["Sent, seen"]),
    },
}


def write_parquet(folder: Path, **changes: dict[str, pl.Series]) -> Path:
    folder.mkdir(exist_ok=True)
    for name, columns in (TYPED | changes).items():
        pl.DataFrame(columns).write_parquet(folder / f"{name}.parquet")
    return folder


def test_typed_parquet_columns_give_what_csv_gives(tmp_path: Path, portfolio: Path) -> None:
    found = judged(write_parquet(tmp_path / "typed"))
    assert found.rejections == []
    assert_same_portfolio(found, judged(portfolio))


def test_a_timestamp_without_a_zone_is_no_instant(tmp_path: Path) -> None:
    read_at = pl.Series([datetime(2026, 11, 3), datetime(2026, 11, 4)])
    found = judged(write_parquet(tmp_path / "typed", controllers=TYPED["controllers"] | {"read_at": read_at}))
    assert found.tables["controllers"].is_empty()
    assert found.rejections[0].value == "2026-11-03T00:00:00"
    assert "lacks its offset" in found.rejections[0].reason


def test_whole_numbers_that_gaps_have_made_into_floats_are_whole_again(tmp_path: Path) -> None:
    table = read_parquet_sites(tmp_path, {"site_id": [7.0, None, 8.5], "name": [1.0, 2.0, None]})
    assert cells(table) == ["7", None, "8.5"]
    assert cells(table, "name") == ["1", "2", None]


def read_parquet_sites(folder: Path, columns: dict[str, list[object]] | pl.DataFrame) -> RawTable:
    frame = columns if isinstance(columns, pl.DataFrame) else pl.DataFrame(columns)
    frame.write_parquet(write_folder(folder, small()) / "sites.parquet")
    (folder / "sites.csv").unlink()
    return read_portfolio(folder)[0]


def test_parquet_columns_are_named_without_their_margins(tmp_path: Path) -> None:
    assert cells(read_parquet_sites(tmp_path, {" site_id ": ["01"]})) == ["01"]


def test_parquet_columns_that_differ_by_their_margins_only_stop_the_run(tmp_path: Path) -> None:
    with pytest.raises(UserError, match='column "site_id" stands there twice'):
        read_parquet_sites(tmp_path, {" site_id": ["01"], "site_id": ["02"]})


def test_wholly_blank_parquet_rows_count_and_are_passed_over(tmp_path: Path) -> None:
    table = read_parquet_sites(tmp_path, {"site_id": ["01", None, "", "02"], "name": [None, " ", None, "x"]})
    assert row_numbers(table) == [2, 5]


@pytest.mark.parametrize(
    "column",
    [
        pl.Series([b"\xff\xfe"]),
        pl.Series([timedelta(minutes=5)]),
        pl.Series([[["a"]]]),
        pl.Series([{"x": 1, "y": [2]}]),
        pl.Series([["a", "b"]], dtype=pl.Array(pl.String, 2)),
        pl.Series([None]),
        pl.Series([77]).alias("source_row"),
    ],
    ids=lambda column: str(column.dtype),
)
def test_a_column_of_any_type_that_is_not_ours_is_harmless(tmp_path: Path, column: pl.Series) -> None:
    frame = pl.DataFrame({"site_id": ["01"]}).with_columns(column.alias(column.name or "extra"))
    table = read_parquet_sites(tmp_path, frame)
    assert (cells(table), row_numbers(table)) == (["01"], [2])


@pytest.mark.parametrize("content", [b"", b"site_id,latitude\n", b"PAR1" + bytes(20) + b"PAR1"])
def test_a_parquet_file_that_is_none_stops_the_run(tmp_path: Path, content: bytes) -> None:
    with pytest.raises(UserError, match=r"^sites\.parquet cannot be read as Parquet; export it again\.$"):
        read_sites(tmp_path, content, "sites.parquet")


# Workbook --------------------------------------------------------------------------------------------------


def write_workbook(path: Path, tables: Tables, top: int = 0, **options: bool) -> Path:
    """A sheet a table, ``top`` blank rows above each header; cells keep the types that the rows give them."""
    with xlsxwriter.Workbook(path, options) as book:
        formats = {kind: book.add_format({"num_format": text}) for kind, text in CELL_FORMATS.items()}
        for name, rows in tables.items():
            sheet = book.add_worksheet(name)
            names = columns_of(rows)
            sheet.write_row(top, 0, names)
            for number, row in enumerate(rows, top + 1):
                for place, column in enumerate(names):
                    _write_cell(sheet, number, place, row.get(column, ""), formats)
    return path


CELL_FORMATS = {date: "yyyy-mm-dd", time: "hh:mm", datetime: "yyyy-mm-dd hh:mm", timedelta: "[h]:mm"}


def _write_cell(sheet: object, row: int, column: int, cell: object, formats: dict[type, object]) -> None:
    if isinstance(cell, str):
        sheet.write_string(row, column, cell)
    else:
        sheet.write(row, column, cell, formats.get(type(cell)))


def as_cells(tables: Tables) -> Tables:
    """The small portfolio as a spreadsheet keeps it when it is typed in: times and dates as numbers."""
    for row in tables["events"]:
        if "time" in row:
            row["time"] = time.fromisoformat(str(row["time"]))
    tables["hours"][0] |= {"opens": time(8), "closes": time(18, 30)}
    tables["closures"][0]["date"] = date(2026, 12, 25)
    tables["waivers"][0]["expires"] = datetime(2026, 10, 31)
    tables["controllers"][1]["remote"] = True
    return tables


def test_a_workbook_of_texts_gives_what_csv_gives(tmp_path: Path, portfolio: Path) -> None:
    texts = {
        name: [{key: str(cell) for key, cell in row.items()} for row in rows]
        for name, rows in small().items()
    }
    assert_same_portfolio(judged(write_workbook(tmp_path / "book.xlsx", texts)), judged(portfolio))


def test_numbers_dates_times_and_truths_kept_as_cells_give_what_csv_gives(
    tmp_path: Path, portfolio: Path
) -> None:
    found = judged(write_workbook(tmp_path / "book.XLSX", as_cells(small())))
    assert found.rejections == []
    assert_same_portfolio(found, judged(portfolio))


def test_every_minute_of_the_day_survives_being_a_cell(tmp_path: Path) -> None:
    tables = small()
    tables["hours"] = [
        {"site_id": "01", "days": "SU", "opens": time(m // 60, m % 60), "closes": time(m // 60, m % 60)}
        for m in range(1440)
    ]
    found = judged(write_workbook(tmp_path / "book.xlsx", tables)).tables["hours"]
    assert found["opens_s"].to_list() == [60 * m for m in range(1440)] == found["closes_s"].to_list()


@pytest.mark.parametrize("midnight", [timedelta(hours=24), "24:00"])
def test_the_end_of_the_day_survives_being_a_cell(tmp_path: Path, midnight: object) -> None:
    tables = small()
    tables["hours"] = [{"site_id": "01", "days": "SU", "opens": time(0), "closes": midnight}]
    assert judged(write_workbook(tmp_path / "book.xlsx", tables)).tables["hours"]["closes_s"].to_list() == [
        86400
    ]


def test_a_date_time_cell_is_no_instant_but_a_clock_reading(tmp_path: Path) -> None:
    tables = small()
    tables["controllers"][0]["clock_reading"] = datetime(2026, 11, 3, 9, 5)
    tables["controllers"][1]["read_at"] = datetime(2026, 11, 5, 6, 0)
    found = judged(write_workbook(tmp_path / "book.xlsx", tables))
    assert found.tables["controllers"]["clock_reading_local"].to_list() == [datetime(2026, 11, 3, 9, 5)]
    assert "lacks its offset" in found.rejections[0].reason


def test_sheet_rows_count_as_the_spreadsheet_shows_them(tmp_path: Path) -> None:
    tables = small()
    tables["sites"].insert(1, {"site_id": "", "latitude": "   "})
    book = read_portfolio(write_workbook(tmp_path / "book.xlsx", tables, top=3))
    assert row_numbers(book[0]) == [5, 7]
    assert book[0].source_file == "book.xlsx:sites"


def test_other_sheets_are_passed_over_and_names_may_have_capitals(tmp_path: Path) -> None:
    tables = {name.capitalize(): rows for name, rows in small().items()} | {"Notes": [{"x": 1}]}
    assert [table.name for table in read_portfolio(write_workbook(tmp_path / "b.xlsx", tables))] == list(
        small()
    )


@pytest.mark.parametrize("name", ["sites", "controllers", "circuits", "events"])
def test_a_needed_sheet_that_is_absent_stops_the_run(tmp_path: Path, name: str) -> None:
    tables = {table: rows for table, rows in small().items() if table != name}
    with pytest.raises(UserError, match=f"^book.xlsx: sheet {name} is missing; add it.$"):
        read_portfolio(write_workbook(tmp_path / "book.xlsx", tables))


def test_an_empty_sheet_and_two_sheets_of_one_table_stop_the_run(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"^book\.xlsx:hours is empty"):
        read_portfolio(write_workbook(tmp_path / "book.xlsx", small() | {"hours": []}))
    with pytest.raises(UserError, match='sheets "sites" and "Sites " both hold sites'):
        read_portfolio(write_workbook(tmp_path / "book.xlsx", small() | {"Sites ": small()["sites"]}))


def test_a_doubled_column_in_a_sheet_stops_the_run(tmp_path: Path) -> None:
    tables = small()
    tables["sites"][0]["name "] = tables["sites"][0]["name"] = "Quince Row"
    with pytest.raises(UserError, match='column "name" stands there twice'):
        read_portfolio(write_workbook(tmp_path / "book.xlsx", tables))


@pytest.mark.parametrize("content", [b"", b"site_id\n", b"PK\x03\x04 and nothing"])
def test_a_workbook_that_is_none_stops_the_run(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "book.xlsx").write_bytes(content)
    with pytest.raises(
        UserError, match=r"^book\.xlsx cannot be read as a workbook; save it again as \.xlsx\.$"
    ):
        read_portfolio(tmp_path / "book.xlsx")
