"""What a person is told about the tables and their columns: in the template's guide and in the README.

The words about columns are those of ``normalise.specs``; an example is the first one in the example tables.
"""

from collections.abc import Iterator

from auditor.model import EXAMPLE, NEEDED_TABLES, RawTable
from auditor.normalise import values as v
from auditor.normalise.specs import SPECS, Column

TABLES = {
    "sites": "a row a site",
    "controllers": "a row a time switch: a device with a clock that runs a program",
    "circuits": "a row a switched load",
    "sensors": "a row a photocontrol or occupancy sensor",
    "events": "a row a program step, in program order",
    "hours": "when sites are open",
    "closures": "dates on which they are not, and calendars of programs",
    "waivers": "findings that are meant to be so",
    "actions": "what was done about earlier findings",
}
STEPS = (
    f"Needed are {', '.join(NEEDED_TABLES)}. A sheet that you have nothing for may stay without rows, or go.",
    "The first row of a sheet names its columns: leave it as it is. Columns in bold are needed in every row. "
    "Any other cell may be blank, which means unknown. Point at a column's name, and it says what it holds.",
    f"Rows in italics, with {EXAMPLE} in them, are examples. Delete them on every sheet: as long as they are "
    "there they are audited like any others, and each run says so.",
    "Ids are text, as written, with their leading zeros. Paste values only, so that cells keep their "
    "formats. Of an id that a spreadsheet took for a number, a run says where it stands, and leaves it.",
    "Then run: auditor run FILE.xlsx --out results",
)
HEADINGS = ("table", "column", "needed", "meaning", "unit", "may hold", "example")


def guide_rows(examples: list[RawTable]) -> Iterator[tuple[str, ...]]:
    """A row a table, and below it one a column, as HEADINGS says."""
    frames = {table.name: table.frame for table in examples}
    for name, columns in SPECS.items():
        yield name, "", "yes" if name in NEEDED_TABLES else "no", TABLES[name], "", "", ""
        for column in columns:
            needed = "yes" if column.needed else column.when or "no"
            example = _example(column, frames[name][column.name].drop_nulls().to_list())
            yield name, column.name, needed, column.about, column.unit, column.allowed, example


def _example(column: Column, cells: list[str]) -> str:
    return next(iter(cells or column.words), "")


def note(column: Column) -> str:
    """What a column's header says when it is pointed at."""
    about = f"{column.about[:1].upper()}{column.about[1:]}."
    unit = f" ({column.unit})" if column.unit else ""
    holds = "" if column.allowed == "text" else f"May hold: {column.allowed}{unit}."
    needed = "Needed." if column.needed else f"Needed {column.when}." if column.when else ""
    return "\n".join(filter(None, (about, holds, needed)))


def tables_markdown() -> str:
    """The tables with their columns and closed lists of words, as the README has them."""
    rows = ["| table | needed columns | further columns |", "|---|---|---|"]
    for name, columns in SPECS.items():
        needed = ", ".join(_with_words(column) for column in columns if column.needed)
        further = ", ".join(_with_words(column) for column in columns if not column.needed)
        rows.append(f"| `{name}` | {needed} | {further} |")
    return "\n".join(rows)


def _with_words(column: Column) -> str:
    words = ", ".join(column.words if column.parse is not v.boolean else ())
    return f"{column.name} ({words})" if words else column.name
