"""``portfolio.toml``: read, judged, and filled up with the defaults."""

import re
from pathlib import Path
from typing import Any

from auditor.errors import UserError
from auditor.files import read_file, toml_of
from auditor.model import SEVERITIES, Rule, Settings
from auditor.wording import nearest

FIGURES = {"daylight_margin_minutes": 30.0, "hours_margin_minutes": 60.0, "staff_margin_minutes": 30.0}
SCORE = {"critical": 1000.0, "high": 250.0, "medium": 60.0, "low": 10.0}  # money-equivalents a finding
_LONGEST_STOP = 1440.0  # minutes
# [visits]: each with its default, least and most. Minutes are those on site for a finding; first_minutes are
# those of every stop, for arrival, access and the way to the device.
VISITS = {
    "first_minutes": (30.0, 0.0, _LONGEST_STOP),  # common practice, no source
    # "Resetting one clock: under an hour on site plus travel" (from trade memory, no source): 30 + 20.
    "clock_minutes": (20.0, 0.0, _LONGEST_STOP),
    # The rest is common practice, no source. An acceptance test of a time switch takes far longer (Title 24
    # of California: half an hour to two hours of inspection, two to six of testing); a stop here is none.
    "program_minutes": (15.0, 0.0, _LONGEST_STOP),
    "hand_minutes": (10.0, 0.0, _LONGEST_STOP),
    "sensor_minutes": (30.0, 0.0, _LONGEST_STOP),
    "backup_minutes": (45.0, 0.0, _LONGEST_STOP),
    "look_minutes": (20.0, 0.0, _LONGEST_STOP),
    "other_minutes": (30.0, 0.0, _LONGEST_STOP),
    "speed_kmh": (60.0, 1.0, 200.0),  # towns and open road together
    "detour_factor": (1.3, 1.0, 10.0),
    "day_hours": (8.0, 0.5, 24.0),
}
# What a visit costs has no default. Published figures run from 150 to 1,000 US dollars (truck rolls at
# scienceinsights.org: 150 to 500, near 1,000 fully loaded; a public utility's tariff: 70 an hour, 100 after
# hours); none is of lighting alone.
_COST = "cost_per_visit"
_START = "08:00"
_LARGEST = 1e9  # of any number: beyond it something was mistyped
_DEAREST = 1e6  # money or kilograms a kWh
_DAY = 1440.0  # minutes, the widest margin
_LONGEST = 200  # letters of a text that stands on every page
_TEXTS = ("name", "currency", "energy_code", "emission_source")
_AMOUNTS = ("rate_per_kwh", "emission_kg_per_kwh")


def read_settings(path: Path, rules: list[Rule] | None) -> Settings:
    """The settings; all defaults where the file is absent. Raises UserError on anything not understood.

    ``rules`` are those whose sections are known; None: their sections are passed over, whatever they say.
    """
    found = _load(path) if path.exists() else {}
    _only(path, "", found, ("portfolio", "sources", "figures", "rules", "score", "visits"))
    portfolio = _section(path, "portfolio", found, (*_TEXTS, *_AMOUNTS))
    for key in _TEXTS:
        _need(path, "portfolio", portfolio, key, str, "a text in quotes")
        if len(portfolio.get(key, "")) > _LONGEST:
            raise UserError(f"{path.name}: [portfolio] {key} must be at most {_LONGEST} letters long.")
    for key in _AMOUNTS:
        _amount(path, "portfolio", portfolio, key, _DEAREST)
    return Settings(
        **portfolio,
        figures=FIGURES | _amounts(path, "figures", found, FIGURES, _DAY),
        score=SCORE | _amounts(path, "score", found, SCORE, _LARGEST),
        rules={} if rules is None else _rules(path, found, rules),
        visits=_visits(path, found),
        **_sources(path, found),
    )


