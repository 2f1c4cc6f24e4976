"""What must be known of a date before its log is read: closures, hours, light, clocks, steps of calendars."""

from collections.abc import Iterator

from auditor.day.log import change_text, changes
from auditor.day.site import Row, SiteDay, Subject, epoch
from auditor.letters import printable
from auditor.wording import clock_error_text, counted, place_words
from auditor.zones import NEAR

_NAMED = 8  # subjects; a longer list tells nobody more
_NEAR = 0.1  # degrees between the site and the place set in its device: the sun differs by seconds only


def facts(site: SiteDay) -> list[str]:
    """Sentences about the date."""
    told = [*_clock_changes(site), _hours(site), _light(site), *_calendars(site)]
    for controller_id in site.controllers:
        told += _device(site, controller_id)
    return [printable(words) for words in [*told, *_left_out(site), *_losses(site)]]


def _clock_changes(site: SiteDay) -> Iterator[str]:
    for at, moved in changes(site):
        words = change_text(site, at, moved)
        yield f"{words[:1].upper()}{words[1:]}."


def _hours(site: SiteDay) -> str:
    listed = [row for row in site.closures if row["date"] == site.day]
    names = sorted({row["calendar"] for row in listed if row["calendar"]})
    under = f" under calendar {' and '.join(names)}" if names else ""
    if not site.hours_known:
        return f"Opening hours are not known{f'; the date is listed in closures{under}' if listed else ''}."
    spans = _spans(site, "open")
    opened = f"Open {_spans_text(site, spans)}" if spans else "Closed all day"
    if listed:
        return f"{opened}: listed in closures{under}."
    return f"{opened}; not listed in closures."


def _spans(site: SiteDay, kind: str) -> list[tuple[int, int]]:
    """Light or opening hours that reach into the date."""
    moments = site.of(kind)
    pairs = zip(moments[::2], moments[1::2], strict=False)  # a beginning and its end, in turn
    spans = [(begun["at_s"], ended["at_s"]) for begun, ended in pairs]
    return [(begun, ended) for begun, ended in spans if begun < site.end and ended > site.start]


def _all_day(site: SiteDay, spans: list[tuple[int, int]]) -> bool:
    return any(begun <= site.start and ended >= site.end for begun, ended in spans)


def _spans_text(site: SiteDay, spans: list[tuple[int, int]]) -> str:
    if _all_day(site, spans):
        return "all day"
    return " and ".join(_span_text(site, begun, ended) for begun, ended in spans)


def _span_text(site: SiteDay, begun: int, ended: int) -> str:
    start, end = f"{site.local(begun):%H:%M}", f"{site.local(ended):%H:%M}"
    if begun < site.start:
        return f"from before midnight until {end}"
    return f"{start} to {end}{' the next day' if ended > site.end else ''}"


def _light(site: SiteDay) -> str:
    spans = _spans(site, "light")
    if not spans:
        return "The sun does not rise."
    if _all_day(site, spans):
        return "The sun does not set."
    words = {True: "sunrise", False: "sunset"}
    told = [f"{words[row['flag']]} {site.local(row['at_s']):%H:%M}" for row in site.within("light")]
    return f"{', '.join(told).capitalize()}."


def _calendars(site: SiteDay) -> Iterator[str]:
    """Which circuits and sensors run steps of a calendar on the date, as their devices' clocks have it."""
    special: dict[tuple[str, ...], list[Subject]] = {}
    for subject in site.subjects:
        if names := _special(site, subject):
            special.setdefault(names, []).append(subject)
    for names, subjects in special.items():
        yield f"Only steps of calendar {' and '.join(names)} run for {_named(site, subjects)}."
    ordinary = len(site.subjects) - sum(map(len, special.values()))
    listed = sorted({row["calendar"] for row in site.closures if row["date"] == site.day and row["calendar"]})
    if special and ordinary:
        yield "All others run their ordinary steps."
    elif listed and not special:
        yield f"Nothing here has steps of calendar {' or '.join(listed)}: ordinary steps run."


