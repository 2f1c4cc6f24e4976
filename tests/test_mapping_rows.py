"""How a map makes rows: steps, columns that become rows, ids, conditions, and several sources together."""

from pathlib import Path

import pytest
import xlsxwriter

from auditor.audit import audit
from auditor.errors import UserError
from auditor.loading import read_judged
from auditor.mapping import mapped_tables
from auditor.model import Portfolio, RawTable

from .conftest import Console, small, write_folder
from .judging import judge, raw


def mapped(folder: Path, text: str, **files: str) -> list[RawTable]:
    """The tables of a map over files; an underscore in a file's name stands for its point."""
    for name, content in files.items():
        (folder / name.replace("_", ".")).write_text(content, encoding="utf-8")
    (folder / "m.toml").write_text(text, encoding="utf-8")
    return mapped_tables([folder / "m.toml"])[0]


STEPS = """
[source]
files = "*.csv"
[[events]]
controller_id = "{Panel}"
targets = { cell = "{Loads}", split = ",", as = "{Panel}-{item}" }
days = "daily"
[[events.steps]]
action = "on"
when = { cell = "{On}", time = "24h" }
[[events.steps]]
where = { column = "Off", blank = false }
action = "off"
when = { cell = "{Off}", time = "24h" }
"""


def test_steps_of_one_row_follow_each_other_and_have_ids_of_their_own(tmp_path: Path) -> None:
    (table,) = mapped(tmp_path, STEPS, a_csv='Panel,Loads,On,Off\nP1,"1, 2",18:00,23:00\nP1,3,19:00,\n')
    ids = table.frame.select("event_id", "targets", "action", "time", "source_row").rows()
    assert ids == [
        ("2", "P1-1;P1-2", "on", "18:00", 2),
        ("2.2", "P1-1;P1-2", "off", "23:00", 2),
        ("3", "P1-3", "on", "19:00", 3),
    ]


def test_ids_name_the_file_where_a_device_has_steps_in_several(tmp_path: Path) -> None:
    text = "Panel,Loads,On,Off\nP1,1,18:00,23:00\n"
    tables = mapped(tmp_path, STEPS, a_csv=text, b_csv=text + "P2,1,18:00,\n")
    assert [table.frame["event_id"].to_list() for table in tables] == [
        ["a.csv:2", "a.csv:2.2"],
        ["b.csv:2", "b.csv:2.2", "3"],
    ]


def test_a_blank_part_of_an_id_makes_the_whole_blank(tmp_path: Path) -> None:
    text = MORE.replace("signs.txt", "a.csv").replace("{Sign}", "{P}-{N}")
    (table,) = mapped(tmp_path, text, a_csv="P,N\nP1,1\nP1,\n")
    assert table.frame["circuit_id"].to_list() == ["P1-1", None]


def test_conditions_choose_rows_and_the_first_rule_that_holds_is_named(tmp_path: Path) -> None:
    text = """
[source]
files = "a.csv"
skip_rows = 3
[skip.blank]
column = "P"
blank = true
[skip.sums]
column = "P"
starts = ["sum", "total"]
[[circuits]]
where = { column = "N", is_not = ["x"] }
circuit_id = "{N}"
controller_id = "{P}"
area = "sign"
"""
    (table,) = mapped(tmp_path, text, a_csv="P,N\nP1,1\n(unit),-\n,x\nTOTAL 4,\nP2,X\n")
    assert table.frame["circuit_id"].to_list() == ["1"]
    assert dict(table.skipped) == {3: "skip_rows", 4: "blank", 5: "sums", 6: "gives nothing"}


def test_a_header_of_two_rows_gives_names_of_both(tmp_path: Path) -> None:
    text = """
[source]
files = "a.csv"
header_row = [1, 2]
[[hours]]
each = ["Mon", "Tue"]
site_id = "{Site}"
days = { cell = "{each}", words = { Mon = "MO", Tue = "TU" } }
opens = { cell = "{* open}", time = "24h" }
closes = { cell = "{* shut}", time = "24h" }
"""
    (table,) = mapped(tmp_path, text, a_csv="Site,Mon,,Tue,\n,open,shut,open,shut\n1,9:00,17:00,,\n")
    assert table.frame.drop("source_row").rows() == [("1", "MO", "09:00", "17:00")]


