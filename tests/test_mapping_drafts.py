"""A draft of each example, with its questions answered and nothing else done, is a map that runs."""

import re
import tomllib
from pathlib import Path

import pytest

from auditor.errors import UserError
from auditor.intake import read_portfolio
from auditor.loading import read_judged
from auditor.mapping import draft, read_map
from auditor.mapping.drafts.writing import ANSWER
from auditor.model import TABLE_NAMES

from .conftest import Console

EXPORTS = Path(__file__).parent.parent / "fixtures" / "exports"
# Per example: what drafts are made of, which answers are not the first, and words to put in where "…" stands.
Wanted = tuple[list[tuple[list[str], str]], tuple[str, ...], dict[str, str]]
EXAMPLES: dict[str, Wanted] = {
    "long": ([(["steps.csv"], "*")], ("month-first",), {}),
    "weekdays": (
        [(["standorte.csv"], "*"), (["oeffnungszeiten.csv"], "*"), (["kreise.csv"], "*")],
        ('zone = "Area/City"',),
        {'"Rampe" = "…"': '"Rampe" = "canopy"', "Area/City": "Europe/Berlin"},
    ),
    "devices": (
        [
            (["buildings.csv"], "*"),
            (["programs/DEP-7_B_20261101.txt", "programs/MUS-2_A_20261103.txt"], "*"),
        ],
        (),
        {"Area/City": "Europe/London", '"lobby" = "…"': '"lobby" = "interior"'},
    ),
    "book": (
        [(["network.xlsx"], "Buildings"), (["network.xlsx"], "Lights")],
        (),
        {},
    ),
    "archive": ([(["novembre.zip"], "lieux.csv"), (["novembre.zip"], "*")], (), {}),
}
# What another map of the same example gives, by the place of the draft.
DELETED = {("book", 1): "controllers"}
# Rows kept beyond those of the hand-made maps: the answers know "Rampe".
MORE = {("weekdays", "circuits"): 1, ("weekdays", "events"): 2}


def answered(text: str, others: tuple[str, ...], words: dict[str, str]) -> str:
    """Of the answers to each question the first that names one of ``others``, else the first of all."""
    lines: list[str] = []
    open_question: list[str] = []
    for line in [*text.splitlines(), ""]:
        if line.startswith(ANSWER):
            open_question.append(line.removeprefix(ANSWER))
            continue
        if open_question:
            lines.append(next((a for a in open_question if any(o in a for o in others)), open_question[0]))
            open_question = []
        lines += [] if line.startswith("questions = ") else [line]
    text = "\n".join(lines)
    for old, new in words.items():
        text = text.replace(old, new)
    return text


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_a_draft_runs_once_its_questions_are_answered(name: str, tmp_path: Path) -> None:
    drafts, others, words = EXAMPLES[name]
    maps = []
    for place, (files, only) in enumerate(drafts):
        path = tmp_path / f"{place}.toml"
        text = draft([EXPORTS / name / file for file in files], path, only)
        text = answered(text, others, words)
        if table := DELETED.get((name, place)):
            text = re.sub(rf"\[\[{table}\]\].*?(?=\n\[\[)", "", text, flags=re.S)
        path.write_text(text, encoding="utf-8")
        maps.append(path)
    found = read_judged(maps)
    for expected in read_portfolio(EXPORTS / name / "expected"):
        more = MORE.get((name, expected.name), 0)
        assert found.tables[expected.name].height == expected.frame.height + more, expected.name


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_a_draft_is_toml_and_does_not_run_as_long_as_a_question_is_open(name: str, tmp_path: Path) -> None:
    for files, only in EXAMPLES[name][0]:
        path = tmp_path / "draft.toml"
        text = draft([EXPORTS / name / file for file in files], path, only)
        path.write_text(text, encoding="utf-8")
        asked = text.count("# QUESTION ")
        assert tomllib.loads(text).get("questions", 0) == asked
        if asked:
            with pytest.raises(UserError, match=r"is missing|is a draft"):
                read_map(path)


def test_an_ambiguous_date_is_asked_and_never_chosen(tmp_path: Path) -> None:
    file = tmp_path / "panels.csv"
    file.write_text("Site,Panel,Read at\n1,P1,03/04/2026 10:00\n", encoding="utf-8")
    text = draft([file])
    assert "Does the day come first, or the month?" in text
    assert {"day-first", "month-first"} <= set(re.findall(r'^#: read_at = .*date = "([\w-]+)"', text, re.M))
    assert not re.search(r"^read_at", text, re.M)


