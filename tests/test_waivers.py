"""Waivers: whom they excuse and how long, what a reader is told of them, and those that excuse nothing.

Every case is a site of its own, with one circuit left in hand; all of them are audited as one portfolio.
"""

import csv
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from .conftest import Console, Row, Tables, front, run_audit, site_page, small, write_folder

RULE = "left-in-hand"
NEWEST = "2026-11-05"  # the UTC date of the newest reading
IDLE = "the waiver matches no finding, for left-in-hand finds nothing at"
NEVER = "the waiver stands for nothing, for"
SETTLED = "take it out if that is settled."

# name: its waivers, its circuit's status, and the end of the notice about its last waiver (blank: none).
# S is the site of the case, C its circuit, D its device, T its sign, which is in its program's hands.
CASES: dict[str, tuple[list[Row], str, str]] = {
    "without an end": ([{}], "waived", ""),
    "for the circuit, without an end": ([{"subject_id": "C"}], "waived", ""),
    "to a far end": ([{"expires": "2099-12-31"}], "waived", ""),
    "to tomorrow": ([{"expires": "2026-11-06"}], "waived", ""),
    "to the very day": ([{"expires": NEWEST}], "waived", ""),
    "for the circuit, to the very day": ([{"expires": NEWEST, "subject_id": "C"}], "waived", ""),
    "to yesterday": ([{"expires": "2026-11-04"}], "open", ""),
    "for the circuit, to yesterday": ([{"expires": "2026-11-04", "subject_id": "C"}], "open", ""),
    "one of two still stands": ([{"expires": "2026-11-04"}, {"subject_id": "C"}], "waived", ""),
    "none": ([], "open", ""),
    "without an approver": ([{"approved_by": ""}], "waived", ""),
    "without a reason": ([{"reason": ""}], "waived", ""),
    "its own goes first": (
        [{"reason": "A whole site"}, {"reason": "", "approved_by": "O. W.", "subject_id": "C"}],
        "waived",
        "",
    ),
    "unknown rule": (
        [{"rule": "left-in-hands"}],
        "open",
        f'{NEVER} there is no rule "left-in-hands"; did you mean "left-in-hand"?',
    ),
    "unknown rule, expired": (
        [{"rule": "left-in-hands", "expires": "2026-11-04"}],
        "open",
        f'{NEVER} there is no rule "left-in-hands"; did you mean "left-in-hand"?',
    ),
    "unknown subject": (
        [{"subject_id": "X"}],
        "open",
        f'{NEVER} nothing accepted is called "X"; check the id.',
    ),
    "subject of another site": (
        [{"subject_id": "01P"}],
        "open",
        f'{NEVER} "01P" is at site "01"; check site "S".',
    ),
    "step of another site": (
        [{"subject_id": "01A/001"}],
        "open",
        f'{NEVER} "01A/001" is at site "01"; check site "S".',
    ),
    "the device is not in hand": ([{"subject_id": "D"}], "open", f'{IDLE} "D"; {SETTLED}'),
    "a step is not in hand": ([{"subject_id": "D/1"}], "open", f'{IDLE} "D/1"; {SETTLED}'),
    "the site itself is not in hand": ([{"subject_id": "S"}], "open", f'{IDLE} "S"; {SETTLED}'),
    "idle beside one that is not": ([{}, {"subject_id": "D"}], "waived", f'{IDLE} "D"; {SETTLED}'),
    "idle at the whole site": (
        [{"rule": "site-without-device"}],
        "open",
        f'the waiver matches no finding, for site-without-device finds nothing at "S"; {SETTLED}',
    ),
    "idle, but expired": ([{"subject_id": "D", "expires": "2026-11-04"}], "open", ""),
    "could not look": (  # for want of opening hours
        [{"rule": "no-night-cutoff", "subject_id": "T"}],
        "open",
        'the waiver matches no finding, for no-night-cutoff could not look at "T"; see not_evaluated.csv.',
    ),
    "could not look, whole site": (
        [{"rule": "no-night-cutoff"}],
        "open",
        'the waiver matches no finding, for no-night-cutoff could not look at "S"; see not_evaluated.csv.',
    ),
    "switched off": (
        [{"rule": "short-backup"}],
        "open",
        "the waiver matches no finding, for portfolio.toml switches short-backup off; "
        "it waits until that ends.",
    ),
}
every_case = pytest.mark.parametrize("case", CASES)


