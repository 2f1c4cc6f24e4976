"""Sun times at one place, by the very query that the audit runs."""

from datetime import date, datetime
from pathlib import Path

from auditor.errors import UserError
from auditor.resources import query
from auditor.store import load, open_store, run_script
from auditor.sun import sun_days
from auditor.wording import nearest
from auditor.zones import zone_clock, zone_names

Moment = datetime | None


def sun_table(
    latitude: float, longitude: float, zone: str, first: date, days: int
) -> list[tuple[date, Moment, Moment, Moment, Moment]]:
    """(date of the solar transit in ``zone``, sunrise, sunset, dawn, dusk), naive UTC, None for none."""
    if zone not in zone_names():
        raise UserError(f'"{zone}" is not a time zone; did you mean "{nearest(zone, sorted(zone_names()))}"?')
    start = (first - date(1970, 1, 1)).days
    connection = open_store(Path(":memory:"))
    load(connection, "sun_days", sun_days(range(start - 2, start + days + 2)))
    connection.execute(
        """
        CREATE TEMP TABLE b_place_days AS
        SELECT 1 AS place_no, $latitude AS latitude, $longitude AS longitude, day FROM sun_days
        """,
        {"latitude": latitude, "longitude": longitude},
    )
    connection.execute(
        """
        CREATE TEMP TABLE b_place_kinds AS
        SELECT 1 AS place_no, unnest(['sunrise', 'sunset', 'dawn', 'dusk']) AS kind
        """
    )
    run_script(connection, query("year/20_sun.sql"))
    law = zone_clock(zone)
    rows = connection.execute(query("sun_table.sql")).fetchall()
    dated = [
        (date.fromordinal(719163 + (noon + law.offset_at(noon)) // 86400), *moments)
        for noon, *moments in rows
    ]
    return [row for row in dated if 0 <= (row[0] - first).days < days]
