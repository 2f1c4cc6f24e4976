"""The sun's part that depends on time alone, sampled from astral once a day for the whole fleet.

The hour angle, which depends on the place, is the business of ``queries/year/20_sun.sql``. The formulas
behind astral's two functions are NOAA's solar calculator, after Meeus, Astronomical Algorithms.
"""

from collections.abc import Iterable

import polars as pl
from astral import julian, sun

_NOON_1970 = 2440588.0  # Julian day of 1970-01-01 12:00 UTC


def sun_days(days: Iterable[int]) -> pl.DataFrame:
    """Declination and equation of time of each day, as parabolas around 12:00 UTC.

    ``days`` count from 1970-01-01. Columns: ``day``; ``decl0..2`` in degrees and ``eqt0..2`` in minutes, so
    that at x days from noon the value is c0 + c1 x + c2 x². Within a day either side the parabola through
    three noons is off by less than 0.0001° and 0.01 s.
    """
    wanted = sorted(set(days))
    noons = sorted({day + step for day in wanted for step in (-1, 0, 1)})
    century = {day: julian.julianday_to_juliancentury(_NOON_1970 + day) for day in noons}
    declination = {day: sun.sun_declination(century[day]) for day in noons}
    equation = {day: sun.eq_of_time(century[day]) for day in noons}
    rows = [(day, *_parabola(declination, day), *_parabola(equation, day)) for day in wanted]
    floats = ("decl0", "decl1", "decl2", "eqt0", "eqt1", "eqt2")
    return pl.DataFrame(rows, schema={"day": pl.Int32, **dict.fromkeys(floats, pl.Float64)}, orient="row")


def _parabola(values: dict[int, float], day: int) -> tuple[float, float, float]:
    before, here, after = values[day - 1], values[day], values[day + 1]
    return here, (after - before) / 2, (after + before) / 2 - here