def _sources(path: Path, found: dict[str, Any]) -> dict[str, Any]:
    """Where exports come from that are read by maps; paths count from the settings file."""
    section = _section(path, "sources", found, ("maps", "folder"))
    _need(path, "sources", section, "folder", str, "a text in quotes")
    maps = section.get("maps", [])
    maps = [maps] if isinstance(maps, str) else maps
    if not isinstance(maps, list) or not all(isinstance(one, str) and one for one in maps):
        raise UserError(f'{path.name}: [sources] maps must be a list of files, such as ["maps/*.toml"].')
    return {"maps": tuple(maps), "exports": section.get("folder")}


def _load(path: Path) -> dict[str, Any]:
    return toml_of(read_file(path, path.name), path.name, "mend it, or take it away")


def _section(path: Path, name: str, found: dict[str, Any], known: tuple[str, ...]) -> dict[str, Any]:
    section = found.get(name, {})
    if not isinstance(section, dict):
        raise UserError(f"{path.name}: {name} must be a table; write [{name}] on a line of its own.")
    _only(path, name, section, known)
    return dict(section)


def _only(path: Path, section: str, found: dict[str, Any], known: tuple[str, ...]) -> None:
    for key in found:
        if key not in known:
            place = f"[{section}] " if section else ""
            own = " (a rule of your own needs --rules)" if section == "rules" else ""
            raise UserError(
                f'{path.name}: {place}"{key}" is not known{own}; did you mean "{nearest(key, known)}"?'
            )


def _need(path: Path, section: str, found: dict[str, Any], key: str, kind: type, wanted: str) -> None:
    if key in found and not isinstance(found[key], kind):
        raise UserError(f"{path.name}: [{section}] {key} must be {wanted}.")


def _amount(
    path: Path, section: str, found: dict[str, Any], key: str, most: float = _LARGEST, least: float = 0
) -> None:
    value = found.get(key, least)
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        raise UserError(f"{path.name}: [{section}] {key} must be a number from {least:g} to {most:.0f}.")


def _amounts(
    path: Path, name: str, found: dict[str, Any], defaults: dict[str, float], most: float
) -> dict[str, float]:
    section = _section(path, name, found, tuple(defaults))
    for key in section:
        _amount(path, name, section, key, most)
    return {key: float(value) for key, value in section.items()}


def _visits(path: Path, found: dict[str, Any]) -> dict[str, float | None]:
    """The row of the store's ``visit_settings``."""
    section = _section(path, "visits", found, (*VISITS, "start_time", _COST))
    for key, (_, least, most) in VISITS.items():
        _amount(path, "visits", section, key, most, least)
    _amount(path, "visits", section, _COST)
    start = str(section.pop("start_time", _START))  # a text, or a time of TOML's own: 08:00:00
    if not re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d(:00)?", start):
        raise UserError(f'{path.name}: [visits] start_time must be a time of day; write "08:00".')
    defaults = {key: default for key, (default, *_) in VISITS.items()}
    start_minutes = 60.0 * int(start[:2]) + int(start[3:5])
    return (
        defaults | {_COST: None, "start_minutes": start_minutes} | {k: float(v) for k, v in section.items()}
    )


def _rules(path: Path, found: dict[str, Any], rules: list[Rule]) -> dict[str, dict[str, Any]]:
    chosen = _section(path, "rules", found, tuple(rule.name for rule in rules))
    for rule in rules:
        if rule.name in chosen:
            _rule(path, f"rules.{rule.name}", {f"rules.{rule.name}": chosen[rule.name]}, rule)
    return chosen


def _rule(path: Path, name: str, found: dict[str, Any], rule: Rule) -> None:
    section = _section(path, name, found, ("enabled", "severity", *rule.params))
    _need(path, name, section, "enabled", bool, "true or false")
    if section.get("severity", "low") not in SEVERITIES:
        raise UserError(f"{path.name}: [{name}] severity must be one of {', '.join(SEVERITIES)}.")
    for key, unit in rule.units.items():
        most = 1 if unit.startswith("share") else 100 if unit.startswith("%") else _LARGEST
        _amount(path, name, section, key, most)