def ids(case: str) -> dict[str, str]:
    """The ids of a case; others stay as they are."""
    number = list(CASES).index(case)
    return {"S": f"S{number}", "D": f"D{number}", "C": f"C{number}", "T": f"T{number}", "D/1": f"D{number}/1"}


def tables() -> Tables:
    """The small portfolio and a site a case."""
    found = small() | {"waivers": []}
    site, device, sign, step = (found[name][-1] for name in ("sites", "controllers", "circuits", "events"))
    for case, (waivers, _, _) in CASES.items():
        own = ids(case)
        keys = {"site_id": own["S"], "controller_id": own["D"]}
        found["sites"].append(site | {"site_id": own["S"]})
        found["controllers"].append(device | keys)
        found["circuits"] += [
            sign | {"circuit_id": own["C"], "controller_id": own["D"]},
            sign | {"circuit_id": own["T"], "controller_id": own["D"], "hold": ""},
        ]
        targets = f"{own['C']};{own['T']}"
        found["events"].append(step | {"event_id": "1", "controller_id": own["D"], "targets": targets})
        for waiver in waivers:
            whole = {"rule": RULE, "reason": "Old cabinet", "approved_by": "A. V."} | waiver
            subject = str(whole.get("subject_id", ""))
            found["waivers"].append(whole | {"site_id": own["S"], "subject_id": own.get(subject, subject)})
    return found


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The results of auditing all of them."""
    folder = tmp_path_factory.mktemp("waivers")
    source = write_folder(folder / "portfolio", tables(), "[rules.short-backup]\nenabled = false\n")
    run_audit(source, folder / "out", days=30)
    return folder / "out"


def notices(out: Path) -> list[str]:
    found: list[str] = json.loads((out / "run.json").read_text(encoding="utf-8"))["notices"]
    return found


def told(out: Path, case: str) -> str:
    """What the report's text says of the case's site."""
    return " ".join(re.sub(r"<[^>]+>", " ", site_page(out, ids(case)["S"])).split())


@every_case
def test_it_excuses_its_own_rule_site_and_subject_through_its_last_day(out: Path, case: str) -> None:
    with (out / "findings.csv").open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["subject_id"] == ids(case)["C"]]
    assert {row["status"] for row in rows if row["rule"] == RULE} == {CASES[case][1]}
    assert {row["status"] for row in rows if row["rule"] != RULE} == {"open"}  # of no rule that is waived


@every_case
def test_one_that_excuses_nothing_is_noted_with_its_row_and_no_other_is(out: Path, case: str) -> None:
    waivers = [row["site_id"] for row in tables()["waivers"]]
    rows = [place for place, site in enumerate(waivers, 2) if site == ids(case)["S"]]
    found = [text for text in notices(out) for row in rows if text.startswith(f"waivers.csv, row {row}: ")]
    words = re.sub(r'"(\w(/1)?)"', lambda id: f'"{ids(case).get(id[1], id[1])}"', CASES[case][2])
    assert found == ([f"waivers.csv, row {rows[-1]}: {words}"] if words else [])


@pytest.mark.parametrize(
    ("case", "words"),
    [
        ("to the very day", "Waived. Old cabinet. Approved by A. V., until 5 November 2026. Left in hand, "),
        ("without an end", "Waived. Old cabinet. Approved by A. V., without an end date. Left in hand, "),
        ("without an approver", "Waived. Old cabinet. Stands without an end date. Left in hand, "),
        ("without a reason", "Waived. Approved by A. V., without an end date. Left in hand, "),
        ("its own goes first", "Waived. Approved by O. W., without an end date. Left in hand, "),
        (
            "to yesterday",
            "Its waiver lapsed on 4 November 2026. Old cabinet. It was approved by A. V. circuits.csv row ",
        ),
    ],
)
def test_the_report_says_reason_approver_and_end(out: Path, case: str, words: str) -> None:
    assert words in told(out, case)


def test_the_notes_are_in_the_report_and_on_standard_error_too(
    tmp_path: Path, console: Callable[..., Console]
) -> None:
    waiver = {"site_id": "02", "rule": RULE, "subject_id": "02A"}
    source = write_folder(tmp_path / "portfolio", small() | {"waivers": [waiver]})
    _, _, err = console("run", source, "--out", tmp_path / "out", "--days", 1)
    (notice,) = notices(tmp_path / "out")
    assert err == f"note: {notice}\n"
    page = front(tmp_path / "out")
    assert f"<li>{notice}</li>" in page.replace("&#34;", '"')
