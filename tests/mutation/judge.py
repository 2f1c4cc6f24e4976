"""The quick judges: what the program does, against the cases of the rules and the brute-force evaluation.

A process of its own, for a mutant may hang or crash: ``python -m tests.mutation.judge``, in a copy of the
project whose files somebody else changes. It reads one check a line and answers each with a line of JSON:
what is wrong (blank: nothing), and what differs all the same. Checks: ``rule NAME`` (the cases of one rule,
over a year that was worked out before), ``cases`` (those of all rules, the year anew) and ``figures`` (the
brute-force evaluation).
"""

import json
import resource as limits
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from auditor.model import Settings
from auditor.rules import load_rules, run_rules
from auditor.store import Connection
from tests.cases import Answer, Case, Run, base, by_case, load_cases, moved, settings_text, write_cases
from tests.reference.compare import Figures, disagreement
from tests.reference.evaluate import evaluate
from tests.reference.figures import FIGURES
from tests.reference.random_portfolio import write
from tests.test_rules import differences
from tests.year_case import circuit_figures, finding_rows, judged, ready_for_rules, result_rows, worked_year

_SAMPLES = ((101, date(2026, 11, 1), 365), (104, date(2027, 2, 1), 75))  # seed, first date, days
_CONTROLLERS = 12
_DIFFERENCES = ("", "words differ", "rows differ")
_LARGEST = 4 << 30  # bytes of one file: a condition too few can make a join of everything with everything


@dataclass
class Judge:
    """Remembers what no mutant touches: portfolios as read, years under the rules, the slow evaluation."""

    scratch: Path
    years: dict[tuple[str, Run], tuple[Connection, Settings]] = field(default_factory=dict)
    differs: str = ""  # of a rule: what is unlike before, although nothing is wrong

    def wrong(self, check: str) -> str:
        """The first thing that is wrong by this check; blank where nothing is."""
        kind, _, name = check.partition(" ")
        self.differs = ""
        judges = {"rule": self._rule, "cases": self._cases, "figures": self._figures}
        return next(judges[kind](name), "")

    def _rule(self, name: str) -> Iterator[str]:
        """The rule alone, over years and the other rules' verdicts, which stay."""
        for run, cases in _runs(name).items():
            connection, settings = self._year_below(name, run, cases)
            connection.begin()
            try:
                connection.execute("DELETE FROM verdicts WHERE rule = ?", [name])
                judged(connection, settings, [rule for rule in load_rules() if rule.name == name])
                yield from _wrong(connection, cases)
                self.differs = max(self.differs, _difference(connection, name), key=_DIFFERENCES.index)
            finally:
                connection.rollback()

    def _year_below(self, name: str, run: Run, cases: list[Case]) -> tuple[Connection, Settings]:
        if (name, run) not in self.years:
            connection, settings = _year(self._folder(f"{name} {hash(run)}", run, cases), run)
            run_rules(connection, load_rules(), settings, lambda rule: None)
            connection.execute("CREATE TABLE verdicts_before AS FROM verdicts")
            self.years[name, run] = connection, settings
        return self.years[name, run]

    def _cases(self, name: str) -> Iterator[str]:
        for run, cases in _runs(name).items():
            connection, settings = _year(self._folder(f"{name} {hash(run)}", run, cases), run)
            with connection:
                judged(connection, settings, load_rules())
                yield from _wrong(connection, cases)

    def _folder(self, name: str, run: Run, cases: list[Case]) -> Path:
        """The cases as one portfolio."""
        folder = self.scratch / name
        if not folder.exists():
            folder.mkdir()
            rules = {case.rule: moved(case.rule) for case in cases} if run.moved else {}
            text = (base()["settings"] if run.settings else "") + settings_text(rules)
            (folder / "portfolio.toml").write_text(text, encoding="utf-8")
            write_cases(folder, _numbered(cases))
        return folder

    def _figures(self, _: str) -> Iterator[str]:
        for seed, start, days in _SAMPLES:
            folder = self.scratch / f"seed {seed}"
            expected = self._expected(folder, seed, start, days)
            connection, _ = worked_year(folder, start, days)
            with connection:
                found = circuit_figures(connection)
            yield from (f"{seed}: {text}" for text in disagreement(folder, found, expected, days))

    def _expected(self, folder: Path, seed: int, start: date, days: int) -> Figures:
        """By the brute-force evaluation, for the circuits of a random portfolio."""
        kept = self.scratch / f"seed {seed}.json"
        if not kept.exists():
            write(folder, seed, _CONTROLLERS)
            found = evaluate(folder, start, days)
            figures = {key: {name: row[name] for name in FIGURES} for key, row in found.items()}
            kept.write_text(json.dumps(figures))
        return dict(json.loads(kept.read_text()))


def _runs(rule: str) -> dict[Run, list[Case]]:
    """The cases of a rule (blank: of all) by their run."""
    found: dict[Run, list[Case]] = {}
    for case in load_cases():
        if rule in ("", case.rule):
            found.setdefault(case.run, []).append(case)
    return found


def _numbered(cases: list[Case]) -> dict[str, Case]:
    return {f"{number:04}.": case for number, case in enumerate(cases)}


def _year(folder: Path, run: Run) -> tuple[Connection, Settings]:
    """A store in which the rules may run."""
    connection, settings = worked_year(folder, date.fromisoformat(run.start), run.days)
    ready_for_rules(connection)
    return connection, settings


def _wrong(connection: Connection, cases: list[Case]) -> Iterator[str]:
    """How findings differ from what the cases expect."""
    found, unseen = by_case(finding_rows(connection)), by_case(result_rows(connection, "not_evaluated"))
    for prefix, case in _numbered(cases).items():
        answer = Answer(found.get(prefix, []), unseen.get(prefix, []))
        yield from (f"{case.rule}: {case.name}: {text}" for text in differences(case, answer))


def _difference(connection: Connection, rule: str) -> str:
    """What is unlike before in the rows of a rule: nothing, words of evidence and remedy, or more."""
    for said, left_out in ((_DIFFERENCES[2], "seen, remedy"), (_DIFFERENCES[1], "rule")):
        rows = f"SELECT * EXCLUDE ({left_out}) FROM %s WHERE rule = '{rule}'"
        one, other = rows % "verdicts", rows % "verdicts_before"
        if connection.execute(f"({one} EXCEPT ALL {other}) UNION ALL ({other} EXCEPT ALL {one})").fetchone():
            return said
    return _DIFFERENCES[0]


def main() -> None:
    """Answers until nobody asks any more."""
    limits.setrlimit(limits.RLIMIT_FSIZE, (_LARGEST, _LARGEST))
    with TemporaryDirectory() as scratch:
        judge = Judge(Path(sys.argv[1] if len(sys.argv) > 1 else scratch))
        for line in sys.stdin:
            try:
                wrong = judge.wrong(line.strip())
            except Exception as error:  # whatever a mutant breaks: it was noticed
                wrong = f"{type(error).__name__}: {error}"
            print(json.dumps([wrong, judge.differs]), flush=True)


if __name__ == "__main__":
    main()
