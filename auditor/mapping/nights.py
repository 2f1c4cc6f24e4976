"""Steps of one row that end on the day after they began: "20:00-01:00" on a Friday, and 24:00.

A row that switches on and off says one stretch, or two steps of a device that fire on the same days. Both
are common, and where they differ nobody can tell them apart: the map says which is meant.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import pairwise, zip_longest
from typing import Any

import polars as pl

from auditor.mapping.items import NTH
from auditor.mapping.mornings import (
    day_after,
    is_season,
    is_whole_year,
    mask_of,
    names_of,
    season_after,
    seconds_of,
)

DAYS = "past_midnight"  # the key that says it
NEXT, SAME = NIGHTS = ("next day", "same day")
NIGHT, STACK = "{night}", "{stack}"  # columns of ours; no header has braces
_EARLY, _PLACE = "{early}", "{place}"
_MOVED = ("days", "time", "from", "until")
_READ = ("controller_id", "targets", "action", "level", "anchor", "calendar", *_MOVED)
_PAIR = ("source_row", NTH, "controller_id", "targets", "days", "from", "until", "calendar")
_MIDNIGHT, _NOON = 86400, 43200
_EVENING, _MORNING = ("sunset", "dusk"), ("sunrise", "dawn")
_SENSORS = ("suspend", "resume")
Step = dict[str, Any]
Fault = tuple[int, str, str, str]  # row, column, value, reason


def over_midnight(events: pl.DataFrame) -> tuple[pl.DataFrame, list[Fault]]:
    """The steps of a sheet as text, and what cannot be told. What ends on the day after stands there.

    It goes before all others, lest it ends what begins at its very instant. Where one stretch ends as another
    begins, the light stays on: on the days of that, nothing ends.
    """
    lacking = [pl.lit(None, pl.String).alias(name) for name in _READ if name not in events.columns]
    steps = events.with_columns(lacking).with_row_index(_PLACE)
    moved, faults = _moved(steps)
    idle = _dissolve(moved, steps) if moved else set()
    changed = pl.DataFrame(
        [{name: step[name] for name in (_PLACE, *_MOVED)} for step in moved.values()],
        {_PLACE: steps.schema[_PLACE]} | dict.fromkeys(_MOVED, pl.String),
    )
    ordered = (
        steps.update(changed, on=_PLACE)
        .filter(~pl.col(_PLACE).is_in(list(idle)))
        .sort(~pl.col(_PLACE).is_in(list(moved)), maintain_order=True)
    )
    return ordered.select(events.columns), faults


def _moved(steps: pl.DataFrame) -> tuple[dict[int, Step], list[Fault]]:
    """By place, the steps that fire on the day after."""
    several = steps.filter((pl.len().over(_PAIR) > 1) | pl.col("time").str.starts_with("24:"))
    moved: dict[int, Step] = {}
    faults: list[Fault] = []
    for before, step, midnights in _reach(several.iter_rows(named=True)):
        try:
            if found := _put(before, step, midnights):
                moved[step[_PLACE]] = found
        except ValueError as error:
            faults.append((step["source_row"], "time", _shown(before, step), str(error)))
    return moved, faults


def _reach(steps: Iterable[Step]) -> Iterator[tuple[Step, Step, int]]:
    """Each step with the one before it in its stretch, and how many midnights lie behind it."""
    for stretch in _stretches(steps):
        midnights = 0
        yield stretch[0], stretch[0], 0
        for before, step in pairwise(stretch):
            midnights += _crosses(before, step)
            yield before, step, midnights


def _stretches(steps: Iterable[Step]) -> Iterator[list[Step]]:
    """What belongs together: a step that begins something, what changes it, and what ends it.

    Within a section of the map in its order; begins and ends that lie in sections of their own, in theirs.
    """
    for alike in _grouped(steps, _PAIR):
        lonely: list[Step] = []
        for section in _grouped(alike, (STACK,)):
            for stretch in _in_order(section):
                if len(stretch) > 1:
                    yield stretch
                else:
                    lonely += stretch
        begins = [step for step in lonely if not _ends(step, alike[0])]
        ends = [step for step in lonely if _ends(step, alike[0])]
        for pair in zip_longest(begins, ends):
            yield [step for step in pair if step]


def _in_order(steps: list[Step]) -> list[list[Step]]:
    found: list[list[Step]] = []
    burning = False
    for step in steps:
        ends = _ends(step, steps[0])
        if burning and (ends or step["action"] == "level"):
            found[-1].append(step)
        else:
            found.append([step])
        burning = not ends
    return found


def _grouped(steps: Iterable[Step], names: tuple[str, ...]) -> Iterable[list[Step]]:
    found: dict[tuple[Any, ...], list[Step]] = defaultdict(list)
    for step in steps:
        found[tuple(step[name] for name in names)].append(step)
    return found.values()


def _ends(step: Step, first: Step) -> bool:
    """Whether a step ends something; of a sensor, what the first of its row does not do."""
    if step["action"] in _SENSORS:
        return bool(step["action"] != first["action"])
    return _is_dark(step)


def _is_dark(step: Step) -> bool:
    return step["action"] == "off" or (step["action"] == "level" and not (step["level"] or "").strip("0."))


def _crosses(before: Step, step: Step) -> bool:
    """Whether midnight lies between two steps. Of one by the sun only the half of the day is known."""
    first, last = seconds_of(before["time"]), seconds_of(step["time"])
    if before["anchor"] == step["anchor"] == "clock":
        return first is not None and last is not None and last <= first
    return _half(before, first) == "evening" and _half(step, last) == "morning"


def _half(step: Step, seconds: int | None) -> str:
    if step["anchor"] == "clock" and seconds is not None:
        return "morning" if seconds < _NOON else "evening"
    return "evening" if step["anchor"] in _EVENING else "morning" if step["anchor"] in _MORNING else ""


def _put(before: Step, step: Step, midnights: int) -> Step | None:
    """The step on the day after; None where it stays. Raises ValueError where nobody can tell."""
    midnight = seconds_of(step["time"]) == _MIDNIGHT
    days = mask_of(step["days"])
    if days is None or not is_season(step["from"], step["until"]):  # which is rejected anyway
        return None
    if midnight and step["action"] in ("on", "suspend"):
        raise ValueError(
            f"time 24:00 is the end of a day, and {step['action']} begins something; write 00:00"
        )
    if not midnight and (not midnights or step[NIGHT] == SAME):
        return None
    after = {**step, "time": "00:00"} if midnight else step
    if _is_every_day(step) and (midnight or step["time"] is None or before["time"] != step["time"]):
        return after if midnight else None  # the same days either way
    _check(step, midnights, midnight)
    return after if _is_every_day(step) else {**after, **_shifted(step, days)}


def _check(step: Step, midnights: int, midnight: bool) -> None:
    if not midnight and step[NIGHT] is None:
        raise ValueError(
            f"{step['action']} is at or before what it follows: on the day after, or on the same days? Say "
            f'{DAYS} = "{NEXT}" or "{SAME}" in [[events]]'
        )
    if midnights + midnight > 1:
        raise ValueError(
            f"{step['action']} lies two midnights after its row begins; give it a row of its own"
        )
    if step["calendar"]:
        raise ValueError(
            f"{step['action']} is on the day after, which its calendar need not list; let it end at 23:59"
        )


def _shifted(step: Step, days: int) -> Step:
    start, end = step["from"], step["until"]
    if not is_whole_year(start, end):
        start, end = season_after(start, end)
    return {"days": day_after(days), "from": start, "until": end}


def _is_every_day(step: Step) -> bool:
    whole = step["days"] == "daily" and is_whole_year(step["from"], step["until"])
    return whole and not step["calendar"]


def _shown(before: Step, step: Step) -> str:
    times = [one["time"] or one["anchor"] or "" for one in (before, step)]
    return times[1] if before is step else " to ".join(times)


def _dissolve(moved: dict[int, Step], steps: pl.DataFrame) -> set[int]:
    """Ends without the days on which the same begins at that time; the places of those with none left."""
    begun: dict[tuple[Any, ...], int] = defaultdict(int)
    for step in steps.iter_rows(named=True):
        if step[_PLACE] not in moved and _lasts(step) and not _is_dark(step):
            begun[_instant(step)] |= mask_of(step["days"]) or 0
    idle = set()
    for place, step in moved.items():
        days = mask_of(step["days"]) or 0
        if _lasts(step) and (rest := days & ~begun[_instant(step)]) != days:
            moved[place] = {**step, "days": names_of(rest)}
            idle |= set() if rest else {place}
    return idle


def _lasts(step: Step) -> bool:
    whole = is_whole_year(step["from"], step["until"])
    return step["anchor"] == "clock" and not step["calendar"] and whole


def _instant(step: Step) -> tuple[Any, ...]:
    sensor = step["action"] in _SENSORS
    return step["controller_id"], step["targets"], seconds_of(step["time"]), sensor
