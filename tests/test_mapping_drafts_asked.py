"""What a draft asks rather than guesses: light that may have to stay, days, ids, times."""

import re
from pathlib import Path

import pytest
from openpyxl import Workbook

from auditor.mapping import draft
from auditor.mapping.drafts.vocabulary import CARE, WAY_OUT
from auditor.mapping.drafts.weekdays import day_ways
from auditor.resources import query


def drafted(folder: Path, text: str, name: str = "export.csv") -> str:
    (folder / name).write_text(text, encoding="utf-8")
    return draft([folder / name])


# Light that may have to stay --------------------------------------------------------------------------------

STAYING = {
    "Fire exit sign": "egress",
    "Escape route car park": "egress",
    "Parkplatz Fluchtweg": "egress",
    "Security yard": "security",
    "Emergency lighting hall": "egress",
    "Treppe Fassade Notlicht": "egress",
    "Enseigne issue de secours": "egress",
    "Salida de emergencia aparcamiento": "egress",
    "Nursing ward corridor office": "…",  # people are cared for here: nobody but the reader knows what for
}


@pytest.mark.parametrize("word", STAYING)
def test_light_that_may_have_to_stay_is_asked_for_whatever_else_its_name_says(
    word: str, tmp_path: Path
) -> None:
    text = drafted(tmp_path, f"Circuit,Use,On,Off\nA,{word},18:00,23:00\nB,Car park,18:00,23:00\n")
    (line,) = re.findall(r"^#: area = .*", text, re.M)  # does not run before somebody has looked
    assert f'"{word}" = "{STAYING[word]}"' in line and '"Car park" = "parking"' in line
    assert re.search(rf"QUESTION \d+: .*{word[:20]}.* may show a way out", text)


def test_the_words_are_those_that_evidence_goes_by() -> None:
    schema = query("evidence/00_schema.sql")
    for name, words in (("care_words", CARE), ("way_out_words", WAY_OUT)):
        (macro,) = re.findall(rf"MACRO {name}\(\) AS\n(.*?);", schema, re.S)
        assert "".join(re.findall(r"'([^']*)'", macro)) == words


def test_a_use_that_may_be_two_areas_is_asked_for(tmp_path: Path) -> None:
    text = drafted(tmp_path, "Circuit,Use,On,Off\nA,Front sign,18:00,23:00\n")
    assert '"Front sign" = "…"' in text and "What is Front sign?" in text


# Days -------------------------------------------------------------------------------------------------------


def test_ranges_in_words_are_read() -> None:
    for cell in ("Mo bis Sa", "Mon to Sat", "lun à sam"):
        ways = day_ways([cell])
        assert (ways.keys, ways.question) == ([{"words": {cell: "MO,TU,WE,TH,FR,SA"}}], "")
    assert day_ways(["Sat through Mon"]).keys == [{"words": {"Sat through Mon": "SA,SU,MO"}}]


def test_one_word_that_nobody_knows_is_asked_for_and_costs_no_other() -> None:
    ways = day_ways(["Mo-Fr", "Feiertage"])
    assert ways.keys == [{"words": {"Mo": "MO", "Fr": "FR", "Feiertage": "…"}}]
    assert "Which days do these words mean?" in ways.question


def test_whether_saturday_is_a_day_of_work_is_asked() -> None:
    ways = day_ways(["werktags"])
    days = [keys["words"]["werktags"] for keys in ways.keys]  # type: ignore[index]
    assert days == ["MO,TU,WE,TH,FR,SA", "MO,TU,WE,TH,FR"] and "Saturday" in ways.question


def test_seven_marks_begin_with_monday_or_with_sunday() -> None:
    ways = day_ways(["1111100"])
    assert [keys["words"]["1111100"] for keys in ways.keys] == [  # type: ignore[index]
        "MO,TU,WE,TH,FR",
        "MO,TU,WE,TH,SU",
    ]
    assert "Monday, or with Sunday" in ways.question


# Times ------------------------------------------------------------------------------------------------------


def test_a_leading_zero_does_not_prove_a_clock_of_24_hours(tmp_path: Path) -> None:
    assert "24-hour clock?" in drafted(tmp_path, "Circuit,On,Off\nA,06:30,09:15\n")
    assert "24-hour clock?" not in drafted(
        tmp_path, "Circuit,On,Off\nA,06:30,00:15\n"
    )  # no 12-hour clock has 0


def test_hours_that_end_before_they_begin_are_asked_for(tmp_path: Path) -> None:
    rows = "Site,Days,Opens,Closes\n1,Mon-Fri,09:00,21:00\n1,Sat,10:00,04:00\n"
    assert "closes before it opens (10:00 to 04:00)" in drafted(tmp_path, rows)
    assert "closes before" not in drafted(tmp_path, rows.replace("04:00", "14:00"))
    assert "closes before" not in drafted(tmp_path, rows.replace("10:00,04:00", "20:00,04:00"))  # overnight


# Programs by weekday ----------------------------------------------------------------------------------------

WEEK = "Mon,Tue,Wed,Thu,Fri,Sat,Sun"


def test_a_column_a_weekday_beside_circuits_is_a_program_and_no_opening_hours(tmp_path: Path) -> None:
    row = "P1,1,Hall" + ",sunset-23:00" * 7
    text = drafted(tmp_path, f"Panel,Line,Use,{WEEK}\n{row}\n")
    assert "[[hours]]" not in text and "[[events]]\n# A column a weekday" in text
    assert 'days = { cell = "{each}"' in text and text.count("[[events.steps]]") == 2
    assert 'split = "-", part = 2' in text and '"sunset" = "sunset"' in text
    hours = drafted(tmp_path, f"Site,{WEEK}\n1" + ",08:00-18:00" * 7 + "\n")
    assert "[[hours]]" in hours and "[[events]]" not in hours


