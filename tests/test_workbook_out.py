"""``findings.xlsx``: an audit's lists, read back by our own reader, by an independent one, and as XML."""

from datetime import datetime
from pathlib import Path
from typing import Any
from xml.etree import ElementTree
from zipfile import ZipFile

import pytest

from auditor.intake import read_portfolio

from .conftest import run_audit, small, write_folder
from .workbook_case import SHEETS, book, csv_rows, listed, own_reading

# Ids that a spreadsheet would run, link, or read as numbers, dates, truths, errors or markup, if it could.
RUNS = ["=1+1", "+1", "-A1", "@1", '=HYPERLINK("http://a.example","b")', "-1e3"]
NUMBERS = ["007", "1.0", "1E5", "1/2", "12:00", "2026-11-01"]
OTHER = ["TRUE", "#N/A", "http://a.example", "<r>&</r>", "{=1}"]
ODD = ['a,"b"', "_x0041_", "a\nb", "é 木 𝄞"]
IDS = RUNS + NUMBERS + OTHER + ODD
XML_CELL = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}c"
XML_FORMULA = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}f"


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The results of a portfolio whose circuits have the ids above, each with a finding, and of a bad row."""
    tables = small()
    for circuit_id in IDS:
        more = {"area": "facade", "connected_watts": 333, "hold": "on"}
        tables["circuits"].append({"circuit_id": circuit_id, "controller_id": "01A", **more})
    # A circuit whose finding has every figure.
    tables["circuits"].append({**tables["circuits"][0], "circuit_id": "noon"})
    at_noon = {"controller_id": "01A", "targets": "noon", "days": "daily", "anchor": "clock"}
    tables["events"].append({**at_noon, "event_id": "on", "action": "on", "time": "10:00"})
    tables["events"].append({**at_noon, "event_id": "off", "action": "off", "time": "15:00"})
    tables["sites"].append({"site_id": "003", "latitude": "=north()", "longitude": "1"})
    settings = '[portfolio]\ncurrency = "EUR"\nrate_per_kwh = 0.17\nemission_kg_per_kwh = 0.4\n'
    folder = tmp_path_factory.mktemp("results")
    run_audit(write_folder(tmp_path_factory.mktemp("source"), tables, settings), folder, folder / "s.duckdb")
    return folder


def test_every_list_has_its_sheet_and_findings_come_first(out: Path) -> None:
    assert book(out / "findings.xlsx").sheetnames == list(SHEETS.values())


@pytest.mark.parametrize("table", SHEETS)
def test_the_last_line_of_a_header_is_the_column_of_the_csv_file(out: Path, table: str) -> None:
    header = next(book(out / "findings.xlsx")[SHEETS[table]].iter_rows(max_row=1, values_only=True))
    assert [cell.split("\n")[-1] for cell in header] == listed(out, table)[0]
    assert all(len(cell.split("\n")) == 2 for cell in header)


@pytest.mark.parametrize("table", SHEETS)
def test_a_header_says_the_unit(out: Path, table: str) -> None:
    for (cell,) in book(out / "findings.xlsx")[SHEETS[table]].iter_cols(max_row=1, values_only=True):
        words, name = cell.split("\n")
        units = {
            "minutes": "minutes",
            "kwh": "kWh",
            "_kg": "kg",
            "cost": "EUR",
            "date": "date",
            "_row": "Row",
        }
        for ending, unit in units.items():
            assert not name.endswith(ending) or unit in words.replace("Minutes", "minutes"), cell


def test_the_same_word_for_money_is_said_with_the_time_that_it_stands_for(out: Path) -> None:
    headers = {
        title: [cell.value for cell in book(out / "findings.xlsx")[title][1]] for title in SHEETS.values()
    }
    assert "Cost, EUR a year\ncost" in headers["Findings"]
    assert "Cost of the energy, EUR in the period\ncost" in headers["Circuits"]
    assert "Avoidable cost, EUR a year\navoidable_cost" in headers["Sites"]


@pytest.mark.parametrize("table", SHEETS)
def test_our_own_reader_reads_the_rows_of_the_csv_file_in_their_order(out: Path, table: str) -> None:
    names, *rows = listed(out, table)
    read = own_reading(out / "findings.xlsx", SHEETS[table])
    assert read == [[bare(name, cell) for name, cell in zip(names, row, strict=True)] for row in rows]
    assert len(read) > 0 or table == "soon"


def bare(name: str, cell: str) -> str | None:
    """A cell of a CSV file without its shield; a whole number without its decimal point."""
    numeric = expected_types(name) == {int, float}
    return (cell.removesuffix(".0") if numeric else cell.removeprefix("'")) or None


def test_ids_survive_the_workbook_in_our_own_reader(out: Path) -> None:
    circuits = {row[2] for row in own_reading(out / "findings.xlsx", "Circuits")}
    assert circuits == {"011", "012", "021", "noon", *IDS}


def test_ids_survive_the_csv_files_in_our_own_reader(out: Path, tmp_path: Path) -> None:
    for table in ("sites", "circuits"):
        (tmp_path / f"{table}.csv").write_bytes((out / f"{table}.csv").read_bytes())
    for table in ("controllers", "events"):  # without which a folder is no portfolio
        (tmp_path / f"{table}.csv").write_text("site_id\n01\n")
    circuits = next(table for table in read_portfolio(tmp_path) if table.name == "circuits").frame
    assert set(circuits["circuit_id"]) == {"011", "012", "021", "noon", *IDS}
    shielded = {f"'{name}" for name in RUNS}
    assert {row[2] for row in csv_rows(out, "circuits")} >= shielded  # so there was something to take off


def test_ids_are_text_to_an_independent_reader(out: Path) -> None:
    cells = [row[2] for row in book(out / "findings.xlsx")["Circuits"].iter_rows(min_row=2)]
    # This reader knows nothing of the format's escapes, by which _x0041_ would stand for the letter A.
    assert {cell.value.replace("_x005F_", "_") for cell in cells} == {"011", "012", "021", "noon", *IDS}
    assert {cell.data_type for cell in cells} <= {"s", "inlineStr"}
    assert {cell.number_format for cell in cells} == {"@"}  # still text after somebody has edited it
    assert not any(cell.hyperlink for cell in cells)


@pytest.mark.parametrize("table", SHEETS)
def test_cells_are_of_the_kind_that_their_column_is(out: Path, table: str) -> None:
    sheet = book(out / "findings.xlsx")[SHEETS[table]]
    for name, *cells in zip(
        listed(out, table)[0], *sheet.iter_rows(min_row=2, values_only=True), strict=True
    ):
        found = {type(cell) for cell in cells if cell is not None}
        assert found <= expected_types(str(name)), name


def expected_types(name: str) -> set[type]:
    if name == "visit_needed":
        return {bool}
    if name in ("first_seen", "first_date", "last_date", "next_date"):
        return {datetime}
    numbers = ("minutes", "kwh", "cost", "_kg", "score", "rank", "_row", "critical", "high", "medium", "low")
    return {int, float} if name.endswith(numbers) else {str}


@pytest.mark.parametrize("table", SHEETS)
def test_an_independent_reader_finds_the_values_of_the_csv_file(out: Path, table: str) -> None:
    sheet = book(out / "findings.xlsx")[SHEETS[table]]
    for read, written in zip(
        sheet.iter_rows(min_row=2, values_only=True), listed(out, table)[1:], strict=True
    ):
        for cell, text in zip(read, written, strict=True):
            assert same(cell, text), (cell, text)


def same(cell: object, text: str) -> bool:
    match cell:
        case None:
            return text == ""
        case bool():
            return text == str(cell).lower()
        case datetime():
            return text == cell.date().isoformat() and cell == datetime.combine(cell, datetime.min.time())
        case int() | float():
            return float(text) == cell
    return text.removeprefix("'") == str(cell).replace("_x005F_", "_")


def test_there_is_no_formula_no_link_and_no_broken_xml_in_the_file(out: Path) -> None:
    with ZipFile(out / "findings.xlsx") as archive:
        parts = {name: ElementTree.fromstring(archive.read(name)) for name in archive.namelist()}
    sheets = [part for name, part in parts.items() if name.startswith("xl/worksheets/sheet")]
    assert len(sheets) == len(SHEETS)
    for sheet in sheets:
        assert list(sheet.iter(XML_CELL))
        assert not list(sheet.iter(XML_FORMULA))
        assert not [element for element in sheet.iter() if "hyperlink" in element.tag]
    assert not [name for name in parts if "worksheets/_rels" in name or "externalLink" in name]


def test_sheets_have_filters_a_frozen_header_and_widths(out: Path) -> None:
    for table, title in SHEETS.items():
        sheet = book(out / "findings.xlsx")[title]
        rows = listed(out, table)
        assert sheet.freeze_panes == "A2"
        assert sheet.auto_filter.ref == f"A1:{sheet.cell(1, len(rows[0])).column_letter}{len(rows)}"
        wide = {place: group.width for group in sheet.column_dimensions.values() for place in range_of(group)}
        for place, name in enumerate(rows[0]):
            longest = max(len(row[place]) for row in rows)
            assert min(longest, 60) <= wide[place] <= 61, (title, name)
            header = sheet.cell(1, place + 1).value
            assert max(map(len, header.split())) + 1 <= wide[place], header  # no word is broken


def range_of(group: Any) -> range:
    """The columns, counted from 0, that the reader takes together."""
    return range(group.min - 1, group.max)


def test_long_text_is_wrapped_and_figures_have_their_formats(out: Path) -> None:
    sheet = book(out / "findings.xlsx")["Findings"]
    row = next(row for row in sheet.iter_rows() if row[8].value == "noon" and row[12].value)
    looks = dict(zip(listed(out, "findings")[0], row, strict=True))
    assert looks["summary"].alignment.wrap_text
    assert looks["remedy"].alignment.wrap_text
    formats = {name: looks[name].number_format for name in ("minutes", "kwh", "cost", "co2_kg")}
    assert formats == {"minutes": "#,##0.0", "kwh": "#,##0.0", "cost": "#,##0.00", "co2_kg": "#,##0.0"}
    assert (looks["first_date"].number_format, looks["first_date"].value.year) == ("yyyy-mm-dd", 2026)
    assert (looks["source_row"].number_format, looks["source_row"].data_type) == ("0", "n")
