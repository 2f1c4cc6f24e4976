"""Holds figures against the brute-force evaluation, within what the contract allows."""

from collections.abc import Mapping
from pathlib import Path

from .figures import FIGURES
from .tables import read

Figures = Mapping[str, Mapping[str, float | None]]  # by circuit and name; minutes or kWh, None = blank


def disagreement(folder: Path, found: Figures, expected: Figures, days: int) -> dict[str, list[str]]:
    """The circuits of the portfolio in ``folder`` whose figures lie apart, with the names of these figures.

    A circuit that only one of the two knows has all figures apart.
    """
    high = _far_north_or_south(folder)
    apart = {
        circuit: [
            name
            for name in FIGURES
            if circuit not in found
            or circuit not in expected
            or not _agree(found[circuit][name], expected[circuit][name], days, circuit in high)
        ]
        for circuit in sorted(found.keys() | expected.keys())
    }
    return {circuit: names for circuit, names in apart.items() if names}


def _far_north_or_south(folder: Path) -> set[str]:
    """Circuits whose site or device lies beyond 60 degrees, where a crossing may differ by a minute."""
    portfolio = read(folder)
    far = {key for key, site in portfolio.sites.items() if abs(site.place[0]) > 60}
    devices = {
        key
        for key, device in portfolio.controllers.items()
        if device.site_id in far or (device.place is not None and abs(device.place[0]) > 60)
    }
    return {circuit.circuit_id for circuit in portfolio.circuits if circuit.controller_id in devices}


def _agree(found: float | None, expected: float | None, days: int, high: bool) -> bool:
    """Within 15 minutes a year or 0.1 %; 3 s for each of two sun crossings a day are allowed on top beyond 60
    degrees, and instead where that is more in part of a year. A whole year evens a season's seconds out."""
    if found is None or expected is None:
        return found is expected
    of_crossings = 0.1 * days
    allowed = max(15 * days / 365, 0.001 * abs(expected), of_crossings if days < 365 else 0)
    return abs(found - expected) <= allowed + (of_crossings if high else 0)
