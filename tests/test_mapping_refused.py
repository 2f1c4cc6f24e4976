"""Maps that say something wrong, and files that do harm: one sentence each, and nothing is written."""

import io
import json
import os
import socket
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from auditor.intake import archives
from auditor.mapping import read_map
from tests.fuzz.targets import archive, workbook

from .conftest import Console
from .mapping_case import MAP, refusal, tables

EXPORT = "Circuit,Load,On\nA,1.5,18:00\n"


# Maps ------------------------------------------------------------------------------------------------------

WRONG_MAPS = {
    "an unknown key": (
        MAP + 'cirkuit_id = "x"',
        '[circuits] "cirkuit_id" is not known; did you mean "circuit_id"?',
    ),
    "an unknown section": (MAP + "[sauce]", '"sauce" is not known; did you mean "source"?'),
    "single brackets": (MAP.replace("[[circuits]]", "[circuits]"), "circuits must stand in double brackets"),
    "a needed column": (
        MAP.replace('area = "parking"', ""),
        "[circuits] area is missing; say where it comes from",
    ),
    "no row of a header": (
        MAP.replace('files = "export*"', 'files = "export*"\nheader_row = []'),
        "[source] header_row names no row",
    ),
    "no files": ('[source]\n[[sites]]\nname = "x"', "[source] says no files; add which are meant"),
    "no table": ('[source]\nfiles = "x"', "gives no table; add one, such as [[circuits]]"),
    "a way out of the folder": (MAP.replace("export*", "../*"), 'files = "../*" leads out of the folder'),
    "an absolute path": (MAP.replace("export*", "/etc/*"), 'files = "/etc/*" leads out of the folder'),
    "a unit that is not said": (MAP + 'connected_watts = "{Load}"', 'add unit = "W" or "kW" or "MW"'),
    "an unknown unit": (
        MAP + 'connected_watts = { cell = "{Load}", unit = "hp" }',
        'unit = "hp" is not known for connected_watts; known: W, kW, MW.',
    ),
    "words that are not there": (
        MAP + 'name = { cell = "{Load}", words = "lods" }\n[words.loads]\n1 = "x"',
        'words = "lods": there is no [words.lods]; did you mean "loads"?',
    ),
    "a word that is no text": (
        MAP + "name = { cell = 'x', words = { a = 1 } }",
        'what "a" stands for must be a text',
    ),
    "a broken pattern": (MAP.replace("files", "name = '('\nfiles"), "name is no regular expression"),
    "a pattern that could keep some engines busy for ever": (
        MAP.replace("files", "name = '(?P<x>a)(?=b)'\nfiles"),
        "name is no regular expression (look-around, including look-ahead and look-behind, is not supported)",
    ),
    "a pattern without a name": (MAP.replace("files", "name = '(x)'\nfiles"), "name must have a named part"),
    "an encoding": (MAP.replace("files", 'encoding = "klingon"\nfiles'), 'encoding = "klingon" is not known'),
    "an encoding of bytes": (
        MAP.replace("files", 'encoding = "zip"\nfiles'),
        'encoding = "zip" is not known',
    ),
    "a separator": (MAP.replace("files", 'separator = "::"\nfiles'), "separator must be one character"),
    "a condition without a test": (MAP + '[skip.x]\ncolumn = "Load"', "needs column and one of is, is_not"),
    "part without split": (MAP + "name = { cell = '{Load}', part = 1 }", "[circuits.name] part needs split"),
    "as without item": (MAP + "name = { cell = '{Load}', split = ',', as = 'x' }", "as must hold {item}"),
    "a key about something else": (
        MAP + "name = { cell = '{Load}', date = 'iso' }",
        "[circuits.name] date says nothing about name",
    ),
    "each of no column": (MAP + "each = []", "[circuits] each names no column; write them"),
    "a column twice in each": (MAP + 'each = ["On", "On"]', '[circuits] each names "On" twice'),
    "a brace that does not end": (
        MAP.replace('"{Circuit}"', '"{Load}-{Circuit"'),
        "[circuits.circuit_id] cell = '{Load}-{Circuit' has a brace without its other one",
    ),
    "a date pattern": (
        '[source]\nfiles="x"\n[[closures]]\nsite_id = "*"\ndate = { cell = "{D}", date = "%Q" }',
        'date = "%Q" is no pattern',
    ),
    "not TOML": ("x", "m.toml is not readable as TOML"),
}


