"""Programs for the random portfolios: what a time switch may be told to do, and the ways it goes wrong."""

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from random import Random

Step = dict[str, object]
WORKDAYS = "MO,TU,WE,TH,FR"
# Times near the hours at which clocks jump, in every zone used.
JUMP_TIMES = [
    "00:00",
    "00:15",
    "00:59:59",
    "01:00",
    "01:45",
    "02:00",
    "02:15",
    "02:45",
    "03:00",
    "23:30",
    "23:59:59",
]
SUN_ANCHORS = ("sunrise", "sunset", "dawn", "dusk")
OFFSETS = ("", "", -15, 10, -90, 45, 180, -240)


def step(action: str, anchor: str, when: object, days: str = "daily", **more: object) -> Step:
    """One step; `when` is its time of day, or its offset in minutes where the anchor is the sun's."""
    columns: Step = dict.fromkeys(("event_id", "controller_id", "targets"), "")
    columns |= {"action": action, "level": "", "days": days, "anchor": anchor}
    time, offset = (when, "") if anchor == "clock" else ("", when)
    return columns | {"time": time, "offset_minutes": offset, "from": "", "until": "", "calendar": ""} | more


def random_time(rng: Random) -> str:
    """A time of day, to the minute or the second."""
    text = f"{rng.randrange(24):02d}:{rng.choice([0, 10, 15, 30, 45, 59]):02d}"
    return f"{text}:{rng.randrange(60):02d}" if rng.random() < 0.2 else text


def dusk_to_clock(rng: Random, month: date) -> list[Step]:
    """On by the sun, off by the clock."""
    on = step("on", rng.choice(["sunset", "dusk"]), rng.choice(OFFSETS))
    return [on, step("off", "clock", random_time(rng))]


def night_through(rng: Random, month: date) -> list[Step]:
    """On and off by the sun, at night or, the wrong way round, by day."""
    pair = [rng.choice(["sunset", "dusk"]), rng.choice(["sunrise", "dawn"])]
    rng.shuffle(pair)
    return [step("on", pair[0], rng.choice(OFFSETS)), step("off", pair[1], rng.choice(OFFSETS))]


def work_week(rng: Random, month: date) -> list[Step]:
    """By the clock, other times on Saturdays."""
    week = [step("on", "clock", "06:45", WORKDAYS), step("off", "clock", random_time(rng), WORKDAYS)]
    return [*week, step("on", "clock", "09:00", "SA"), step("off", "clock", random_time(rng), "SA, SU")]


def two_seasons(rng: Random, month: date) -> list[Step]:
    """Off earlier in winter than in summer; the winter wraps over New Year."""
    return [
        step("on", "sunset", rng.choice(OFFSETS)),
        step("off", "clock", "22:30") | {"from": "10-01", "until": "03-31"},
        step("off", "clock", "23:45") | {"from": "04-01", "until": "09-30"},
        step("on", "clock", "05:45", "MO,WE,FR") | {"from": "11-15", "until": "02-15"},
        step("off", "sunrise", ""),
    ]


def dimmed(rng: Random, month: date) -> list[Step]:
    """Several levels in a night."""
    steps = [step("on", "dusk", -15), step("level", "clock", "21:00", level=rng.choice([70, 71, 40]))]
    steps.append(step("level", "clock", random_time(rng), level=rng.choice([0, 25, 12.5])))
    return [*steps, step("off", "dawn", 10)]


def at_jumps(rng: Random, month: date) -> list[Step]:
    """Times that a DST jump skips or doubles."""
    actions, times = ["on", "off", "on", "off"], rng.sample(JUMP_TIMES, 4)
    return [step(action, "clock", time) for action, time in zip(actions, times, strict=True)]


def ties(rng: Random, month: date) -> list[Step]:
    """Steps that disagree at one instant: the program order decides."""
    clock, sun = random_time(rng), rng.choice(SUN_ANCHORS)
    by_clock = [step("on", "clock", clock), step("off", "clock", clock)]
    by_sun = [step("on", sun, ""), step("off", sun, "", "TU,SA"), step("off", "clock", random_time(rng))]
    return [*by_clock, *by_sun, step("level", "clock", clock, "WE", level=30)]


def dated(rng: Random, month: date) -> list[Step]:
    """Steps of a few weeks, of one date, of a leap day, and of long ago."""
    first = month + timedelta(days=rng.randrange(300))
    last = first + timedelta(days=rng.choice([0, 20, 200]))
    weeks = {"from": first.isoformat(), "until": last.isoformat()}
    leap, past = {"from": "02-28", "until": "02-29"}, {"from": "2020-01-01", "until": "2020-02-29"}
    found = [step("on", "sunset", "") | weeks, step("off", "clock", "23:45") | weeks]
    found += [step("on", "dusk", "") | leap, step("on", "clock", "10:00") | past]
    return [*found, step("off", "clock", "23:00")]


def one_sided(rng: Random, month: date) -> list[Step]:
    """On without off, or off without on."""
    return [step(rng.choice(["on", "off"]), "clock", random_time(rng), rng.choice(["MO", "daily"]))]


def nothing(rng: Random, month: date) -> list[Step]:
    """No program at all."""
    return []


PROGRAMS: list[Callable[[Random, date], list[Step]]] = [
    dusk_to_clock,
    dusk_to_clock,
    night_through,
    work_week,
    two_seasons,
    dimmed,
    at_jumps,
    ties,
    dated,
    one_sided,
    nothing,
]


def calendar_steps(rng: Random, calendars: Sequence[str]) -> list[Step]:
    """Steps for the dates of one calendar or two, on some of the weekdays only."""
    found = []
    for calendar in rng.sample([*calendars, "never listed"], rng.choice([1, 1, 2])):
        found += [step("off", "clock", "00:00", calendar=calendar), step("on", "dusk", "", calendar=calendar)]
        found.append(step("off", "clock", "21:00", rng.choice(["daily", "TU,FR,SU"]), calendar=calendar))
    return found


def circuit_steps(rng: Random, month: date, calendars: Sequence[str], target: str) -> list[Step]:
    """A whole program for one circuit: one of the kinds above, or two mixed, with or without holidays."""
    found = []
    for program in rng.sample(PROGRAMS, rng.choice([1, 1, 1, 2])):
        found += program(rng, month)
    if found and rng.random() < 0.35:
        found += calendar_steps(rng, calendars)
    return [{**one, "targets": target} for one in found]


def sensor_steps(rng: Random, calendars: Sequence[str], target: str) -> list[Step]:
    """Suspensions by night, by week, over a holiday, or without an end; half of the sensors have none."""
    if rng.random() < 0.5:
        return []
    found = [step("suspend", "clock", random_time(rng), rng.choice(["daily", "WE", WORKDAYS]))]
    if rng.random() < 0.85:
        found.append(step("resume", rng.choice(SUN_ANCHORS), rng.choice(OFFSETS)))
    if rng.random() < 0.3:
        found.append(step("resume", "clock", "05:00", "MO"))
    if rng.random() < 0.3:
        found.append(step("suspend", "clock", "12:00", calendar=rng.choice(calendars)))
    return [{**one, "targets": target} for one in found]
