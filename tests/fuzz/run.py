"""Runs every target for a stated time: ``python -m tests.fuzz.run --minutes 5 [TARGET…]``."""

import argparse
import time
from typing import Any

from hypothesis import HealthCheck, given, settings

from .targets import TARGETS


def main() -> None:
    """Goes from target to target with new examples until the time is up; what fails ends it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=5)
    parser.add_argument("targets", nargs="*", default=sorted(TARGETS))
    asked = parser.parse_args()
    end, examples = time.monotonic() + 60 * asked.minutes, dict.fromkeys(asked.targets, 0)
    while time.monotonic() < end:
        for name in asked.targets:
            examples[name] += once(name, 150)
    counted = ", ".join(f"{name} {number}" for name, number in examples.items())
    print(f"{asked.minutes:g} minutes: {counted}; nothing found.")


def once(name: str, number: int) -> int:
    """So many examples of one target."""
    strategy, target = TARGETS[name]

    @settings(max_examples=number, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(strategy)
    def attempt(value: Any) -> None:
        target(value)

    attempt()
    return number


if __name__ == "__main__":
    main()
