"""The day after: of days of the week, of seasons and dates, as the contract writes them."""

from datetime import date, timedelta

from auditor.normalise.values import WEEKDAYS, end_time, season_edge
from auditor.normalise.values import days as mask

_ALL = 127
_DATE = 10  # letters of a date with its year; MM-DD has five
_LEAP = {"02-29": "from", "02-28": "until"}  # where the day after is not the same every year


def seconds_of(time: str | None) -> int | None:
    """A time of day in seconds; None where it is none, which is judged elsewhere."""
    try:
        return end_time(time or "")
    except ValueError:
        return None


def mask_of(days: str | None) -> int | None:
    """Days as a bit mask, Monday = 1; None where they are none."""
    try:
        return mask(days or "")
    except ValueError:
        return None


def names_of(days: int) -> str:
    """A bit mask as the contract writes it."""
    return (
        "daily" if days == _ALL else ",".join(day for place, day in enumerate(WEEKDAYS) if days >> place & 1)
    )


def day_after(days: int) -> str:
    """The days after those of a bit mask: Monday for Sunday."""
    return names_of(days << 1 & _ALL | days >> 6)


def is_season(start: str | None, end: str | None) -> bool:
    """Whether both edges are such, or both blank."""
    try:
        return (start is None) == (end is None) and all(season_edge(edge) for edge in (start, end) if edge)
    except ValueError:
        return False


def is_whole_year(start: str | None, end: str | None) -> bool:
    """Whether a season leaves no day out: blank, or from the day after its end."""
    if start is None or end is None:
        return True
    return len(start) == len(end) < _DATE and _edge_after(end) == start


def season_after(start: str | None, end: str | None) -> tuple[str | None, str | None]:
    """A season a day later. Raises ValueError where that is not the same in every year."""
    for edge, name in ((start, "from"), (end, "until")):
        if edge and _LEAP.get(edge) == name:
            raise ValueError(
                f"is on the day after, and that of {name} = {edge} is another in leap years; "
                "write dates with years"
            )
    return start and _edge_after(start), end and _edge_after(end)


def _edge_after(edge: str) -> str:
    yearly = len(edge) < _DATE
    try:
        after = date.fromisoformat(f"2000-{edge}" if yearly else edge[:_DATE]) + timedelta(days=1)
    except OverflowError:  # the last day that there is stays
        return edge
    return after.isoformat()[5 if yearly else 0 :]
