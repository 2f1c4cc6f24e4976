"""The plan in words, to be read aloud to a crew, and what it reckons with."""

from collections.abc import Iterator, Sequence
from itertools import chain

from auditor.letters import printable
from auditor.model import SEVERITIES
from auditor.report.cards import answered_before
from auditor.report.findings import reasons
from auditor.report.rows import Row, counts_text
from auditor.visits.planning import CrewDay, Plan, Stop
from auditor.wording import clock_text, counted, date_text, length_text, place_words, short

ELECTRICIAN = "qualified electrician"
ASIDE = {  # why nobody is sent for a finding
    "declined": "declined",
    "done": "recorded as done",
    "rejected": "of rejected rows",
}
_KINDS = 10  # of work named at a stop; the card has all
_LONGEST = 400  # characters of what was recorded; the card has all


def time_text(minutes: int) -> str:
    """A time of day from minutes after 00:00 of the day on which the crew left."""
    return clock_text(minutes % 1440 * 60)


def day_title(day: CrewDay) -> str:
    """Such as "Day 1, crew 2" or "Day 1, 2 November 2026, crew 2"."""
    return f"Day {day.day}, {date_text(day.date) + ', ' if day.date else ''}crew {day.crew}"


def day_start(day: CrewDay) -> str:
    """How a crew's day begins, as a sentence."""
    if day.base is None:
        return f"Begin at the first stop at {time_text(day.leave)}."
    base = f"base {day.base_number} ({place_words(*day.base)})"
    if day.stops and not day.stops[0].drive:
        return f"Begin at {base}, where the first stop is, at {time_text(day.leave)}."
    return f"Leave {base} at {time_text(day.leave)}."


def day_end(day: CrewDay) -> str:
    """How it ends, as a sentence."""
    if day.base is None:
        return f"The day ends at the last stop at {time_text(day.back)}."
    if not day.drive_back:
        return f"The day ends at base {day.base_number}, where the last stop is, at {time_text(day.back)}."
    driving = length_text(60 * day.drive_back)
    return f"Back at base {day.base_number} at {time_text(day.back)}, after {driving} of driving."


def free_days(plan: Plan) -> str:
    """How many days of crews are left over, as a sentence; blank where none is."""
    free = len(plan.days) - len(plan.busy)
    return f"{counted(free, 'crew day has', 'crew days have')} no visit." if free else ""


def site_label(stop: Stop) -> str:
    """The site as people call it, with its id."""
    return _called(stop.choice.site["name"], stop.choice.site["site_id"])


def _called(name: str | None, site_id: str) -> str:
    return f"{short(name)} ({site_id})" if name else site_id


def to_bring(stop: Stop) -> list[str]:
    """What a stop takes along, each thing once, and whom."""
    things = ["the card of this stop", *(row["bring"] for row in stop.choice.findings if row["bring"])]
    if needs_electrician(stop):
        things.append("a qualified electrician with a lock-out kit")
    return list(dict.fromkeys(things))


def needs_electrician(stop: Stop) -> bool:
    """Whether site staff may not do all of it."""
    return any(row["who"] == ELECTRICIAN for row in stop.choice.findings)


def told(plan: Plan) -> str:
    """The whole plan for standard output."""
    home = [] if plan.crews.bases else [_home(plan)]  # without one, two stops may be an ocean apart
    lines = (_desk(plan), _lines(plan), home, _undone(plan), _aside(plan), [_how_good(plan)])
    return "\n".join(map(printable, chain.from_iterable(lines)))


def _desk(plan: Plan) -> Iterator[str]:
    rows = plan.work.desk
    if not rows:
        yield "Nothing waits for a desk."
        return
    findings, sites = counted(len(rows), "finding"), counted(len({row["site_id"] for row in rows}), "site")
    yield f"From a desk first, before anybody drives: {findings} at {sites} (desk.csv)."
    for row in rows:
        if row["still_there"]:
            yield f"  Still there: {_called(row['site_name'], row['site_id'])}, {_recorded(row)}"


def _recorded(row: Row) -> str:
    """A finding, and what was recorded about it."""
    what = row["title"] if row["subject_kind"] == "site" else f"{row['title']}, {row['label']}"
    return f"{what}. {short(row['answered'], _LONGEST)}"


