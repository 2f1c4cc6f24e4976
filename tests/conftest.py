"""A tiny portfolio that obeys the contract, and the way to write it, bend it and audit it.

Other tests may import from here: ``from .conftest import small, write_folder``.
"""

import csv
import fcntl
import os
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import pytest

from auditor.audit import Outcome, audit, demo_folder
from auditor.cli import main
from auditor.report import PAGES
from auditor.report import map as maps
from auditor.report.links import page_name

# Hundreds of tests audit a handful of sites at the same few places: their coasts are drawn once.
maps.land = lru_cache(maxsize=64)(maps.land)
maps.borders = lru_cache(maxsize=64)(maps.borders)

# Files that take longest go first, so that no worker is left with one of them when all else is done.
LONGEST = (
    "test_evidence_items",
    "test_browser_reading",
    "test_engine",
    "test_memory_gone",
    "test_rules",
    "test_browser_pack",
    "test_memory_told",
    "test_memory",
    "test_picture_figures",
    "test_year",
    "test_invariants",
    "test_evidence_store",
    "test_browser",
    "test_own_rules",
    "test_report",
)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first; all others as they come."""
    places = {name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(item.path.stem, len(places)))


Row = dict[str, object]
Tables = dict[str, list[Row]]
Console = tuple[int, str, str]  # exit status, standard output, standard error


def small() -> Tables:
    """Two sites with one device each and at least one row of every table; every id has a leading zero."""
    return {
        "sites": [
            {"site_id": "01", "latitude": 40.7, "longitude": -74.0, "timezone": "America/New_York"},
            {"site_id": "02", "latitude": 60.2, "longitude": 24.9, "timezone": "", "rate_per_kwh": 0.2},
        ],
        "controllers": [
            {"controller_id": "01A", "site_id": "01", "read_at": "2026-11-03T14:05:00Z", "dst_rule": "zone"},
            {
                "controller_id": "02A",
                "site_id": "02",
                "read_at": "2026-11-05T08:00:00+02:00",
                "remote": "yes",
            },
        ],
        "circuits": [
            {"circuit_id": "011", "controller_id": "01A", "area": "parking", "connected_watts": 1000},
            {"circuit_id": "012", "controller_id": "01A", "area": "interior", "connected_watts": 500},
            {"circuit_id": "021", "controller_id": "02A", "area": "sign", "hold": "on"},
        ],
        "sensors": [
            {"sensor_id": "01P", "controller_id": "01A", "kind": "photocontrol", "circuits": "011"},
        ],
        "events": [
            _step("001", "01A", "012", "on", time="07:00"),
            _step("002", "01A", "012", "off", time="19:00"),
            _step("003", "01A", "01P", "suspend", time="23:00"),
            _step("004", "01A", "01P", "resume", time="05:00"),
            _step("001", "02A", "021", "on", anchor="sunset", offset_minutes=-10),
            _step("002", "02A", "021", "off", anchor="sunrise"),
        ],
        "hours": [{"site_id": "01", "days": "MO,TU,WE,TH,FR", "opens": "08:00", "closes": "18:30"}],
        "closures": [{"site_id": "*", "date": "2026-12-25", "calendar": "holidays"}],
        "waivers": [
            {"site_id": "02", "rule": "left-in-hand", "reason": "Old cabinet", "expires": "2026-10-31"}
        ],
        "actions": [{"finding_id": "f0", "date": "2026-10-12", "disposition": "done", "note": "Sent, seen"}],
    }


def _step(event_id: str, controller_id: str, targets: str, action: str, **more: object) -> Row:
    ids: Row = {"event_id": event_id, "controller_id": controller_id, "targets": targets, "action": action}
    return {**ids, "days": "daily", "anchor": "clock", **more}


def columns_of(rows: list[Row]) -> list[str]:
    """Every column that some row has, in the order of their first appearance."""
    return list(dict.fromkeys(name for row in rows for name in row))


def write_table(path: Path, rows: list[Row]) -> None:
    """A CSV file; what a row lacks stays blank."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns_of(rows), restval="")
        writer.writeheader()
        writer.writerows(rows)


def write_folder(folder: Path, tables: Tables, settings: str = "") -> Path:
    """A portfolio folder; ``settings`` is the text of ``portfolio.toml`` (blank: no such file)."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, rows in tables.items():
        write_table(folder / f"{name}.csv", rows)
    if settings:
        (folder / "portfolio.toml").write_text(settings, encoding="utf-8")
    return folder


@pytest.fixture
def portfolio(tmp_path: Path) -> Path:
    """The folder of the small portfolio."""
    return write_folder(tmp_path / "portfolio", small())


def run_audit(
    source: Path, out: Path, store: Path | None = None, days: int = 7, pages: int = PAGES
) -> Outcome:
    """An audit of a few days from the first of the newest reading's month, without a progress bar.

    Tests that look at no site's page ask for 0 of them: these take longer to draw than the rest to audit.
    """
    return audit(source, out, None, days, store, lambda stage, length: lambda step: None, pages=pages)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The results of a year of the demo with 20 sites' pages, made once for all workers: only to be read."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "demo"
    folder.mkdir(exist_ok=True)
    with (folder / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not (folder / "done").exists():
            run_audit(demo_folder(), folder / "out", folder / "store.duckdb", days=365, pages=20)
            (folder / "done").touch()
    return folder / "out"


@pytest.fixture(scope="session")
def demo_store(demo: Path) -> Path:
    """The store of the same run."""
    return demo.parent / "store.duckdb"


def contents(out: Path) -> dict[str, bytes]:
    """Every file below a folder by its path there, but for stores."""
    files = (path for path in sorted(out.rglob("*")) if path.is_file() and path.suffix != ".duckdb")
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in files}


def front(out: Path) -> str:
    """The front page of a report."""
    return (out / "report.html").read_text(encoding="utf-8")


def site_page(out: Path, site_id: str) -> str:
    """The page of one site."""
    return (out / "sites" / page_name(site_id)).read_text(encoding="utf-8")


def report(out: Path) -> str:
    """The front page, the rules and the pages of all sites, one after the other, spaces as one."""
    rules = (out / "rules.html").read_text(encoding="utf-8")
    pages = [
        front(out),
        rules,
        *(path.read_text(encoding="utf-8") for path in sorted((out / "sites").iterdir())),
    ]
    return " ".join(" ".join(pages).split())


@pytest.fixture
def console(capsys: pytest.CaptureFixture[str]) -> Callable[..., Console]:
    """Runs a command in this process, as typed, and gives what a shell would get."""

    def run(*words: object) -> Console:
        with pytest.raises(SystemExit) as stopped:
            main.main([str(word) for word in words], "auditor")
        said = capsys.readouterr()
        return int(str(stopped.value.code)), said.out, said.err

    return run
