"""What happens at a site on a date, line by line."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise

from auditor.day.reasons import Reason, fired_text, reason_text, reasons, since_text, state_text
from auditor.day.site import Row, SiteDay, Subject
from auditor.letters import printable
from auditor.wording import clock_error_text, length_text

_SITE_WORDS = {
    ("light", True): "sunrise",
    ("light", False): "sunset",
    ("open", True): "opens",
    ("open", False): "closes",
}
_ORDER = ("start", "site", "clock", "step", "service", "change")  # of kinds at one instant


@dataclass(frozen=True)
class Line:
    """What happens, and why: true local time, and the device's own (blank where it is the same).

    ``kind``: start (a state as the date begins), change (of a state), step (one that changes nothing by
    itself), service (of a sensor), clock, site. ``level`` (0 to 100) and ``conditional`` are those of a
    circuit's state, else None.
    """

    at_utc: str
    local: str
    device: str
    kind: str
    subject_kind: str
    subject_id: str
    subject: str
    what: str
    why: str
    level: float | None = None
    conditional: bool | None = None


def lines(site: SiteDay) -> list[Line]:
    """The log of the date, in order."""
    told = [*_site_lines(site), *_clock_lines(site)]
    for subject in site.subjects:
        told += _step_lines(site, subject)
    for circuit in site.circuits:
        told += _state_lines(site, circuit)
    for sensor in site.sensors:
        told += _service_lines(site, sensor)
    told.sort(key=_place)
    return told


def _place(line: Line) -> tuple[str, int, bool, str, str]:
    """Where a line stands: at one instant first what holds for the site, circuits before sensors."""
    kind = line.subject_kind
    return line.at_utc, _ORDER.index(line.kind), kind != "site", kind, line.subject


def _site_lines(site: SiteDay) -> Iterator[Line]:
    for kind in ("light", "open"):
        for row in site.within(kind):
            yield _line(site, row["at_s"], "site", None, _SITE_WORDS[kind, row["flag"]])


def _clock_lines(site: SiteDay) -> Iterator[Line]:
    """Changes of local time, and of what a device makes of it."""
    for at, moved in changes(site):
        yield _line(site, at, "clock", None, change_text(site, at, moved))
    for controller_id in site.controllers:
        for at, error in site.errors(controller_id)[1:]:
            what = f"shows {clock_error_text(error)} from here on"
            yield _line(site, at, "clock", ("controller", controller_id), what)


def changes(site: SiteDay) -> list[tuple[int, int]]:
    """When local time changes on the date, also as it begins, and by how many seconds."""
    stretches = site.law.stretches(site.start - 1, site.end)
    return [(at, after - before) for (_, at, before), (_, _, after) in pairwise(stretches)]


def change_text(site: SiteDay, at: int, moved: int) -> str:
    """A change of local time: "clocks go back 1 h: after 01:59:59 comes 01:00"."""
    way = "back" if moved < 0 else "forward"
    times = f"after {site.local(at - 1):%H:%M:%S} comes {site.local(at):%H:%M}"
    return f"clocks go {way} {length_text(abs(moved))}: {times}"


def _state_lines(site: SiteDay, circuit: Subject) -> Iterator[Line]:
    for row in site.within("state", circuit):
        at = row["at_s"]
        kind = "start" if at == site.start else "change"
        told = reasons(site, circuit, at)
        shown = told if kind == "start" else _causes(told, at)
        why = "; ".join(reason_text(site, reason, at) for reason in shown)
        yield _line(site, at, kind, circuit, state_text(row), why, row)


def _causes(told: list[Reason], at: int) -> list[Reason]:
    """Of the reasons for a state those that came about just then, and the detector that is left to decide."""
    now = [reason for reason in told if reason.since == at]
    return now + [
        reason for reason in told if reason.kind == "occupancy" and reason.decides and reason not in now
    ]


def _step_lines(site: SiteDay, subject: Subject) -> Iterator[Line]:
    """Steps that no change tells of: overridden at once, or finding things as they leave them."""
    changed = {row["at_s"] for kind in ("state", "service") for row in site.of(kind, subject)}
    fired = site.of("firing", subject)
    for place, row in enumerate(fired):
        if not site.start <= row["at_s"] < site.end:
            continue
        after = fired[place + 1] if place + 1 < len(fired) else None
        what = f"{fired_text(site.step(subject, row))} fires"
        if after and after["at_s"] == row["at_s"]:
            why = f"overridden at the same instant by {fired_text(site.step(subject, after))}"
        elif row["at_s"] in changed:
            continue  # the change says which step it comes from
        else:
            why = _without_effect(site, subject, row)
        yield _line(site, row["at_s"], "step", subject, what, why)


def _without_effect(site: SiteDay, subject: Subject, row: Row) -> str:
    """Why a step leaves things as they are: they are so already, or a hand or a sensor says otherwise."""
    before = site.last("firing", subject, row["at_s"] - 1)
    state = site.last("state", subject, row["at_s"])
    if state is None or row["level"] == (before["level"] if before else 0):
        return "changes nothing"
    others = [reason.words for reason in reasons(site, subject, row["at_s"]) if reason.kind != "program"]
    return f"it stays {state_text(state).removeprefix('programmed ')}: {'; '.join(others)}"


def _service_lines(site: SiteDay, sensor: Subject) -> Iterator[Line]:
    begun = site.last("service", sensor, site.start)
    yield _service_line(site, sensor, site.start, begun)
    for row in site.within("service", sensor):
        if row["at_s"] > site.start:
            yield _service_line(site, sensor, row["at_s"], row)


def _service_line(site: SiteDay, sensor: Subject, at: int, row: Row | None) -> Line:
    what = "in service" if row is None or row["flag"] else "out of service"
    fired = site.last("firing", sensor, row["at_s"]) if row else None
    why = fired_text(site.step(sensor, fired)) if fired else ""
    if fired and fired["at_s"] < at:
        why += f", {since_text(site, fired['at_s'], at)}"
    return _line(site, at, "start" if at == site.start else "service", sensor, what, why)


def _line(
    site: SiteDay,
    at: int,
    kind: str,
    subject: Subject | None,
    what: str,
    why: str = "",
    state: Row | None = None,
) -> Line:
    subject_kind, subject_id = subject or ("site", site.site["site_id"])
    return Line(
        at_utc=f"{datetime.fromtimestamp(at, UTC):%Y-%m-%dT%H:%M:%SZ}",
        local=f"{site.local(at):%H:%M:%S}",
        device=_device_time(site, at, subject),
        kind=kind,
        subject_kind=subject_kind,
        subject_id=subject_id,
        subject=_subject_text(site, subject),
        what=what,
        why=printable(why),
        level=state["level"] if state else None,
        conditional=bool(state["flag"]) if state else None,
    )


def _subject_text(site: SiteDay, subject: Subject | None) -> str:
    if subject is None:
        return "site"
    return site.label(subject) if subject in site.subjects else printable(f"device {subject[1]}")


def _device_time(site: SiteDay, at: int, subject: Subject | None) -> str:
    if subject is None:
        return ""
    controller_id = site.subjects[subject]["controller_id"] if subject in site.subjects else subject[1]
    shown, local = site.shown(controller_id, at), site.local(at)
    if shown == local:
        return ""
    return f"{shown:%H:%M:%S}" if shown.date() == local.date() else f"{shown:%Y-%m-%d %H:%M:%S}"
