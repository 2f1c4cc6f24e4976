"""The best plan for a few sites and days, by a constraint solver: the only import of OR-tools.

Three questions, one after the other: how many critical sites can be reached; keeping these, how much worth;
keeping that, how little driving. Money is asked about only when the first answer stands, so that no sum of
money can push a critical site out.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from auditor.errors import UserError
from auditor.visits.distances import Place
from auditor.visits.problem import Problem, Route

_SEED = 1
_MISSING = (
    "planning visits needs OR-tools, which is not installed; in the folder of this program run "
    "pip install '.[visits]', or pip install ortools."
)


def solver_at_hand() -> Any:
    """The solver's module. Raises UserError where it is not installed."""
    try:
        from ortools.sat.python import cp_model
    except ImportError as error:
        raise UserError(_MISSING) from error
    return cp_model


def best_routes(
    problem: Problem, bases: Sequence[Place | None], sites: Sequence[int], now: Sequence[Route], effort: float
) -> tuple[list[Route], bool]:
    """The best routes over ``sites``, one for each of ``bases``; and whether nothing can be better.

    ``now`` are routes that hold, and the answer is never worse. ``effort`` bounds each question in the
    solver's own measure of work, about seconds; it is the same on every machine, however fast.
    """
    cp = solver_at_hand()
    model = _Model(cp, problem, bases, sites)
    best, proven = list(now), True
    for place, goal in enumerate(model.goals):
        model.suggest(best)
        answer, sure = model.most(goal, effort)
        best, proven = answer or best, proven and sure
        model.at_least(goal, problem.value(bases, best)[place])
    return best, proven


class _Model:
    """Each day is a circuit through its base; a site or base that a day leaves out loops to itself."""

    def __init__(
        self, cp: Any, problem: Problem, bases: Sequence[Place | None], sites: Sequence[int]
    ) -> None:
        self.cp, self.problem, self.bases, self.sites = cp, problem, bases, sites
        self.model = cp.CpModel()
        self.arcs = [self._day(base) for base in bases]
        criticals = worth = 0
        for place, number in enumerate(sites, 1):
            seen = [~arcs[place, place] for arcs in self.arcs]
            self.model.add_at_most_one(seen)
            site = problem.candidates[number]
            criticals += sum(seen) * int(site.critical)
            worth += sum(seen) * site.worth
        driving = sum(self._driving(*day) for day in zip(bases, self.arcs, strict=True))
        self.goals = (criticals, worth, -driving)  # in the order of Problem.value

    def _day(self, base: Place | None) -> dict[tuple[int, int], Any]:
        """The day's arcs between places, 0 the base and then the sites; a day no longer than it may be."""
        places = range(len(self.sites) + 1)
        arcs = {(one, two): self.model.new_bool_var("") for one in places for two in places}
        self.model.add_circuit([(*ends, used) for ends, used in arcs.items()])
        for place in places[1:]:  # who stays at the base visits nobody
            self.model.add_implication(arcs[0, 0], arcs[place, place])
        work = sum(
            ~arcs[place, place] * self.problem.candidates[number].minutes
            for place, number in enumerate(self.sites, 1)
        )
        self.model.add(self._driving(base, arcs) + work <= self.problem.day_minutes)
        return arcs

    def _driving(self, base: Place | None, arcs: dict[tuple[int, int], Any]) -> Any:
        return sum(self._minutes(base, *ends) * used for ends, used in arcs.items() if ends[0] != ends[1])

    def _minutes(self, base: Place | None, one: int, two: int) -> int:
        if one and two:
            return self.problem.leg(self.sites[one - 1], self.sites[two - 1])
        return self.problem.out[base][self.sites[one + two - 1]]

    def suggest(self, routes: Sequence[Route]) -> None:
        """A plan to begin with."""
        self.model.clear_hints()
        where = {number: place for place, number in enumerate(self.sites, 1)}
        for arcs, route in zip(self.arcs, routes, strict=True):
            way = [0, *(where[number] for number in route), 0]
            used = set(pairwise(way)) | {(place, place) for place in where.values()}
            used -= {(place, place) for place in way if place or route}
            for ends, arc in arcs.items():
                self.model.add_hint(arc, ends in used)

    def most(self, goal: Any, effort: float) -> tuple[list[Route] | None, bool]:
        """The routes that make ``goal`` largest, None where none were found; and whether it is proven."""
        self.model.maximize(goal)
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = _SEED
        solver.parameters.max_deterministic_time = effort
        solver.parameters.catch_sigint_signal = False  # else Ctrl-C would give a worse plan, and no end
        status = solver.solve(self.model)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return None, False
        return [self._route(solver, arcs) for arcs in self.arcs], status == self.cp.OPTIMAL

    def _route(self, solver: Any, arcs: dict[tuple[int, int], Any]) -> Route:
        after = {one: two for (one, two), used in arcs.items() if one != two and solver.value(used)}
        route, here = [], after.get(0, 0)
        while here:
            route.append(self.sites[here - 1])
            here = after[here]
        return tuple(route)

    def at_least(self, goal: Any, value: int) -> None:
        """From now on no answer may be worse at ``goal``."""
        self.model.add(goal >= value)
