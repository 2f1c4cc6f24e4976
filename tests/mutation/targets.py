"""Which files are changed, and who judges a change: quick judges first, then tests."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Target:
    """A file below the project, and who is asked in turn: checks of ``judge.py``, then test files."""

    file: str
    checks: tuple[str, ...]
    tests: tuple[str, ...] = ()

    @property
    def is_sql(self) -> bool:
        return self.file.endswith(".sql")


_RULE_TESTS = (
    "tests/test_sun_shifts.py",
    "tests/test_losses.py",  # cases have no rejected rows: it has
    "tests/test_remedies.py",
)
_YEAR = ("figures", "cases")
_YEAR_TESTS = (
    "tests/test_zones.py",
    "tests/test_sun.py",
    "tests/test_right_clocks.py",
    "tests/test_states.py",
    "tests/test_clocks.py",
    "tests/test_picture_figures.py",  # which spans are published
    "tests/test_picture_titles.py",  # which thresholds are asked for
)
_CALENDARS = (
    "tests/test_calendars_edges.py",
    "tests/test_calendars.py",
    "tests/test_calendars_rfc.py",
    "tests/test_calendars_year.py",
)
_HOSTILE = "tests/test_hostile_programs.py"
_PROGRAMS = (*_CALENDARS, "tests/test_steps.py", "tests/test_objects.py")
_PYTHON = {
    "zones": ("tests/test_clock_rules.py", *_CALENDARS, "tests/test_zones.py", "tests/test_clocks_ahead.py"),
    "clocks": (
        "tests/test_clocks.py",
        "tests/test_clocks_ahead.py",
        "tests/test_zones.py",
        "tests/test_right_clocks.py",
    ),
    "sun": ("tests/test_sun.py",),
    "skylight": ("tests/test_sun.py", "tests/test_cli.py"),
    "period": ("tests/test_period.py", "tests/test_refusals.py", "tests/test_losses.py", "tests/test_cli.py"),
    "year": ("tests/test_year.py", "tests/test_right_clocks.py"),
    "normalise/values": ("tests/test_cells.py", "tests/test_normalise.py"),
    "intake/calendars/lines": ("tests/test_calendars_lines.py", *_CALENDARS[1:], _HOSTILE),
    "intake/calendars/moments": _CALENDARS,
    "intake/calendars/observances": _CALENDARS,
    "intake/calendars/recurrence": (*_CALENDARS, _HOSTILE),
    "intake/calendars/series": (*_CALENDARS, _HOSTILE),
    "intake/program": _PROGRAMS,
    "intake/steps": _PROGRAMS,
}


def targets(words: list[str]) -> list[Target]:
    """All targets whose path holds one of ``words`` (none: all of them)."""
    return [one for one in _all() if not words or any(word in one.file for word in words)]


def _all() -> Iterator[Target]:
    for path in sorted((ROOT / "queries/rules").glob("*.sql")):
        yield Target(f"queries/rules/{path.name}", (f"rule {path.stem}",), _RULE_TESTS)
    for path in sorted((ROOT / "queries/year").glob("*.sql")):
        yield Target(f"queries/year/{path.name}", _YEAR, _YEAR_TESTS)
    for name in ("macros.sql", "prepare.sql"):
        yield Target(f"queries/{name}", _YEAR, _YEAR_TESTS)
    for name, tests in _PYTHON.items():
        checks = ("figures",) if name in ("zones", "clocks", "sun", "year") else ()
        yield Target(f"auditor/{name}.py", checks, tests)
