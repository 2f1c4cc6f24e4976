"""From what a program does, instant by instant on the device's clock, to steps of the contract.

Both readers of standards say when a level changes, over a horizon of dates. Here the dates on which the same
change comes at the same time of day become few steps: every week for as long as it comes every week, date by
date where it does not. So exceptions of every kind need no rules of their own.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256
from itertools import pairwise, takewhile
from typing import Any

import polars as pl

from auditor.intake.program import Horizon, Owner

DAY = 86400
_WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_EPOCH = date(1970, 1, 1)
_STEADY, _NO_END = (
    21,
    date(2199, 12, 31),
)  # days from a first to a fourth week; the last date that input may have
COLUMNS = (
    "event_id",
    "controller_id",
    "targets",
    "action",
    "level",
    "days",
    "anchor",
    "time",
    "from",
    "until",
)
_SCHEMA = {**dict.fromkeys(COLUMNS, pl.String), "source_row": pl.Int64, "program_sha256": pl.String}


@dataclass(frozen=True, order=True)
class Change:
    """At ``at`` (seconds since 1970 on the device's clock) entry ``row`` sets ``level``, 0 to 100."""

    at: int
    level: float
    row: int


@dataclass(frozen=True)
class _Run:
    """One change every week on one weekday: its first and last day, in days since 1970."""

    change: tuple[int, float, int]  # time of day in seconds, level, row
    first: int
    last: int


def day_of(when: date) -> int:
    """Days since 1970."""
    return (when - _EPOCH).days


def event_frame(
    changes: Iterable[Change], horizon: Horizon, owner: Owner, file: str, program: str = ""
) -> pl.DataFrame:
    """Rows of ``events`` as text, with ``source_row``, in program order.

    The order is by time of day: where a clock jumps over several steps, all fire at the jump, and the last of
    them must win. The level is taken to be 0 before the first change. A step's id says what it does, and
    ``program_sha256`` is that of ``program``, the text that all this was worked out from: as the horizon
    moves from month to month, the same program keeps them.
    """
    real = _real(sorted(changes), day_of(horizon.first) * DAY, (day_of(horizon.last) + 1) * DAY)
    runs = _needed(_runs(real), real, day_of(horizon.audited))
    by_change: dict[tuple[int, float, int], list[_Run]] = defaultdict(list)
    for run in runs:
        by_change[run.change].append(run)
    rows = [
        [*_row(file, owner, change, days, first, last), sha256(program.encode()).hexdigest()]
        for change, own in sorted(by_change.items())
        for days, first, last in _joined(own, horizon)
    ]
    return pl.DataFrame(rows, _SCHEMA, orient="row")


def _real(changes: list[Change], start: int, end: int) -> list[Change]:
    """Changes within the horizon that do change something; what holds as it begins is set as it begins."""
    before = [change for change in changes if change.at <= start][-1:]
    within = [Change(start, change.level, change.row) for change in before]
    within += [change for change in changes if start < change.at < end]
    level, real = 0.0, []
    for change in within:
        if change.level != level:
            real.append(change)
            level = change.level
    return real


def _runs(changes: list[Change]) -> list[_Run]:
    days: dict[tuple[tuple[int, float, int], int], list[int]] = defaultdict(list)
    for change in changes:
        day, time = divmod(change.at, DAY)
        days[(time, change.level, change.row), day % 7].append(day)
    found = []
    for (change_at, _), own in days.items():
        cuts = [0, *(n for n, (a, b) in enumerate(pairwise(own), 1) if b - a > 7), len(own)]
        found += [_Run(change_at, own[a], own[b - 1]) for a, b in pairwise(cuts)]
    return found


def _needed(runs: list[_Run], changes: list[Change], audited: int) -> list[_Run]:
    """Without what is over before the audited dates, but for the change that they begin with."""
    kept = [run for run in runs if run.last >= audited]
    before = [change for change in changes if change.at < audited * DAY][-1:]
    for last in before:
        day, time = divmod(last.at, DAY)
        if last.level > 0 or any(run.first < audited for run in kept):
            own = [run for run in runs if run.change == (time, last.level, last.row) and run.last == day]
            kept += [run for run in own if run not in kept]
    return kept


def _joined(runs: list[_Run], horizon: Horizon) -> list[tuple[list[int], int | None, int | None]]:
    """Runs that one span of dates can hold, joined: weekdays, first and last day (none: always)."""
    first, last = day_of(horizon.first), day_of(horizon.last)
    steady = [run for run in runs if run.first < first + 7 and run.last > last - 7]
    groups: list[list[_Run]] = []
    for run in sorted((run for run in runs if run not in steady), key=lambda run: (run.first, run.last)):
        home = _home(run, groups)
        if home is None:
            groups.append([run])
        else:
            home.append(run)
    spans: list[tuple[list[int], int | None, int | None]] = [
        (_weekdays(group), min(run.first for run in group), _end(group, last)) for group in groups
    ]
    return [*([(_weekdays(steady), None, None)] if steady else []), *spans]


def _end(group: list[_Run], last: int) -> int:
    """The last day; what comes every week up to the end of the horizon is not said to end there."""
    goes_on = all(run.last > last - 7 and run.last - run.first >= _STEADY for run in group)
    return day_of(_NO_END) if goes_on else max(run.last for run in group)


def _home(run: _Run, groups: list[list[_Run]]) -> list[_Run] | None:
    """The first group with room; only the last few can have it, for runs come by their first days."""
    recent = takewhile(lambda group: run.first - group[0].first < 7, reversed(groups))
    return next((group for group in reversed(list(recent)) if _fits(run, group)), None)


def _fits(run: _Run, group: list[_Run]) -> bool:
    """True where the span of all of them makes none of them come a week early or late."""
    whole = [run, *group]
    firsts, lasts = [one.first for one in whole], [one.last for one in whole]
    new = all(one.first % 7 != run.first % 7 for one in group)
    return new and max(firsts) - min(firsts) < 7 and max(lasts) - min(lasts) < 7


def _weekdays(runs: list[_Run]) -> list[int]:
    return sorted({(run.first + 3) % 7 for run in runs})  # 1970 began on a Thursday


def _row(
    file: str,
    owner: Owner,
    change: tuple[int, float, int],
    days: list[int],
    first: int | None,
    last: int | None,
) -> list[Any]:
    second, level, row = change
    whole = 0 < level < 100
    action = "level" if whole else owner.actions[level == 0]
    every = len(days) == 7 or (first is not None and first == last)
    named = "daily" if every else ",".join(_WEEKDAYS[day] for day in days)
    time = f"{second // 3600:02}:{second // 60 % 60:02}" + (f":{second % 60:02}" if second % 60 else "")
    from_, until = _date(first), _date(last)
    when = until if every and first == last and until else named
    ends = f" until {until}" if until and when == named and last != day_of(_NO_END) else ""
    return [
        f"{file}:{row} {action} {time} {when}{ends}",
        owner.controller_id,
        ";".join(owner.targets),
        action,
        f"{level:.10g}" if whole else None,
        named,
        "clock",
        time,
        from_,
        until,
        row,
    ]


def _date(day: int | None) -> str | None:
    return None if day is None else (_EPOCH + timedelta(days=day)).isoformat()
