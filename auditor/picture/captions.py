"""The words in and around a plot: hours, months, lines at its edge, changes of clocks, what is painted."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence

from auditor.picture.canvas import Canvas, number
from auditor.picture.frame import LEFT, MINUTES, PLOT_WIDTH, ticks
from auditor.picture.labels import Place, Room, spaced
from auditor.picture.paints import PAINTS
from auditor.picture.reading import Change, Piece, SiteYear
from auditor.picture.shapes import Point, Span, chains
from auditor.picture.words import device_words, law_words, not_followed
from auditor.wording import clock_text

_EDGE = 8  # units; nearer to the plot's edge a change of clocks has no words
_BESIDE, _APART = 170, 320  # units that words over a line reach to one side, and that two lines need between
_SELDOM = 60  # a line that a 60th of the dates has, by closures alone, is not named
_WEEK = 4  # days; what pauses for less, over a weekend, is named as one
_STEM = 9  # units from the middle of a label to where its line begins


def axes(canvas: Canvas) -> None:
    """Hours at the left edge, months below."""
    frame = canvas.frame
    for hour in range(0, 25, 6):
        y = frame.y(hour * 60)
        canvas.path("yp-grid", f"M{LEFT} {number(y)}h{PLOT_WIDTH}")
        canvas.label(LEFT - 7, y, f"{hour:02}:00", "yp-soft", "end")
    for tick in ticks(frame):
        canvas.path("yp-tick", f"M{number(tick.start)} {number(frame.bottom)}v5")
        for words, dy in ((tick.name, "1.25em"), (tick.year, "2.4em")):
            if words:
                canvas.label(tick.middle, frame.bottom, words, "yp-soft", "middle", dy)


def edge(canvas: Canvas, site: SiteYear, names: Iterable[str]) -> None:
    """The names of lines at the right edge, moved apart where they would overlap."""
    frame = canvas.frame
    wanted = sorted(
        (_level(points, name), name)
        for name in names
        if len(points := site.lines.get(name, [])) > frame.days / _SELDOM
    )
    heights = spaced([minute * frame.up for minute, _ in wanted])
    for (minute, name), height in zip(wanted, heights, strict=True):
        y, there = frame.y(minute), frame.bottom - height
        canvas.path("yp-tick", f"M{number(frame.right)} {number(y)}l5 {number(there - y)}")
        times = _times(site.lines[name]) if name in ("opens", "closes") else ""
        canvas.label(frame.right + 9, there, name + times, "yp-soft")


def night(canvas: Canvas, site: SiteYear) -> None:
    """A bracket at the right edge for the night window, where it mostly is."""
    frame = canvas.frame
    edges = [site.lines.get(name, []) for name in ("night-begins", "night-ends")]
    if all(edges):
        low, high = (frame.y(_level(points, "")) for points in edges)
        canvas.path("yp-tick", f"M{number(frame.right + 3)} {number(low)}h3V{number(high)}h-3")
        canvas.label(frame.right + 9, (low + high) / 2, "night[ window]", "yp-soft")


def clock_changes(canvas: Canvas, changes: Sequence[Change]) -> None:
    """A hairline at each change of clocks and words above it, bold where the device goes its own way."""
    frame = canvas.frame
    places = [frame.x(change.day) for change in changes]
    for x, change in zip(places, changes, strict=True):
        missed = change.moved_s is None or not_followed(change)
        line = f"M{number(x)} {number(frame.bottom)}V{number(frame.top - 4)}"
        canvas.path("yp-change yp-missed" if missed else "yp-change", line)
        if min(x - LEFT, frame.right - x) < _EDGE:
            continue  # it shows nothing of before, or of after
        anchor = _anchor(x, places, frame.right)
        if change.moved_s is not None:
            canvas.label(x, frame.top - 7, law_words(change, frame), "yp-soft", anchor, "0")
        if missed:
            canvas.label(x, frame.top - 7, device_words(change, frame), "yp-strong", anchor, "-1.2em")


def _anchor(x: float, places: Sequence[float], right: float) -> str:
    """To which side of a line its words go: into the plot, and away from the next line."""
    if right - x < _BESIDE:
        return "end"
    if x - LEFT < _BESIDE:
        return "start"
    if any(x < other < min(x + _APART, right - _EDGE) for other in places):
        return "end"
    return "start" if any(max(x - _APART, LEFT + _EDGE) < other < x for other in places) else "middle"


def painted(canvas: Canvas, pieces: Sequence[Piece], shown: Sequence[str], changes: Sequence[Change]) -> None:
    """Each paint's name beside the largest of its areas; faults first, for they need the room most."""
    by_day: dict[int, list[tuple[int, int]]] = defaultdict(list)
    spans: dict[str, list[Span]] = defaultdict(list)
    for day, paint, _, start, end in pieces:
        by_day[day].append((start, end))
        spans[paint].append((day, start, end))
    room = Room(canvas.frame, by_day, [(change.day, change.day, 0, MINUTES) for change in changes])
    for paint in sorted(shown, key=lambda name: not PAINTS[name].fault):
        if place := room.place(PAINTS[paint].label, chains(spans[paint], _WEEK)):
            _name(canvas, PAINTS[paint].label, place, PAINTS[paint].fault)


def _name(canvas: Canvas, words: str, place: Place, fault: bool) -> None:
    if place.stem:
        x, y = place.stem
        start = place.y + (_STEM if y > place.y else -_STEM)
        canvas.path("yp-stem", f"M{number(place.x)} {number(start)}L{number(x)} {number(y)}")
    canvas.label(place.x, place.y, words, "yp-name yp-strong" if fault else "yp-name", "middle")


def _level(points: Sequence[Point], name: str) -> int:
    """Where a line is to be named: the sun's where it ends, opening hours where they mostly are."""
    if name in ("sunrise", "sunset"):
        return points[-1][1]
    return Counter(minute for _, minute in points).most_common(1)[0][0]


def _times(points: Sequence[Point]) -> str:
    low, high = min(minute for _, minute in points), max(minute for _, minute in points)
    until = f"–{clock_text(60 * high)}" if high > low else ""
    return f"[ {clock_text(60 * low)}{until}]"
