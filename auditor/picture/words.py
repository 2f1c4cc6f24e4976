"""What a picture says: its title, its description, its key and its changes of clocks."""

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from auditor.picture.frame import Frame
from auditor.picture.paints import PAINTS
from auditor.picture.reading import Change, CircuitYear, Row, SiteYear
from auditor.picture.sheet import Painting
from auditor.wording import clock_text, counted, date_text, dates_text, grouped, hours_text, length_text

_HARMLESS = 1 / 60  # minutes; below a second


class Told(NamedTuple):
    """A paint that is told of, how long it is there in the period, and on how many dates."""

    paint: str
    seconds: int
    dates: int


def title(year: CircuitYear, told: Sequence[Told]) -> str:
    """The finding in words; without one, what the circuit does."""
    facts = year.facts
    if not facts:
        return _sentence(_short_of_a_finding(told) or _nothing(year.head))
    first = next((fact for fact in facts if fact["whole"]), facts[0])
    others = [fact for fact in facts if fact["grave"] and fact is not first]
    return _sentence("; ".join(fact["words"] for fact in [first, *others][:2]))


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _short_of_a_finding(told: Sequence[Told]) -> str:
    """What would be a fault if it lasted longer: the picture shows it, and the title must not deny it."""
    said = [
        f"{PAINTS[line.paint].words} for {hours_of(line.seconds)} on {counted(line.dates, 'date')}"
        for line in told
        if PAINTS[line.paint].fault
    ]
    return f"no finding; {'; '.join(said)}" if said else ""


def _nothing(head: Row) -> str:
    """What there is to say where nothing stands out."""
    if not head["on_minutes"]:
        return "on only if somebody is there" if head["conditional_minutes"] else "never on"
    return f"nothing stands out: {_habit(head)}"


def _habit(head: Row) -> str:
    if head["area"] == "interior" and head["hours_known"] and head["site_closed_minutes"]:
        return f"on for {_percent(head['closed_minutes'] / head['site_closed_minutes'])} of the closed time"
    if head["area"] != "interior" and head["daylight_minutes"] < _HARMLESS:
        return "on in darkness, off in daylight"
    return f"on for {hours_of(60 * head['on_minutes'])} of {hours_of(86400 * head['days'])}"


def _percent(share: float) -> str:
    return "less than 1 %" if 0 < share < 0.01 else f"{round(100 * share)} %"


def told_of(painting: Painting) -> list[Told]:
    """The paints to tell of, without what never lasts long enough to matter."""
    return [
        Told(name, amount.seconds, amount.dates)
        for name, amount in painting.sums.items()
        if amount.longest >= PAINTS[name].least_minutes
    ]


def hours_of(seconds: float) -> str:
    """A sum over the period: "3 890 h", "40 min"."""
    return length_text(seconds) if seconds < 36000 else f"{grouped(seconds / 3600)} h"


def description(year: CircuitYear, frame: Frame, told: Sequence[Told]) -> str:
    """The picture in sentences, for those who cannot see it."""
    head = year.head
    last = frame.date_of(frame.days - 1)
    parts = [
        f"{head['name'] or head['circuit_id']} at {head['site_name'] or head['site_id']}, "
        f"{dates_text(frame.first, last)}: the dates run across, the 24 hours of the local day up",
        *(_sentence(fact["words"]) for fact in year.facts),
        _painted(told),
        _sun(year.site),
        _opening(year.site),
        *(_sentence(change_words(change, frame)) for change in year.changes),
    ]
    return " ".join(f"{part}." for part in parts if part)


def _painted(told: Sequence[Told]) -> str:
    said = [
        f"{PAINTS[line.paint].words} for {hours_of(line.seconds)} on {counted(line.dates, 'date')}"
        for line in told
    ]
    return _sentence("; ".join(said)) or "Off all through"


@lru_cache(maxsize=32)  # the circuits of a site have it in common
def _sun(site: SiteYear) -> str:
    said = []
    for line in ("sunrise", "sunset"):
        minutes = site.lines[line].minute
        if len(minutes):
            said.append(f"{line} between {_time(minutes.min())} and {_time(minutes.max())}")
    return _sentence(", ".join(said)) or "The sun neither rises nor sets"


@lru_cache(maxsize=32)
def _opening(site: SiteYear) -> str:
    hours = hours_text(site.hours)
    return f"Opening hours: {hours}" if hours else "Opening hours are not known"


def _time(minute: int) -> str:
    return clock_text(60 * minute)


def change_words(change: Change, frame: Frame) -> str:
    """A change of clocks: "clocks go forward 1 h on 14 March 2027, and this device does not follow"."""
    when = date_text(frame.date_of(change.day))
    if change.moved_s is None:
        return f"on {when} this device's clock changes by itself"
    moved = f"clocks go {_way(change.moved_s)} {length_text(abs(change.moved_s))} on {when}"
    return f"{moved}, and this device does not follow" if not_followed(change) else moved


def law_words(change: Change, frame: Frame) -> str:
    """A change of local time, as the picture says it by its line; in [brackets] what needs more room."""
    return f"clocks [go ]{_way(change.moved_s or 0)}[ {_short_date(frame, change.day)}]"


def device_words(change: Change, frame: Frame) -> str:
    """How the device goes its own way, beside the same line."""
    if change.moved_s is not None:
        return "[this ]device does not"
    return f"[this ]device changes[ {_short_date(frame, change.day)}]"


def not_followed(change: Change) -> bool:
    """Whether the device stays as it is when the law moves local time."""
    if change.moved_s is None or change.error_before_s is None or change.error_after_s is None:
        return False
    return change.error_after_s - change.error_before_s == -change.moved_s


def _way(moved_s: int) -> str:
    return "forward" if moved_s > 0 else "back"


def _short_date(frame: Frame, day: int) -> str:
    """A date without its year, which the lower edge says."""
    return date_text(frame.date_of(day)).rsplit(" ", 1)[0]


def right_clock_title(year: CircuitYear) -> str:
    """What the device's wrong clock comes to."""
    words = next(fact["words"] for fact in year.facts if fact["clock"])
    return _sentence(f"against a right clock: {words}")


def right_clock_description(told: Sequence[Told]) -> str:
    """The small picture in sentences."""
    said = "; ".join(
        f"{PAINTS[line.paint].words}, {hours_of(line.seconds)} on {counted(line.dates, 'date')}"
        for line in told
    )
    return f"Painted is where the device does otherwise than it would with a right clock: {said}."