def test_several_ranges_in_a_cell_and_the_end_past_midnight(tmp_path: Path) -> None:
    cell = ",07:00-22:00; 23:00-00:30"
    text = drafted(tmp_path, f"Panel,Line,{WEEK}\nP1,1{cell * 7}\n")
    assert 'items = { cell = "{*}", split = ";" }' in text and 'when = { cell = "{item}", split = "-"' in text
    assert {'#: past_midnight = "next day"', '#: past_midnight = "same day"'} <= set(text.splitlines())
    assert "past_midnight" not in drafted(tmp_path, f"Panel,Line,{WEEK}\nP1,1{',07:00-24:00' * 7}\n")


def test_an_off_before_its_on_is_asked_for_where_it_makes_a_difference(tmp_path: Path) -> None:
    rows = "Circuit,Days,On,Off\nA,{},20:00,01:00\n"
    assert "20:00 to 01:00: does the off belong to the day after" in drafted(tmp_path, rows.format("Fri"))
    assert "past_midnight" not in drafted(tmp_path, rows.format("daily"))  # both readings are one


# Ids --------------------------------------------------------------------------------------------------------


def test_two_columns_that_tell_sites_apart_are_a_question(tmp_path: Path) -> None:
    text = drafted(tmp_path, "No.,Branch,Lat,Lon\n1,Orrin,57.5,-4.4\n2,Ferry,57.4,-4.2\n")
    assert {'#: site_id = "{No.}"', '#: site_id = "{Branch}"'} <= set(text.splitlines())
    same = drafted(tmp_path, "Site,Branch,Lat,Lon\n1,North,57.5,-4.4\n2,North,57.4,-4.2\n")
    assert 'site_id = "{Site}"' in same.splitlines()  # the other is the same at two sites


def test_devices_of_several_sites_with_one_id_are_told_apart_by_the_site(tmp_path: Path) -> None:
    text = drafted(tmp_path, "Site,Panel,Line,On,Off\n1,T1,A,18:00,23:00\n2,T1,A,18:00,23:00\n")
    assert text.count('controller_id = "{Site}-{Panel}"') == 3  # device, circuit, steps
    assert 'targets = "{Site}-{Panel}-{Line}"' in text
    alone = drafted(tmp_path, "Site,Panel,Line,On,Off\n1,T1,A,18:00,23:00\n2,T2,A,18:00,23:00\n")
    assert 'controller_id = "{Panel}"' in alone


# What is left out, and what is missing ----------------------------------------------------------------------


def unused(text: str) -> set[str]:
    return set(re.findall(r'^#\s+"(.+?)": ', text.partition("# Not used")[2], re.M))


def test_every_column_is_used_or_said_not_to_be(tmp_path: Path) -> None:
    rows = "Circuit,Panel,On,Off,Valid until,Remarks\nA,P1,18:00,23:00,2026-12-31,new\n"
    assert unused(drafted(tmp_path, rows)) == {"Valid until", "Remarks"}
    # Recognised, and of no use in a table of sites.
    assert unused(drafted(tmp_path, "Site,Lat,Lon,Type\n1,57.5,-4.4,depot\n")) == {"Type"}
    # One of the answers to a question is not used before it is chosen.
    assert "Remarks" in unused(drafted(tmp_path, "Panel,On,Off,Remarks\nP1,18:00,23:00,new\n"))


def test_a_draft_says_what_an_audit_needs_beside_it(tmp_path: Path) -> None:
    text = drafted(tmp_path, "Site,Lat,Lon\n1,57.5,-4.4\n")
    assert "# An audit also needs controllers, circuits, events: from another map" in text


# Files ------------------------------------------------------------------------------------------------------


def test_a_file_is_named_so_that_it_is_found(tmp_path: Path) -> None:
    text = drafted(tmp_path, "Site,Lat,Lon\n1,57.5,-4.4\n", "plan[1].csv")
    (pattern,) = re.findall(r'^files = "(.*?)"', text, re.M)
    assert [path.name for path in tmp_path.glob(pattern)] == ["plan[1].csv"]


def test_a_pattern_of_names_fits_the_files_that_it_was_made_from(tmp_path: Path) -> None:
    files = [tmp_path / f"MUS1__{name}.csv" for name in ("hall", "yard")]
    for file in files:
        file.write_text("Circuit,On,Off\nA,18:00,23:00\n", encoding="utf-8")
    (pattern,) = re.findall(r"^name = '(.*)'", draft(files), re.M)
    assert [re.match(pattern, file.name)["part2"] for file in files] == ["hall", "yard"]  # type: ignore[index]


def test_a_name_merged_over_two_rows_of_the_header_is_one(tmp_path: Path) -> None:
    book = Workbook()
    sheet = book.active
    sheet.append(["Programme of October"])
    sheet.append(["Circuit", None, None, "Remarks"])
    sheet.append(["No.", "Use", "Load kW", None])
    sheet.append(["L1", "hall", 3.2, "never off"])
    sheet.merge_cells("D2:D3")
    book.save(tmp_path / "book.xlsx")
    text = draft([tmp_path / "book.xlsx"])
    assert "header_row = [2, 3]" in text and unused(text) == {"Remarks"}