@pytest.mark.parametrize("case", sorted(WRONG_MAPS))
def test_a_map_that_is_wrong_is_refused_by_file_and_key(case: str, tmp_path: Path) -> None:
    (tmp_path / "export.csv").write_text(EXPORT)
    text, says = WRONG_MAPS[case]
    said = refusal(tmp_path, text)
    assert said.startswith("m.toml") and says in said


@pytest.mark.parametrize("name", ["a\nb", "a\x1b[31mb", "b" * 10_000])  # the first found by tests.fuzz
def test_what_a_sentence_quotes_cannot_break_it(name: str, tmp_path: Path) -> None:
    said = refusal(tmp_path, MAP.replace("export*", json.dumps(name)[1:-1]))
    assert said.isprintable() and len(said) < 2000


# Files -----------------------------------------------------------------------------------------------------


def zipped(*members: tuple[str, bytes]) -> bytes:
    return archive(list(members))


def bomb() -> bytes:
    """A small archive that unpacks to 11 MiB of one letter, above the size from which the ratio counts."""
    return zipped(("export.csv", b"a" * (11 * 2**20)))


def linked() -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as packed:
        info = zipfile.ZipInfo("export.csv")
        info.external_attr = 0o120777 << 16  # a symbolic link, as Unix archives mark it
        packed.writestr(info, "/etc/passwd")
    return data.getvalue()


def spoilt_book() -> bytes:
    book = workbook([["x", "y", "z"]])
    return book[: len(book) // 2]


BAD_FILES: dict[str, tuple[str, Callable[[], bytes] | bytes, str]] = {
    "nothing in it": ("export.csv", b"", "is empty; one of its rows must name the columns"),
    "a header lower down": (
        "export.csv",
        b"\nCircuit\nA\n",
        "the first that holds something is row 2: set header_row",
    ),
    "an archive with nothing in it": ("export.zip", zipped(), "is an archive without a file"),
    "an open quotation mark": ("export.csv", EXPORT.encode() + b'"B,2\n', "row 3: not readable as CSV"),
    "UTF-16 without its mark": (
        "export.csv",
        ("x" * 99 + EXPORT).encode("utf-16-le"),
        'set encoding = "utf-16-le"',
    ),
    "UTF-16 the other way round": (
        "export.csv",
        ("x" * 99 + EXPORT).encode("utf-16-be"),
        'set encoding = "utf-16-be"',
    ),
    "an archive in an archive": (
        "export.zip",
        zipped(("a.zip", zipped(("a.csv", b"a")))),
        "/a.zip is a zip archive",
    ),
    "an archive cut short": ("export.zip", zipped(("export.csv", b"a,b"))[:-9], "is cut short or no archive"),
    "a name above the archive": ("export.zip", zipped(("../x.csv", b"a,b")), "which leads out of it"),
    "an absolute name": ("export.zip", zipped(("/x.csv", b"a,b")), "which leads out of it"),
    "a link in an archive": ("export.zip", linked(), 'holds a link, "export.csv"'),
    "a steep archive": ("export.zip", bomb(), f"unpacks to more than {archives.STEEPEST} times its size"),
    "a workbook cut short": ("export.xlsx", spoilt_book(), "cannot be read as a workbook"),
    "a workbook that is none": (
        "export.xlsx",
        zipped(("export.csv", b"a,b")),
        "cannot be read as a workbook",
    ),
    "a workbook that is text": ("export.xlsx", EXPORT.encode(), "cannot be read as a workbook"),
}


@pytest.mark.parametrize("case", sorted(BAD_FILES))
def test_a_file_that_cannot_be_read_is_refused_by_name(case: str, tmp_path: Path) -> None:
    name, content, says = BAD_FILES[case]
    (tmp_path / name).write_bytes(content() if callable(content) else content)
    said = refusal(tmp_path)
    assert said.startswith(name) and says in said


def test_an_archive_that_unpacks_to_too_much_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archives, "LARGEST", 2**20)
    (tmp_path / "export.zip").write_bytes(zipped(("export.csv", os.urandom(2**20 + 1))))
    assert "unpacks to more than 1 MiB" in refusal(tmp_path)


