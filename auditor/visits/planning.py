"""The plan: who goes where on which day, with times, from the work and the crews."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from auditor.errors import UserError
from auditor.report.rows import Row
from auditor.visits.choosing import IN_PART, Choice, choices, left, no_room
from auditor.visits.distances import Place, Roads
from auditor.visits.problem import Problem, Route
from auditor.visits.reading import Work
from auditor.visits.search import find_plan


@dataclass(frozen=True)
class Crews:
    """How many days of how many crews, and their bases, handed out in turn (none: no journey from home)."""

    days: int
    crews: int
    bases: tuple[Place, ...] = ()
    start: date | None = None

    def base(self, crew: int) -> Place | None:
        """Where a crew (0 is the first) leaves from and comes back to."""
        return self.bases[crew % len(self.bases)] if self.bases else None

    def date(self, day: int) -> date | None:
        """The date of a day (0 is the first), Monday to Friday; None without a start."""
        if self.start is None:
            return None
        here = self.start + timedelta(days=(7 - self.start.weekday()) % 7 if self.start.weekday() > 4 else 0)
        for _ in range(day):
            here += timedelta(days=3 if here.weekday() == 4 else 1)
        return here


@dataclass(frozen=True)
class Stop:
    """One visit; times are minutes after 00:00 of the day on which the crew left."""

    number: int
    choice: Choice
    drive: int
    arrive: int
    leave: int


@dataclass(frozen=True)
class CrewDay:
    """One crew's day; ``base_number`` 0: it begins at the first stop and ends at the last."""

    day: int
    date: date | None
    crew: int
    base_number: int
    base: Place | None
    leave: int
    back: int
    drive_back: int
    stops: list[Stop]
    route: Route


@dataclass(frozen=True)
class Plan:
    """Days in their order, those without a stop too; what is not planned; whether none can be better."""

    crews: Crews
    days: list[CrewDay]
    unplanned: list[Row]
    proven: bool
    work: Work

    @property
    def busy(self) -> list[CrewDay]:
        """Days with a stop."""
        return [day for day in self.days if day.stops]

    @property
    def stops(self) -> list[tuple[CrewDay, Stop]]:
        """Every stop with its day."""
        return [(day, stop) for day in self.days for stop in day.stops]


def make_plan(work: Work, crews: Crews) -> Plan:
    """The plan for these crews. Raises UserError where a base would stay without a crew."""
    if len(crews.bases) > crews.crews:
        number = len(crews.bases)
        raise UserError(f"{number} bases need {number} crews or more; give --crews {number}, or fewer bases.")
    minutes = round(60 * work.settings["day_hours"])
    roads = Roads(work.settings["detour_factor"], work.settings["speed_kmh"])
    bases = [crews.base(crew) for crew in range(crews.crews)]
    found, unplanned = choices(work, bases, minutes, roads)
    problem = Problem([choice.candidate for choice in found], _slots(crews, len(found)), minutes, roads)
    routes, proven = find_plan(problem)
    days = list(_days(problem, routes, crews, found, round(work.settings["start_minutes"])))
    return Plan(crews, days, _unplanned(unplanned, found, problem, days, work), proven, work)


def _slots(crews: Crews, sites: int) -> list[Place | None]:
    """The base of each crew's each day; no more days from one base than there are sites to fill them."""
    slots: list[Place | None] = []
    for crew in [crew for _ in range(crews.days) for crew in range(crews.crews)]:
        base = crews.base(crew)
        if slots.count(base) < sites:
            slots.append(base)
    return slots


def _days(
    problem: Problem, routes: Sequence[Route], crews: Crews, found: Sequence[Choice], start: int
) -> Iterator[CrewDay]:
    """Each base's routes over the days of its crews, those with critical sites and most worth first."""
    waiting: dict[Place | None, list[Route]] = {}
    for base, route in zip(problem.bases, routes, strict=True):
        waiting.setdefault(base, []).append(_forward(problem, route))
    for base, its in waiting.items():
        its.sort(key=lambda route: (*(-part for part in problem.value([base], [route])[:2]), route))
    for day in range(crews.days):
        for crew in range(crews.crews):
            base = crews.base(crew)
            route = waiting[base].pop(0) if waiting.get(base) else ()
            yield _day(problem, route, found, start, (day, crew, crews))


def _forward(problem: Problem, route: Route) -> Route:
    """The direction that comes to critical sites sooner; both take the same time."""

    def order(way: Route) -> tuple[list[bool], Route]:
        return [not problem.candidates[site].critical for site in way], way

    return min(route, route[::-1], key=order)


def _day(
    problem: Problem, route: Route, found: Sequence[Choice], start: int, who: tuple[int, int, Crews]
) -> CrewDay:
    day, crew, crews = who
    base, now = crews.base(crew), start
    stops: list[Stop] = []
    for place, number in enumerate(route):
        drive = problem.leg(route[place - 1], number) if place else problem.out[base][number]
        leave = now + drive + problem.candidates[number].minutes
        stops.append(Stop(place + 1, found[number], drive, now + drive, leave))
        now = leave
    home = problem.out[base][route[-1]] if route else 0
    base_number = crew % len(crews.bases) + 1 if crews.bases else 0
    return CrewDay(
        day + 1, crews.date(day), crew + 1, base_number, base, start, now + home, home, stops, route
    )


def _unplanned(
    rows: list[Row], found: Sequence[Choice], problem: Problem, days: Sequence[CrewDay], work: Work
) -> list[Row]:
    planned = {number for day in days for number in day.route}
    for number, choice in enumerate(found):
        if number not in planned:
            rows.append(left(choice.site, work, no_room(*_best_day(problem, days, number))))
        elif choice.too_much:
            rows.append(left(choice.site, work, IN_PART, choice.too_much))
    rank = {site["site_id"]: site["rank"] for site in work.sites}
    return sorted(rows, key=lambda row: rank[row["site_id"]])


def _best_day(problem: Problem, days: Sequence[CrewDay], number: int) -> tuple[int, str, int]:
    """The day from which the site can be reached that lacks least: minutes needed, its name, minutes left."""
    offers = [
        (problem.put_in(day.base, day.route, number)[0], problem.day_minutes - (day.back - day.leave), day)
        for day in days
        if problem.length(day.base, (number,)) <= problem.day_minutes
    ]
    needed, room, day = min(offers, key=lambda offer: (offer[0] - offer[1], offer[2].day, offer[2].crew))
    return needed, f"day {day.day} of crew {day.crew}", room