@pytest.mark.parametrize(
    ("cells", "settled"),
    [
        ("2026-11-03 03/04/2026", False),  # a year first says nothing about the others
        ("2026-11-03 2026-04-03", 'date = "iso"'),
        ("03/14/2026 2026-04-03", 'date = "month-first"'),
        ("14.03.2026 01.02.2026", 'date = "day-first"'),
        ("14/03/2026 03/14/2026", False),
    ],
)
def test_the_order_of_a_date_is_settled_by_a_day_above_twelve_alone(
    cells: str, settled: str | bool, tmp_path: Path
) -> None:
    file = tmp_path / "closed.csv"
    file.write_text("Holiday,Note\n" + "".join(f"{cell},x\n" for cell in cells.split()), encoding="utf-8")
    line = re.search(r"^date = .*", draft([file]), re.M)
    assert (settled in line[0]) if isinstance(settled, str) and line else line is None and not settled


def test_an_instant_with_its_offset_needs_no_zone(tmp_path: Path) -> None:
    file = tmp_path / "panels.csv"
    file.write_text("Site,Panel,Read at\n1,P1,2026-11-03T10:00:00Z\n", encoding="utf-8")
    assert 'read_at = { cell = "{Read at}", date = "iso" }' in draft([file]).splitlines()


def test_names_of_days_that_mean_other_days_elsewhere_are_asked(tmp_path: Path) -> None:
    # Di is Tuesday in German and Sunday in French; Mi is Wednesday in German and nothing in French.
    file = tmp_path / "program.csv"
    file.write_text("Circuit,On,Off,Days\nA,18:00,23:00,di\n", encoding="utf-8")
    assert "These names mean other days in other languages" in draft([file])
    file.write_text("Circuit,On,Off,Days\nA,18:00,23:00,di mi\n", encoding="utf-8")
    assert 'words = { "di" = "TU", "mi" = "WE" }' in draft([file])


def test_times_that_never_pass_noon_are_asked(tmp_path: Path) -> None:
    file = tmp_path / "program.csv"
    file.write_text("Circuit,On,Off\nA,6:30,9:15\n", encoding="utf-8")
    assert "are these times of the 24-hour clock?" in draft([file])
    file.write_text("Circuit,On,Off\nA,6:30,21:15\n", encoding="utf-8")
    assert "24-hour clock?" not in draft([file])


def test_a_comma_that_can_part_thousands_or_decimals_is_asked(tmp_path: Path) -> None:
    file = tmp_path / "loads.csv"
    file.write_text('Circuit,Watts\nA,"1,800"\n', encoding="utf-8")
    text = draft([file])
    assert '#: thousands = ","' in text and '#: decimal = ","' in text


def test_headers_cannot_break_out_of_a_comment_or_a_text(tmp_path: Path) -> None:
    file = tmp_path / "odd.csv"
    file.write_text('"Cir""cuit\n[x]",On,Off\n"a\n[[sites]]",18:00,23:00\n', encoding="utf-8")
    found = tomllib.loads(draft([file]))
    assert set(found) <= {"questions", "source", "controllers", "circuits", "events"}


def test_the_command_writes_a_draft_and_says_what_next(console: Console, tmp_path: Path) -> None:
    out = tmp_path / "steps.toml"
    status, said, _ = console("map", EXPORTS / "long" / "steps.csv", "--out", out)
    assert (status, said.startswith(f"Draft: {out}.")) == (0, True)
    status, said, error = console("check", out)
    assert (status, said) == (2, "")
    assert "is a draft, of which 5 QUESTIONs are open" in error


def test_check_shows_rows_before_and_after_words_and_accounts(console: Console) -> None:
    status, said, _ = console("check", EXPORTS / "weekdays" / "maps" / "circuits.toml")
    assert status == 1
    assert "Before, kreise.csv" in said and "After, events (10 rows):" in said
    assert '"Rampe" in kreise.csv, row 6: area (column Ort) has no translation' in said
    assert "kreise.csv: 5 rows read = 3 kept + 2 rejected + 0 skipped" in said
    assert console("check", EXPORTS / "weekdays" / "maps" / "sites.toml")[0] == 0


def test_every_table_of_the_contract_can_be_mapped(tmp_path: Path) -> None:
    for table in TABLE_NAMES:
        (tmp_path / "m.toml").write_text(f'[source]\nfiles = "x.csv"\n[[{table}]]\n', encoding="utf-8")
        with pytest.raises(UserError, match=rf"m\.toml: \[{table}\] \w+(?: \(or when\))? is missing"):
            read_map(tmp_path / "m.toml")
