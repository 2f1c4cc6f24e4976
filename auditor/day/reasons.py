"""Why a circuit is as it is at an instant: its hand switch, its program, its sensors."""

from dataclasses import dataclass
from datetime import timedelta

from auditor.day.site import Row, SiteDay, Subject
from auditor.wording import date_text, step_text

_OCCUPANCY = {
    "any": "turns it on where somebody is there",
    "all": "turns it off where nobody is there",
}
_PHOTOCONTROL = {
    ("any", True): "calls for light, for it is dark",
    ("any", False): "does not call, for it is light",
    ("all", True): "lets it be on, for it is dark",
    ("all", False): "keeps it off, for it is light",
}


@dataclass(frozen=True)
class Reason:
    """One thing that a circuit's state hangs on: its hand, its program, or a sensor of some kind.

    ``since``: the instant from which it has been so; None: always. ``decides``: a sensor that has its way,
    whatever the program says.
    """

    kind: str
    words: str
    since: int | None = None
    decides: bool = False


def state_text(state: Row) -> str:
    """A circuit's state: a schedule proves what is programmed, nothing more."""
    if state["flag"]:
        return "on only if somebody is there"
    level = state["level"]
    if level in (0, 100):
        return "programmed on" if level else "programmed off"
    return f"programmed on at {level:g} %"


def reasons(site: SiteDay, circuit: Subject, at: int) -> list[Reason]:
    """Everything that a circuit's state hangs on; first the sensor that decides, if one does."""
    row = site.subjects[circuit]
    if hold := row["hold"] or site.controllers[row["controller_id"]]["hold"]:
        return [Reason("hand", f"left by hand in {hold}, and its program counts for nothing")]
    state = site.last("state", circuit, at)
    watched = bool(state and state["flag"])
    sensors = [
        _sensor(site, sensor, row["combine"] or "any", at, watched)
        for sensor in site.sensors
        if circuit[1] in (site.subjects[sensor]["circuits"] or [])
    ]
    return sorted([_program(site, circuit, at), *sensors], key=lambda reason: not reason.decides)


def _program(site: SiteDay, circuit: Subject, at: int) -> Reason:
    fired = site.last("firing", circuit, at)
    if fired:
        return Reason("program", fired_text(site.step(circuit, fired)), fired["at_s"])
    row = site.subjects[circuit]
    own = [step for step in site.steps.values() if _acts_on(step, row)]
    if own:
        return Reason("program", "none of its steps has fired in the year before")
    in_series = row["combine"] == "all"
    return Reason("program", f"no steps of its own{': on as far as its sensors allow' if in_series else ''}")


def _acts_on(step: Row, circuit: Row) -> bool:
    return (
        step["controller_id"] == circuit["controller_id"]
        and step["action"] in ("on", "off", "level")
        and circuit["circuit_id"] in step["targets"]
    )


def _sensor(site: SiteDay, sensor: Subject, combine: str, at: int, watched: bool) -> Reason:
    kind = site.subjects[sensor]["kind"]
    name = f"{site.label(sensor)} {'in series' if combine == 'all' else 'in parallel'}"
    name = name[:1].lower() + name[1:]
    service = site.last("service", sensor, at)
    served = service["at_s"] if service else None
    if service and not service["flag"]:
        return Reason(kind, f"{name} is out of service{_by_step(site, sensor, served)}", served)
    if kind == "occupancy":
        return Reason(kind, f"{name} {_OCCUPANCY[combine]}", served, watched)
    light = site.last("light", None, at)
    dark = not (light and light["flag"])
    since = max((moment["at_s"] for moment in (light, service) if moment), default=None)
    return Reason(kind, f"{name} {_PHOTOCONTROL[combine, dark]}", since, dark == (combine == "any"))


def _by_step(site: SiteDay, sensor: Subject, at: int | None) -> str:
    fired = site.last("firing", sensor, at) if at is not None else None
    return f" by {fired_text(site.step(sensor, fired))}" if fired else ""


def reason_text(site: SiteDay, reason: Reason, at: int) -> str:
    """A reason at an instant; of a step also when it fired."""
    if reason.kind != "program" or reason.since is None or reason.since == at:
        return reason.words
    return f"{reason.words}, {since_text(site, reason.since, at)}"


def fired_text(step: Row) -> str:
    """A step by its id and in words."""
    return f"step {step['event_id']} ({step_text(step)})"


def since_text(site: SiteDay, since: int, at: int) -> str:
    """From when something has been so, as seen at an instant."""
    moment, now = site.local(since), site.local(at)
    time = f"{moment:%H:%M}"
    if moment.date() == now.date():
        return f"since {time}"
    if moment.date() == now.date() - timedelta(days=1):
        return f"since {time} the day before"
    return f"since {time} on {date_text(moment)}"