def _special(site: SiteDay, subject: Subject) -> tuple[str, ...]:
    """Calendars that list the date on the device's own clock at noon, and for which a subject has steps."""
    row = site.subjects[subject]
    day = site.shown(row["controller_id"], (site.start + site.end) // 2).date()
    own = {step["calendar"] for step in site.steps.values() if _targets(step, row["controller_id"], subject)}
    return tuple(sorted({row["calendar"] for row in site.closures if row["date"] == day} & own - {None}))


def _targets(step: Row, controller_id: str, subject: Subject) -> bool:
    for_sensor = step["action"] in ("suspend", "resume")
    return (
        step["controller_id"] == controller_id
        and for_sensor == (subject[0] == "sensor")
        and subject[1] in step["targets"]
    )


def _named(site: SiteDay, subjects: list[Subject]) -> str:
    more = f" and {len(subjects) - _NAMED} more" if len(subjects) > _NAMED else ""
    return ", ".join(site.label(subject) for subject in subjects[:_NAMED]) + more


def _device(site: SiteDay, controller_id: str) -> Iterator[str]:
    row = site.controllers[controller_id]
    errors = site.errors(controller_id)
    if any(error for _, error in errors):
        yield f"Device {controller_id} shows {_errors_text(site, errors)}."
    if row["clock_reading_local"] is None:
        yield f"Device {controller_id} has no clock reading: its clock is worked out from its settings alone."
    if _undecided(site, row):
        yield (
            f"Whether device {controller_id} follows daylight saving time nobody can tell from this export; "
            "it is taken to follow."
        )
    if _elsewhere(site, row):
        place = place_words(row["latitude"], row["longitude"])
        own = place_words(site.site["latitude"], site.site["longitude"])
        yield f"Device {controller_id} computes the sun for {place}; the site lies at {own}."


def _errors_text(site: SiteDay, errors: list[tuple[int, int]]) -> str:
    said = [clock_error_text(errors[0][1])]
    said += [f"from {site.local(at):%H:%M} on {clock_error_text(error)}" for at, error in errors[1:]]
    return ", ".join(said)


def _undecided(site: SiteDay, row: Row) -> bool:
    """No rule given, and a change since it was read, which a reading in winter says nothing of."""
    device = site.clocks[row["controller_id"]]
    if row["dst_rule"] is not None or device.clock is not site.law or abs(device.residual_s) > NEAR:
        return False
    then = site.law.offset_at(epoch(row["read_at_utc"]))
    unread = row["clock_reading_local"] is None
    stretches = site.law.stretches(site.start, site.end)
    return any(now > then or (unread and now < then) for _, _, now in stretches)


def _elsewhere(site: SiteDay, row: Row) -> bool:
    """Whether it computes the sun, for steps by the sun, for another place than the site's."""
    by_sun = any(
        step["anchor"] != "clock"
        for step in site.steps.values()
        if step["controller_id"] == row["controller_id"]
    )
    pairs = [(row[name], site.site[name]) for name in ("latitude", "longitude")]
    return by_sun and any(set_ is not None and abs(set_ - true) > _NEAR for set_, true in pairs)


def _left_out(site: SiteDay) -> Iterator[str]:
    if not site.controllers:
        yield "No time switch of this site is in the export: what its lights do is not known."
    if site.unused:
        more = f" and {len(site.unused) - _NAMED} more" if len(site.unused) > _NAMED else ""
        yield f"Left out, because not in use: {', '.join(site.unused[:_NAMED])}{more}."


def _losses(site: SiteDay) -> Iterator[str]:
    rows = sorted({(row.source_file, row.source_row) for row in site.rejections})
    if rows:
        where = ", ".join(f"{file} row {row}" for file, row in rows[:_NAMED])
        more = f" and {len(rows) - _NAMED} more" if len(rows) > _NAMED else ""
        were = (
            f"{counted(len(rows), 'input row')} of this site {'was' if len(rows) == 1 else 'were'} rejected"
        )
        yield f"{were} ({where}{more}): what follows does not know of {'it' if len(rows) == 1 else 'them'}."