def test_a_member_that_holds_more_than_its_archive_says_is_read_no_further(tmp_path: Path) -> None:
    content = bytearray(zipped(("export.csv", b"Circuit\n" + b"A\n" * 5000)))
    place = content.rindex(b"PK\x01\x02") + 24  # the size unpacked, in the archive's directory
    content[place : place + 4] = (10).to_bytes(4, "little")
    (tmp_path / "export.zip").write_bytes(bytes(content))
    assert "cannot be unpacked" in refusal(tmp_path)


def test_a_link_out_of_the_folder_is_refused_and_one_within_is_read(tmp_path: Path) -> None:
    inside, outside = tmp_path / "in", tmp_path / "secret.csv"
    inside.mkdir()
    outside.write_text(EXPORT)
    (inside / "export.csv").symlink_to(outside)
    assert refusal(inside).startswith("export.csv is a link that leads out of")
    (inside / "export.csv").unlink()
    (inside / "own.csv").write_text(EXPORT)
    (inside / "export.csv").symlink_to("own.csv")
    assert tables(inside)[0].frame.height == 1


def test_devices_pipes_and_sockets_are_not_opened(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "export.csv")  # to open it would wait for ever
    assert refusal(tmp_path) == "export.csv is no plain file; put a copy there."
    (tmp_path / "export.csv").unlink()
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(tmp_path / "export.csv"))
        assert "is no plain file" in refusal(tmp_path)


def test_a_file_whose_name_is_no_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / os.fsdecode(b"export\xff.csv")).write_text(EXPORT)  # a lone surrogate, as Python has it
    assert refusal(tmp_path) == r"'export\udcff.csv' has a name that cannot be shown; rename the file."


def test_entities_of_a_workbook_are_not_unfolded(tmp_path: Path) -> None:
    """Ten entities, each ten times the one before, in the texts of a sheet: 10^9 letters if they were."""
    laughs = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))
    bad = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY e0 "a">{laughs}]>'
    data = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook([["x", "y", "z"]]))) as good,
        zipfile.ZipFile(data, "w") as packed,
    ):
        for name in good.namelist():
            text = good.read(name).decode()
            if name.endswith("sharedStrings.xml"):
                text = bad + text.partition("?>")[2].replace("<t>a</t>", "<t>&e9;</t>").replace(
                    "<t>x</t>", "<t>&e9;</t>"
                )
            packed.writestr(name, text)
    (tmp_path / "export.xlsx").write_bytes(data.getvalue())
    assert refusal(tmp_path) == "export.xlsx cannot be read as a workbook; save it again as .xlsx."


def test_no_file_of_that_name_is_said(tmp_path: Path) -> None:
    assert f"no file in {tmp_path} is named like export*" in refusal(tmp_path)


def test_rows_that_do_not_fit_or_hold_nul_are_rejected_and_the_others_kept(tmp_path: Path) -> None:
    text = "Circuit,Load\nA,1\nB,1,2\nC\0,1\nD\nE,,,\n" + "F" * 10_000 + ",1\n"
    (tmp_path / "export.csv").write_text(text)
    (table,) = tables(tmp_path)
    assert [(row.source_row, row.reason.partition(";")[0]) for row in table.rejections] == [
        (3, "the row has 3 cells, the header 2"),
        (4, "a cell holds a NUL character"),
    ]
    assert table.frame["source_row"].to_list() == [2, 5, 6, 7]


def test_a_run_that_is_refused_leaves_no_results_and_the_store_as_it_was(
    console: Console, tmp_path: Path
) -> None:
    (tmp_path / "m.toml").write_text(MAP)
    (tmp_path / "export.zip").write_bytes(bomb())
    store = tmp_path / "kept.duckdb"
    store.write_bytes(b"as it was")
    status, said, error = console("run", tmp_path / "m.toml", "--out", tmp_path / "out", "--store", store)
    assert (status, said, error.count("\n")) == (2, "", 1)
    assert store.read_bytes() == b"as it was" and not (tmp_path / "out").exists()


def test_a_table_that_no_source_gives_is_said(console: Console, tmp_path: Path) -> None:
    (tmp_path / "export.csv").write_text(EXPORT)
    (tmp_path / "m.toml").write_text(MAP)
    status, _, error = console("run", tmp_path / "m.toml", "--out", tmp_path / "out")
    assert (status, error) == (
        2,
        "auditor: no source gives sites: add [[sites]] to a map (m.toml), or a file sites.csv.\n",
    )
    assert read_map(tmp_path / "m.toml").blocks[0].table == "circuits"
