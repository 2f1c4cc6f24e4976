"""Files to raw rows: what is read, how rows are counted, and what stops a run."""

import hashlib
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from auditor.errors import UserError
from auditor.intake import read_portfolio
from auditor.loading import read_judged
from auditor.model import Portfolio, RawTable
from auditor.normalise import normalise
from auditor.period import audited_period
from auditor.zones import zone_names

from .conftest import small, write_folder

HEADER = "site_id,latitude,longitude,name\n"
GOOD = "01,40.7,-74,Quince Row\n"


def read_sites(folder: Path, content: str | bytes, name: str = "sites.csv") -> RawTable:
    """The table sites of a folder in which it has this content and everything else is in order."""
    tables = {table: rows for table, rows in small().items() if table != "sites"}
    write_folder(folder, tables)
    (folder / name).write_bytes(content.encode() if isinstance(content, str) else content)
    return read_portfolio(folder)[0]


def cells(table: RawTable, column: str = "site_id") -> list[str | None]:
    return table.frame[column].to_list()


def row_numbers(table: RawTable) -> list[int]:
    return table.frame["source_row"].to_list()


def judged(source: Path) -> Portfolio:
    return normalise(read_portfolio(source), zone_names())


def assert_same_portfolio(one: Portfolio, other: Portfolio) -> None:
    """The same rows with the same values, whatever the files are called."""
    for name, frame in one.tables.items():
        assert_frame_equal(frame.drop("source_file"), other.tables[name].drop("source_file"))
    assert [row.reason for row in one.rejections] == [row.reason for row in other.rejections]


# CSV: bytes and records ------------------------------------------------------------------------------------


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["plain", "byte order mark"])
@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"], ids=["LF", "CRLF", "CR"])
def test_line_ends_and_a_byte_order_mark_make_no_difference(tmp_path: Path, mark: bytes, end: bytes) -> None:
    table = read_sites(tmp_path, mark + (HEADER + GOOD).encode().replace(b"\n", end))
    assert table.frame.columns == ["site_id", "latitude", "longitude", "name", "source_row"]
    assert table.frame.rows() == [("01", "40.7", "-74", "Quince Row", 2)]


def test_a_last_line_without_its_end_is_read(tmp_path: Path) -> None:
    assert cells(read_sites(tmp_path, HEADER + GOOD.strip())) == ["01"]


def test_quoted_cells_may_hold_commas_quotes_and_line_ends(tmp_path: Path) -> None:
    table = read_sites(tmp_path, HEADER + '01,40.7,-74,"Quince ""Row"", east\r\nwing"\n')
    assert cells(table, "name") == ['Quince "Row", east\r\nwing']


def test_rows_are_counted_as_records_not_as_lines(tmp_path: Path) -> None:
    table = read_sites(tmp_path, HEADER + '01,1,1,"three\nlines\nhere"\n02,2,2,\n')
    assert row_numbers(table) == [2, 3]


def test_blank_lines_count_and_are_passed_over(tmp_path: Path) -> None:
    table = read_sites(tmp_path, HEADER + "\n01,1,1,\n\n  \n02,2,2,\n\n")
    assert list(zip(cells(table), row_numbers(table), strict=True)) == [("01", 3), ("02", 6)]
    assert table.rejections == ()


@pytest.mark.parametrize("commas", [",", ",,,", ",,,,,,,,", " , ,\t, "])
def test_rows_of_commas_only_are_passed_over_however_many(tmp_path: Path, commas: str) -> None:
    table = read_sites(tmp_path, HEADER + commas + "\n" + GOOD)
    assert (row_numbers(table), table.rejections) == ([3], ())


def test_a_short_row_is_rejected_and_the_others_stay(tmp_path: Path) -> None:
    table = read_sites(tmp_path, HEADER + "01,40.7\n02,2,2,\n")
    (lost,) = table.rejections
    assert (lost.source_file, lost.source_row, lost.value) == ("sites.csv", 2, "01,40.7")
    assert "2 cells, the header 4" in lost.reason
    assert cells(table) == ["02"]


def test_a_long_row_stays_where_the_rest_is_blank_and_goes_where_it_is_not(tmp_path: Path) -> None:
    table = read_sites(tmp_path, HEADER + "01,1,1,Quince Row,, \n02,2,2,Tansy Street, Annex\n")
    assert table.frame.rows() == [("01", "1", "1", "Quince Row", 2)]
    (lost,) = table.rejections
    assert lost.source_row == 3
    assert "5 cells" in lost.reason


