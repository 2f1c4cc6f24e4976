"""Evaluates a whole portfolio: for every circuit in use its figures and its stretches.

    python -m tests.reference.evaluate FOLDER [--start DATE] [--days N]

prints one CSV row a circuit.
"""

import argparse
import csv
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from .clocks import Offset, device_clock, first_instant, zone_offset
from .figures import FIGURES, SiteTime, figures
from .hours import dates_between, night_windows, open_time, openings, widen
from .sky import Interval, light
from .states import Device, stretches, wire
from .tables import Controller, Portfolio, Site, epoch_day, read

SPARE_DAYS = 4


def default_start(portfolio: Portfolio) -> date:
    """The first of the UTC month of the newest read_at."""
    newest = max(controller.read_at for controller in portfolio.controllers.values())
    return datetime.fromtimestamp(newest, UTC).date().replace(day=1)


def period_of(zone: Offset, days: list[date]) -> Interval:
    """From 00:00 of the first date to 00:00 after the last, in the site's zone."""
    return first_instant(zone, epoch_day(days[0])), first_instant(zone, epoch_day(days[-1]) + 86_400)


def site_time(portfolio: Portfolio, site: Site, days: list[date], lift: float) -> SiteTime:
    """The site's side of the figures over the dates `days`."""
    zone = zone_offset(site.zone)
    around = dates_between(date.fromordinal(days[0].toordinal() - SPARE_DAYS), len(days) + 2 * SPARE_DAYS)
    sun = light(site.place, *period_of(zone, days), lift)
    found = openings(portfolio, site.site_id, zone, around)
    return SiteTime(
        light=sun,
        daylight=widen(sun, -portfolio.daylight_margin),
        open=None if found is None else open_time(found),
        widened=None if found is None else widen(open_time(found), portfolio.hours_margin),
        windows=None if found is None else night_windows(zone, found, days),
    )


def device_of(portfolio: Portfolio, controller: Controller, lift: float) -> Device:
    """The controller with its clock, its location and the calendars of its site."""
    site = portfolio.sites[controller.site_id]
    calendars: dict[date, set[str]] = {}
    for site_id, day, calendar in portfolio.closures:
        if site_id in (site.site_id, "*") and calendar is not None:
            calendars.setdefault(day, set()).add(calendar)
    clock = device_clock(controller, zone_offset(site.zone))
    return Device(controller, clock, controller.place or site.place, calendars, lift)


def evaluate(
    folder: Path, start: date | None = None, days: int = 365, lift: float = 0.0
) -> dict[str, dict[str, Any]]:
    """By circuit_id: the figures by name (minutes, kWh, None = blank) and the list `stretches`.

    `start` is the first date (None: the first of the UTC month of the newest read_at). `lift` in degrees
    raises the altitudes at which the sun rises and sets: to try how much hangs on a second.
    """
    portfolio = read(folder)
    dates = dates_between(start or default_start(portfolio), days)
    times = {site.site_id: site_time(portfolio, site, dates, lift) for site in portfolio.sites.values()}
    devices = {key: device_of(portfolio, device, lift) for key, device in portfolio.controllers.items()}
    results: dict[str, dict[str, Any]] = {}
    for circuit in portfolio.circuits:
        device = devices[circuit.controller_id]
        site = portfolio.sites[device.controller.site_id]
        period = period_of(zone_offset(site.zone), dates)
        wiring = wire(portfolio, device, circuit, times[site.site_id].light, period)
        found = stretches(wiring, period)
        results[circuit.circuit_id] = {**figures(circuit, found, times[site.site_id]), "stretches": found}
    return results


def main() -> None:
    """The command line; figures to two decimals, blank where unknown."""
    parser = argparse.ArgumentParser(description="Slow evaluation of a portfolio folder.")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--start", type=date.fromisoformat)
    parser.add_argument("--days", type=int, default=365)
    options = parser.parse_args()
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(["circuit_id", *FIGURES])
    for circuit_id, found in evaluate(options.folder, options.start, options.days).items():
        values = [found[name] for name in FIGURES]
        writer.writerow([circuit_id, *("" if value is None else round(value, 2) for value in values)])


if __name__ == "__main__":
    main()
