"""A command that is hit at a chosen moment, and what must hold after that.

A moment is a change of files that Python makes (a file opened to be written, a rename, a removal, a folder
made or removed), or one event that Python's audit hooks tell, with its first argument: "import polars". They
are counted from the start of the process: no clock is needed to hit the same one again.
"""

import hashlib
import json
import os
import signal
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import duckdb

from .conftest import contents

_ROOT = Path(__file__).parent.parent
_HIT = """
import atexit, os, signal, sys

event, number, how = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
changes = {"os.rename", "os.remove", "os.mkdir", "os.rmdir"}
seen = {"change": 0, "os.rename": 0}


def count(name):
    seen[name] = seen.get(name, 0) + 1
    if (name, seen[name]) == (event, number):
        os.kill(os.getpid(), how)


def hook(name, given):
    if name in changes or name == "open" and given[2] & (os.O_WRONLY | os.O_RDWR):
        count("change")
    for told in {"os.rename", event} & {name, f"{name} {given[0] if given else ''}"}:
        count(told)


sys.addaudithook(hook)
if not number:
    atexit.register(lambda: print("moments", seen["change"], seen["os.rename"], file=sys.stderr))
sys.argv = ["auditor", *sys.argv[4:]]
"""
_COMMAND = "from auditor.__main__ import main\nmain()\n"


@dataclass(frozen=True)
class Hit:
    """Where a process is hit, and how: just before its ``number``-th ``event`` (0: nowhere)."""

    number: int
    event: str = "change"
    how: int = signal.SIGKILL


NOWHERE = Hit(0)


def start(
    words: Sequence[object],
    scratch: Path,
    hit: Hit = NOWHERE,
    program: str = _COMMAND,
    before: Sequence[object] = (),
    **more: object,
) -> "subprocess.Popen[str]":
    """A command in a process of its own, or another program instead; ``scratch`` is its TMPDIR.

    ``before`` is a command that starts it, such as one that takes its rights.
    """
    scratch.mkdir(exist_ok=True)
    place = {"PYTHONPATH": str(_ROOT), "TMPDIR": str(scratch), "PYTHONDONTWRITEBYTECODE": "1"}
    typed = [hit.event, hit.number, int(hit.how), *words]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    command = [*map(str, before), sys.executable, "-c", _HIT + program, *map(str, typed)]
    return subprocess.Popen(command, env={**os.environ, **place}, **pipes, **more)


def end(process: "subprocess.Popen[str]") -> tuple[int, str]:
    """Exit status (negative: ended by that signal) and standard error."""
    _, said = process.communicate(timeout=120)
    return process.returncode, said


def moments(said: str) -> tuple[int, int]:
    """How many changes an undisturbed process made, and how many of them renames, from what it said."""
    changes, renames = map(int, said.split()[-2:])
    return changes, renames


def is_of_one_run(out: Path) -> bool:
    """Whether run.json is there and vouches for every result beside it; foreign files do not count."""
    if not (out / "run.json").exists():
        return False
    told = json.loads((out / "run.json").read_text(encoding="utf-8"))["results"]
    assert {
        name: hashlib.sha256((out / name).read_bytes()).hexdigest() for name in told if (out / name).exists()
    } == told
    return True


def results(out: Path) -> dict[str, bytes]:
    """Every file of a folder by its name, but for drafts."""
    return {name: text for name, text in contents(out).items() if ".part/" not in name}


def drafts(*folders: Path) -> list[str]:
    """What a process that was killed left in folders: hidden places to work in."""
    return sorted(path.name for folder in folders for path in folder.iterdir() if path.name.startswith("."))


def break_off(store: Path, statement: str) -> Path:
    """Changes a store in a process that ends before it is closed; the log that is left beside it."""
    program = (
        "import duckdb, os, sys; kept = duckdb.connect(sys.argv[1]); kept.execute(sys.argv[2]); os._exit(1)"
    )
    subprocess.run([sys.executable, "-c", program, store, statement], check=False)
    return store.with_name(f"{store.name}.wal")


def dump(store: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every table of a store with its rows in order."""
    with duckdb.connect(str(store), read_only=True) as connection:
        names = connection.execute("SELECT table_name FROM duckdb_tables() ORDER BY ALL").fetchall()
        return {name: connection.execute(f"FROM {name} ORDER BY ALL").fetchall() for (name,) in names}
