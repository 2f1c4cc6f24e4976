"""Changes one thing at a time and asks the tests; says how many changes nobody noticed, and which.

    python -m tests.mutation.run [WORD …] [--each N] [--seed N] [--quick]

Words choose files by their path (none: all). Of each file at most N mutants are drawn, the same for the same
seed. ``--quick`` leaves out the test files. The project itself is not touched: all happens in a copy.
Survivors that ``equivalent.toml`` explains are counted apart. Ends with 1 where others survive.
"""

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
import time
import tomllib
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from multiprocessing.connection import wait
from pathlib import Path
from tempfile import TemporaryDirectory

from .mutant import Mutant
from .sql import sql_mutants
from .targets import ROOT, Target, targets

_COPIED = ("auditor", "queries", "reports", "fixtures", "tests", "pyproject.toml", "README.md")
_LEAST_SECONDS = 60  # that a judge is waited for, however quick it was on the program as it is
_LONG = 1800  # seconds
_BEGIN_ANEW = ("figures", "cases")  # checks for which a judge remembers nothing of the program as it is


@dataclass
class Asker:
    """A process of ``judge.py`` in the copy, begun when it is needed and anew where it hangs or dies."""

    copy: Path
    scratch: Path
    process: subprocess.Popen[str] | None = None
    patience: dict[str, float] = field(default_factory=dict)  # seconds by check
    differs: str = ""  # what the last answer said to be unlike before

    def prepare(self, check: str) -> None:
        """Has the check answered for the program as it is. Raises ValueError where it is wrong already."""
        if check in self.patience and check in _BEGIN_ANEW:
            return
        began = time.monotonic()
        if wrong := self.answer(check, _LONG):
            raise ValueError(f"{check} is wrong without any change: {wrong}")
        self.patience[check] = max(_LEAST_SECONDS, 4 * (time.monotonic() - began))

    def answer(self, check: str, seconds: float) -> str:
        """What the judge finds wrong; blank where nothing is."""
        process = self.process = self.process or self._begun()
        assert process.stdin and process.stdout
        try:
            process.stdin.write(f"{check}\n")
            process.stdin.flush()
            line = process.stdout.readline() if wait([process.stdout], seconds) else ""
        except BrokenPipeError:
            line = ""
        if not line:
            self.end()
            self.differs = ""
            return "hangs or crashes"
        wrong, self.differs = json.loads(line)
        return str(wrong)

    def _begun(self) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-m", "tests.mutation.judge", str(self.scratch)],
            cwd=self.copy,
            env=_environment(self.copy),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )

    def end(self) -> None:
        """Ends the process."""
        if self.process:
            self.process.kill()
            self.process.communicate()
            self.process = None


@dataclass
class Tally:
    """What became of the mutants of one file."""

    killed: Counter[str] = field(default_factory=Counter)  # by who noticed
    equivalent: list[Mutant] = field(default_factory=list)
    survived: list[tuple[str, Mutant]] = field(default_factory=list)  # with what differs all the same

    @property
    def ran(self) -> int:
        return self.killed.total() + len(self.equivalent) + len(self.survived)


@dataclass(frozen=True)
class Lab:
    """The copy of the project, the process in it, and the changes that are known to change nothing."""

    copy: Path
    asker: Asker
    equivalent: set[tuple[str, str, str]]
    quick: bool

    def judge(self, target: Target, mutants: list[Mutant]) -> Tally:
        """Tries each mutant; prints those that survive as they do."""
        tally = Tally()
        for mutant in mutants:
            if key(mutant) in self.equivalent:
                tally.equivalent.append(mutant)
            elif who := self._noticed(target, mutant):
                tally.killed[who] += 1
            else:
                tally.survived.append((self.asker.differs, mutant))
                print(f"survives {self.asker.differs or '-'}: {mutant}", flush=True)
        return tally

    def _noticed(self, target: Target, mutant: Mutant) -> str:
        """Who notices the change; blank where nobody does."""
        if target.is_sql and not self.asker.process:
            self.prepare(target)  # before the change: what it remembers must be of the program as it is
        if not target.is_sql:
            self.asker.end()  # what is imported once stays
        with _in_place(self.copy / mutant.file, mutant.text):
            for check in target.checks:
                if self.asker.answer(check, self.asker.patience[check]):
                    return check.partition(" ")[0]
            return "" if self.quick else self._failing(target)

    def prepare(self, target: Target) -> None:
        """Has every check of a target answered for the program as it is."""
        self.asker.end()
        for check in target.checks:
            self.asker.prepare(check)

    def _failing(self, target: Target) -> str:
        """The first test file that fails."""
        for test in target.tests:
            command = [sys.executable, "-m", "pytest", "-n", "0", "-x", "-q", "-p", "no:cacheprovider", test]
            try:
                done = subprocess.run(
                    command, cwd=self.copy, env=_environment(self.copy), capture_output=True, timeout=900
                )
            except subprocess.TimeoutExpired:
                return test
            if done.returncode:
                return test
        return ""


