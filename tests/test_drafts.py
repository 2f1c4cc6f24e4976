"""A store in the making: no log, nothing beside it, and whole when it is closed."""

from pathlib import Path

import duckdb

from auditor.store import open_store, session


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