def test_what_stands_above_holds_below_where_the_map_says_so(tmp_path: Path) -> None:
    text = STEPS.replace("[[events]]", 'fill_down = "Panel"\n[[events]]', 1)
    (table,) = mapped(tmp_path, text, a_csv="Panel,Loads,On,Off\nP1,1,18:00,\n,2,19:00,\n")
    assert table.frame["controller_id"].to_list() == ["P1", "P1"]


def test_cells_of_a_workbook_are_read_as_what_they_are(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "book.xlsx") as book:
        sheet = book.add_worksheet("Lights")
        sheet.write_row(1, 0, ["Panel", "Loads", "On", "Off"])
        sheet.write_row(3, 0, ["P1", 7, 0.75, "=1+1"])
    with_book = STEPS.replace('"*.csv"', '"*.xlsx"\nheader_row = 2').replace('"24h"', '"excel serial"')
    (table,) = mapped(tmp_path, with_book.replace('where = { column = "Off", blank = false }', ""))
    assert table.source_file == "book.xlsx:Lights"
    assert table.frame.select("source_row", "targets", "time").rows() == [
        (4, "P1-7", "18:00"),
        (4, "P1-7", "00:00"),
    ]


def test_a_sheet_must_be_named_where_there_are_several(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "book.xlsx") as book:
        for name in ("Lights", "Signs"):
            book.add_worksheet(name).write_row(0, 0, ["Panel", "Loads", "On", "Off"])
    text = STEPS.replace("*.csv", "*.xlsx")
    with pytest.raises(
        UserError, match=r'book\.xlsx has the sheets "Lights", "Signs"; say which, such as sheets ='
    ):
        mapped(tmp_path, text)
    with pytest.raises(UserError, match=r'book\.xlsx has no sheet "Light"; did you mean "Lights"\?'):
        mapped(tmp_path, text.replace("[source]", '[source]\nsheets = "Light"'))
    names = [
        table.source_file for table in mapped(tmp_path, text.replace("[source]", '[source]\nsheets = "*"'))
    ]
    assert names == ["book.xlsx:Lights", "book.xlsx:Signs"]


# Several sources -------------------------------------------------------------------------------------------


def test_a_row_that_says_the_same_again_is_kept_and_one_that_differs_is_rejected() -> None:
    tables = [raw(name, rows) for name, rows in small().items()]
    again = raw("sites", [{**small()["sites"][0]}, {**small()["sites"][0], "latitude": "41"}])
    sites = RawTable("sites", "list.csv", "1", again.frame, repeats=True)
    found = judged([sites, *(table for table in tables if table.name != "sites")])
    assert found.tables["sites"]["site_id"].to_list() == ["01"]
    assert [(row.source_file, row.source_row) for row in found.rejections][:1] == [("list.csv", 3)]
    counted = next(read for read in found.inputs if read["file"] == "list.csv")
    assert (counted["rows"], counted["kept"], counted["rejected"]) == (2, 1, 1)


def judged(tables: list[RawTable]) -> Portfolio:
    from auditor.normalise import normalise
    from auditor.zones import zone_names

    return normalise(tables, zone_names())


def test_a_second_row_of_a_key_is_rejected_across_sources_with_its_own_file() -> None:
    tables = [raw(name, rows) for name, rows in small().items()]
    other = raw("circuits", [{"circuit_id": "011", "controller_id": "01A", "area": "sign"}])
    found = judged([*tables, RawTable("circuits", "more.csv", "1", other.frame)])
    (lost,) = [row for row in found.rejections if row.source_file == "more.csv"]
    assert lost.reason == "a row with this circuit_id stands above; only the first counts"
    assert found.tables["circuits"].equals(judge(small()).tables["circuits"])