def test_a_byte_that_is_not_utf_8_costs_its_row_only(tmp_path: Path) -> None:
    table = read_sites(tmp_path, HEADER.encode() + b"01,1,1,Caf\xe9\n02,2,2,Caf\xc3\xa9\n")
    assert cells(table, "name") == ["Café"]
    (lost,) = table.rejections
    assert lost.source_row == 2
    assert "UTF-8" in lost.reason


def test_a_quotation_mark_left_open_stops_the_run_and_says_where(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"^sites\.csv, row 3: .*close the quotation mark.*\.$"):
        read_sites(tmp_path, HEADER + GOOD + '02,2,2,"Tansy Street\n03,3,3,\n')


def test_text_behind_a_closing_quotation_mark_stops_the_run(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"sites\.csv, row 2"):
        read_sites(tmp_path, HEADER + '01,1,1,"Quince" Row\n')


@pytest.mark.parametrize("content", ["", "\n\n", "\ufeff", ",,,\n"])
def test_a_file_without_a_header_stops_the_run(tmp_path: Path, content: str) -> None:
    with pytest.raises(UserError, match=r"^sites\.csv is empty; its first row must name the columns\.$"):
        read_sites(tmp_path, content)


def test_a_header_alone_is_a_table_without_rows(tmp_path: Path) -> None:
    assert read_sites(tmp_path, HEADER).frame.is_empty()


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le"])
def test_utf_16_text_is_named_as_such(tmp_path: Path, encoding: str) -> None:
    mark = b"" if encoding == "utf-16" else b"\xff\xfe"
    with pytest.raises(UserError, match=r"sites\.csv is UTF-16 text; save it as CSV in UTF-8"):
        read_sites(tmp_path, mark + (HEADER + GOOD).encode(encoding))


@pytest.mark.parametrize("separator", [";", "\t"])
def test_cells_that_commas_do_not_separate_are_named_as_such(tmp_path: Path, separator: str) -> None:
    with pytest.raises(UserError, match=r"sites\.csv, row 1: .*not separated by commas"):
        read_sites(tmp_path, (HEADER + GOOD).replace(",", separator))


# CSV: header and cells -------------------------------------------------------------------------------------


def test_a_doubled_column_stops_the_run(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r'sites\.csv, row 1: column "name" stands there twice'):
        read_sites(tmp_path, HEADER.strip() + ", name \n")


def test_a_table_wider_than_any_sheet_stops_the_run(tmp_path: Path) -> None:
    """Of a hundred thousand columns a check for doubled names took minutes."""
    wide = HEADER.strip() + "".join(f",c{number}" for number in range(100_000))
    with pytest.raises(
        UserError, match=r"sites\.csv has more than 16,384 columns; keep those that the tables"
    ):
        read_sites(tmp_path, wide + "\n")


def test_unknown_columns_are_kept_out_and_said_once_a_file(tmp_path: Path) -> None:
    content = "floor,site_id,latitude,longitude,,colour\n1,01,40.7,-74,x,red\n2,02,60.2,24.9,y,blue\n"
    tables = {name: rows for name, rows in small().items() if name != "sites"}
    (write_folder(tmp_path, tables) / "sites.csv").write_text(content)
    found = judged(tmp_path)
    assert found.notices == [
        'sites.csv: not read, because unknown: "floor", "(column 5 has no name)", "colour".'
    ]
    assert "floor" not in found.tables["sites"].columns
    assert found.tables["sites"].height == 2


def test_the_order_of_columns_is_free(tmp_path: Path) -> None:
    write_folder(tmp_path / "one", small())
    turned = {name: [dict(reversed(row.items())) for row in rows] for name, rows in small().items()}
    write_folder(tmp_path / "other", turned)
    assert_same_portfolio(judged(tmp_path / "one"), judged(tmp_path / "other"))


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("'=1+1", "=1+1"),
        ("'-5", "-5"),
        ("'+31", "+31"),
        ("'@home", "@home"),
        (" '=x ", "=x"),
        ("'tis", "'tis"),
        ("'", "'"),
        ("''=x", "''=x"),
        ("=1+1", "=1+1"),
    ],
)
def test_the_apostrophe_that_shields_a_formula_is_taken_off_and_no_other(
    tmp_path: Path, written: str, read: str
) -> None:
    assert cells(read_sites(tmp_path, HEADER + f"01,1,1,{written}\n"), "name") == [read]


def test_ids_keep_their_leading_zeros_and_lose_their_margins(tmp_path: Path) -> None:
    table = read_sites(tmp_path, HEADER + " 007 ,1,1,\t\u00a0Quince Row \n1e3,2,2,\n")
    assert cells(table) == ["007", "1e3"]
    assert cells(table, "name") == ["Quince Row", None]


