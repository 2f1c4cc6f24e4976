"""The commands: exit statuses, what goes to which stream, and one sentence for whatever a user can mend."""

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from auditor import __version__, audit
from auditor.model import SEVERITIES
from auditor.store import Engine

from .conftest import Console, small, write_folder

ROOT = Path(__file__).parent.parent
Shell = Callable[..., Console]
FACTS = {"rows": {"rows": 3, "kept": 2, "rejected": 1, "skipped": 0}, "maps": [], "inputs": []}


def refused(answer: Console) -> str:
    """The one sentence of a command that could not run."""
    status, out, err = answer
    assert (status, out) == (2, ""), err
    assert err.startswith("auditor: ")
    assert err.count("\n") == 1
    assert err.rstrip()[-1] in ".?"
    return err.strip()


def stands_for_an_audit(monkeypatch: pytest.MonkeyPatch, outcome: object) -> list[tuple[object, ...]]:
    """Puts an outcome in the place of an audit; gives the arguments of the calls."""
    calls: list[tuple[object, ...]] = []

    def stand_in(*given: object) -> object:
        calls.append(given)
        if isinstance(outcome, BaseException):
            raise outcome
        return outcome

    monkeypatch.setattr(audit, "audit", stand_in)
    return calls


def found(**counts: int) -> audit.Outcome:
    return audit.Outcome(["a doubt"], FACTS, dict.fromkeys(SEVERITIES, 0) | counts)


# run -------------------------------------------------------------------------------------------------------


def test_a_run_says_on_standard_output_what_it_did_and_exits_0(
    console: Shell, portfolio: Path, tmp_path: Path
) -> None:
    with (portfolio / "sites.csv").open("a") as file:
        file.write("03,north,0,,\n")
    out = tmp_path / "new" / "out"
    status, said, err = console("run", portfolio, "--out", out, "--start", "2026-12-20", "--days", "3")
    assert status == 0
    lines = said.splitlines()
    assert lines[0] == "18 of 19 rows audited; 1 rejected (see rejected.csv)."
    assert (
        lines[1] == "  sites.csv: 3 rows read = 2 kept + 1 rejected + 0 skipped"
    )  # of the others all were kept
    assert lines[2].startswith("Open findings: ")
    assert lines[3] == f"Report: {out / 'report.html'}"
    assert err == ""
    facts = json.loads((out / "run.json").read_text(encoding="utf-8"))
    assert facts["period"] == {"first_date": "2026-12-20", "last_date": "2026-12-22", "days": 3}


@pytest.mark.parametrize("year", ["1970", "2099"])
def test_whatever_the_tables_may_hold_can_be_audited(console: Shell, tmp_path: Path, year: str) -> None:
    tables = small()
    tables["sites"][0] |= {"latitude": "90", "longitude": "-180", "rate_per_kwh": "1e6"}
    tables["sites"][1] |= {"latitude": "-90", "longitude": "180", "timezone": "Pacific/Kiritimati"}
    tables["controllers"][0] |= {
        "clock_reading": f"{year}-01-01T00:00:00",
        "latitude": "0",
        "longitude": "180",
    }
    tables["circuits"][0]["connected_watts"] = "1e9"
    tables["events"][0] |= {"from": "0001-01-01", "until": "9999-12-31"}
    tables["events"][4]["offset_minutes"] = "-10080"
    tables["events"][5] |= {"offset_minutes": "10080", "from": "02-29", "until": "02-29"}
    tables["hours"].append({"site_id": "02", "days": "daily", "opens": "00:00", "closes": "00:00"})
    tables["closures"] += [{"site_id": "01", "date": day} for day in ("0001-01-01", "9999-12-31")]
    tables["waivers"][0]["expires"] = "9999-12-31"
    source = write_folder(tmp_path / "source", tables, "[figures]\nhours_margin_minutes = 1440\n")
    status, said, _ = console("run", source, "--out", tmp_path / "out", "--days", 30)
    assert (status, said.splitlines()[0].split(";")[1]) == (0, " 0 rejected (see rejected.csv).")


