"""From sites with work to candidates for a visit: what fits into a day, and what no crew can reach in one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from auditor.report.rows import Row
from auditor.visits.distances import Place, Roads
from auditor.visits.problem import Candidate
from auditor.visits.reading import Work
from auditor.wording import grouped, length_text

MOST = 600  # sites that are weighed against each other; beyond it time is spent on what nobody will reach
_LONG = 2880  # minutes on the road; there and back over a sea, say, where nobody wants the hours
_FINEST = 1_000_000  # the largest worth, in the solver's whole numbers


@dataclass(frozen=True)
class Choice:
    """A candidate with its site, the findings that a visit mends, and those that do not fit into a day."""

    candidate: Candidate
    site: Row
    findings: list[Row]
    too_much: list[Row]


def choices(
    work: Work, bases: Sequence[Place | None], day_minutes: int, roads: Roads
) -> tuple[list[Choice], list[Row]]:
    """Candidates in the order in which they are weighed, and a row for each site that is none, with why."""
    unit = max(1.0, max((site["worth"] for site in work.sites), default=0) / _FINEST)
    reached, unplanned = [], []
    for site in work.sites:
        place = (site["latitude"], site["longitude"])
        drive = min(2 * roads.minutes(base, place) if base else 0 for base in bases)
        choice = _choice(site, work, day_minutes - drive, unit)
        if choice.findings:
            reached.append(choice)
        else:
            unplanned.append(left(site, work, _beyond(drive, choice.candidate.minutes, day_minutes)))
    reached.sort(key=_first_weighed)
    reason = f"Not weighed: only the first {MOST} of {grouped(len(reached))} sites in reach are."
    return reached[:MOST], unplanned + [left(choice.site, work, reason) for choice in reached[MOST:]]


def _first_weighed(choice: Choice) -> tuple[bool, float, int]:
    """Critical sites first, the quickest of them before others: they are counted. Then what is worth most."""
    site = choice.candidate
    return not site.critical, site.minutes if site.critical else -choice.site["worth"], choice.site["rank"]


def _choice(site: Row, work: Work, room: int, unit: float) -> Choice:
    """As much of a site's work, worst first, as a day has room for."""
    first, spent = work.settings["first_minutes"], 0.0
    fitting: list[Row] = []
    findings = work.findings[site["site_id"]]
    for finding in findings:
        if first + spent + finding["minutes"] <= room:
            fitting.append(finding)
            spent += finding["minutes"]
    least = spent if fitting else min(row["minutes"] for row in findings)
    candidate = Candidate(
        (site["latitude"], site["longitude"]),
        math.ceil(first + least),
        any(row["severity"] == "critical" for row in fitting),
        max(1, round(site["worth"] / unit)),
    )
    return Choice(candidate, site, fitting, [row for row in findings if row not in fitting])


def _beyond(drive: int, minutes: int, day: int) -> str:
    site, whole = f"{length_text(60 * minutes)} on site at least", f"a day has {length_text(60 * day)}"
    if not drive:
        return f"Too much for a day: {site}; {whole}."
    length = length_text(60 * drive) if drive <= _LONG else "more than two days"
    road = f"Out of reach: {length} there and back from the nearest base"
    return f"{road}; {whole}. Give a base near it." if drive >= day else f"{road} and {site}; {whole}."


def no_room(needed: int, day: str, room: int) -> str:
    """Why a site in reach is not visited: minutes that it takes of the best day, and those left there."""
    spare = f"{length_text(60 * room)} left" if room else "no time left"
    return (
        f"No room beside the other stops: put where it fits best, it takes {length_text(60 * needed)}, "
        f"driving included, and {day} has {spare}."
    )


IN_PART = "The site is visited, but this does not fit into the same day; plan another visit."


def left(site: Row, work: Work, reason: str, findings: Sequence[Row] | None = None) -> Row:
    """A row of what is not planned: a site's whole work for a crew, or only these findings."""
    rows = work.findings[site["site_id"]] if findings is None else findings
    minutes = work.settings["first_minutes"] + sum(row["minutes"] for row in rows)
    critical = sum(row["severity"] == "critical" for row in rows)
    return {
        "site_id": site["site_id"],
        "minutes": -int(-minutes // 1),
        "critical": critical,
        "reason": reason,
        "findings": rows,
    }
