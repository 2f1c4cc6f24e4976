"""One target a reader: bytes in, and either a sentence for the user or rows that are all accounted for."""

import io
import json
import tomllib
import zipfile
from datetime import date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import hypothesis.strategies as st
import xlsxwriter

from auditor.errors import UserError
from auditor.mapping import draft, mapped_tables, moments
from auditor.mapping.grids import grids_of
from auditor.mapping.numbers import in_unit
from auditor.mapping.words import days_text
from auditor.normalise import normalise
from auditor.zones import zone_names

EXPORTS = Path(__file__).parent.parent.parent / "fixtures" / "exports"
MAPS = sorted(EXPORTS.glob("*/maps/*.toml"))
NASTY = [
    "", " ", "\0", "\ufffd", "'=1+1", "=cmd|' /c'!A1", '"', '""', "a\nb", "x" * 10_000, "NaN", "inf",
    "1e999", "-0", "9999-12-31", "0000-00-00", "24:00", "12:00 AM", "12:00 PM", "25:00", "SS-20",
    "dusk + 0:15", "MO-FR", "2026-11-03", "03/04/2026", "0.5", "46115",
    "1,800", "1.800,5", "{x}", "[[sites]]", "\u202e", "\U0001f4a1", "ß", "İ", "é", "on",
    "off", "Total",
]  # fmt: skip
CELLS = st.one_of(st.sampled_from(NASTY), st.text(max_size=8))
TABLES = st.lists(st.lists(CELLS, max_size=8), max_size=8)
# A contract table of every kind, from columns that any header of these may give.
ANY_MAP = """
[source]
files = "export*"
sheets = "*"
[[sites]]
site_id = "{a}"
latitude = "50"
longitude = "10"
[[controllers]]
controller_id = "{a}"
site_id = "{a}"
read_at = "2026-11-03T12:00:00Z"
clock_reading = { cell = "{b}", date = "day-first", time = "24h" }
[[circuits]]
circuit_id = "{a}"
controller_id = "{a}"
area = { cell = "{c}", words = { on = "interior" }, else = "parking" }
connected_watts = { cell = "{b}", unit = "kW" }
[[events]]
controller_id = "{a}"
targets = { cell = "{c}", split = ",", as = "{a}-{item}" }
days = { cell = "{b}", words = { on = "daily" } }
action = "on"
when = { cell = "{c}", time = "12h", sun = { dusk = "dusk", SS = "sunset" }, offset = "min" }
[[hours]]
each = ["b", "c"]
site_id = "{a}"
days = "daily"
opens = { cell = "{*}", split = "-", part = 1, time = "24h" }
closes = { cell = "{*}", split = "-", part = 2, time = "24h" }
"""


def delimited(rows: list[list[str]], separator: str, encoding: str) -> bytes:
    """Text with cells as they come, quoted or not, behind a header of three columns."""
    text = separator.join("abc") + "\n" + "\n".join(separator.join(cells) for cells in rows)
    return text.encode(encoding, errors="replace")


def workbook(rows: list[list[str]]) -> bytes:
    """A sheet with these cells as text."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True, "strings_to_numbers": True}) as book:
        book.set_properties({"created": datetime(2026, 11, 3)})
        sheet = book.add_worksheet("export")
        for place, cells in enumerate([["a", "b", "c"], *rows]):
            for column, cell in enumerate(cells):
                sheet.write(place, column, cell.replace("\0", "")[:32_000])
    return data.getvalue()


def archive(members: list[tuple[str, bytes]]) -> bytes:
    """An archive with these names, whatever they are."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in members:
            packed.writestr(zipfile.ZipInfo(name or "x"), content, zipfile.ZIP_DEFLATED)
    return data.getvalue()


@st.composite
def spoilt(draw: st.DrawFn, contents: st.SearchStrategy[bytes]) -> bytes:
    """Bytes cut short or changed at a few places, or left alone."""
    content = bytearray(draw(contents))
    for _ in range(draw(st.integers(0, 3))):
        if content:
            content[draw(st.integers(0, len(content) - 1))] = draw(st.integers(0, 255))
    cut = draw(st.sampled_from([None, None, 0.1, 0.5, 0.9, 0.99]))
    return bytes(content if cut is None else content[: int(len(content) * cut)])


ENCODINGS = st.sampled_from(["utf-8", "utf-8", "cp1252", "utf-16", "utf-16-le", "cp1250", "utf-8-sig"])
TEXTS = spoilt(st.builds(delimited, TABLES, st.sampled_from(",;\t|"), ENCODINGS))
EXAMPLE_BOOK = (EXPORTS / "book" / "network.xlsx").read_bytes()
BOOKS = spoilt(st.one_of(st.builds(workbook, TABLES), st.just(EXAMPLE_BOOK)))
PROGRAMS = st.one_of(
    st.tuples(st.just(path.parent.name), spoilt(st.just(path.read_bytes())))
    for path in sorted([*EXPORTS.glob("calendars/*.ics"), *EXPORTS.glob("objects/*.json")])
)
ODD_NAMES = ["export.csv", "../x.csv", "/x.csv", "a/b.csv", "C:\\x.csv", "a//b.csv", "."]
NAMES = st.one_of(st.sampled_from(ODD_NAMES), st.text(max_size=9))
ARCHIVES = spoilt(st.builds(archive, st.lists(st.tuples(NAMES, TEXTS), max_size=3)))


