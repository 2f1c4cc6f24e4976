"""Rows read = kept + rejected + skipped, for each kind of source and of trouble that a map may meet."""

import io
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
import xlsxwriter

from auditor.mapping import mapped_tables
from auditor.normalise import normalise
from auditor.zones import zone_names

MAP = """
[source]
files = "export*"
sheets = "*"
skip_rows = 3
[skip."totals"]
column = "Line"
starts = "Total"
[[circuits]]
circuit_id = "P1-{Line}"
controller_id = "P1"
area = { cell = "{Kind}", words = { Hall = "interior" } }
[[events]]
each = ["Fri", "Sat"]
items = { cell = "{*}", split = ";" }
controller_id = "P1"
targets = "P1-{Line}"
days = { cell = "{each}", words = { Fri = "FR", Sat = "SA" } }
KEY
[[events.steps]]
action = "on"
when = { cell = "{item}", split = "-", part = 1, time = "24h" }
[[events.steps]]
action = "off"
when = { cell = "{item}", split = "-", part = 2, time = "24h" }
"""
ROWS = [
    ["Line", "Kind", "Fri", "Sat"],
    ["1", "Hall", "07:00-12:00; 14:00-24:00", "00:00-22:00"],  # goes on from Friday into Saturday
    ["2", "unit", "", ""],  # skip_rows
    ["3", "Hall", "20:00-01:00", ""],  # past midnight
    ["4", "Yard", "07:00-12:00", ""],  # a word without a translation
    ["5", "Hall", "7 pm-9 pm", ""],
    ["6", "Hall", ";", ""],
    ["Total 6", "", "", ""],
    ["7", "Hall", "00:00-24:00", "00:00-24:00"],
]
KEPT = {"": 3, 'past_midnight = "next day"': 4, 'past_midnight = "same day"': 4}  # lines 1, 6, 7; and 3
SITES = {"site_id": "S", "latitude": "51.5", "longitude": "-0.1"}
DEVICES = {"controller_id": "P1", "site_id": "S", "read_at": "2026-11-03T12:00:00Z"}


def text() -> bytes:
    return "\n".join(",".join(row) for row in ROWS).encode()


def book() -> bytes:
    """With a cell right of the header, and a row that has nothing else: one more that is skipped."""
    data = io.BytesIO()
    with xlsxwriter.Workbook(data) as made:
        sheet = made.add_worksheet("Lights")
        for number, row in enumerate(ROWS):
            sheet.write_row(number, 0, row)
        sheet.write("H2", "see below")
        sheet.write("H12", "caretaker's note")
    return data.getvalue()


def archive() -> bytes:
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as packed:
        packed.writestr("panels/a.csv", text())
    return data.getvalue()


def broken() -> bytes:
    """With a row of bad bytes, and one that is too wide: two more that are rejected."""
    return text() + b"\n8\xc3\xa9,Hall,,\n9,Hall\xed\xa0\x80,,\n10,Hall,,,,x\n"


# How each is written, and how many rows more than those above are kept, rejected and skipped.
KINDS: dict[str, tuple[str, Callable[[], bytes], tuple[int, int, int]]] = {
    "text": ("export.csv", text, (0, 0, 0)),
    "workbook": ("export.xlsx", book, (0, 0, 1)),
    "archive": ("export.zip", archive, (0, 0, 0)),
    "bad bytes": ("export.csv", broken, (1, 2, 0)),
}


@pytest.mark.parametrize("key", sorted(KEPT))
@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_row_is_kept_rejected_or_skipped(kind: str, key: str, tmp_path: Path) -> None:
    name, content, (kept, rejected, skipped) = KINDS[kind]
    (tmp_path / name).write_bytes(content())
    for table, row in (("sites", SITES), ("controllers", DEVICES)):
        (tmp_path / f"{table}.csv").write_text(f"{','.join(row)}\n{','.join(row.values())}\n")
        columns = "\n".join(f'{column} = "{{{column}}}"' for column in row)
        (tmp_path / f"{table}.toml").write_text(f'[source]\nfiles = "{table}.csv"\n[[{table}]]\n{columns}\n')
    (tmp_path / "m.toml").write_text(MAP.replace("KEY", key))
    maps = [tmp_path / f"{name}.toml" for name in ("sites", "controllers", "m")]
    found = normalise(mapped_tables(maps)[0], zone_names())
    account = found.inputs[-1]
    assert (account["kept"], account["rejected"], account["skipped"]) == (
        KEPT[key] + kept,
        6 - KEPT[key] + rejected,
        2 + skipped,
    )
    assert account["rows"] == account["kept"] + account["rejected"] + account["skipped"]
