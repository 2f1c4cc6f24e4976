"""auditor visits: what it refuses, each in one sentence."""

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from . import visits_case
from .conftest import Console

BASE = visits_case.BASE


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return visits_case.keep(tmp_path_factory.mktemp("visits"))


@pytest.fixture
def planned(store: Path, tmp_path: Path, console: Callable[..., Console]) -> Callable[..., tuple[Path, str]]:
    return visits_case.planner(store, tmp_path / "plan", console)


def refusal(console: Callable[..., Console], *words: object) -> str:
    status, said, wrong = console("visits", *words)
    assert (status, said) == (2, "")
    assert wrong.startswith("auditor: ") and wrong.count("\n") == 1
    return wrong


def test_the_store_is_left_as_it_was(store: Path, planned: Callable[..., tuple[Path, str]]) -> None:
    before = store.read_bytes()
    planned("--days", 1)
    assert store.read_bytes() == before


def test_without_the_solver_one_sentence_says_how_to_get_it(
    console: Callable[..., Console], store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "ortools.sat.python", None)
    sentence = refusal(console, "--store", store, "--days", 1, "--out", tmp_path / "none")
    assert "OR-tools, which is not installed" in sentence and "pip install" in sentence
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize(
    ("base", "words"),
    [
        ("52", "is no place"),
        ("a,b", "is no place"),
        ("91,0", "not on the globe"),
        ("nan,0", "not on the globe"),
    ],
)
def test_a_base_that_is_no_place_is_refused(
    console: Callable[..., Console], store: Path, base: str, words: str
) -> None:
    assert words in refusal(console, "--store", store, "--days", 1, "--base", base)


def test_more_bases_than_crews_are_refused(console: Callable[..., Console], store: Path) -> None:
    bases = ("--base", BASE, "--base", "1,1")
    assert "give --crews 2" in refusal(console, "--store", store, "--days", 1, "--crews", 1, *bases)
