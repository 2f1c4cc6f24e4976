"""The README says what the program does."""

import re
import shlex
import tomllib
from pathlib import Path

import pytest

from auditor.mapping import read_map
from auditor.mapping.blocks import CELL_KEYS
from auditor.rules import load_rules
from auditor.settings import FIGURES, SCORE, VISITS, read_settings

from .conftest import Console

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_its_rule_table_is_the_one_that_the_program_prints(console: Console) -> None:
    status, printed, _ = console("rules", "--markdown")
    shown = re.search(r"<!-- rules -->\n(.*?)\n<!-- /rules -->", README, re.S)
    assert status == 0 and shown is not None
    assert shown[1] == printed.strip()


def test_its_table_of_columns_is_the_one_that_the_program_prints(console: Console) -> None:
    status, printed, _ = console("template", "--markdown")
    shown = re.search(r"<!-- tables -->\n(.*?)\n<!-- /tables -->", README, re.S)
    assert status == 0 and shown is not None
    assert shown[1] == printed.strip()


def test_its_first_two_code_blocks_audit_the_demo_and_run_the_tests() -> None:
    first, second = re.findall(r"^```sh\n(.*?)^```", README, re.M | re.S)[:2]
    assert "auditor demo" in first and "pytest" in second
    assert first.startswith("python3 -m venv") and second.startswith("python3 -m venv")


def test_its_settings_are_understood_and_show_the_defaults(tmp_path: Path) -> None:
    block = re.search(r"^```toml\n(.*?)^```", README, re.M | re.S)
    assert block is not None
    file = tmp_path / "portfolio.toml"
    file.write_text(block[1], encoding="utf-8")
    assert read_settings(file, load_rules()).figures == FIGURES
    assert tomllib.loads(block[1])["score"]["critical"] == SCORE["critical"]


@pytest.mark.nightly
def test_its_commands_plan_the_visits_of_the_demo(
    console: Console, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (block,) = re.findall(r"^```sh\n([^`]*auditor visits [^`]*)^```", README, re.M)
    for command in re.findall(r"\.venv/bin/auditor (.+)", block):
        words = shlex.split(command.replace("fixtures/demo", str(ROOT / "fixtures/demo")))
        status, said, _ = console(*words)
        assert status == 0
    assert "Day 1, crew 1. Leave base 1 (51.5° N, 0.1° W) at 08:00." in said
    assert said.count("Critical and not planned") == 3  # Bergen, Newcastle and Paris are too far from both
    folder = {path.name for path in (tmp_path / "visits").iterdir()}
    assert folder == set(re.findall(r"^\| `((?:desk|visits|unplanned)\.\w+)`", README, re.M))


def test_its_table_of_visit_settings_has_every_key_with_its_default() -> None:
    table = README.split("| key of `[visits]` |")[1].split("\n\n")[0]
    lines = [line.split(" | ") for line in table.splitlines()[2:]]
    shown = {
        key: value
        for keys, values, *_ in lines
        for key, value in zip(keys.strip("| ").split(", "), values.split(", "), strict=True)
    }
    wanted = {key: f"{default:g}" for key, (default, *_) in VISITS.items()}
    assert shown == wanted | {"start_time": '"08:00"', "cost_per_visit": "none"}


def test_every_room_is_in_the_developers_picture() -> None:
    picture = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = {path.stem for path in (ROOT / "auditor").iterdir() if not path.name.startswith("_")}
    assert {room for room in rooms if f"`{room}" not in picture and f", `{room}" not in picture} == set()


def test_nothing_claims_more_than_a_schedule_can_show() -> None:
    texts = [
        *ROOT.glob("*.md"),
        *ROOT.glob("queries/**/*.sql"),
        *ROOT.glob("reports/**/*.*"),
        *ROOT.glob("auditor/**/*.py"),
    ]
    claims = [
        path.name
        for path in texts
        if re.search(r"\b(compliant|certified|guarantee)", path.read_text("utf-8"), re.I)
    ]
    assert claims == []


def test_its_map_is_understood(tmp_path: Path) -> None:
    (block,) = re.findall(r"^```toml\n(about = .*?)^```", README, re.M | re.S)
    (tmp_path / "lights.toml").write_text(block, encoding="utf-8")
    assert {cell.table for cells in read_map(tmp_path / "lights.toml").blocks for cell in cells.cells} == {
        "circuits",
        "events",
    }


def test_its_table_of_cell_keys_is_complete() -> None:
    table = README.split("| key of a cell |")[1].split("\n\n")[0]
    shown = [key for line in table.splitlines()[2:] for key in line.split(" | ")[0].strip("| ").split(", ")]
    assert sorted(shown) == sorted(set(CELL_KEYS) - {"cell"})