def through_a_map(name: str, content: bytes) -> None:
    """A file through a map that fills five tables, and through judgement."""
    with TemporaryDirectory() as folder:
        (Path(folder) / name).write_bytes(content)
        (Path(folder) / "any.toml").write_text(ANY_MAP, encoding="utf-8")
        try:
            tables, _ = mapped_tables([Path(folder) / "any.toml"])
        except UserError as error:
            one_sentence(error)
            return
    found = normalise(tables, zone_names())
    for counts in found.inputs:
        assert counts["rows"] == counts["kept"] + counts["rejected"] + counts["skipped"]
    assert all(row.reason for row in found.rejections)
    json.dumps([vars(row) for row in found.rejections], ensure_ascii=False).encode()


def through_programs(drawn: tuple[str, bytes]) -> None:
    """A file of an open standard through its example's map, and through judgement."""
    example, content = drawn
    maps = EXPORTS / example / "maps"
    name = {"calendars": "heron-library-x.ics", "objects": "north-depot.json"}[example]
    with TemporaryDirectory() as folder:
        (Path(folder) / name).write_bytes(content)
        try:
            tables, _ = mapped_tables([maps / "programs.toml"], Path(folder), first=date(2026, 11, 1))
        except UserError as error:
            one_sentence(error)
            return
    (counts,) = normalise(tables, zone_names()).inputs
    assert counts["rows"] == counts["kept"] + counts["rejected"] + counts["skipped"]


def _named(drawn: tuple[str, bytes]) -> tuple[str, bytes]:
    return ("export.ics" if drawn[0] == "calendars" else "export.json"), drawn[1]


def through_a_draft(name: str, content: bytes) -> None:
    """A file through a draft, which is TOML whatever it says."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / name
        path.write_bytes(content)
        try:
            text = draft([path], Path(folder) / "map.toml")
        except UserError as error:
            one_sentence(error)
            return
    assert "source" in tomllib.loads(text)


def as_a_map(drawn: tuple[str, Path]) -> None:
    """A text as a map of the exports in a folder."""
    text, exports = drawn
    with TemporaryDirectory() as folder:
        (Path(folder) / "any.toml").write_text(text, encoding="utf-8", errors="replace")
        try:
            mapped_tables([Path(folder) / "any.toml"], exports, first=date(2026, 11, 1))
        except UserError as error:
            one_sentence(error)


KEYS = st.sampled_from(["cell", "words", "time", "x", "column", "is"])
VALUES: st.SearchStrategy[Any] = st.recursive(
    st.one_of(CELLS, st.integers(-3, 3), st.booleans(), st.floats()),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(KEYS, inner, max_size=3)),
    max_leaves=5,
)


@st.composite
def map_texts(draw: st.DrawFn) -> tuple[str, Path]:
    """The text of an example map with one value or line changed."""
    file = draw(st.sampled_from(MAPS))
    lines = file.read_text(encoding="utf-8").splitlines()
    place = draw(st.integers(0, len(lines) - 1))
    key = lines[place].partition(" = ")[0]
    value = draw(VALUES)
    changed = [f"{key} = {toml(value)}", "", f"[[{key}]]", f"x{lines[place]}", draw(CELLS)]
    lines[place] = draw(st.sampled_from(changed))
    return "\n".join(lines), file.parent.parent


def toml(value: Any) -> str:
    """A value as TOML writes it."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return json.dumps(value).replace("Infinity", "inf").replace("NaN", "nan")


def as_a_cell(cell: str) -> None:
    """A text in every way of writing that there is: read, or refused with a ValueError."""
    attempts: list[Any] = [lambda how=how: moments.time_text(cell, how) for how in (None, *moments.TIMES)]
    for how in (None, *moments.DATES, "%d %b %y", "%Y%m%d %H:%M"):
        attempts += [
            lambda how=how: moments.date_text(cell, how),
            lambda how=how: moments.edge_text(cell, how),
            lambda how=how: instant(cell, how),
        ]
    attempts += [
        lambda: moments.when(cell, "24h", {"ss": "sunset"}, "min", ","),
        lambda: in_unit(cell, (1000, 1), ",", "."),
        lambda: days_text(cell, {"x": "daily"}),
    ]
    for attempt in attempts:
        try:
            attempt()
        except ValueError as error:
            assert str(error)


def instant(cell: str, how: str | None) -> str:
    """A moment in a zone that has changed its law more than once."""
    return moments.instant_text(moments.moment_text(cell, how, "24h"), "Africa/Cairo", None)


def one_sentence(error: UserError) -> None:
    """What a user is told: not blank, one line that a terminal can show, and not endless."""
    said = str(error)
    assert said and "\n" not in said and len(said) < 2000, said[:500]


def any_grid(name: str, content: bytes) -> None:
    """A file of any name as grids."""
    try:
        list(grids_of(name, content, ("*",)))
    except UserError as error:
        one_sentence(error)


TARGETS: dict[str, tuple[st.SearchStrategy[Any], Any]] = {
    "text": (TEXTS, lambda content: through_a_map("export.csv", content)),
    "bytes": (st.binary(max_size=300), lambda content: any_grid("export.txt", content)),
    "workbook": (BOOKS, lambda content: through_a_map("export.xlsx", content)),
    "archive": (ARCHIVES, lambda content: through_a_map("export.zip", content)),
    "programs": (PROGRAMS, through_programs),
    "draft of programs": (PROGRAMS, lambda drawn: through_a_draft(*_named(drawn))),
    "draft": (TEXTS, lambda content: through_a_draft("export.csv", content)),
    "map": (map_texts(), as_a_map),
    "cell": (CELLS, as_a_cell),
}
