"""auditor sun: when the sun crosses its altitudes at a place, to hold against what a device displays."""

import math
from datetime import date, datetime

import click

from auditor.commands.options import start_date
from auditor.commands.saying import say
from auditor.errors import UserError
from auditor.skylight import sun_table


@click.command(context_settings={"ignore_unknown_options": True})
@click.argument("latitude", type=click.FloatRange(-90, 90))
@click.argument("longitude", type=click.FloatRange(-180, 180))
@click.option("--zone", required=True, help="IANA time zone, such as Europe/Oslo.")
@click.option("--start", required=True, callback=start_date, help="First date.")
@click.option("--days", type=click.IntRange(1, 36600), default=1, show_default=True)
def sun(latitude: float, longitude: float, zone: str, start: date, days: int) -> None:
    """Sun times at a place, as CSV: degrees north and east, negative ones as they are."""
    if not (math.isfinite(latitude) and math.isfinite(longitude)):
        raise UserError("LATITUDE and LONGITUDE must be degrees; write numbers like 40.7 -74.0.")
    rows = sun_table(latitude, longitude, zone, start, days)
    say("date,sunrise_utc,sunset_utc,dawn_utc,dusk_utc")
    for day, *moments in rows:
        say(",".join([day.isoformat(), *map(_utc_text, moments)]))


def _utc_text(moment: datetime | None) -> str:
    return f"{moment:%Y-%m-%dT%H:%M:%SZ}" if moment else ""
