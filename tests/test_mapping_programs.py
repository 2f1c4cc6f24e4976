"""Calendars and schedule objects by maps: whose programs they are, from a draft to a month later."""

import csv
from datetime import date
from pathlib import Path

import duckdb
import polars as pl
import pytest

from auditor.errors import UserError
from auditor.loading import read_judged
from auditor.mapping import draft, mapped_tables, read_map
from auditor.model import RawTable

from .conftest import Console, run_audit

EXPORTS = Path(__file__).parent.parent / "fixtures" / "exports"
START = date(2026, 11, 1)
EVENING = """
[source]
kind = "icalendar"
files = "*.ics"
[[events]]
controller_id = "K1"
targets = "{file.stem}"
"""
ALL_NIGHT = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//test//EN
BEGIN:VEVENT
UID:all-night@example
DTSTAMP:20261103T080000Z
DTSTART:20240101T160000
DTEND:20240102T083000
RRULE:FREQ=DAILY
EXDATE:20261224T160000,20270224T160000
END:VEVENT
END:VCALENDAR
"""
PLACE = {
    "sites.csv": "site_id,latitude,longitude,timezone\nS,51.5,-0.1,Europe/London\n",
    "controllers.csv": "controller_id,site_id,read_at,dst_rule\nK1,S,2026-11-03T08:00:00Z,zone\n",
    "circuits.csv": "circuit_id,controller_id,area,connected_watts\nyard,K1,parking,1000\n",
}


def folder(path: Path, text: str = EVENING, calendar: str = ALL_NIGHT) -> Path:
    """A portfolio whose steps come from a calendar, by the map that its settings name."""
    path.mkdir(exist_ok=True)
    files = PLACE | {"yard.ics": calendar, "programs.toml": text}
    files["portfolio.toml"] = '[sources]\nmaps = ["programs.toml"]\n'
    for name, content in files.items():
        (path / name).write_text(content, encoding="utf-8")
    return path


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def events(path: Path, text: str) -> RawTable:
    (path / "m.toml").write_text(text, encoding="utf-8")
    tables, _ = mapped_tables([path / "m.toml"], first=START)
    return next(table for table in tables if table.name == "events")


def answered(text: str, *answers: str) -> str:
    """A draft with these lines in the place of its questions."""
    lines = [line for line in text.splitlines() if not line.startswith(("#", "questions"))]
    return "\n".join([*lines, *answers])


@pytest.mark.parametrize(
    ("name", "answers"),
    [
        ("calendars/heron-library-porch.ics", ['controller_id = "H1"', 'targets = "porch"', 'action = "on"']),
        (
            "objects/north-depot.json",
            [
                'controller_id = "K7"',
                'targets = { cell = "{Object_Name}", words = { Yard = "yard", Workshop = "hall;bench" } }',
            ],
        ),
    ],
)
def test_a_draft_asks_whose_program_it_is_and_then_runs(
    name: str, answers: list[str], tmp_path: Path
) -> None:
    text = draft([EXPORTS / name], tmp_path / "m.toml")
    for answer in answers:
        assert f"#: {answer.split(' = ')[0]} = " in text
    with pytest.raises(UserError, match=r"is a draft, of which \d QUESTIONs are open"):
        events(tmp_path, text)
    made = events(tmp_path, answered(text, *answers)).frame
    expected = pl.read_csv(EXPORTS / name.split("/")[0] / "expected" / "events.csv", infer_schema=False)
    assert set(made["event_id"]) == {one for one in expected["event_id"] if one.startswith(Path(name).name)}


def test_a_calendar_of_whole_days_is_taken_for_closed_days(tmp_path: Path) -> None:
    text = draft([EXPORTS / "calendars" / "town-holidays.ics"], tmp_path / "m.toml")
    assert "\n[[closures]]\n" in text and "\n[[events]]\n" not in text
    (tmp_path / "m.toml").write_text(answered(text, 'site_id = "*"'), encoding="utf-8")
    (made,), _ = mapped_tables([tmp_path / "m.toml"], first=START)
    assert "2026-12-25" in made.frame["date"].to_list()


def test_whose_a_file_is_may_stand_in_its_name_and_be_translated(tmp_path: Path) -> None:
    (tmp_path / "west_hall.ics").write_text(ALL_NIGHT, encoding="utf-8")
    text = EVENING.replace("[[events]]", "name = '(?P<house>[a-z]+)_(?P<room>[a-z]+)'\n[[events]]")
    text = text.replace('"K1"', '{ cell = "{file.house}", words = { west = "K1" } }')
    made = events(tmp_path, text.replace("{file.stem}", "{file.house}-{file.room}")).frame
    assert set(made.select("controller_id", "targets").rows()) == {("K1", "west-hall")}
    with pytest.raises(UserError, match=r'west_hall\.ics: controller_id has no translation; add "west"'):
        events(tmp_path, text.replace("west =", "east ="))


def test_a_calendar_may_put_a_sensor_out_of_service_or_dim(tmp_path: Path) -> None:
    (tmp_path / "eye.ics").write_text(ALL_NIGHT, encoding="utf-8")
    out = events(tmp_path, EVENING + 'action = "suspend"\n').frame
    assert set(out.select("action", "time").rows()) == {("suspend", "16:00"), ("resume", "08:30")}
    back = events(tmp_path, EVENING + 'action = "resume"\n').frame
    assert set(back.select("action", "time").rows()) == {("resume", "16:00"), ("suspend", "08:30")}
    dimmed = events(tmp_path, EVENING + 'level = { cell = "0.4", unit = "share" }\n').frame
    assert set(dimmed.select("action", "level", "time").rows()) == {
        ("level", "40", "16:00"),
        ("off", None, "08:30"),
    }


def test_instants_become_what_the_clock_of_the_devices_site_shows(tmp_path: Path) -> None:
    path = folder(
        tmp_path,
        calendar=ALL_NIGHT.replace("T160000\n", "T160000Z\n")
        .replace("T083000\n", "T083000Z\n")
        .replace("EXDATE", "X-NOT"),
    )
    found = read_judged(path).tables["events"].filter(pl.col("action") == "on")
    summer, winter = 17 * 3600, 16 * 3600  # 16:00 UTC in London
    assert set(found["time_s"]) == {summer, winter}
    (path / "controllers.csv").write_text(
        PLACE["controllers.csv"].replace("K1", "K2"), encoding="utf-8"
    )  # then nobody knows whose it is
    lost = read_judged(path).rejections
    assert {row.source_file for row in lost} == {"circuits.csv", "yard.ics"}


def test_every_entry_is_accounted_for(tmp_path: Path) -> None:
    (counted,) = [read for read in read_judged(folder(tmp_path)).inputs if read["file"] == "yard.ics"]
    assert (counted["rows"], counted["kept"], counted["rejected"], counted["skipped"]) == (1, 1, 0, 0)


def test_a_month_later_the_same_calendar_is_the_same_program(tmp_path: Path) -> None:
    path, store = folder(tmp_path / "p"), tmp_path / "kept.duckdb"
    first = run_audit(path, tmp_path / "a", store=store, days=120, pages=0)
    before = {row["finding_id"] for row in rows(tmp_path / "a" / "findings.csv")}
    for name, change in (
        ("controllers.csv", ("2026-11-03", "2026-12-28")),
        ("yard.ics", ("DTSTAMP:2026", "DTSTAMP:2027")),
    ):
        text = (path / name).read_text(encoding="utf-8")
        (path / name).write_text(text.replace(*change), encoding="utf-8")
    run_audit(path, tmp_path / "b", store=store, days=120, pages=0)
    assert before and first.facts["rows"]["rejected"] == 0
    assert {row["change"] for row in rows(tmp_path / "b" / "changes.csv")} == {"persisting"}
    with duckdb.connect(str(store), read_only=True) as connection:  # steps differ, for the audited year moved
        said = "SELECT DISTINCT facts['program'] FROM past_findings WHERE rule = 'lit-in-daylight'"
        assert len(connection.execute(said).fetchall()) == 1


WRONG = {
    "a table that no calendar gives": (
        EVENING.replace("[[events]]", "[[hours]]"),
        'kind = "icalendar" gives one table, [[events]] or [[closures]], once',
    ),
    "two tables": (EVENING + "[[events]]\n", "once; write just that"),
    "a column that the program gives": (EVENING + 'days = "daily"', '[events] "days" is not known'),
    "an unknown kind": (EVENING.replace('"icalendar"', '"ical"'), 'kind = "ical" is not known'),
    "a key of tables": (
        EVENING.replace("[[ev", "header_row = 2\n[[ev"),
        '[source] "header_row" is not known',
    ),
    "a header": (EVENING.replace("file.stem", "Summary"), '"Summary" is no part of the file\'s name'),
    "nobody's": (EVENING.replace('controller_id = "K1"', ""), "[events] controller_id is missing"),
    "rules for rows": (EVENING + '[skip."x"]\ncolumn = "a"\nis = "b"', "skip says nothing about kind"),
}


@pytest.mark.parametrize(
    ("keys", "sentence"),
    [
        ('action = "suspend"\nlevel = 40', "yard.ics: level goes with circuits"),
        ("level = 0", 'yard.ics: level "0" must be a percentage above 0, up to 100'),
        ('action = "blink"', 'yard.ics: action "blink" must be one of on, suspend, resume'),
    ],
)
def test_what_an_event_cannot_do_is_told_with_its_file(keys: str, sentence: str, tmp_path: Path) -> None:
    with pytest.raises(UserError, match=sentence):
        read_judged(folder(tmp_path, EVENING + keys))


@pytest.mark.parametrize("name", sorted(WRONG))
def test_a_wrong_map_is_told_in_one_sentence(name: str, tmp_path: Path) -> None:
    text, sentence = WRONG[name]
    (tmp_path / "m.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UserError) as refused:
        read_map(tmp_path / "m.toml")
    assert sentence in str(refused.value) and "\n" not in str(refused.value)


def test_a_preview_needs_a_date_or_the_readings(console: Console, tmp_path: Path) -> None:
    path = folder(tmp_path) / "programs.toml"
    status, _, said = console("check", path)
    assert status == 2 and "programs are worked out for a year: add --start DATE" in said
    status, shown, _ = console("check", path, "--start", "2026-11-01")
    assert status == 0 and "yard.ics:4 on 16:00" in shown and "1 kept" in shown
