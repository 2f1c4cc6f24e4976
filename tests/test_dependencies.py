"""No dependency is older than the first version without a known flaw, as far as ``advisories.toml`` knows."""

import subprocess
import sys
import tomllib
from collections.abc import Iterable, Iterator
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

HERE = Path(__file__).parent
KNOWN = tomllib.loads((HERE / "advisories.toml").read_text(encoding="utf-8"))
PROJECT = tomllib.loads((HERE.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
LINES = [*PROJECT["dependencies"], *(line for extra in EXTRAS.values() for line in extra)]
ASKED = [Requirement(line) for line in LINES]


def is_sound(version: Version, fixed: list[str]) -> bool:
    """Whether it is the first sound version or a later one, of its major series where that has the fix."""
    first = [Version(text) for text in fixed]
    return version >= max(first) or any(version.major == one.major and version >= one for one in first)


@pytest.mark.parametrize(
    ("version", "sound"),
    [("4.25.8", 0), ("5.29.5", 0), ("5.29.6", 1), ("6.0", 0), ("6.33.4", 0), ("6.33.5", 1), ("7.34.0", 1)],
)
def test_a_fix_counts_in_its_own_series_and_in_all_later_ones(version: str, sound: int) -> None:
    # GHSA-7gcm-g887-7qv7: up to 6.33.4 is concerned, but for 5.29.6 and later of its series.
    assert is_sound(Version(version), ["5.29.6", "6.33.5"]) is bool(sound)


def needed(requirements: Iterable[Requirement]) -> Iterator[str]:
    """The names of all packages that these ask for, and those in turn, as far as they are installed."""
    waiting, seen = list(requirements), set()
    while waiting:
        one = waiting.pop()
        step = (canonicalize_name(one.name), frozenset(one.extras))
        if step in seen:
            continue
        seen.add(step)
        waiting += [deeper for deeper in _asked_by(one) if _applies(deeper, one.extras)]
    return iter(sorted({name for name, _ in seen}))


def _asked_by(one: Requirement) -> list[Requirement]:
    try:
        return [Requirement(line) for line in distribution(one.name).requires or []]
    except PackageNotFoundError:  # of an extra that is not installed here
        return []


def _applies(one: Requirement, extras: set[str]) -> bool:
    return one.marker is None or any(one.marker.evaluate({"extra": extra}) for extra in ("", *extras))


NEEDED = set(needed(ASKED))


def _version(name: str) -> Version | None:
    try:
        return Version(distribution(name).version)
    except PackageNotFoundError:
        return None


@pytest.mark.parametrize("known", KNOWN["advisory"], ids=lambda known: f"{known['package']} {known['id']}")
def test_what_is_installed_has_no_known_flaw(known: dict[str, object]) -> None:
    version = _version(str(known["package"]))
    if version is None:
        pytest.skip("not installed here")
    assert is_sound(version, known["fixed"]), f"{known['package']} {version}: {known['what']}"


@pytest.mark.parametrize("asked", ASKED, ids=str)
def test_no_lower_bound_lets_a_known_flaw_in(asked: Requirement) -> None:
    (bound,) = [Version(one.version) for one in asked.specifier if one.operator == ">="]
    flaws = [
        known["id"]
        for known in KNOWN["advisory"]
        if known["package"] == canonicalize_name(asked.name) and not is_sound(bound, known["fixed"])
    ]
    assert flaws == []


def test_every_entry_says_what_it_is_of_something_that_we_install_and_whence_we_know() -> None:
    for known in (*KNOWN["advisory"], *KNOWN["waiting"]):
        assert known["package"] in NEEDED, "a flaw of what we do not install"
        assert {"id", "what", "source"} <= set(known) and known["source"].strip()
    assert all(known["fixed"] for known in KNOWN["advisory"])
    # The walk went beyond what pyproject.toml names: by way of weasyprint, its fonts, and their compression.
    assert {"fonttools", "brotli", "protobuf", "pygments"} <= NEEDED - {
        canonicalize_name(one.name) for one in ASKED
    }


def test_what_is_installed_fits_together() -> None:
    done = subprocess.run([sys.executable, "-m", "pip", "check"], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "No broken requirements" in done.stdout
