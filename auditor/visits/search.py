"""From a problem of any size to a plan: all at once where it is small, piece by piece where it is not.

A large problem is filled greedily, and then mended: one crew's day, or two days beside each other, are taken
apart and put together again in the best way with the unplanned sites that suit them most. Every count here is
fixed, and no clock is read, so that the same store gives the same plan on every machine.
"""

from collections.abc import Iterator, Sequence

from auditor.visits.distances import Place
from auditor.visits.exact import best_routes, solver_at_hand
from auditor.visits.problem import Candidate, Problem, Route

_SMALL = 260  # days x (sites + 1)²: up to here the solver takes the whole problem, in seconds
_SMALL_EFFORT = 8.0  # of the solver's measure of work, about seconds
_PIECE = 12  # sites of a piece
_EFFORT = 0.2
_PIECES = 120  # at most: a minute or so
_SWEEPS = 3


def find_plan(problem: Problem) -> tuple[list[Route], bool]:
    """A route for each of the problem's days, and whether it is proven that none are better."""
    solver_at_hand()
    count = len(problem.candidates)
    if len(problem.bases) * (count + 1) ** 2 <= _SMALL:
        start = fill(problem)
        plan, proven = best_routes(problem, problem.bases, range(count), start, _SMALL_EFFORT)
    else:
        plan, proven = mend(problem, fill(problem)), False
    return fill(problem, plan), proven  # for a search that was bounded may have left room


def fill(problem: Problem, plan: Sequence[Route] = ()) -> list[Route]:
    """Site after site into the plan, each where it takes least time, in the order of ``_rank``."""
    plan = list(plan) or [()] * len(problem.bases)
    left = set(range(len(problem.candidates))).difference(*plan)
    best = {number: dict(_insertions(problem, plan, number, range(len(plan)))) for number in left}
    while offers := [_offer(problem, number, best[number]) for number in left if best[number]]:
        number, day = min(offers)[-2:]
        plan[day] = best[number][day][1]
        left.remove(number)
        for other in left:
            best[other].pop(day, None)
            best[other].update(_insertions(problem, plan, other, [day]))
    return plan


def _insertions(
    problem: Problem, plan: Sequence[Route], number: int, days: Sequence[int]
) -> Iterator[tuple[int, tuple[int, Route]]]:
    """For each day that has room for the site: the minutes that it takes there, and the route with it."""
    for day in days:
        base = problem.bases[day]
        minutes, way = problem.put_in(base, plan[day], number)
        if problem.length(base, way) <= problem.day_minutes:
            yield day, (minutes, way)


def _offer(
    problem: Problem, number: int, insertions: dict[int, tuple[int, Route]]
) -> tuple[bool, float, int, int]:
    """Sorts the best next insertion first."""
    site = problem.candidates[number]
    minutes, day = min((minutes, day) for day, (minutes, _) in insertions.items())
    return (*_rank(site, minutes), number, day)


def _rank(site: Candidate, minutes: int) -> tuple[bool, float]:
    """Critical sites first, the quickest of them before others: they are counted. Then worth a minute."""
    return (False, minutes) if site.critical else (True, -site.worth / max(minutes, 1))


def mend(problem: Problem, plan: list[Route]) -> list[Route]:
    """The plan after pieces of it were put together anew, as long as that helps."""
    pieces = 0
    for _ in range(_SWEEPS):
        before = problem.value(problem.bases, plan)
        for days in _pieces(problem, plan):
            if pieces == _PIECES:
                return plan
            pieces += 1
            plan = _again(problem, plan, days)
        if problem.value(problem.bases, plan) == before:
            break
    return plan


def _pieces(problem: Problem, plan: Sequence[Route]) -> Iterator[tuple[int, ...]]:
    """Each day alone, then each with the day whose stops lie nearest."""
    days = range(len(plan))
    yield from ((day,) for day in days)
    for day in days:
        others = [(_apart(problem, plan[day], plan[other]), other) for other in days if other != day]
        if others and plan[day]:
            yield day, min(others)[1]


def _apart(problem: Problem, one: Route, other: Route) -> float:
    return min((problem.leg(a, b) for a in one for b in other), default=float("inf"))


def _again(problem: Problem, plan: list[Route], days: tuple[int, ...]) -> list[Route]:
    bases, now = [problem.bases[day] for day in days], [plan[day] for day in days]
    own = [number for route in now for number in route]
    room = _PIECE - len(own)
    sites = own + _suitors(problem, plan, bases, own)[: max(room, 0)]
    best, _ = best_routes(problem, bases, sites, now, _EFFORT)
    if problem.value(bases, best) <= problem.value(bases, now):
        return plan
    plan = list(plan)
    for day, route in zip(days, best, strict=True):
        plan[day] = route
    return plan


def _suitors(
    problem: Problem, plan: Sequence[Route], bases: Sequence[Place | None], own: Sequence[int]
) -> list[int]:
    """Unplanned sites, the likeliest first."""
    planned = {number for route in plan for number in route}
    free = [number for number in range(len(problem.candidates)) if number not in planned]

    def order(number: int) -> tuple[bool, float, int]:
        site = problem.candidates[number]
        ways = [problem.out[base][number] for base in bases if base]
        way = min([*ways, *(problem.leg(number, stop) for stop in own)], default=0)
        return (*_rank(site, site.minutes + way), number)

    return sorted(free, key=order)