def test_the_program_order_is_the_order_of_the_sources() -> None:
    tables = [raw(name, rows) for name, rows in small().items() if name != "events"]
    first, second = small()["events"][:1], small()["events"][1:2]
    found = judged([*tables, RawTable("events", "z.csv", "1", raw("events", first).frame),
                    RawTable("events", "a.csv", "2", raw("events", second).frame)])  # fmt: skip
    events = found.tables["events"].sort("row_no")
    assert events["source_file"].to_list() == ["z.csv", "a.csv"]
    assert events["source_row"].to_list() == [2, 2]


MORE = """
[source]
files = "signs.txt"
[[circuits]]
circuit_id = "{Sign}"
controller_id = "01A"
area = "sign"
"""


@pytest.fixture
def both(tmp_path: Path) -> Path:
    """A folder of contract tables, one export beside them, and its map, which the settings name."""
    settings = '[sources]\nmaps = "maps/*.toml"\nfolder = "."\n'
    folder = write_folder(tmp_path / "portfolio", small(), settings)
    (folder / "signs.txt").write_text("Sign\n019\n", encoding="utf-8")
    (folder / "maps").mkdir()
    (folder / "maps" / "signs.toml").write_text(MORE, encoding="utf-8")
    return folder


def test_settings_may_name_maps_beside_the_contract_folder(both: Path) -> None:
    found = read_judged(both)
    assert found.tables["circuits"]["circuit_id"].to_list() == ["011", "012", "021", "019"]
    assert not [notice for notice in found.notices if "signs.txt" in notice]  # read, though no table's name
    assert read_judged(both / "portfolio.toml").tables["circuits"].height == 4


def test_a_run_of_maps_says_where_every_row_went_and_with_which_map(
    console: Console, both: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    outcome = audit(both, out, None, 3, None, lambda stage, length: lambda step: None, pages=0)
    assert [file["file"] for file in outcome.facts["maps"]] == ["signs.toml"]
    assert outcome.facts["rows"]["skipped"] == 0
    findings = (out / "findings.csv").read_text(encoding="utf-8")
    assert ",signs.txt,2\n" in findings  # never on: each finding shows the row of the export
    status, said, _ = console("run", both, "--out", out, "--days", "3", "--pages", "10")
    assert status == 0 and "  signs.txt: 1 row read = 1 kept + 0 rejected + 0 skipped" in said


def test_sources_that_name_nothing_or_each_other_are_refused(both: Path, tmp_path: Path) -> None:
    settings = both / "portfolio.toml"
    settings.write_text('[sources]\nmaps = "mops/*.toml"\n', encoding="utf-8")
    with pytest.raises(
        UserError, match=r'portfolio.toml: \[sources\] maps = "mops/\*.toml": no file is named like'
    ):
        read_judged(both)
    settings.write_text("[sources]\nmap = 1\n", encoding="utf-8")
    with pytest.raises(
        UserError, match=r'portfolio.toml: \[sources\] "map" is not known; did you mean "maps"\?'
    ):
        read_judged(both)
    settings.unlink()
    other = write_folder(tmp_path / "other", {"sites": [{"site_id": "9", "latitude": 1, "longitude": 1}]})
    with pytest.raises(UserError, match=r"two sources hold a file sites\.csv"):
        read_judged([both, other])


def test_an_encoding_that_was_found_out_is_noted_and_one_that_is_said_is_not(tmp_path: Path) -> None:
    for name in ("a.csv", "b.csv"):
        (tmp_path / name).write_bytes("Sign\nCafé\n".encode("cp1252"))
    text = MORE.replace("signs.txt", "*.csv")
    (tmp_path / "m.toml").write_text(text, encoding="utf-8")
    tables, notices = mapped_tables([tmp_path / "m.toml"])
    assert [table.frame["circuit_id"].to_list() for table in tables] == [["Café"], ["Café"]]
    assert notices == [
        'a.csv and 1 more: not UTF-8, read as cp1252; settle it with encoding = "cp1252" in [source], '
        "or with another one where letters look wrong."
    ]
    (tmp_path / "m.toml").write_text(
        text.replace("[source]", '[source]\nencoding = "cp1252"'), encoding="utf-8"
    )
    assert mapped_tables([tmp_path / "m.toml"])[1] == []
