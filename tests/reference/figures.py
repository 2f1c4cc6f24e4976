"""The figures of one circuit over the period: minutes, energy, and the energy that could be avoided."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from .hours import covers
from .sky import Interval
from .states import Stretch
from .tables import Circuit

LIT_OUTSIDE_HOURS = ("sign", "facade", "landscape")
NEVER_AVOIDABLE = ("egress", "security")
FIGURES = (
    "on_minutes",
    "conditional_minutes",
    "daylight_minutes",
    "closed_minutes",
    "curfew_minutes",
    "dark_open_minutes",
    "kwh",
    "avoidable_kwh",
)


@dataclass(frozen=True)
class SiteTime:
    """What the clock and the sun do at a site over the period: `light` from sunrise to sunset, `daylight`
    the same less the margin, and, None where hours are unknown, the time `open`, the `widened` open
    time, and the night `windows`."""

    light: list[Interval]
    daylight: list[Interval]
    open: list[Interval] | None
    widened: list[Interval] | None
    windows: list[Interval] | None

    @cached_property
    def changes(self) -> list[int]:
        """Every instant at which any of these begins or ends, sorted."""
        lists = [self.light, self.daylight, self.open or [], self.widened or [], self.windows or []]
        return sorted({instant for pairs in lists for pair in pairs for instant in pair})


@dataclass(frozen=True)
class Moment:
    """A stretch in which nothing changes: a circuit's state and all that the figures ask about the site."""

    seconds: int
    level: float
    conditional: bool
    dark: bool
    daylight: bool
    open: bool
    closed: bool
    night: bool


def _cuts(stretch: Stretch, site: SiteTime) -> list[int]:
    """The instants inside a stretch at which the site's side changes, and the stretch's two ends."""
    first, last = bisect_right(site.changes, stretch.start), bisect_left(site.changes, stretch.end)
    return [stretch.start, *site.changes[first:last], stretch.end]


def _moment(stretch: Stretch, site: SiteTime, start: int, end: int) -> Moment:
    return Moment(
        seconds=end - start,
        level=stretch.level,
        conditional=stretch.conditional,
        dark=not covers(site.light, start),
        daylight=covers(site.daylight, start),
        open=covers(site.open or [], start),
        closed=not covers(site.widened or [], start),
        night=covers(site.windows or [], start),
    )


def moments(stretches: list[Stretch], site: SiteTime) -> list[Moment]:
    """The period cut at every change of the circuit or of its site."""
    found = []
    for stretch in stretches:
        cuts = _cuts(stretch, site)
        found += [_moment(stretch, site, *pair) for pair in pairwise(cuts)]
    return found


def avoidable(area: str, hours_known: bool, moment: Moment) -> bool:
    """Whether on-time at this moment could be avoided: in daylight outdoors (never egress or security),
    while closed indoors and for signs, facades and landscape."""
    if area == "interior":
        return moment.closed
    if area in NEVER_AVOIDABLE:
        return False
    return moment.daylight or (hours_known and moment.closed and area in LIT_OUTSIDE_HOURS)


def minutes(chosen: list[Moment]) -> float:
    """Their length in minutes."""
    return sum(moment.seconds for moment in chosen) / 60


def energy(chosen: list[Moment], watts: float) -> float:
    """Their energy in kWh."""
    return sum(moment.level / 100 * moment.seconds for moment in chosen) * watts / 3_600_000


def _hour_figures(area: str, all_moments: list[Moment], on: list[Moment]) -> dict[str, float | None]:
    dark_open = [m for m in all_moments if m.level == 0 and not m.conditional and m.dark and m.open]
    return {
        "closed_minutes": minutes([m for m in on if m.closed]),
        "curfew_minutes": minutes([m for m in on if m.night]),
        "dark_open_minutes": None if area == "interior" else minutes(dark_open),
    }


def figures(circuit: Circuit, stretches: list[Stretch], site: SiteTime) -> dict[str, float | None]:
    """The figures by name, minutes and kWh; None where they are blank."""
    all_moments = moments(stretches, site)
    on = [moment for moment in all_moments if moment.level > 0]
    known = site.open is not None
    wasted = [moment for moment in on if avoidable(circuit.area, known, moment)]
    found: dict[str, float | None] = dict.fromkeys(FIGURES)
    found["on_minutes"] = minutes(on)
    found["conditional_minutes"] = minutes([moment for moment in all_moments if moment.conditional])
    found["daylight_minutes"] = minutes([moment for moment in on if moment.daylight])
    if known:
        found |= _hour_figures(circuit.area, all_moments, on)
    if circuit.watts is not None:
        found["kwh"] = energy(on, circuit.watts)
        blank = circuit.area == "interior" and not known
        found["avoidable_kwh"] = None if blank else energy(wasted, circuit.watts)
    return found
