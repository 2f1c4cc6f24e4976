"""Where things are: the frame of a picture, from days and minutes to its own units."""

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

WIDTH = 820  # units of the picture's own; the page scales it
LEFT, PLOT_WIDTH = 54, 632
MINUTES = 1440
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_NARROW = 40  # units; what is narrower gets no name


@dataclass(frozen=True)
class Frame:
    """The plot: ``days`` dates from ``first``, ``height`` units high, ``top`` units below the upper edge."""

    first: date
    days: int
    top: float
    height: float

    @property
    def across(self) -> float:
        """Units a day."""
        return PLOT_WIDTH / self.days

    @property
    def up(self) -> float:
        """Units a minute."""
        return self.height / MINUTES

    @property
    def bottom(self) -> float:
        """Where 00:00 is."""
        return self.top + self.height

    @property
    def right(self) -> float:
        """Where the last date ends."""
        return LEFT + PLOT_WIDTH

    def x(self, day: float) -> float:
        """Where a day begins."""
        return round(LEFT + day * self.across, 1)

    def y(self, minute: float) -> float:
        """Where a minute of the day is."""
        return round(self.bottom - minute * self.up, 1)

    def date_of(self, day: int) -> date:
        """The date of a day's number."""
        return self.first + timedelta(days=day)


@dataclass(frozen=True)
class Tick:
    """A stretch of the lower edge: its start and its middle, its name, and the year where that is new."""

    start: float
    middle: float
    name: str
    year: str


@cache  # the same for every circuit of a portfolio
def ticks(frame: Frame) -> list[Tick]:
    """Months along the lower edge; quarters or years where dates are many, weeks or days where few."""
    starts = [0, *(day for day in range(1, frame.days) if _begins(frame, day))]
    found: list[Tick] = []
    year = 0
    for start, end in zip(starts, [*starts[1:], frame.days], strict=True):
        named = (end - start) * frame.across >= _NARROW or len(starts) == 1
        here = frame.date_of(start)
        told = str(here.year) if named and here.year != year else ""
        year = here.year if told else year
        name = _name(frame, here) if named else ""
        found.append(Tick(frame.x(start), frame.x((start + end) / 2), name, told))
    return found


def _begins(frame: Frame, day: int) -> bool:
    if frame.days <= 70:
        return frame.days <= 10 or day % 7 == 0
    here = frame.date_of(day)
    months = 1 if frame.days <= 400 else 3 if frame.days <= 1200 else 12
    return here.day == 1 and (here.month - 1) % months == 0


def _name(frame: Frame, here: date) -> str:
    month = _MONTHS[here.month - 1]
    return month if frame.days > 70 else f"{here.day} {month}"
