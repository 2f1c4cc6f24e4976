"""What is lost is said where it matters: rejected rows, misspelt tables, rules switched off."""

import csv
import json
from pathlib import Path

import pytest

from auditor.errors import UserError
from auditor.places import locate
from auditor.rules import load_rules
from auditor.settings import read_settings

from .conftest import Tables, front, report, run_audit, site_page, small, write_folder
from .judging import judge


def results(tmp_path: Path, tables: Tables, settings: str = "") -> Path:
    run_audit(write_folder(tmp_path / "portfolio", tables, settings), tmp_path / "out", days=30)
    return tmp_path / "out"


def findings(out: Path, rule: str) -> list[dict[str, str]]:
    with (out / "findings.csv").open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["rule"] == rule]


def notices(out: Path) -> list[str]:
    found: list[str] = json.loads((out / "run.json").read_text(encoding="utf-8"))["notices"]
    return found


def test_a_rejected_row_knows_its_site_by_itself_or_by_its_controller() -> None:
    tables = small()
    tables["events"][1]["time"] = "7:00"
    tables["hours"][0]["opens"] = "8:00"
    tables["closures"].append({"site_id": "*", "date": "soon"})
    owners = {row.source_file: row.site_id for row in judge(tables).rejections}
    assert owners == {"events.csv": "01", "hours.csv": "01", "closures.csv": "*"}


def test_the_site_and_the_first_page_say_that_rows_were_rejected(tmp_path: Path) -> None:
    # The car park loses its photocontrol's steps and its sensor: dark while open, for want of rejected rows.
    tables = small()
    tables["sensors"][0]["kind"] = "photo"
    out = results(tmp_path, tables)
    assert "3 input rows rejected: may be wrong" in front(out)
    said = "3 input rows of this site were rejected</strong> (events.csv 4, 5; sensors.csv 2)"
    assert said in site_page(out, "01")


def test_a_site_without_rejected_rows_says_nothing_of_them(tmp_path: Path) -> None:
    page = report(results(tmp_path, small()))
    assert "of this site was rejected" not in page and "of this site were rejected" not in page


def test_a_misspelt_table_is_named_with_the_nearest_table(tmp_path: Path) -> None:
    tables = small()
    tables["hour"] = tables.pop("hours")
    assert notices(results(tmp_path, tables)) == [
        'hour.csv was not read: no table has this name; did you mean "hours"?'
    ]


def test_an_unknown_code_edition_of_the_whole_portfolio_is_noted(tmp_path: Path) -> None:
    (notice,) = notices(results(tmp_path, small(), '[portfolio]\nenergy_code = "title24-2022"\n'))
    assert notice.startswith('portfolio.toml: energy_code "title24-2022" is not known here')
    assert notice.endswith('Did you mean "title-24-2022"?')


def test_ids_with_slashes_that_make_two_steps_look_alike_stop_nothing(tmp_path: Path) -> None:
    tables = small()
    never = {"days": "daily", "anchor": "clock", "time": "09:00", "from": "2001-01-01", "until": "2001-01-02"}
    for controller, event, circuit in (("a", "b/e", "c1"), ("a/b", "e", "c2")):
        tables["controllers"].append(tables["controllers"][0] | {"controller_id": controller})
        tables["circuits"].append(
            tables["circuits"][1] | {"circuit_id": circuit, "controller_id": controller}
        )
        ids = {"event_id": event, "controller_id": controller, "targets": circuit, "action": "off"}
        tables["events"].append(ids | never)
    found = findings(results(tmp_path, tables), "step-never-fires")
    assert [row["subject_id"] for row in found] == ["a/b/e"]


def test_a_site_whose_only_device_was_rejected_is_mended_at_a_desk_first(tmp_path: Path) -> None:
    tables = small()
    tables["controllers"][0]["dst_rule"] = "sometimes"
    tables["sites"].append(tables["sites"][0] | {"site_id": "03"})
    rejected, bare = findings(results(tmp_path, tables), "site-without-device")
    assert (rejected["site_id"], bare["site_id"]) == ("01", "03")
    assert rejected["summary"].startswith("No time switch of this site was accepted")
    assert rejected["remedy"].startswith("Mend the rejected rows of this site first")
    assert bare["summary"] == "No time switch of this site is in the export."
    assert bare["remedy"].startswith("Find out what switches the lights there")


def test_a_critical_rule_that_is_switched_off_is_named_on_the_first_page(tmp_path: Path) -> None:
    out = results(tmp_path, small(), "[rules.dark-while-open]\nenabled = false\n")
    assert "Not looked for</strong>, because portfolio.toml switches the rule off" in front(out)


@pytest.mark.parametrize("line", ["window_share = 1.5", "level_percent = 101"])
def test_a_share_or_a_percentage_beyond_all_is_refused(tmp_path: Path, line: str) -> None:
    file = tmp_path / "portfolio.toml"
    file.write_text(f"[rules.no-night-cutoff]\n{line}\n", encoding="utf-8")
    with pytest.raises(UserError, match=r"\[rules.no-night-cutoff\] .* must be a number from 0 to"):
        read_settings(file, load_rules())


def test_a_blank_zone_in_antarctica_is_doubted() -> None:
    # New York with latitude and longitude swapped.
    sites = judge({"sites": [{"site_id": "x", "latitude": -74.0, "longitude": 40.71}]}).tables["sites"]
    (doubt,) = locate(sites)[1]
    assert "lies in Antarctica" in doubt and "latitude and longitude look swapped" in doubt
