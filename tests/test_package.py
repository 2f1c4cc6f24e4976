"""What a wheel carries: the program with its queries, templates and demo, and nothing of the workshop."""

import os
import subprocess
import sys
from email.parser import Parser
from pathlib import Path
from zipfile import ZipFile

import pytest
from hatchling.build import build_wheel

from auditor import __version__

ROOT = Path(__file__).parent.parent
CARRIED = {"auditor": "auditor", "queries": "auditor/queries", "reports": "auditor/reports"}
CARRIED |= {"fixtures/demo": "auditor/fixtures/demo"}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A wheel of this checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    here = Path.cwd()
    os.chdir(ROOT)  # where a build backend expects to be called
    try:
        return folder / build_wheel(str(folder))
    finally:
        os.chdir(here)


def files_below(folder: Path) -> set[str]:
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


@pytest.mark.parametrize("folder", CARRIED)
def test_every_file_of_the_program_is_carried(wheel: Path, folder: str) -> None:
    wanted = {f"{CARRIED[folder]}/{name}" for name in files_below(ROOT / folder)}
    assert wanted
    assert wanted <= set(ZipFile(wheel).namelist())


def test_what_a_run_cannot_do_without_is_carried(wheel: Path) -> None:
    names = set(ZipFile(wheel).namelist())
    assert {
        "auditor/cli.py",
        "auditor/queries/schema.sql",
        "auditor/queries/rules/left-in-hand.sql",
        "auditor/queries/year/30_firings.sql",
        "auditor/reports/front/page.html.j2",
        "auditor/fixtures/demo/sites.csv",
        "auditor/fixtures/demo/portfolio.toml",
    } <= names


def test_nothing_else_is_carried(wheel: Path) -> None:
    wanted = {f"{CARRIED[folder]}/{name}" for folder in CARRIED for name in files_below(ROOT / folder)}
    strange = {name for name in ZipFile(wheel).namelist() if ".dist-info/" not in name} - wanted
    assert strange == set()


def test_the_wheel_says_what_it_is_and_brings_its_command_and_licence(wheel: Path) -> None:
    archive = ZipFile(wheel)
    facts = f"fleet_schedule_auditor-{__version__}.dist-info"
    said = Parser().parsestr(archive.read(f"{facts}/METADATA").decode())
    assert (said["Name"], said["Version"]) == ("fleet-schedule-auditor", __version__)
    assert said["License-Expression"] == "Apache-2.0"
    assert "auditor = auditor.__main__:main" in archive.read(f"{facts}/entry_points.txt").decode()
    assert archive.read(f"{facts}/licenses/LICENSE") == (ROOT / "LICENSE").read_bytes()


def test_an_unpacked_wheel_runs_on_its_own_resources(wheel: Path, tmp_path: Path) -> None:
    ZipFile(wheel).extractall(tmp_path / "site")
    (tmp_path / "queries").mkdir()  # a stray folder of that name must not be picked up
    program = """
import auditor.resources
from auditor.audit import demo_folder
from auditor.cli import main
print(auditor.resources.resource("queries"), demo_folder(), auditor.resources.resource("reports"))
main.main(["rules"], "auditor")
"""
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(tmp_path / "site")},
        capture_output=True,
        text=True,
        check=True,
    )
    places, *rules = done.stdout.splitlines()
    inside = tmp_path / "site" / "auditor"
    assert places.split() == [str(inside / name) for name in ("queries", "fixtures/demo", "reports")]
    assert len(rules) == len(list((ROOT / "queries" / "rules").glob("*.sql")))
