"""The words in and around a plot: hours, months, lines at its edge, changes of clocks, what is painted."""

from collections.abc import Collection, Iterator, Sequence
from functools import lru_cache

import numpy as np

from auditor.picture.canvas import label, number, path
from auditor.picture.columns import Ints
from auditor.picture.frame import LEFT, MINUTES, PLOT_WIDTH, Frame, ticks
from auditor.picture.labels import Place, Room, spaced
from auditor.picture.paints import PAINTS
from auditor.picture.reading import Change, SiteYear
from auditor.picture.sheet import Painting
from auditor.picture.words import device_words, law_words, not_followed, told_of
from auditor.wording import clock_text

_EDGE = 8  # units; nearer to the plot's edge a change of clocks has no words
_BESIDE, _APART = 170, 320  # units that words over a line reach to one side, and that two lines need between
_SELDOM = 60  # a line that a 60th of the dates has, by closures alone, is not named
_STEM = 9  # units from the middle of a label to where its line begins


@lru_cache(maxsize=8)  # every circuit of a portfolio has them in common
def axes(frame: Frame) -> str:
    """Hours at the left edge, months below."""
    parts = []
    for hour in range(0, 25, 6):
        y = frame.y(hour * 60)
        parts.append(path("yp-grid", f"M{LEFT} {number(y)}h{PLOT_WIDTH}"))
        parts.append(label(LEFT - 7, y, f"{hour:02}:00", "yp-soft", "end"))
    for tick in ticks(frame):
        parts.append(path("yp-tick", f"M{number(tick.start)} {number(frame.bottom)}v5"))
        for words, dy in ((tick.name, "1.25em"), (tick.year, "2.4em")):
            if words:
                parts.append(label(tick.middle, frame.bottom, words, "yp-soft", "middle", dy))
    return "".join(parts)


@lru_cache(maxsize=32)  # the circuits of a site have it in common
def edge(frame: Frame, site: SiteYear, names: Sequence[str]) -> str:
    """The names of lines at the right edge, moved apart where they would overlap."""
    wanted = sorted(
        (_level(minutes, name), name)
        for name in names
        if len(minutes := site.lines[name].minute) > frame.days / _SELDOM
    )
    heights = spaced([minute * frame.up for minute, _ in wanted])
    parts = []
    for (minute, name), height in zip(wanted, heights, strict=True):
        y, there = frame.y(minute), frame.bottom - height
        parts.append(path("yp-tick", f"M{number(frame.right)} {number(y)}l5 {number(there - y)}"))
        times = _times(site.lines[name].minute) if name in ("opens", "closes") else ""
        parts.append(label(frame.right + 9, there, name + times, "yp-soft"))
    return "".join(parts)


@lru_cache(maxsize=32)
def night(frame: Frame, site: SiteYear) -> str:
    """A bracket at the right edge for the night window, where it mostly is."""
    edges = [site.lines[name].minute for name in ("night-begins", "night-ends")]
    if not all(len(minutes) for minutes in edges):
        return ""
    low, high = (frame.y(_level(minutes)) for minutes in edges)
    bracket = path("yp-tick", f"M{number(frame.right + 3)} {number(low)}h3V{number(high)}h-3")
    return bracket + label(frame.right + 9, (low + high) / 2, "night[ window]", "yp-soft")


def clock_changes(frame: Frame, changes: Sequence[Change]) -> Iterator[str]:
    """A hairline at each change of clocks and words above it, bold where the device goes its own way."""
    places = [frame.x(change.day) for change in changes]
    for x, change in zip(places, changes, strict=True):
        missed = change.moved_s is None or not_followed(change)
        line = f"M{number(x)} {number(frame.bottom)}V{number(frame.top - 4)}"
        yield path("yp-change yp-missed" if missed else "yp-change", line)
        if min(x - LEFT, frame.right - x) < _EDGE:
            continue  # it shows nothing of before, or of after
        anchor = _anchor(x, places, frame.right)
        if change.moved_s is not None:
            up = "-1.2em" if missed else "0"
            yield label(x, frame.top - 7, law_words(change, frame), "yp-soft", anchor, up)
        if missed:
            yield label(x, frame.top - 7, device_words(change, frame), "yp-strong", anchor, "0")


def _anchor(x: float, places: Sequence[float], right: float) -> str:
    """To which side of a line its words go: into the plot, and away from the next line."""
    if right - x < _BESIDE:
        return "end"
    if x - LEFT < _BESIDE:
        return "start"
    if any(x < other < min(x + _APART, right - _EDGE) for other in places):
        return "end"
    return "start" if any(max(x - _APART, LEFT + _EDGE) < other < x for other in places) else "middle"


def painted(
    frame: Frame, painting: Painting, changes: Sequence[Change], found: Collection[str]
) -> Iterator[str]:
    """Each paint's name beside the largest of its areas; faults first, for they need the room most.

    ``found``: the rules that found something. What none of them found is named in a plain voice.
    """
    room = Room(frame, painting.spans, [(change.day, change.day, 0, MINUTES) for change in changes])
    told = (line.paint for line in told_of(painting))
    for paint in sorted(told, key=lambda name: PAINTS[name].fault not in found):
        if place := room.place(PAINTS[paint].label, painting.patches[paint]):
            yield _name(PAINTS[paint].label, place, PAINTS[paint].fault in found)


def _name(words: str, place: Place, fault: bool) -> str:
    named = label(place.x, place.y, words, "yp-name yp-strong" if fault else "yp-name", "middle")
    if not place.stem:
        return named
    x, y = place.stem
    start = place.y + (_STEM if y > place.y else -_STEM)
    return path("yp-stem", f"M{number(place.x)} {number(start)}L{number(x)} {number(y)}") + named


def _level(minutes: Ints, name: str = "") -> int:
    """Where a line is to be named: the sun's where it ends, opening hours where they mostly are."""
    if name in ("sunrise", "sunset"):
        return int(minutes[-1])
    times = np.bincount(minutes)[minutes]
    return int(minutes[times.argmax()])  # of several the first to come


def _times(minutes: Ints) -> str:
    low, high = int(minutes.min()), int(minutes.max())
    until = f"–{clock_text(60 * high)}" if high > low else ""
    return f"[ {clock_text(60 * low)}{until}]"
