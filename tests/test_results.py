"""The result files: their columns, their text, and that they are whole and the same every time."""

import csv
import errno
import hashlib
import json
import os
from importlib import metadata
from pathlib import Path

import polars as pl
import pytest
import tzdata

from auditor import __version__, results
from auditor.errors import UserError
from auditor.intake.cells import clean
from auditor.rules import load_rules
from auditor.store import open_store

from .conftest import Row, contents, run_audit, small, write_folder

# The result files as the contract lists them, and the list of what begins soon.
COLUMNS = {
    "findings": "finding_id rule severity status first_seen site_id controller_id subject_kind subject_id "
    "summary minutes kwh cost co2_kg first_date last_date fix remedy source_file source_row",
    "circuits": "site_id controller_id circuit_id on_minutes conditional_minutes daylight_minutes "
    "closed_minutes curfew_minutes dark_open_minutes kwh avoidable_kwh cost",
    "sites": "rank site_id score avoidable_kwh avoidable_cost critical high medium low visit_needed",
    "soon": "date kind region site_id site_name controller_id subject_kind subject_id what severity rule fix "
    "finding_id",
    "not_evaluated": "rule site_id subject_kind subject_id missing",
    "rejected": "source_file source_row column value reason",
}
FILES = {
    "changes.csv",
    *(f"{name}.csv" for name in COLUMNS),
    "findings.xlsx",
    "timeline.parquet",
    "report.html",
    "rules.html",
    "run.json",
    "sites",
}
DECIMALS = {"minutes": 2, "kwh": 3, "cost": 2, "co2_kg": 3, "score": 2}
# Ids that a spreadsheet would run as a formula, and one that needs its quotation marks.
SHIELDED = ["=1+1", "+1", "-1", "@1", 'a,"b"']


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small portfolio with dangerous ids, money, a bad row of every kind of text, and findings."""
    tables = small()
    for circuit_id in SHIELDED:
        tables["circuits"].append(
            {
                "circuit_id": circuit_id,
                "controller_id": "01A",
                "area": "facade",
                "connected_watts": 333,
                "hold": "on",
            }
        )
    tables["circuits"].append({"circuit_id": "=2+2", "controller_id": "01A", "area": "@attic"})
    tables["sites"].append({"site_id": "03", "latitude": "north, or so", "longitude": ""})
    settings = '[portfolio]\nname = "Quernholt"\nrate_per_kwh = 0.17\nemission_kg_per_kwh = 0.4\n'
    return write_folder(tmp_path_factory.mktemp("source"), tables, settings)


@pytest.fixture(scope="module")
def out(source: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The results of auditing it."""
    folder = tmp_path_factory.mktemp("out") / "new" / "folder"
    run_audit(source, folder)
    return folder


