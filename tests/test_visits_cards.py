"""The page of auditor visits: the plan, and a card for each stop."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from auditor.resources import query
from auditor.rules import load_rules
from auditor.visits import work_store

from . import visits_case
from .conftest import Console
from .visits_case import rows

BASE = visits_case.BASE


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return visits_case.keep(tmp_path_factory.mktemp("visits"))


@pytest.fixture
def planned(store: Path, tmp_path: Path, console: Callable[..., Console]) -> Callable[..., tuple[Path, str]]:
    return visits_case.planner(store, tmp_path / "plan", console)


def test_texts_are_shielded_in_the_lists_and_escaped_on_the_page(
    planned: Callable[..., tuple[Path, str]],
) -> None:
    folder, _ = planned("--days", 1, "--base", BASE)
    assert "'=Cellar" in {row["name"] for row in rows(folder / "visits.csv")}
    page = (folder / "visits.html").read_text(encoding="utf-8")
    assert "&lt;b&gt;Five&lt;/b&gt;" in page and "<b>Five" not in page


def card(page: str, site: str) -> str:
    """The text of a site's card."""
    (found,) = [
        part for part in page.split('<section class="card"')[1:] if f'<span class="id">{site}</span>' in part
    ]
    return found


def test_a_card_says_what_was_found_what_to_set_and_leaves_room_for_what_was_left(
    planned: Callable[..., tuple[Path, str]], store: Path
) -> None:
    folder, _ = planned("--days", 1, "--base", BASE)
    page = (folder / "visits.html").read_text(encoding="utf-8")
    assert page.count('<section class="card"') == 3
    with work_store(store) as connection:
        told = connection.execute(
            "SELECT summary, seen, remedy FROM findings WHERE site_id = 'V2'"
        ).fetchall()
    here = card(page, "V2")
    assert told and all(words in here for row in told for words in row)
    for words in (
        "As left at Site V2",
        "It shows (date, time)",
        "True local date and time",
        "Signature",
        "Access, keys",
    ):
        assert words in here
    assert "never switch off egress, emergency, security or care lighting" in here
    assert "No electrician is needed as long as covers stay closed" in here
    assert "XTS" in here and "180 for a visit" in here
    assert "break-before: page" in page


def test_a_card_shows_the_program_and_has_room_for_what_is_found_on_site(
    planned: Callable[..., tuple[Path, str]],
) -> None:
    folder, _ = planned("--days", 1, "--base", BASE)
    page = (folder / "visits.html").read_text(encoding="utf-8")
    here = card(page, "V1")
    assert "V1c on device V1D, <b>left by hand in off</b>. Every day: on at sunset, off at sunrise." in here
    assert "V2c on device" not in card(page, "V2")  # whose finding is about its clock, not about a program
    found = here.split("As found on site, before anything is touched")[1].split("As found in the export")[0]
    assert all(words in found for words in ("It shows (date, time)", "True local date and time", "V1D"))
    assert "record each finding by its number" in here


def test_a_day_says_what_is_to_be_put_right_at_each_stop(planned: Callable[..., tuple[Path, str]]) -> None:
    folder, said = planned("--days", 1, "--base", BASE)
    assert "    To put right: A duty to light is not met; Left in hand.\n" in said
    page = (folder / "visits.html").read_text(encoding="utf-8")
    assert "1 critical, 1 high: A duty to light is not met; Left in hand." in page


def test_every_rule_of_ours_has_a_kind_of_work() -> None:
    work = query("visits/00_work.sql")
    assert {rule.name for rule in load_rules() if f"('{rule.name}', '" not in work} == set()


def test_a_card_says_what_was_done_before(planned: Callable[..., tuple[Path, str]], store: Path) -> None:
    with work_store(store) as connection:
        (key,) = connection.execute("SELECT finding_id FROM actions").fetchone() or ()
    folder, _ = planned("--days", 1, "--base", BASE)
    here = card((folder / "visits.html").read_text(encoding="utf-8"), "V2")
    assert key in here and "Ordered" in here and "From the stores" in here


def test_a_card_lists_what_the_desk_does_before_the_visit(planned: Callable[..., tuple[Path, str]]) -> None:
    folder, _ = planned("--days", 1, "--base", BASE)
    page = (folder / "visits.html").read_text(encoding="utf-8")
    assert "From the desk, before the visit" in card(page, "V5")
    assert "From the desk, before the visit" not in card(page, "V2")


def test_a_plan_without_a_visit_says_so(planned: Callable[..., tuple[Path, str]]) -> None:
    folder, said = planned("--days", 1, "--base", "0,0")  # in the sea off Africa, far from every site
    assert "1 crew day has no visit." in said and rows(folder / "visits.csv") == []
    page = (folder / "visits.html").read_text(encoding="utf-8")
    assert "No visit is planned." in page and "0 stops" not in page


def test_the_page_asks_nothing_of_the_network(planned: Callable[..., tuple[Path, str]]) -> None:
    folder, _ = planned("--days", 1, "--base", BASE)
    page = (folder / "visits.html").read_text(encoding="utf-8")
    assert not re.search(r"(src|href)=\"(?!#)", page) and "<script" not in page
