"""What fires when, and what each circuit does: its state as a list of stretches."""

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date

from .clocks import Clock, first_instant
from .hours import covers
from .sky import Interval, crossing, noon, solar_days
from .tables import DAY, Circuit, Controller, Place, Portfolio, Sensor, Step, date_of, epoch_day

LOOK_BACK = 366 * DAY


@dataclass(frozen=True)
class Firing:
    """A step that has fired at a true instant; `order` is its place in the program."""

    instant: int
    order: int
    step: Step


@dataclass(frozen=True)
class Stretch:
    """A circuit's state from `start` to `end` (epoch seconds): level 0-100, or conditional at level 0."""

    start: int
    end: int
    level: float
    conditional: bool


def in_season(step: Step, day: date) -> bool:
    """Whether `day` lies in the step's from-until, ends included; MM-DD may wrap over New Year."""
    if step.season is None:
        return True
    first, last = step.season
    shown = day.isoformat()[-len(first) :]
    return first <= shown <= last if first <= last else shown >= first or shown <= last


def calendar_allows(step: Step, day: date, listed: set[str], own: set[str]) -> bool:
    """Whether the calendars let the step act on `day`: `listed` are those under which the site lists the
    date, `own` those for which the target has steps."""
    ruling = listed & own
    return step.calendar in ruling if ruling else step.calendar is None


@dataclass(frozen=True)
class Device:
    """A controller with what its firings depend on: its clock, the place that it takes the sun from, and
    the calendars under which its site lists a date; `lift` raises the sun's horizons (in degrees)."""

    controller: Controller
    clock: Clock
    place: Place
    calendars: dict[date, set[str]]
    lift: float = 0.0


def device_dates(clock: Clock, start: int, end: int) -> list[date]:
    """The dates that the clock shows from `start` to `end`, with three to spare on both sides."""
    first = (start + clock.residual) // DAY - 3
    last = (end + clock.residual) // DAY + 3
    return [date_of(number * DAY) for number in range(first, last + 1)]


def clock_firings(device: Device, step: Step, start: int, end: int) -> list[tuple[date, int]]:
    """(date on the device's clock, true instant at which it shows the step's time on that date)."""
    clock = device.clock
    return [
        (day, first_instant(clock.offset, epoch_day(day) + step.time - clock.residual))
        for day in device_dates(clock, start, end)
    ]


def sun_firings(device: Device, step: Step, start: int, end: int) -> list[tuple[date, int]]:
    """(date of the solar transit by O, true instant). A device whose clock is off by r takes the sun of the
    time that it believes in, and so fires at that crossing minus r."""
    clock, spare = device.clock, abs(step.offset)
    days = solar_days(device.place, start + clock.residual - spare, end + clock.residual + spare)
    found: list[tuple[date, int]] = []
    for day in days:
        transit, instant = noon(device.place, day), crossing(device.place, day, step.anchor, device.lift)
        if instant is not None:
            shown = date_of(transit + clock.offset(transit))
            found.append((shown, instant + step.offset - clock.residual))
    return found


def dated_instants(device: Device, step: Step, start: int, end: int) -> list[tuple[date, int]]:
    """When the step would fire, whatever its days: (date on the device's clock, true instant), and some more
    around `start` to `end`."""
    return (clock_firings if step.anchor == "clock" else sun_firings)(device, step, start, end)


def acts(step: Step, day: date, listed: set[str], own: set[str]) -> bool:
    """Whether the step acts on the date `day`."""
    allowed = calendar_allows(step, day, listed, own)
    return allowed and day.weekday() in step.weekdays and in_season(step, day)


def firings(device: Device, steps: list[Step], target: str, start: int, end: int) -> list[Firing]:
    """All firings on `target` from `start` up to (not at) `end`, by instant, then program order."""
    mine = [
        (order, step)
        for order, step in enumerate(steps)
        if step.controller_id == device.controller.controller_id and target in step.targets
    ]
    own = {step.calendar for _, step in mine if step.calendar is not None}
    found = [
        Firing(instant, order, step)
        for order, step in mine
        for day, instant in dated_instants(device, step, start, end)
        if start <= instant < end and acts(step, day, device.calendars.get(day, set()), own)
    ]
    return sorted(found, key=lambda firing: (firing.instant, firing.order))


