"""The log of a date, or its answers to "why then?", as one object that a script can read."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from auditor.day.head import facts
from auditor.day.log import Line, change_text, changes, lines
from auditor.day.reasons import reason_text, reasons, state_text
from auditor.day.site import SiteDay, Subject
from auditor.letters import printable
from auditor.wording import clock_text
from auditor.zones import offset_text


@dataclass(frozen=True)
class State:
    """What a circuit is programmed to do at an instant, and everything that this hangs on."""

    circuit_id: str
    subject: str
    what: str
    level: float
    conditional: bool
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Answer:
    """Every circuit's state at a local time; ``says`` tells which instant, where the time of day does not."""

    local: str
    at_utc: str
    says: str
    circuits: tuple[State, ...]


@dataclass(frozen=True)
class Told:
    """One date at one site: what must be known, and its log, or the answers for one time of day."""

    site_id: str
    name: str
    date: str
    timezone: str
    facts: tuple[str, ...]
    lines: tuple[Line, ...] = ()
    answers: tuple[Answer, ...] = ()


def tell(site: SiteDay, time_s: int | None = None) -> Told:
    """The log of the date; with a time of day (seconds after 00:00) the states at it, and why."""
    return Told(
        site_id=site.site["site_id"],
        name=site.site["name"] or "",
        date=f"{site.day}",
        timezone=site.site["timezone"],
        facts=tuple(facts(site)),
        lines=tuple(lines(site)) if time_s is None else (),
        answers=() if time_s is None else tuple(_answers(site, time_s)),
    )


def _answers(site: SiteDay, time_s: int) -> list[Answer]:
    """One answer; two where the clocks go back over that time; one at the jump where they leave it out."""
    shown_s = (site.day - date(1970, 1, 1)).days * 86400 + time_s
    stretches = site.law.stretches(site.start, site.end)
    found = [shown_s - offset for start, end, offset in stretches if start <= shown_s - offset < end]
    if len(found) == 1:
        return [_answer(site, found[0], _at_text(site, found[0]))]
    if found:
        return [
            _answer(site, at, f"{_at_text(site, at)}, the {turn} time that it comes (UTC{_offset(site, at)})")
            for at, turn in zip(found, ("first", "second"), strict=False)
        ]
    return [_skipped(site, time_s, shown_s)]


def _skipped(site: SiteDay, time_s: int, shown_s: int) -> Answer:
    jump, moved = next(
        change for change in changes(site) if change[0] + site.law.offset_at(change[0]) > shown_s
    )
    why = f"{clock_text(time_s)} does not come on this date ({change_text(site, jump, moved)})"
    return _answer(site, jump, f"{why}; at {site.local(jump):%H:%M} instead")


def _at_text(site: SiteDay, at: int) -> str:
    local = site.local(at)
    return f"At {local:%H:%M:%S}" if local.second else f"At {local:%H:%M}"


def _offset(site: SiteDay, at: int) -> str:
    return offset_text(site.law.offset_at(at))


def _answer(site: SiteDay, at: int, says: str) -> Answer:
    return Answer(
        local=f"{site.local(at):%H:%M:%S}",
        at_utc=f"{datetime.fromtimestamp(at, UTC):%Y-%m-%dT%H:%M:%SZ}",
        says=f"{says}: {_around(site, at)}.",
        circuits=tuple(_state(site, circuit, at) for circuit in site.circuits),
    )


def _around(site: SiteDay, at: int) -> str:
    """Light and opening hours at an instant, and what devices show that are a minute off or more."""
    light, opened = site.last("light", None, at), site.last("open", None, at)
    said = ["it is light" if light and light["flag"] else "it is dark"]
    if site.hours_known:
        said.append(f"the site is {'open' if opened and opened['flag'] else 'closed'}")
    for controller_id in site.controllers:
        if abs(site.error(controller_id, at)) >= 60:
            said.append(f"device {printable(controller_id)} shows {_shown_text(site, controller_id, at)}")
    return ", ".join(said)


def _shown_text(site: SiteDay, controller_id: str, at: int) -> str:
    shown = site.shown(controller_id, at)
    return f"{shown:%H:%M}" if shown.date() == site.local(at).date() else f"{shown:%Y-%m-%d %H:%M}"


def _state(site: SiteDay, circuit: Subject, at: int) -> State:
    state = site.last("state", circuit, at)
    assert state is not None, "every circuit has a state from the beginning of the date on"
    told = [reason_text(site, reason, at) for reason in reasons(site, circuit, at)]
    return State(
        circuit_id=circuit[1],
        subject=site.label(circuit),
        what=state_text(state),
        level=state["level"],
        conditional=bool(state["flag"]),
        reasons=tuple(printable(words) for words in told),
    )