def read(out: Path, name: str) -> list[Row]:
    with (out / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


def test_the_folder_is_made_and_holds_these_files_and_no_others(out: Path) -> None:
    assert {path.name for path in out.iterdir()} == FILES


@pytest.mark.parametrize("name", COLUMNS)
def test_the_columns_and_their_order_are_those_of_the_contract(out: Path, name: str) -> None:
    header = (out / f"{name}.csv").read_text(encoding="utf-8").splitlines()[0]
    assert header == ",".join(COLUMNS[name].split())


def test_the_timeline_has_the_columns_of_the_contract(out: Path) -> None:
    timeline = pl.read_parquet(out / "timeline.parquet")
    assert timeline.schema == {
        "circuit_id": pl.String,
        "start_utc": pl.Datetime("us"),
        "end_utc": pl.Datetime("us"),
        "level": pl.Float64,
        "conditional": pl.Boolean,
    }
    assert set(timeline["circuit_id"]) == {"011", "012", "021", *SHIELDED}  # a Parquet file runs no formulas


def test_the_timeline_is_the_same_file_however_many_sites_were_told_at_a_time(tmp_path: Path) -> None:
    """How many that are depends on the memory and the threads of the machine."""
    written = []
    for batch in (300_000, 130_000):
        store = open_store(Path(":memory:"))
        for first in range(0, 300_000, batch):
            store.execute(
                "INSERT INTO timeline SELECT i // 700, make_timestamp(i), make_timestamp(i + 1), i % 2, "
                "false FROM range($first, least($last, 300000)) AS numbers (i)",
                {"first": first, "last": first + batch},
            )
        folder = tmp_path / str(batch)
        folder.mkdir()
        results.write_tables(store, folder)
        written.append((folder / "timeline.parquet").read_bytes())
    assert written[0] == written[1]


def test_every_site_and_every_circuit_in_use_has_its_row(out: Path) -> None:
    assert {row["site_id"] for row in read(out, "sites")} == {"01", "02"}
    assert [row["rank"] for row in read(out, "sites")] == ["1", "2"]
    assert len(read(out, "circuits")) == 8


def test_text_that_a_spreadsheet_would_run_is_shielded_everywhere(out: Path) -> None:
    shielded = {*(f"'{name}" for name in SHIELDED[:4]), SHIELDED[4]}
    assert {row["circuit_id"] for row in read(out, "circuits")} == {"011", "012", "021", *shielded}
    assert {row["subject_id"] for row in read(out, "findings") if row["rule"] == "left-in-hand"} >= shielded
    for name in COLUMNS:
        for row in read(out, name):
            assert not any(str(cell).startswith(("=", "+", "@", "\t", "\r")) for cell in row.values())


def test_what_is_shielded_is_bare_again_when_our_reader_reads_it(out: Path) -> None:
    frame = pl.read_csv(out / "circuits.csv", infer_schema=False).with_row_index("source_row", offset=2)
    assert set(clean(frame)["circuit_id"]) == {"011", "012", "021", *SHIELDED}


def test_every_number_is_rounded_and_blank_where_unknown(out: Path) -> None:
    for name in COLUMNS:
        for row in read(out, name):
            for column, cell in row.items():
                places = next((places for end, places in DECIMALS.items() if column.endswith(end)), None)
                if places is not None and cell:
                    assert len(cell.partition(".")[2]) <= places, (name, column, cell)
    figures = {row["circuit_id"]: row for row in read(out, "circuits")}
    assert figures["021"]["kwh"] == figures["021"]["cost"] == ""  # no watts
    assert figures["021"]["on_minutes"] == "10080.0"  # a week in hand
    assert figures["021"]["closed_minutes"] == ""  # no hours


def test_a_circuit_in_hand_costs_its_watts_all_week(out: Path) -> None:
    # 333 W over the week of 1 November 2026 in New York: 169 h, for the clocks go back on the first day.
    row = next(row for row in read(out, "circuits") if row["circuit_id"] == SHIELDED[4])
    assert (row["on_minutes"], row["kwh"]) == ("10140.0", "56.277")
    assert row["cost"] == "9.57"  # 56.277 kWh at 0.17


def test_a_finding_points_at_the_row_that_it_is_about(out: Path, source: Path) -> None:
    found = next(row for row in read(out, "findings") if row["subject_id"] == "'=1+1")
    lines = (source / str(found["source_file"])).read_text(encoding="utf-8").splitlines()
    assert lines[int(str(found["source_row"])) - 1].startswith("=1+1,")
    assert found["first_seen"] == ""  # without a store nobody knows


def test_every_rejected_row_is_listed_with_its_reason(out: Path) -> None:
    rows = read(out, "rejected")
    assert [(row["source_file"], row["source_row"], row["column"], row["value"]) for row in rows] == [
        ("sites.csv", "4", "latitude", "north, or so"),
        ("sites.csv", "4", "longitude", ""),
        ("circuits.csv", "10", "area", "'@attic"),
    ]
    assert all(row["reason"] for row in rows)


def test_the_run_says_what_was_audited_and_with_what(out: Path, source: Path) -> None:
    text = (out / "run.json").read_text(encoding="utf-8")
    facts = json.loads(text)
    assert facts["program"] == {"name": "auditor", "version": __version__}
    assert metadata.version("fleet-schedule-auditor") == __version__
    assert facts["tzdb"] == tzdata.IANA_VERSION
    assert facts["period"] == {"first_date": "2026-11-01", "last_date": "2026-11-07", "days": 7}
    assert facts["rows"] == {"rows": 25, "kept": 23, "rejected": 2, "skipped": 0}
    sites = next(entry for entry in facts["inputs"] if entry["file"] == "sites.csv")
    digest = hashlib.sha256((source / "sites.csv").read_bytes()).hexdigest()
    assert sites == {
        "table": "sites",
        "file": "sites.csv",
        "sha256": digest,
        "rows": 3,
        "kept": 2,
        "rejected": 1,
        "skipped": 0,
        "skipped_by": {},
    }
    assert facts["rules"] == [rule.name for rule in load_rules()]
    assert str(source) not in text  # the place of a folder is no part of a result


def test_run_json_has_the_sum_of_every_other_result(out: Path) -> None:
    files = contents(out)
    told = json.loads(files.pop("run.json"))["results"]
    assert told == {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}


def test_a_run_replaces_older_results_by_the_same_bytes_every_time(
    source: Path, out: Path, tmp_path: Path
) -> None:
    fresh = contents(out)
    for name in fresh:
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text("old")
    (tmp_path / "notes.txt").write_text("mine")
    run_audit(source, tmp_path)
    assert contents(tmp_path) == fresh | {"notes.txt": b"mine"}


def test_a_file_that_cannot_take_its_place_is_said_and_leaves_no_part(tmp_path: Path) -> None:
    (tmp_path / "sites.csv").mkdir()
    with pytest.raises(UserError, match=r"sites\.csv cannot be written; check the folder"):
        results.write_tables(open_store(Path(":memory:")), tmp_path)
    assert not [path.name for path in tmp_path.iterdir() if path.name.endswith(".part")]


def test_a_folder_that_the_engine_cannot_write_to_is_said(tmp_path: Path) -> None:
    with pytest.raises(UserError, match=r"findings\.csv cannot be written; check the folder"):
        results.write_tables(open_store(Path(":memory:")), tmp_path / "gone")


def test_a_folder_that_vanishes_is_said_in_one_sentence(tmp_path: Path) -> None:
    with (
        pytest.raises(UserError, match="cannot be written"),
        results.replacing(tmp_path / "gone" / "x") as draft,
    ):
        draft.write_text("x")


def test_a_full_disk_is_called_full_whichever_file_finds_it_so(tmp_path: Path) -> None:
    """A page, and a file that stands alone: each has a door of its own."""
    full = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    for door in (results.replacing, results.replacing_alone):
        with pytest.raises(UserError, match="there is no room left"), door(tmp_path / "x"):
            raise full


def test_a_link_where_the_draft_goes_is_not_written_through(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("notes")
    (tmp_path / ".x.part").symlink_to(tmp_path / "mine")
    results.write_text(tmp_path / "x", "new")
    assert contents(tmp_path) == {"mine": b"notes", "x": b"new"}
    assert not (tmp_path / "x").is_symlink()


def test_what_stops_halfway_leaves_the_earlier_file_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    path.write_text("earlier")
    with pytest.raises(RuntimeError), results.replacing(path) as draft:
        draft.write_text("hal")
        raise RuntimeError
    assert [entry.name for entry in tmp_path.iterdir()] == ["report.html"]
    assert path.read_text() == "earlier"