def _lines(plan: Plan) -> Iterator[str]:
    for day in plan.busy:
        yield f"{day_title(day)}. {day_start(day)}"
        for stop in day.stops:
            times = f"{time_text(stop.arrive)} to {time_text(stop.leave)}"
            yield f"  {times}, {site_label(stop)}{_address(stop)}: {_what(stop)}"
            yield f"    To put right: {'; '.join(reasons(stop.choice.findings, _KINDS))}."
            yield from _before(stop)
            yield f"    Bring {'; '.join(to_bring(stop))}."
        yield f"  {day_end(day)}"
    if free := free_days(plan):
        yield free


def _before(stop: Stop) -> Iterator[str]:
    """What was recorded about a stop's findings before; what was said to be done, and is not, first."""
    for row in answered_before(stop.choice.findings):
        yield f"    {'Still there' if row['still_there'] else 'Answered before'}: {_recorded(row)}"


def _address(stop: Stop) -> str:
    address = stop.choice.site["address"]
    return f", {short(address)}" if address else ""


def _what(stop: Stop) -> str:
    drive = f"after {length_text(60 * stop.drive)} of driving; " if stop.drive else ""
    return f"{drive}{counts_text(stop.choice.findings, SEVERITIES)}."


def _undone(plan: Plan) -> Iterator[str]:
    """Sites that stay undone, and of each what must not be passed over in silence."""
    if plan.unplanned:
        yield f"Not planned: {counted(len(plan.unplanned), 'site')}, each with its reason in unplanned.csv."
    for row in plan.unplanned:
        yield from _undone_at(row)


def _undone_at(row: Row) -> Iterator[str]:
    """Critical findings, because they can hurt people, and those that somebody believes to be done."""
    called = _called(row["findings"][0]["site_name"], row["site_id"])
    critical = [finding for finding in row["findings"] if finding["severity"] == "critical"]
    if critical:
        what = "; ".join(reasons(critical, _KINDS))
        yield f"  Critical and not planned: {called}: {what}. {row['reason']}"
    for finding in row["findings"]:
        if finding["still_there"]:
            yield f"  Still there and not planned: {called}, {_recorded(finding)}"


def _aside(plan: Plan) -> Iterator[str]:
    """How many findings nobody is sent for; the critical ones by name."""
    rows = plan.work.aside
    if rows:
        yield f"Nobody is sent for these: {aside_counts(rows)} (unplanned.csv)."
    for row in rows:
        if row["severity"] == "critical":
            called = _called(row["site_name"], row["site_id"])
            yield f"  Critical and {ASIDE[row['aside']]}: {called}, {_recorded(row)}"


def aside_counts(rows: Sequence[Row]) -> str:
    """Findings that are set aside, by why: "1 finding declined, 2 findings recorded as done"."""
    numbers = {words: sum(row["aside"] == why for row in rows) for why, words in ASIDE.items()}
    return ", ".join(f"{counted(many, 'finding')} {words}" for words, many in numbers.items() if many)


def reckoning(plan: Plan) -> list[str]:
    """What the plan takes for granted, as sentences; the last says how good it is."""
    given = plan.work.settings
    start, day = time_text(round(given["start_minutes"])), length_text(3600 * given["day_hours"])
    factor, speed = f"{given['detour_factor']:g}", f"{given['speed_kmh']:g}"
    return [
        f"Driving is the great-circle distance × {factor} at {speed} km/h, in whole minutes rounded up. No "
        "map, no traffic and no sea is known to it.",
        f"A day has {day} from {start}, on the crew's own clock, all driving included. No break is planned. "
        "Opening hours are not looked at: they stand on the card.",
        _home(plan),
        f"Every stop takes {given['first_minutes']:g} min, and minutes for each finding by its kind of work.",
        "Sites with a critical finding to be mended on site come first, as many as can be reached. Then "
        "comes as much score as the days allow, counting only what a visit can mend; then the least driving.",
        _how_good(plan),
    ]


def _how_good(plan: Plan) -> str:
    if plan.proven:
        return "No plan is better by this reckoning."
    return "This is the best plan that a bounded search found; a better one may exist."


def _home(plan: Plan) -> str:
    if not plan.crews.bases:
        return (
            "No base was given: each day begins at its first stop and ends at its last, and the way there "
            "and home is not counted."
        )
    places = [f"base {number} at {place_words(*base)}" for number, base in enumerate(plan.crews.bases, 1)]
    return f"Crews are given to bases in turn: {'; '.join(places)}. Each day begins and ends there."
