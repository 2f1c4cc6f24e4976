"""Several things in one cell, each of which gives rows of its own."""

from pathlib import Path

import pytest

from auditor.errors import UserError
from auditor.mapping import mapped_tables

from .weekdays_case import DAYS, NEXT_DAY, WEEK, events, week

ITEMS = 'items = { cell = "{*}", split = [";", ","] }'


def test_each_part_of_a_cell_gives_steps_of_its_own(tmp_path: Path) -> None:
    key = f"{ITEMS}\n{NEXT_DAY}"
    found = week(tmp_path, key, "item", Mon="07:00-12:00; 14:00-22:00", Tue="23:00-00:30, ")
    assert found.frame.select("event_id", "action", "days", "time", "source_row").rows() == [
        ("2.6", "off", "WE", "00:30", 2),
        ("2", "on", "MO", "07:00", 2),
        ("2.2", "off", "MO", "12:00", 2),
        ("2.3", "on", "MO", "14:00", 2),
        ("2.4", "off", "MO", "22:00", 2),
        ("2.5", "on", "TU", "23:00", 2),
    ]
    fault = week(tmp_path, key, "item", Mon="07:00-12:00; 14:00-2 pm").rejections[0]
    assert (fault.value, fault.reason.partition(" is ")[0]) == ("14:00-2 pm", "when (column Mon)")


def test_parts_make_rows_of_other_tables_and_blank_cells_none(tmp_path: Path) -> None:
    text = """
[source]
files = "a.csv"
[[hours]]
items = { cell = "{Open}", split = "/" }
site_id = "{Site}"
days = "daily"
opens = { cell = "{item}", split = "-", part = 1, time = "24h" }
closes = { cell = "{item}", split = "-", part = 2, time = "24h" }
"""
    (tmp_path / "a.csv").write_text("Site,Open\nS1,9-12\nS2,9:00-12:00 / 18:00-02:00\nS3,\nS4,/\n")
    (tmp_path / "m.toml").write_text(text)
    (table,) = mapped_tables([tmp_path / "m.toml"])[0]
    assert table.frame.drop("source_row", "days").rows()[1:] == [
        ("S2", "09:00", "12:00"),
        (
            "S2",
            "18:00",
            "02:00",
        ),  # past midnight, and of the day on which it opened: the contract's own meaning
    ]
    assert [row.source_row for row in table.rejections] == [2, 2]
    assert dict(table.skipped) == {4: "gives nothing", 5: "gives nothing"}


@pytest.mark.parametrize(
    ("key", "says"),
    [
        ('items = "{*}"', "items must be a table, such as items = {"),
        ('items = { cell = "{*}" }', "[events.items] needs cell and split"),
        ('items = { cell = "{*}", splitt = ";" }', 'did you mean "split"?'),
        ('past_midnight = "next"', 'past_midnight = "next" is not known; it is one of next day, same day'),
    ],
)
def test_keys_that_say_something_else_are_refused(key: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(UserError) as refused:
        week(tmp_path, key, Fri="20:00-01:00")
    assert says in str(refused.value)


def test_item_is_a_column_where_nothing_is_split(tmp_path: Path) -> None:
    text = WEEK.replace("{Line}", "{item}").replace("KEY", "").replace("CELL", "*")
    assert events(
        tmp_path,
        text,
        item="L9",
        **dict.fromkeys(DAYS, "1:00-2:00"),
    ).frame["targets"].unique().to_list() == ["L9"]
    with pytest.raises(UserError, match=r'a\.csv has no column "item"'):
        week(tmp_path, "", "item", Fri="20:00-01:00")