def key(mutant: Mutant) -> tuple[str, str, str]:
    """How ``equivalent.toml`` names a mutant: by its words, which a line number would outlive."""
    return mutant.file, mutant.was, mutant.becomes


def known_equivalent() -> dict[tuple[str, str, str], str]:
    """Reasons by mutant."""
    content = tomllib.loads((ROOT / "tests/mutation/equivalent.toml").read_text(encoding="utf-8"))
    return {
        (group["file"], was, becomes): group["why"]
        for group in content.get("group", [])
        for was, becomes in group["changes"]
    }


def mutants_of(target: Target) -> list[Mutant]:
    """Every mutant of a target."""
    text = (ROOT / target.file).read_text(encoding="utf-8")
    if target.is_sql:
        return sql_mutants(target.file, text)
    from .python import python_mutants

    return python_mutants(target.file, text)


def drawn(target: Target, each: int, seed: int) -> list[Mutant]:
    """At most ``each`` mutants of a target (0: all), in their order."""
    found = mutants_of(target)
    if not each or len(found) <= each:
        return found
    places = random.Random(f"{seed} {target.file}").sample(range(len(found)), each)
    return [found[place] for place in sorted(places)]


@contextmanager
def _in_place(path: Path, text: str) -> Iterator[None]:
    before = path.read_text(encoding="utf-8")
    path.write_text(text, encoding="utf-8")
    try:
        yield
    finally:
        path.write_text(before, encoding="utf-8")


def _environment(copy: Path) -> dict[str, str]:
    """Bytecode is not kept: two changes within a second would be taken for one."""
    return os.environ | {"PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}


@contextmanager
def _lab(quick: bool) -> Iterator[Lab]:
    with TemporaryDirectory(prefix="mutation-") as scratch:
        copy, kept = Path(scratch, "project"), Path(scratch, "kept")
        kept.mkdir()
        for name in _COPIED:
            source = ROOT / name
            if source.is_dir():
                shutil.copytree(source, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(source, copy / name)
        asker = Asker(copy, kept)
        try:
            yield Lab(copy, asker, set(known_equivalent()), quick)
        finally:
            asker.end()


def _line(name: str, tally: Tally) -> str:
    judges = ", ".join(f"{who} {times}" for who, times in tally.killed.most_common())
    left = f"{len(tally.equivalent)} equivalent, {len(tally.survived)} survive"
    if words := sum(differs == "words differ" for differs, _ in tally.survived):
        left += f", {words} of them in words of evidence and remedy"
    return f"{name}: {tally.ran} mutants: {tally.killed.total()} killed, {left} ({judges})"


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description="Mutation testing.")
    parser.add_argument("words", nargs="*", help="parts of the paths of files; none: all")
    parser.add_argument("--each", type=int, default=0, help="at most so many mutants a file")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--quick", action="store_true", help="the quick judges alone, no test files")
    options = parser.parse_args()
    tallies: dict[str, Tally] = {}
    with _lab(options.quick) as lab:
        for target in targets(options.words):
            lab.prepare(target)
            tallies[target.file] = lab.judge(target, drawn(target, options.each, options.seed))
            print(_line(target.file, tallies[target.file]), flush=True)
    total = Tally(
        sum((tally.killed for tally in tallies.values()), Counter()),
        [mutant for tally in tallies.values() for mutant in tally.equivalent],
        [found for tally in tallies.values() for found in tally.survived],
    )
    print(_line("all", total))
    sys.exit(1 if total.survived else 0)


if __name__ == "__main__":
    main()
