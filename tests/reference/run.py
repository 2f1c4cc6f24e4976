"""Holds the program against the brute-force evaluation on as many random controllers as there is time for.

    python -m tests.reference.run [--controllers 2000] [--seed 1] [--minutes N]

Portfolios of twelve controllers, each over dates of its own; the same seed gives the same. A circuit may
lie apart only where it hangs on a second (``edges.py``), and only one in ten of a portfolio. Prints a line
for each portfolio with such circuits, and a sum; ends with 1 where any other lies apart.
"""

import argparse
import sys
import time
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from tests.year_case import circuit_figures, worked_year

from .compare import disagreement
from .edges import fragile
from .evaluate import evaluate
from .random_portfolio import write

SIZE = 12  # controllers of one portfolio
_LENGTHS = (20, 45, 75, 365)  # days


@dataclass(frozen=True)
class Compared:
    """One portfolio: its circuits, those that lie apart with the figures' names, and those that may."""

    seed: int
    start: date
    days: int
    circuits: int
    apart: dict[str, list[str]]
    unsure: set[str]

    @property
    def wrong(self) -> dict[str, list[str]]:
        """What no second explains."""
        few = len(self.apart) <= self.circuits / 10
        return {key: names for key, names in self.apart.items() if not few or key not in self.unsure}

    def __str__(self) -> str:
        said = f"seed {self.seed}, {self.days} days from {self.start}: {self.circuits} circuits"
        return f"{said}, hang on a second: {sorted(self.apart.keys() - self.wrong)}, wrong: {self.wrong}"


def compared(seed: int, controllers: int = SIZE) -> Compared:
    """The portfolio of this seed, over dates that it draws."""
    rng = Random(f"dates {seed}")
    start = date(2026, 1, 1) + timedelta(rng.randrange(3 * 365))
    days = rng.choice(_LENGTHS)
    with TemporaryDirectory() as folder:
        write(Path(folder), seed, controllers)
        return compare(Path(folder), seed, start, days)


def compare(folder: Path, seed: int, start: date, days: int) -> Compared:
    """The portfolio in ``folder`` over these dates."""
    connection, _ = worked_year(folder, start, days)
    with connection:
        found = circuit_figures(connection)
    expected = evaluate(folder, start, days)
    apart = disagreement(folder, found, expected, days)
    return Compared(seed, start, days, len(expected), apart, fragile(folder, start, days) if apart else set())


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description="The program against the brute-force evaluation.")
    parser.add_argument("--controllers", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=float("inf"), help="begin no portfolio after these")
    options = parser.parse_args()
    began, done, circuits, unsure, wrong = time.monotonic(), 0, 0, 0, 0
    while done < options.controllers and time.monotonic() - began < 60 * options.minutes:
        size = min(SIZE, options.controllers - done)
        found = compared(options.seed * 1_000_000 + done, size)
        done, circuits = done + size, circuits + found.circuits
        wrong, unsure = wrong + len(found.wrong), unsure + len(found.apart) - len(found.wrong)
        if found.apart:
            print(found, flush=True)
    print(f"{done} controllers, {circuits} circuits: {unsure} hang on a second, {wrong} wrong")
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
