"""auditor visits and the table of actions: what was declined, ordered or done, and who is still sent."""

import csv
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from auditor.visits import Work, read_work, work_store

from . import memory_case, visits_case
from .conftest import Console, Row, Tables, run_audit, write_folder
from .visits_case import finding_id

BASE = visits_case.BASE
# The exports of visits_case were read on 3 November 2026.
DUTY = finding_id("duty-not-met", "circuit", "V1c")  # critical
HELD_1, HELD_4, HELD_5 = (finding_id("left-in-hand", "circuit", f"V{site}c") for site in (1, 4, 5))
CLOCK_2, CLOCK_3 = (finding_id("clock-wrong-zone", "controller", f"V{site}D") for site in (2, 3))


def answer(finding: str, disposition: str, date: str = "", by: str = "", note: str = "") -> Row:
    return {"finding_id": finding, "date": date, "by": by, "disposition": disposition, "note": note}


class Planned:
    """A kept store, and what a plan from it says and writes."""

    def __init__(self, folder: Path, actions: list[Row], **changed: list[Row]) -> None:
        self.folder, self.store = folder, visits_case.keep(folder, actions=actions, **changed)

    def plan(self, console: Callable[..., Console]) -> str:
        out = self.folder / "plan"
        words = ("--store", self.store, "--out", out, "--days", 2, "--base", BASE)
        status, said, wrong = console("visits", *words)
        assert (status, wrong) == (0, "")
        return said

    def rows(self, name: str) -> list[dict[str, str]]:
        with (self.folder / "plan" / name).open(newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    @property
    def page(self) -> str:
        """The page without its tags, spaces as one."""
        text = (self.folder / "plan" / "visits.html").read_text(encoding="utf-8")
        return " ".join(re.sub(r"<[^>]*>", " ", text).split())

    @property
    def work(self) -> Work:
        with work_store(self.store) as connection:
            return read_work(connection)


@pytest.fixture(scope="module")
def answered(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    actions = [
        answer(DUTY, "declined", "2026-10-20", "A. Ash", "The yard is fenced off."),
        answer(CLOCK_2, "done", "2026-11-02", "B. Birch", "Clock set"),
        answer(HELD_5, "done", "2026-11-03", "C. Cedar", "Switch turned back"),  # on the day of the export
        answer(CLOCK_3, "declined", "2026-10-20", "A. Ash", "Device goes in May"),
        answer(HELD_4, "ordered", "2026-10-30", "D. Dogwood"),
    ]
    lost = {"circuit_id": "V2x", "controller_id": "V2D", "area": "nowhere"}
    circuits = [*visits_case.tables()["circuits"], lost]
    return Planned(tmp_path_factory.mktemp("answered"), actions, circuits=circuits)


@pytest.fixture(scope="module")
def changed_minds(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    actions = [
        answer(CLOCK_2, "ordered", "2026-10-25", "A. Ash"),  # newer, though it stands first
        answer(CLOCK_2, "declined", "2026-10-20", "A. Ash", "No money"),
        answer(HELD_5, "done", "2026-11-05", "C. Cedar"),
        answer(HELD_5, "ordered", "2026-11-05", "C. Cedar", "Not done after all"),  # later on the same day
        answer(CLOCK_3, "done", "", "B. Birch"),  # nobody knows when: the export shows it
        answer(HELD_4, "declined", "2026-10-20", "A. Ash"),  # without a reason it counts for nothing
        answer(HELD_4, "done", "2026-10-10", "F. Fir"),
        answer(DUTY, "done", "2026-11-04", "E. Elm", "Lamp works"),
    ]
    return Planned(tmp_path_factory.mktemp("minds"), actions)


DECLINED = "Declined on 20 October 2026 by A. Ash: The yard is fenced off."
STILL_THERE = (
    "Recorded as done on 2 November 2026 by B. Birch, and still there in the export read on 3 November 2026. "
    "Noted then: Clock set."
)
AWAITED = (
    "Recorded as done on 3 November 2026 by C. Cedar: Switch turned back. The export read on 3 November 2026 "
    "is no newer; the next one will show it."
)


# Who is sent -----------------------------------------------------------------------------------------------


def test_nobody_is_sent_for_what_was_declined_or_done_since_the_export(
    answered: Planned, console: Callable[..., Console]
) -> None:
    answered.plan(console)
    stops = {row["site_id"]: row["findings"].split(";") for row in answered.rows("visits.csv")}
    assert stops == {"V1": [HELD_1], "V2": [CLOCK_2]}  # V5 had nothing else for a crew
    # its clock is off for a desk, which nobody answered; that of V3 was declined
    assert {row["site_id"] for row in answered.rows("desk.csv")} == {"V5"}


def test_what_was_declined_counts_neither_as_critical_nor_as_minutes_nor_as_worth(answered: Planned) -> None:
    (site,) = [site for site in answered.work.sites if site["site_id"] == "V1"]
    # left in hand is high, 250 by the contract's score; its security circuit is held off and saves nothing
    assert site["worth"] == 250
    assert [row["minutes"] for row in answered.work.findings["V1"]] == [25]  # by hand, as [visits] has it


def test_the_newest_answer_stands_and_one_without_a_reason_is_none(
    changed_minds: Planned, console: Callable[..., Console]
) -> None:
    said = changed_minds.plan(console)
    assert {row["site_id"] for row in changed_minds.rows("visits.csv")} == {"V1", "V2", "V5"}
    told = {row["site_id"]: row["answered"] for row in changed_minds.rows("visits.csv")}
    assert told["V2"] == (
        f"{CLOCK_2}: Declined on 20 October 2026 by A. Ash: No money. Ordered on 25 October 2026 by A. Ash."
    )
    assert "Not done after all" in told["V5"]
    reasons = {row["site_id"]: row["reason"] for row in changed_minds.rows("unplanned.csv")}
    assert reasons["V4"].startswith("Out of reach") and "V1" in reasons
    assert "Nobody is sent for these: 1 finding recorded as done (unplanned.csv)." in said


# What is told ----------------------------------------------------------------------------------------------


def test_what_was_done_and_is_still_there_is_said_aloud_in_the_list_and_on_the_card(
    answered: Planned, console: Callable[..., Console]
) -> None:
    said = answered.plan(console)
    title = "Clock set to a wrong zone, half of the day or date"
    assert f"    Still there: {title}, Device V2D. {STILL_THERE}\n" in said
    (row,) = [row for row in answered.rows("visits.csv") if row["site_id"] == "V2"]
    assert row["answered"] == f"{CLOCK_2}: {STILL_THERE}"
    loud = (answered.folder / "plan" / "visits.html").read_text(encoding="utf-8")
    assert f"<b>Still there: {title}, Device V2D. {STILL_THERE}</b>" in loud  # in the plan
    assert f"<b>Still there: {STILL_THERE}</b>" in loud  # on the card


def test_a_desk_hears_that_too(changed_minds: Planned, console: Callable[..., Console]) -> None:
    said = changed_minds.plan(console)
    there = "Recorded as done by B. Birch, and still there in the export read on 3 November 2026."
    assert re.search(rf"^  Still there: Site V3 \(V3\), .*, Device V3D\. {re.escape(there)}$", said, re.M)
    (row,) = [row for row in changed_minds.rows("desk.csv") if row["finding_id"] == CLOCK_3]
    assert row["answered"] == there and list(row)[-1] == "answered"


def test_what_is_still_there_where_nobody_can_go_is_said_aloud_too(
    changed_minds: Planned, console: Callable[..., Console]
) -> None:
    said = changed_minds.plan(console)  # V4 is out of reach
    done = "Recorded as done on 10 October 2026 by F. Fir"
    there = f"{done}, and still there in the export read on 3 November 2026."
    assert f"  Still there and not planned: Site V4 (V4), Left in hand, V4c. {there}\n" in said
    missed = changed_minds.page.split("Not planned")[1].split("Nobody is sent for these")[0]
    assert f"Still there: Left in hand, V4c. {there}" in missed


def test_what_nobody_is_sent_for_is_listed_with_what_was_recorded(
    answered: Planned, console: Callable[..., Console]
) -> None:
    said = answered.plan(console)
    rows = {row["findings"]: row for row in answered.rows("unplanned.csv")}
    assert rows[DUTY]["answered"] == f"{DUTY}: {DECLINED}"
    assert rows[DUTY]["reason"] == "Declined: it is on nobody's list."
    assert rows[HELD_5]["answered"] == f"{HELD_5}: {AWAITED}"
    assert rows[HELD_5]["reason"].startswith("Recorded as done: nobody is sent again before an export shows")
    assert rows[CLOCK_3]["answered"].endswith("Device goes in May.")
    assert rows[HELD_4]["reason"].startswith("Out of reach")  # ordered is work still
    assert rows[HELD_4]["answered"] == f"{HELD_4}: Ordered on 30 October 2026 by D. Dogwood."
    assert [row["minutes"] for row in (rows[DUTY], rows[HELD_5], rows[HELD_4])] == ["", "", "55"]
    counts = "2 findings declined, 1 finding recorded as done"
    assert f"Nobody is sent for these: {counts} (unplanned.csv)." in said
    section = answered.page.split("Nobody is sent for these")[-1].split("What this reckons with")[0]
    assert all(words in section for words in (DECLINED, AWAITED, "Device goes in May."))


def test_critical_findings_that_nobody_is_sent_for_are_named(
    answered: Planned, changed_minds: Planned, console: Callable[..., Console]
) -> None:
    said = answered.plan(console)
    assert f"  Critical and declined: =Cellar (V1), A duty to light is not met, V1c. {DECLINED}\n" in said
    assert "Critical and" not in said.replace("Critical and declined: =Cellar", "")  # HELD_5 is high
    said = changed_minds.plan(console)
    done = "Recorded as done on 4 November 2026 by E. Elm: Lamp works. The export read on 3 November 2026"
    assert f"  Critical and recorded as done: =Cellar (V1), A duty to light is not met, V1c. {done}" in said


def test_a_card_says_what_to_leave_as_it_is(answered: Planned, console: Callable[..., Console]) -> None:
    answered.plan(console)
    card = answered.page.split("Day 1, crew 1, stop ")[1:]
    (here,) = [text for text in card if "Cellar" in text]
    left = here.split("Leave these as they are")[1]
    assert DECLINED in left and DUTY in left
    assert DECLINED not in here.split("Leave these as they are")[0]
    assert "Not in this visit, for want of time" not in here
    assert "To be set, with covers closed" in left  # it stands before what is to be done
    assert "Where something below needs or changes one of these, ring up and ask" in left
    (other,) = [text for text in card if "Site V2" in text]
    assert "Leave these as they are" not in other and "ring up" not in other


def test_the_page_leaves_it_out_of_what_a_desk_does(
    answered: Planned, console: Callable[..., Console]
) -> None:
    answered.plan(console)
    desk = answered.page.split("From a desk, before anybody drives")[1].split("Day by day")[0]
    assert "Five" in desk and "V3" not in desk


def test_a_card_says_that_rows_of_its_site_were_rejected(
    answered: Planned, console: Callable[..., Console]
) -> None:
    answered.plan(console)
    (here,) = [text for text in answered.page.split("Day 1, crew 1, stop ")[1:] if "Site V2" in text]
    assert "1 input row of this site was rejected" in here and "may be wrong" in here


# What a visit is worth -------------------------------------------------------------------------------------


def two_circuits(*actions: Row) -> Tables:
    """A site whose two equal circuits burn day and night, left in hand."""
    tables = memory_case.portfolio(11, s1=memory_case.HELD)
    twin = {"circuit_id": "c1b", "controller_id": "t1", "area": "parking", "connected_watts": 1000}
    tables["circuits"].append(twin | {"hold": "on"})
    return tables | ({"actions": list(actions)} if actions else {})


def worth(folder: Path, tables: Tables) -> Any:
    run_audit(write_folder(folder / "in", tables), folder / "out", folder / "kept.duckdb", days=365)
    with work_store(folder / "kept.duckdb") as connection:
        work = read_work(connection)
    (site,) = [site for site in work.sites if site["site_id"] == "s1"]
    return site, work.findings["s1"]


def test_the_cost_of_a_circuit_counts_as_long_as_somebody_is_sent_for_it(tmp_path: Path) -> None:
    both, findings = worth(tmp_path / "both", two_circuits())
    ids = [row["finding_id"] for row in findings if row["subject_id"] == "c1b"]
    assert len(ids) * 2 == len(findings) and both["avoidable_cost"] > 0
    actions = [answer(key, "declined", "2026-11-01", "A", "Left for the winter") for key in ids]
    one, _ = worth(tmp_path / "one", two_circuits(*actions))
    assert one["avoidable_cost"] == pytest.approx(both["avoidable_cost"] / 2)
    assert one["worth"] == pytest.approx(both["worth"] / 2)
    some, _ = worth(tmp_path / "some", two_circuits(*actions[1:]))
    assert some["avoidable_cost"] == pytest.approx(both["avoidable_cost"])


# Rejected rows ----------------------------------------------------------------------------------------------


def test_nobody_is_sent_for_a_row_that_was_rejected(tmp_path: Path, console: Callable[..., Console]) -> None:
    devices = [dict(row) for row in visits_case.tables()["controllers"]]
    devices[-1]["read_at"] = "2026-11-03"  # of V6: no instant
    planned = Planned(tmp_path, [answer(DUTY, "ordered")], controllers=devices)
    said = planned.plan(console)
    assert "V6" not in {row["site_id"] for row in planned.rows("visits.csv")}
    (left,) = [row for row in planned.rows("unplanned.csv") if row["site_id"] == "V6"]
    assert left["reason"] == "Rows of this site were rejected: nobody is sent before they are mended."
    assert "1 finding of rejected rows" in said
    assert "Mend the rejected rows of this site first" in (tmp_path / "out/findings.csv").read_text("utf-8")
