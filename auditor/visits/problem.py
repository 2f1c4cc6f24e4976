"""What a planner is asked: sites to choose from, days of crews to fill, minutes on the road and on site."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from auditor.visits.distances import Place, Roads

Route = tuple[int, ...]  # candidates in the order in which a crew comes to them on one day
Value = tuple[int, int, int]  # critical sites, worth, minutes of driving spared: compared in this order


@dataclass(frozen=True)
class Candidate:
    """A site that may be visited: where it is, whole minutes of work there, and what a visit is worth.

    ``critical``: a visit puts a critical finding right. ``worth`` is in money-equivalents, 1 at least.
    """

    place: Place
    minutes: int
    critical: bool
    worth: int


@dataclass(frozen=True)
class Problem:
    """Candidates, and the base of each crew's each day; None: a day begins at its first stop."""

    candidates: Sequence[Candidate]
    bases: Sequence[Place | None]
    day_minutes: int
    roads: Roads
    known: dict[tuple[int, int], int] = field(default_factory=dict, compare=False)

    @cached_property
    def out(self) -> dict[Place | None, list[int]]:
        """Minutes from each base to each candidate."""
        return {
            base: [0 if base is None else self.roads.minutes(base, site.place) for site in self.candidates]
            for base in dict.fromkeys(self.bases)
        }

    def leg(self, one: int, other: int) -> int:
        """Minutes of driving between two candidates."""
        pair = (one, other) if one < other else (other, one)
        if pair not in self.known:
            places = (self.candidates[number].place for number in pair)
            self.known[pair] = self.roads.minutes(*places)
        return self.known[pair]

    def driving(self, base: Place | None, route: Route) -> int:
        """Minutes on the road: from the base, from stop to stop, and back."""
        if not route:
            return 0
        out = self.out[base]
        return out[route[0]] + sum(map(self.leg, route, route[1:])) + out[route[-1]]

    def length(self, base: Place | None, route: Route) -> int:
        """Minutes of the whole day."""
        return self.driving(base, route) + sum(self.candidates[number].minutes for number in route)

    def put_in(self, base: Place | None, route: Route, number: int) -> tuple[int, Route]:
        """The route with one more site, where that is quickest; and the minutes more that the day takes."""
        ways = ((*route[:place], number, *route[place:]) for place in range(len(route) + 1))
        driven, way = min((self.driving(base, way), way) for way in ways)
        return driven - self.driving(base, route) + self.candidates[number].minutes, way

    def value(self, bases: Sequence[Place | None], plan: Sequence[Route]) -> Value:
        """What routes from these bases are worth. Critical sites come before anything that money can say."""
        seen = [self.candidates[number] for route in plan for number in route]
        driven = sum(map(self.driving, bases, plan))
        return sum(site.critical for site in seen), sum(site.worth for site in seen), -driven