def test_doubts_go_to_standard_error_and_change_no_status(
    console: Shell, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    stands_for_an_audit(monkeypatch, found(critical=4))
    status, out, err = console("run", tmp_path, "--out", tmp_path / "out")
    assert (status, err) == (0, "note: a doubt\n")
    assert "Open findings: 4 critical, 0 high, 0 medium, 0 low." in out


def test_what_is_not_said_is_left_to_the_defaults(
    console: Shell, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    calls = stands_for_an_audit(monkeypatch, found())
    console("run", tmp_path, "--out", tmp_path / "out")
    console("run", tmp_path, "--out", "o", "--start", "2027-02-28", "--days", 30, "--store", "s.duckdb")
    assert [call[2:5] for call in calls] == [
        (None, 365, None),
        (date(2027, 2, 28), 30, Path("s.duckdb")),
    ]


def test_an_audit_is_told_what_it_may_take_of_the_machine(
    console: Shell, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    calls = stands_for_an_audit(monkeypatch, found())
    console("run", tmp_path, "--out", tmp_path / "out")
    console("run", tmp_path, "--out", tmp_path / "out", "--threads", 7, "--memory", 250, "--cluster", 2)
    assert [call[-1] for call in calls] == [Engine(), Engine(threads=7, memory_mib=250, cluster="2")]


@pytest.mark.parametrize(
    ("threshold", "worst", "status"),
    [
        *((severity, severity, 1) for severity in SEVERITIES),
        ("low", "critical", 1),
        ("high", "critical", 1),
        ("high", "medium", 0),
        ("critical", "high", 0),
        ("medium", "low", 0),
        ("low", "", 0),
    ],
)
def test_fail_on_gives_1_for_an_open_finding_at_least_that_severe(
    console: Shell, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, threshold: str, worst: str, status: int
) -> None:
    stands_for_an_audit(monkeypatch, found(**({worst: 1} if worst else {})))
    assert console("run", tmp_path, "--out", tmp_path / "out", "--fail-on", threshold)[0] == status


def test_fail_on_counts_what_a_real_run_finds(console: Shell, portfolio: Path, tmp_path: Path) -> None:
    # A circuit in hand is a finding of severity high; its waiver in the small portfolio has run out.
    words = ("run", portfolio, "--out", tmp_path / "out", "--days", 1, "--fail-on", "high")
    assert console(*words)[0] == 1


# demo ------------------------------------------------------------------------------------------------------


def test_the_demo_is_audited_into_the_folder_that_it_names(
    console: Shell, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls = stands_for_an_audit(monkeypatch, found())
    monkeypatch.chdir(tmp_path)
    assert f"Report: {tmp_path / 'audit-demo' / 'report.html'}" in console("demo")[1]
    assert f"Report: {tmp_path / 'mine' / 'report.html'}" in console("demo", "--out", "mine")[1]
    assert [call[:5] for call in calls] == [
        ((audit.demo_folder(),), Path("audit-demo"), None, 365, None),
        ((audit.demo_folder(),), Path("mine"), None, 365, None),
    ]


def test_the_demo_never_writes_over_its_own_tables(console: Shell) -> None:
    assert "holds the portfolio" in refused(console("demo", "--out", audit.demo_folder()))


# sun -------------------------------------------------------------------------------------------------------


def sun_rows(answer: Console) -> list[dict[str, str]]:
    status, out, err = answer
    assert (status, err) == (0, "")
    return list(csv.DictReader(io.StringIO(out)))


def test_sun_gives_a_row_a_date_with_these_columns(console: Shell) -> None:
    rows = sun_rows(
        console("sun", "40.7", "-74.0", "--zone", "America/New_York", "--start", "2026-10-31", "--days", "3")
    )
    assert [row["date"] for row in rows] == ["2026-10-31", "2026-11-01", "2026-11-02"]
    assert list(rows[0]) == ["date", "sunrise_utc", "sunset_utc", "dawn_utc", "dusk_utc"]
    for row in rows:  # New York in autumn: dawn and sunrise before noon UTC, sunset and dusk late in the day
        assert f"{row['date']}T10:" < row["dawn_utc"] < row["sunrise_utc"] < f"{row['date']}T12:"
        assert f"{row['date']}T21:" < row["sunset_utc"] < row["dusk_utc"] < f"{row['date']}T23:"
        assert row["dusk_utc"].endswith("Z")


@pytest.mark.parametrize("place", [("-33.9", "151.2"), ("-33.9", "-70.6"), ("40.7", "-74"), ("-.5", "-.5")])
def test_sun_takes_negative_coordinates_as_they_are_typed(console: Shell, place: tuple[str, str]) -> None:
    options = ("--zone", "Etc/UTC", "--start", "2026-06-21")
    first = sun_rows(console("sun", *place, *options))
    assert len(first) == 1
    assert first == sun_rows(console("sun", *options, "--", *place))


def test_sun_leaves_blank_what_does_not_happen(console: Shell) -> None:
    options = ("--zone", "Arctic/Longyearbyen", "--start")
    (winter,) = sun_rows(console("sun", "78.2", "15.6", *options, "2026-12-21"))
    (summer,) = sun_rows(console("sun", "78.2", "15.6", *options, "2026-06-21"))
    assert list(winter.values()) == ["2026-12-21", "", "", "", ""]
    assert list(summer.values()) == ["2026-06-21", "", "", "", ""]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("91", "0", "--zone", "Etc/UTC", "--start", "2026-06-21"), "91.0 is not in the range -90<=x<=90"),
        (("0", "-181", "--zone", "Etc/UTC", "--start", "2026-06-21"), "-181.0 is not in the range"),
        (("nan", "0", "--zone", "Etc/UTC", "--start", "2026-06-21"), "must be degrees"),
        (("0", "nan", "--zone", "Etc/UTC", "--start", "2026-06-21"), "must be degrees"),
        (("north", "0", "--zone", "Etc/UTC", "--start", "2026-06-21"), "'north' is not a valid float"),
        (
            ("0", "0", "--zone", "America/NewYork", "--start", "2026-06-21"),
            'did you mean "America/New_York"?',
        ),
        (("0", "0", "--zone", "Etc/UTC"), "Missing option '--start'"),
        (("0", "0", "--start", "2026-06-21"), "Missing option '--zone'"),
        (("0", "0", "--zone", "Etc/UTC", "--start", "June"), "write a date like 2026-11-01"),
        (("0", "0", "--zone", "Etc/UTC", "--start", "2026-06-21", "--days", "0"), "0 is not in the range"),
        (("0", "0", "--zone", "Etc/UTC", "--start", "2026-06-21", "--dyas", "3"), "--dyas"),
    ],
)
def test_sun_refuses_what_it_cannot_take(console: Shell, words: tuple[str, ...], sentence: str) -> None:
    assert sentence in refused(console("sun", *words))


# help ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [[], ["-h"], ["--help"]])
def test_help_names_every_command(console: Shell, words: list[str]) -> None:
    status, out, err = console(*words)
    assert (status, err) == (0, "")
    assert all(f"\n  {command} " in out for command in ("demo", "rules", "run", "sun"))


def test_the_version_is_told(console: Shell) -> None:
    assert console("--version") == (0, f"auditor, version {__version__}\n", "")


def test_a_reader_who_leaves_is_no_finding() -> None:
    """141: 128 and the number of SIGPIPE, as shells have it; 1 would say that --fail-on found something."""
    read, write = os.pipe()
    os.close(read)
    command = [sys.executable, "-m", "auditor", "rules"]
    done = subprocess.run(command, stdout=write, stderr=subprocess.PIPE, cwd=ROOT, check=False)
    os.close(write)
    assert (done.returncode, done.stderr) == (141, b"")
