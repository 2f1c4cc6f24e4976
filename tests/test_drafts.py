"""A store in the making: no log, nothing beside it, whole when closed; what is said for want of memory."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import duckdb
import pytest

from auditor import audit
from auditor.model import Settings
from auditor.rules import load_rules, run_rules
from auditor.store import open_store, out_of_memory, session

from .conftest import Console, small, write_folder


def test_pages_that_find_no_memory_go_beside_the_draft(tmp_path: Path) -> None:
    """Not into the folder in which the command was typed, which is where an engine in memory puts them."""
    draft = tmp_path / "audit.duckdb"
    with open_store(draft) as connection:
        place = connection.execute("SELECT current_setting('temp_directory')").fetchone()
    assert place == (f"{draft}.tmp",)


def test_a_draft_keeps_no_log_and_is_whole_when_closed(tmp_path: Path) -> None:
    """Whatever a draft holds is written once. The small change would stand in a log, had it one."""
    draft = tmp_path / "audit.duckdb"
    with open_store(draft) as connection, session(connection) as other:
        other.execute("INSERT INTO site_digests VALUES ('S1', 'x')")
        assert [entry.name for entry in tmp_path.iterdir()] == ["audit.duckdb"]
    with duckdb.connect(str(draft), read_only=True) as store:
        assert store.execute("FROM site_digests").fetchall() == [("S1", "x")]


def test_too_little_memory_is_no_fault_of_the_rule_that_found_it_so(tmp_path: Path) -> None:
    with open_store(tmp_path / "audit.duckdb") as store:
        store.execute("SET memory_limit = '20MB'")
        greedy = replace(
            load_rules()[0], sql="SELECT list(i) FROM range(100000000) AS numbers (i)", params={}
        )
        with pytest.raises(duckdb.OutOfMemoryException) as found:
            run_rules(store, [greedy], Settings(), lambda _: None)
    assert "too little memory" in str(out_of_memory(found.value)) and out_of_memory(ValueError()) is None


def test_a_command_says_how_to_give_the_engine_more(
    console: Callable[..., Console], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise duckdb.OutOfMemoryException("Out of Memory Error: could not allocate block\nmore")

    monkeypatch.setattr(audit, "audit", full)
    status, _, said = console("run", write_folder(tmp_path / "in", small()), "--out", tmp_path / "out")
    assert status == 2
    assert said.endswith("could not allocate block); give it more by --memory.\n") and said.count("\n") == 1
