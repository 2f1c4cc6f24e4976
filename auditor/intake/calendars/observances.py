"""VTIMEZONE components as clocks (RFC 5545, section 3.6.5)."""

from bisect import bisect_right
from collections.abc import Iterator

from auditor.intake.calendars.lines import Component, Property
from auditor.intake.calendars.moments import FLOATING, UTC, moment, moments
from auditor.intake.calendars.recurrence import Budget, occurrences, until
from auditor.intake.program import UnfitError
from auditor.zones import Clock

_NEVER = 2**62


def zone_of(component: Component, limit: int, budget: Budget) -> tuple[str, Clock]:
    """The TZID of a VTIMEZONE and its clock, right up to ``limit``. Raises UnfitError."""
    name = _only(component.properties(), "TZID").value
    onsets = sorted(onset for part in component.within for onset in _onsets(part, limit, budget))
    if not onsets:
        raise UnfitError("VTIMEZONE", name, "it has no STANDARD and no DAYLIGHT that begins in time")
    starts = [at for at, _, _ in onsets]
    first = onsets[0][1]

    def offset_at(t: int) -> int:
        place = bisect_right(starts, t)
        return onsets[place - 1][2] if place else first

    return name, Clock(name, offset_at)


def _onsets(part: Component, limit: int, budget: Budget) -> Iterator[tuple[int, int, int]]:
    """Instants at which an observance begins, with the offsets before and from then on, in seconds."""
    found = part.properties()
    before, after = (_offset(found, name) for name in ("TZOFFSETFROM", "TZOFFSETTO"))
    line = _only(found, "DTSTART")
    start = moment(line, line.value)
    if start.form != FLOATING:
        raise line.unfit("DTSTART of a VTIMEZONE has no zone and a time")
    shown = {start.shown} | {one.shown for rdate in found.get("RDATE", []) for one in moments(rdate)}
    for rule in found.get("RRULE", []):
        shown |= set(occurrences(rule, start, limit, budget, _last(rule, before).__lt__))
    yield from ((at - before, before, after) for at in shown)


def _last(rule: Property, before: int) -> int:
    found = until(rule)
    return _NEVER if found is None else found.shown + (before if found.form == UTC else 0)


def _offset(found: dict[str, list[Property]], name: str) -> int:
    line = _only(found, name)
    digits = line.value.strip().lstrip("+-")
    if not (digits.isascii() and digits.isdigit() and len(digits) in (4, 6)):
        raise line.unfit(f"{name} is not an offset of RFC 5545; write -0500")
    seconds = int(digits[:2]) * 3600 + int(digits[2:4]) * 60 + int(digits[4:] or 0)
    if seconds > 15 * 3600:
        raise line.unfit(f"{name} is more than 15 hours")
    return -seconds if line.value.strip().startswith("-") else seconds


def _only(found: dict[str, list[Property]], name: str) -> Property:
    lines = found.get(name, [])
    if len(lines) != 1:
        raise UnfitError(name, "", f"{name} must stand there once; it does {len(lines)} times")
    return lines[0]
