"""The command that makes packs for a reviewer: what it says, and what it refuses."""

import hashlib
import re
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from auditor.errors import UserError
from auditor.report.links import page_name

from .conftest import Console
from .pack_case import kept, pack


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return kept(tmp_path_factory.mktemp("kept"))


def test_one_site_has_no_matrix(store: Path, tmp_path: Path) -> None:
    pack(store, tmp_path, "L")
    assert not (tmp_path / "matrix.html").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--site", "Q"), 'no site "Q" in this store; sites.csv of the audit lists those that there are.'),
        (("--site", "L", "--code", "iecc-2020"), 'no code edition "iecc-2020"; did you mean "iecc-20'),
        (("--site", "L", "--code", "zz"), 'no code edition "zz"; auditor codes lists those that there are.'),
        (("--site", "L", "--codes", __file__), "test_pack_command.py is a file and no folder; name another."),
        (("--site", "L", "--codes", "nowhere"), "nowhere is not there; name the folder with your editions"),
        ((), "name sites with --site ID, or ask for all with --all-sites"),
        (("--site", "L", "--all-sites"), "--site and --all-sites were both given; keep one of them"),
    ],
)
def test_what_cannot_be_made_is_said_in_a_sentence(
    console: Callable[..., Console], store: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    status, _, error = console("evidence", "--store", store, "--out", tmp_path / "out", *words)
    assert status == 2 and said in error
    assert not (tmp_path / "out").exists()


def test_pdf_without_its_library_says_what_to_install(
    store: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(UserError, match=r"PDF needs the package weasyprint; install it with pip install"):
        pack(store, tmp_path / "out", "L", paper="a4")
    assert not (tmp_path / "out").exists()


def test_the_command_says_how_each_site_came_out(
    console: Callable[..., Console], store: Path, tmp_path: Path
) -> None:
    status, said, _ = console("evidence", "--store", store, "--all-sites", "--out", tmp_path)
    assert status == 0
    assert re.search(
        r"^L: \d+ contrary, \d+ insufficient data, \d+ consistent, \d+ not applicable$", said, re.M
    )
    assert said.splitlines()[-1] == f"Pack: {tmp_path.resolve()}"


def test_an_amendment_of_ones_own_is_named_as_such(
    console: Callable[..., Console], store: Path, tmp_path: Path
) -> None:
    own = Path(__file__).parent.parent / "fixtures" / "codes"
    words = ("--site", "L", "--code", "example-state-2021", "--codes", own)
    assert console("evidence", "--store", store, "--out", tmp_path, *words)[0] == 0
    page = (tmp_path / page_name("L")).read_text("utf-8")
    digest = hashlib.sha256((own / "example-state.toml").read_bytes()).hexdigest()
    assert f'<td class="sum">{digest}</td>' in page  # one of the files that this was prepared from
    assert "amends iecc-2021" in page and "file example-state.toml" in page
    assert "does not ask for this, as far as these data go" in page  # motion control, which it takes away
