"""A user's query ends: when its time is up, when it wants all memory, and when nobody is left to stop it."""

import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from .test_own_rules_locked import asked, folder, refusal, rule_of

__all__ = ["folder"]  # the fixture
SANDBOX = Path(__file__).parent.parent / "auditor" / "ownrules"

ENDLESS = {
    "recursion": "WITH RECURSIVE r(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM r) SELECT max(i) FROM r",
    "a cross join": "SELECT count(*) FROM range(1000000) a, range(1000000) b, range(1000000) c",
    "one function on one value": "SELECT length(repeat('x', 2000000000))",
}


@pytest.mark.parametrize("attempt", ENDLESS)
def test_a_query_without_end_is_stopped(folder: Path, attempt: str) -> None:
    start = time.monotonic()
    sentence = refusal(folder, rule_of(f"SELECT x::VARCHAR FROM ({ENDLESS[attempt]}) AS e(x)"), seconds=2)
    assert "was stopped after 2 s; ask it for less, or give it longer with --rule-seconds" in sentence
    assert time.monotonic() - start < 20  # of 100 and more


GREEDY = {
    "a list": "SELECT length(list(i || 'xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx')) FROM range(1000000000) t(i)",
    "a joined text": "SELECT length(string_agg(repeat('x', 10000000), '')) FROM range(1000)",
    "a sort": "SELECT max(i) FROM (SELECT i FROM range(10000000000) t(i) ORDER BY hash(i) LIMIT 1000000000)",
    "a long answer, which the engine can hold": "SELECT repeat(repeat('x', 1000000), 80)",
    "a long text, which the engine does not count": "SELECT length(repeat(repeat('x', 1000000), 3000))",
}


@pytest.mark.parametrize("attempt", GREEDY)
def test_a_query_that_wants_all_memory_does_not_get_it(folder: Path, attempt: str) -> None:
    sentence = refusal(folder, rule_of(f"SELECT x::VARCHAR FROM ({GREEDY[attempt]}) AS g(x)"), seconds=60)
    assert "needs more than the 1 GB of memory that a rule may take" in sentence


def in_the_sandbox(program: str) -> subprocess.CompletedProcess[str]:
    """Runs Python beside the sandbox's own, shut in as that is."""
    start = (
        f"import sys; sys.path.insert(0, {str(SANDBOX)!r}); import sandbox, socket; sandbox._shut_in(-3)\n"
    )
    return subprocess.run([sys.executable, "-c", start + program], capture_output=True, text=True, timeout=60)


@pytest.mark.parametrize("attempt", ["open('/dev/null')", "socket.socket()"])
def test_the_system_opens_neither_file_nor_socket(attempt: str) -> None:
    assert "Too many open files" in in_the_sandbox(attempt).stderr


def test_it_ends_when_whoever_asked_was_killed() -> None:
    inside = (
        f"import sys; sys.path.insert(0, {str(SANDBOX)!r}); import sandbox; engine = sandbox.locked(None); "
    )
    inside += "sandbox._shut_in(60); print(flush=True); "
    inside += "engine.execute('SELECT max(hash(range)) FROM range(100000000000)')"
    start = f"import subprocess, sys; subprocess.run([sys.executable, '-c', {inside!r}])"
    parent = subprocess.Popen([sys.executable, "-c", start], stdout=subprocess.PIPE)
    assert parent.stdout and parent.stdout.readline()  # shut in, and at work from now on
    parent.kill()
    parent.communicate(timeout=30)  # of 65; which ends when nobody is left to write there


def test_the_system_ends_what_nobody_is_left_to_stop() -> None:
    assert in_the_sandbox("import time; time.sleep(50)").returncode == -14  # SIGALRM, at -3 + 5 s


def test_no_file_beside_it_is_taken_for_a_module(
    folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    shutil.copy(SANDBOX / "sandbox.py", tmp_path)
    (tmp_path / "duckdb.py").write_text("raise RuntimeError('not the engine')")
    monkeypatch.setattr("auditor.ownrules.asking._SANDBOX", tmp_path / "sandbox.py")
    assert asked(folder, rule_of("SELECT 'x'"))


def test_a_query_that_brings_the_engine_down_gives_a_sentence(
    folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "crash.py").write_text("import os; os.abort()")
    monkeypatch.setattr("auditor.ownrules.asking._SANDBOX", tmp_path / "crash.py")
    assert "brought the engine down" in refusal(folder, "SELECT 1")


def test_a_fault_of_the_sandbox_itself_is_a_fault_of_the_program(
    folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "wrong.py").write_text("import nothing_of_that_name")
    monkeypatch.setattr("auditor.ownrules.asking._SANDBOX", tmp_path / "wrong.py")
    with pytest.raises(RuntimeError, match="nothing_of_that_name"):
        asked(folder, "SELECT 1")
