"""The clock of the machine is nobody's business: a run asks it nothing, and may see it jump as it likes."""

import ast
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from auditor.ownrules.sandbox import _UNSTEADY, _WORDS, locked
from auditor.rules import bare

from .conftest import run_audit, small, write_folder
from .knocks_case import dump, end, results, start

ROOT = Path(__file__).parent.parent
ASKS = {"now", "utcnow", "today"}
# Each answers with every tick of the clock a day more and less in turn, and goes on from there.
JUMPS = r"""
#define _GNU_SOURCE
#include <sys/syscall.h>
#include <sys/time.h>
#include <time.h>
#include <unistd.h>
static long calls;
static long off(void) { return ++calls % 2 ? calls * 86400 : -calls * 86400; }
int clock_gettime(clockid_t which, struct timespec *to) {
    int done = syscall(SYS_clock_gettime, which, to);
    if (which == CLOCK_REALTIME || which == CLOCK_REALTIME_COARSE) to->tv_sec += off();
    return done;
}
int gettimeofday(struct timeval *to, void *zone) {
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    to->tv_sec = now.tv_sec; to->tv_usec = now.tv_nsec / 1000;
    return 0;
}
time_t time(time_t *to) {
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    if (to) *to = now.tv_sec;
    return now.tv_sec;
}
"""


def asks(path: Path) -> Iterator[str]:
    """What in a file of Python asks a clock: the module time, and dates and datetimes of now."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        called = (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in ASKS
        )
        imported = isinstance(node, ast.Import) and any(name.name == "time" for name in node.names)
        if called or imported or (isinstance(node, ast.ImportFrom) and node.module == "time"):
            yield f"{path.relative_to(ROOT)}: {ast.unparse(node)}"


def test_nothing_asks_for_the_time_but_an_action_that_was_just_done() -> None:
    found = [asked for path in sorted((ROOT / "auditor").rglob("*.py")) for asked in asks(path)]
    assert found == ["auditor/cli.py: date.today()"]


def test_no_query_asks_for_the_time_or_for_chance() -> None:
    """By what the engine says of functions, as for a user's own rules, wherever their names are called."""
    with locked(None) as engine:
        names = {name for name, _ in engine.execute(_UNSTEADY).fetchall()}
    assert {"now", "random", "uuid", "age", "get_current_timestamp"} <= names
    calls = rf"\b(?:{'|'.join(names)})(?=\s*\()|\b(?:{'|'.join(_WORDS)}|tablesample|using\s+sample)\b"
    found = {
        path.name: said[0]
        for path in sorted((ROOT / "queries").rglob("*.sql"))
        if (said := re.search(calls, bare(path.read_text(encoding="utf-8")), re.IGNORECASE))
    }
    assert found == {}


@pytest.mark.nightly
@pytest.mark.skipif(not shutil.which("cc"), reason="needs a C compiler to bend the clock")
def test_a_clock_that_jumps_with_every_look_at_it_changes_no_byte(tmp_path: Path) -> None:
    """Also of what engine and libraries do by themselves: they see the bent clock, too."""
    (tmp_path / "jumps.c").write_text(JUMPS)
    library = tmp_path / "jumps.so"
    subprocess.run(["cc", "-shared", "-fPIC", "-o", library, tmp_path / "jumps.c"], check=True)
    source = write_folder(tmp_path / "portfolio", small())
    run_audit(source, tmp_path / "out", tmp_path / "audit.duckdb")
    bent = ["env", f"LD_PRELOAD={library}"]
    looks = "import time\nprint(abs(time.time() - time.time()) > 86400, file=sys.stderr)\n"
    assert end(start([], tmp_path / "tmp", program=looks, before=bent))[1].startswith("True")
    words = ["run", source, "--out", tmp_path / "bent", "--days", 7, "--store", tmp_path / "bent.duckdb"]
    status, said = end(start(words, tmp_path / "tmp", before=bent))
    assert status == 0, said
    assert results(tmp_path / "bent") == results(tmp_path / "out")
    assert dump(tmp_path / "bent.duckdb") == dump(tmp_path / "audit.duckdb")
