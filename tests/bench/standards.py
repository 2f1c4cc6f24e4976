"""Longer runs of what the tests of open standards do briefly, for so many minutes; each prints what it did.

python -m tests.bench.standards fuzz 10        bytes that a reader may stumble over
python -m tests.bench.standards calendars 10   random calendars against recurring-ical-events
python -m tests.bench.standards objects 10     random schedules against bacpypes3
"""

import sys
import tempfile
import time
from pathlib import Path
from random import Random

from tests import test_calendars_year, test_objects_year
from tests.hostile_case import GROWN, stumble


def fuzz(seed: int) -> int:
    """All readers, each with content of its own. The slowest is told, for no file may take long."""
    for reader, grown in GROWN.items():
        content = grown(Random(seed))
        begun = time.perf_counter()
        try:
            stumble(reader, content)
        except Exception:
            print(f"seed {seed}, {reader}: {content!r}")
            raise
        took = time.perf_counter() - begun
        if took > 5:
            print(f"seed {seed}, {reader}, {took:.1f} s: {content!r}")
    return len(GROWN)


def calendars(seed: int) -> int:
    """A hundred calendars in one audit."""
    rng = Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        made = [test_calendars_year.random_calendar(rng) for _ in range(100)]
        return test_calendars_year.compare(Path(folder), made)


def objects(seed: int) -> int:
    """Twenty schedules in one audit."""
    rng = Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        test_objects_year.compare(Path(folder), [test_objects_year.random_objects(rng) for _ in range(20)])
    return 20


def main(what: str, minutes: str, first: str = "1000") -> None:
    """Runs until the time is up, from seed ``first`` on."""
    run = {"fuzz": fuzz, "calendars": calendars, "objects": objects}[what]
    end, done, seed = time.monotonic() + 60 * float(minutes), 0, int(first)
    while time.monotonic() < end:
        done += run(seed)
        seed += 1
    print(f"{what}: {done} in {minutes} minutes, seeds {first} to {seed - 1}, nothing found")


if __name__ == "__main__":
    main(*sys.argv[1:])
