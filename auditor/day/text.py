"""A log as a terminal shows it. Colours are for terminals: what prints this takes them away elsewhere."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from itertools import groupby

import click

from auditor.day.log import Line
from auditor.day.tell import Answer, Told
from auditor.letters import printable

_HEADINGS = {True: "as the date begins", False: "through the day"}


def text(told: Told) -> str:
    """Title, what must be known, and the log or the answers."""
    day = date.fromisoformat(told.date)
    name = printable(f"{told.site_id} {told.name}".strip())
    title = click.style(f"{name}, {day:%A} {day.day} {day:%B %Y}", bold=True)
    return "\n".join(
        [f"{title}, local time of {told.timezone}", *told.facts, *_log(told.lines), *_answers(told.answers)]
    )


def _log(lines: tuple[Line, ...]) -> Iterator[str]:
    width = max((len(_device_text(line)) for line in lines), default=0)
    for begins, some in groupby(lines, lambda line: line.kind == "start"):
        yield ""
        device = f"{'device':{width}}  " if width else ""
        yield click.style(f"{'local':10}{device}{_HEADINGS[begins]}", dim=True)
        for same in _together(some):
            yield _line_text(same, width)


def _together(lines: Iterable[Line]) -> Iterable[list[Line]]:
    """Subjects of which the same is said at one instant share a line."""
    groups: dict[tuple[str, ...], list[Line]] = {}
    for line in lines:
        key = (line.at_utc, line.kind, line.device, line.what, line.why)
        groups.setdefault(key, []).append(line)
    return groups.values()


def _line_text(same: list[Line], width: int) -> str:
    line = same[0]
    lit = line.what.startswith("programmed on")
    what = click.style(line.what, fg="yellow" if lit else None, bold=lit)
    why = click.style(f" – {line.why}", dim=True) if line.why else ""
    device = click.style(f"{_device_text(line):{width}}  ", dim=True) if width else ""
    subjects = ", ".join(one.subject for one in same)
    return f"{line.local}  {device}{subjects}: {what}{why}"


def _device_text(line: Line) -> str:
    """A device's time; of a date that is not the true one its weekday, where that leaves no doubt."""
    if " " not in line.device:
        return line.device
    shown = datetime.fromisoformat(line.device)
    days = abs(shown - datetime.fromisoformat(line.at_utc.removesuffix("Z")))
    return f"{shown:%a %H:%M:%S}" if days < timedelta(days=3) else line.device


def _answers(answers: tuple[Answer, ...]) -> Iterator[str]:
    for answer in answers:
        yield ""
        yield click.style(answer.says, bold=True)
        for state in answer.circuits:
            lit = state.what.startswith("programmed on")
            yield f"{state.subject}: {click.style(state.what, fg='yellow' if lit else None, bold=lit)}"
            yield from (f"  {reason}" for reason in state.reasons)
