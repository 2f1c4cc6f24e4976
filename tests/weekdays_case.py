"""A map with a column a weekday, and its steps, for tests of maps."""

from pathlib import Path

from auditor.mapping import mapped_tables
from auditor.model import RawTable

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
WEEK = """
[source]
files = "a.csv"
[[circuits]]
circuit_id = "{Line}"
controller_id = "P1"
area = "parking"
[[events]]
each = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
controller_id = "P1"
targets = "{Line}"
days = { cell = "{each}", words = { Mon = "MO", Tue = "TU", Wed = "WE", Thu = "TH", Fri = "FR", Sat = "SA", Sun = "SU" } }
KEY
[[events.steps]]
action = "on"
when = { cell = "{CELL}", split = "-", part = 1, time = "24h", sun = "sun", words = "times" }
[[events.steps]]
action = "off"
when = { cell = "{CELL}", split = "-", part = 2, time = "24h", sun = "sun", words = "times" }
[words.sun]
sunset = "sunset"
sunrise = "sunrise"
[words.times]
"all day" = "00:00-24:00"
"0-24" = "00:00-24:00"
"""  # noqa: E501
NEXT_DAY, SAME_DAY = 'past_midnight = "next day"', 'past_midnight = "same day"'


def events(folder: Path, text: str, **columns: str) -> RawTable:
    """The steps of one row with these cells."""
    header, row = ",".join(columns), ",".join(f'"{cell}"' for cell in columns.values())
    (folder / "a.csv").write_text(f"{header}\n{row}\n", encoding="utf-8")
    (folder / "m.toml").write_text(text, encoding="utf-8")
    (found,) = [table for table in mapped_tables([folder / "m.toml"])[0] if table.name == "events"]
    return found


def week(folder: Path, key: str, cell: str = "*", **days: str) -> RawTable:
    """The steps of a row with a column a weekday; days that are not given are blank."""
    cells = dict.fromkeys(DAYS, "") | days
    return events(folder, WEEK.replace("KEY", key).replace("CELL", cell), Line="L1", **cells)


def shown(table: RawTable) -> list[tuple[str, ...]]:
    """Action, days and time or anchor of each step."""
    return [
        (step["action"], step["days"], step["time"] or step["anchor"])
        for step in table.frame.iter_rows(named=True)
    ]