def test_blank_and_margins_only_mean_unknown(tmp_path: Path) -> None:
    assert cells(read_sites(tmp_path, HEADER + '01,1,1,"  "\n02,1,1,\n'), "name") == [None, None]


def test_a_column_of_the_users_own_that_is_called_source_row_does_not_shift_the_rows(tmp_path: Path) -> None:
    table = read_sites(tmp_path, "source_row,site_id,latitude,longitude\n77,01,1,1\n")
    assert row_numbers(table) == [2]
    assert cells(table, "source_row (as in the file)") == ["77"]


# CSV: the folder -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["Sites.CSV", "SITES.csv", "sites.Csv"])
def test_upper_case_in_a_file_name_is_fine(tmp_path: Path, name: str) -> None:
    table = read_sites(tmp_path, HEADER + GOOD, name)
    assert (table.name, table.source_file) == ("sites", name)


def test_tables_come_in_one_order_and_strange_files_are_passed_over(portfolio: Path) -> None:
    for name in ("notes.csv", "sites.txt", "sites.csv.bak", "~sites.csv"):
        (portfolio / name).write_text("not a table\n")
    assert [table.name for table in read_portfolio(portfolio)] == list(small())


def test_a_table_may_be_absent_unless_it_is_needed(portfolio: Path) -> None:
    for name in ("sensors", "hours", "closures", "waivers", "actions"):
        (portfolio / f"{name}.csv").unlink()
    assert [table.name for table in read_portfolio(portfolio)] == [
        "sites",
        "controllers",
        "circuits",
        "events",
    ]


@pytest.mark.parametrize("name", ["sites", "controllers", "circuits", "events"])
def test_a_needed_table_that_is_absent_stops_the_run(portfolio: Path, name: str) -> None:
    (portfolio / f"{name}.csv").unlink()
    with pytest.raises(UserError, match=f"table {name} is missing; add {name}.csv or {name}.parquet"):
        read_portfolio(portfolio)


def test_the_same_table_twice_stops_the_run(portfolio: Path) -> None:
    pl.read_csv(portfolio / "hours.csv").write_parquet(portfolio / "hours.parquet")
    with pytest.raises(UserError, match=r"hours\.csv and hours\.parquet both hold hours; keep one"):
        read_portfolio(portfolio)


@pytest.mark.parametrize("name", ["sites.csv", "sites.parquet"])
def test_a_folder_that_is_called_like_a_table_stops_the_run(portfolio: Path, name: str) -> None:
    (portfolio / "sites.csv").unlink()
    (portfolio / name).mkdir()
    with pytest.raises(UserError, match=f"{name} cannot be read"):
        read_portfolio(portfolio)


@pytest.mark.parametrize("name", ["nowhere", "sites.csv", "nowhere.xlsx"])
def test_what_is_neither_a_folder_nor_a_workbook_is_refused(portfolio: Path, name: str) -> None:
    with pytest.raises(UserError, match="is neither a folder nor a workbook"):
        read_portfolio(portfolio / name)


def test_every_table_carries_the_hash_of_its_file(portfolio: Path) -> None:
    for table in read_portfolio(portfolio):
        content = (portfolio / table.source_file).read_bytes()
        assert table.sha256 == hashlib.sha256(content).hexdigest()


@pytest.mark.parametrize("table", ["circuits", "events"])
def test_a_needed_table_of_which_nothing_is_left_is_said_loudly_and_first(table: str, tmp_path: Path) -> None:
    tables = small()
    for row in tables[table]:
        row["controller_id"] = "nowhere"
    notices = read_judged(write_folder(tmp_path, tables)).notices
    assert notices[0].startswith(f"nothing of {table} is audited: every row was rejected")
    assert not [said for said in read_judged(write_folder(tmp_path, small())).notices if "nothing of" in said]


def test_where_no_device_is_left_the_sentence_says_how_many_rows_and_how_often_why(tmp_path: Path) -> None:
    tables = small()
    for row in tables["controllers"]:
        row["read_at"] = "2026-11-03 14:05:00"  # as a real date of a workbook reads, which says no offset
    with pytest.raises(UserError) as refused:
        audited_period(read_judged(write_folder(tmp_path, tables)), None, 365)
    assert str(refused.value) == (
        "No row of controllers could be accepted of 2 rows; the first reason: controllers.csv, row 2, column "
        "read_at: read_at lacks its offset from UTC; write an instant like 2026-11-03T14:05:00Z "
        "(so in 2 rows)."
    )
