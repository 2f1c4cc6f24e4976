"""DATE, DATE-TIME, PERIOD and DURATION values, and where they lie on the device's clock.

Forms of time (RFC 5545, section 3.3.5): a date or a floating time is what the device's own clock shows, so it
is a step of the contract as it stands. A time in UTC or with a TZID is an instant; the step stands where the
clock of the site's zone shows that instant. So a time with TZID that a jump skips is read with the offset of
before the jump (02:30 becomes 03:30), while a floating one fires at the jump, as the contract has it. An
instant in the second of two like hours has no equal in the contract: no step fires in it.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from icalendar.prop import vDate, vDatetime, vDuration

from auditor.intake.calendars.lines import Property
from auditor.intake.program import UnfitError
from auditor.intake.steps import DAY
from auditor.zones import Clock

_EPOCH = datetime(1970, 1, 1)
DATE, FLOATING, UTC = "a date", "a time without zone", "UTC"


@dataclass(frozen=True)
class Moment:
    """``shown`` is seconds since 1970 on the clock of ``form``: DATE, FLOATING, UTC or a TZID."""

    form: str
    shown: int

    @property
    def zoned(self) -> bool:
        """True where it is an instant."""
        return self.form not in (DATE, FLOATING)


@dataclass(frozen=True)
class Length:
    """Whole days by the calendar first, then exact seconds (section 3.3.6)."""

    days: int
    seconds: int


class Clocks:
    """The clocks that a calendar's times refer to: ``site`` and, by TZID, others."""

    def __init__(self, site: Clock, by_name: dict[str, Clock]) -> None:
        self.site, self._by_name = site, by_name

    def instant(self, moment: Moment) -> int:
        """Seconds since 1970 UTC of a moment with a zone."""
        return self._by_name[moment.form].reaches(moment.shown)

    def key(self, moment: Moment) -> tuple[str, int]:
        """Equal for moments that are one and the same."""
        return (UTC, self.instant(moment)) if moment.zoned else (moment.form, moment.shown)

    def on_site(self, moment: Moment, later: int = 0) -> int:
        """Seconds since 1970 that the site's clock shows at a moment, and ``later`` seconds after it."""
        if not moment.zoned:
            return moment.shown + later
        instant = self.instant(moment) + later
        here = instant + self.site.offset_at(instant)
        if self.site.reaches(here) != instant:
            when = moment_text(here)
            reason = (
                f"one of its times is the second {when[11:]} of {when[:10]}, as clocks go back; no step can "
                "fire then: give its times in the zone of the site, with DTEND"
            )
            raise UnfitError("DTSTART", when, reason)
        return here


def moment_text(shown: int) -> str:
    """A clock's reading, for people."""
    try:
        return (_EPOCH + timedelta(seconds=shown)).isoformat(" ", "minutes")
    except OverflowError:
        return f"{shown} s"


def moments(line: Property) -> list[Moment]:
    """The values of a property, separated by commas. Raises UnfitError."""
    return [moment(line, value) for value in line.value.split(",")]


def moment(line: Property, value: str) -> Moment:
    """One value of a property."""
    zone = line.parameter("TZID")
    value = value.strip()
    if line.parameter("VALUE").upper() == "DATE" or (len(value) == 8 and not line.parameter("VALUE")):
        return Moment(DATE, _seconds(line, vDate.from_ical, r"\d{8}", value))
    utc = value.endswith("Z")
    if utc and zone:
        raise line.unfit(f"{line.name} has a zone and is in UTC; it can be one only")
    seconds = _seconds(line, vDatetime.from_ical, r"\d{8}T\d{6}", value.removesuffix("Z"))
    return Moment(UTC if utc else zone or FLOATING, seconds)


def _seconds(line: Property, kind: Callable[[str], date], pattern: str, value: str) -> int:
    leap = value.endswith("60") and "T" in value  # a leap second is the one before (section 3.3.12)
    text = value[:-2] + "59" if leap else value
    try:
        if not re.fullmatch(pattern, text, re.ASCII):
            raise ValueError
        found = kind(text)
    except (ValueError, OverflowError):
        raise line.unfit(f"{line.name} is not a date or time of RFC 5545; write 20261103T140500") from None
    return (datetime(found.year, found.month, found.day) - _EPOCH).days * DAY + _of_day(found)


def _of_day(found: date) -> int:
    return found.hour * 3600 + found.minute * 60 + found.second if isinstance(found, datetime) else 0


def length(line: Property, value: str) -> Length:
    """A DURATION. Raises UnfitError where it is none, or not forward."""
    match = re.fullmatch(r"\+?P(?:(\d+)W|(?:(\d+)D)?(T.+)?)", value.strip().upper(), re.ASCII)
    if not match or len(value) > 30:
        raise line.unfit(f"{line.name} is not a length of RFC 5545, forward in time; write PT8H or P1D")
    try:
        rest = int(vDuration.from_ical("P" + match[3]).total_seconds()) if match[3] else 0
    except ValueError:
        raise line.unfit(f"{line.name} is not a length of RFC 5545; write PT8H or P1D") from None
    found = Length(7 * int(match[1] or 0) + int(match[2] or 0), rest)
    if found.days + rest <= 0 or found.days > 40_000:
        raise line.unfit(f"{line.name} is nothing, or more than a century; give the time that it is on")
    return found