def last_fired(found: list[Firing], instant: int) -> Step | None:
    """The step that fired last at or before `instant`: of a tie the later in program order."""
    index = bisect_right(found, instant, key=lambda firing: firing.instant)
    return found[index - 1].step if index else None


@dataclass(frozen=True)
class Wiring:
    """A circuit with its firings, its sensors in use with theirs, and the light at its site."""

    circuit: Circuit
    hold: str | None
    has_steps: bool
    program: list[Firing]
    sensors: list[tuple[Sensor, list[Firing]]]
    light: list[Interval]

    def schedule(self, instant: int) -> float:
        """The schedule level: what the last fired step left, 0 before the first."""
        step = last_fired(self.program, instant)
        return step.level if step else 0.0

    def in_service(self, found: list[Firing], instant: int) -> bool:
        """Whether a sensor with these firings is not suspended."""
        step = last_fired(found, instant)
        return step is None or step.action == "resume"

    def services(self, kind: str, instant: int) -> list[bool]:
        """For each sensor of a kind whether it is in service."""
        return [self.in_service(found, instant) for sensor, found in self.sensors if sensor.kind == kind]

    def driven_level(self, instant: int) -> float:
        """The level from schedule and photocontrols, in parallel (`any`) or in series (`all`)."""
        dark = not covers(self.light, instant)
        in_service = self.services("photocontrol", instant)
        if self.circuit.combine == "any":
            return max(self.schedule(instant), 100.0 if dark and any(in_service) else 0.0)
        closed_contacts = dark or not any(in_service)
        return (self.schedule(instant) if self.has_steps else 100.0) if closed_contacts else 0.0

    def state(self, instant: int) -> tuple[float, bool]:
        """(level, conditional) at an instant."""
        if self.hold is not None:
            return (100.0 if self.hold == "on" else 0.0), False
        level = self.driven_level(instant)
        if not any(self.services("occupancy", instant)):
            return level, False
        if self.circuit.combine == "any":
            return level, level == 0
        return 0.0, level > 0


def wire(
    portfolio: Portfolio, device: Device, circuit: Circuit, light: list[Interval], period: Interval
) -> Wiring:
    """Gathers all that drives a circuit; firings count from 366 days before the period."""
    start, end = period[0] - LOOK_BACK, period[1]
    return Wiring(
        circuit=circuit,
        hold=circuit.hold or device.controller.hold,
        has_steps=any(
            circuit.circuit_id in step.targets and step.controller_id == circuit.controller_id
            for step in portfolio.steps
        ),
        program=firings(device, portfolio.steps, circuit.circuit_id, start, end),
        sensors=[
            (sensor, firings(device, portfolio.steps, sensor.sensor_id, start, end))
            for sensor in portfolio.sensors
            if circuit.circuit_id in sensor.circuits
        ],
        light=light,
    )


def change_instants(wiring: Wiring, period: Interval) -> list[int]:
    """The period's start, and every instant in it at which something that drives the circuit may change."""
    fired = [firing.instant for firing in wiring.program]
    sensed = [firing.instant for _, found in wiring.sensors for firing in found]
    sun = [instant for pair in wiring.light for instant in pair]
    inside = {instant for instant in fired + sensed + sun if period[0] <= instant < period[1]}
    return sorted({period[0]} | inside)


def stretches(wiring: Wiring, period: Interval) -> list[Stretch]:
    """The circuit's state over the period, as stretches without a gap; neighbours differ."""
    instants = change_instants(wiring, period)
    found: list[Stretch] = []
    for start, end in zip(instants, [*instants[1:], period[1]], strict=True):
        level, conditional = wiring.state(start)
        if found and (found[-1].level, found[-1].conditional) == (level, conditional):
            start = found.pop().start
        found.append(Stretch(start, end, level, conditional))
    return found
