"""From circuits to pictures of their year."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from auditor.picture import captions
from auditor.picture.canvas import Canvas, looks, swatch
from auditor.picture.coded import coded
from auditor.picture.frame import Frame
from auditor.picture.paints import PAINTS
from auditor.picture.reading import CircuitYear, years
from auditor.picture.words import (
    Told,
    description,
    hours_of,
    right_clock_description,
    right_clock_title,
    title,
    told_of,
)
from auditor.store import Connection

BATCH = 400  # circuits read at once; more are hardly faster
_DASHED = ("night-begins", "night-ends", "opens", "closes")
_NAMED = ("opens", "closes", "sunrise", "sunset")


@dataclass(frozen=True)
class KeyLine:
    """A line of the key: a small drawing (markup) of the texture, what it means, and how long, in words.

    The swatch borrows the texture of the drawing that the key belongs to.
    """

    swatch: str
    words: str
    length: str


@dataclass(frozen=True)
class Drawing:
    """A drawing with its title and its text alternative; ``svg`` is markup, all else plain text."""

    title: str
    description: str
    svg: str
    key: tuple[KeyLine, ...]


@dataclass(frozen=True)
class Picture(Drawing):
    """The year of a circuit. ``data``: JSON for the script beside it (see ``coded``).

    ``right_clock``: where the device does otherwise than it would with a right clock; None: it never does. It
    borrows the light of the picture: it stands on the same page.
    """

    circuit_id: str
    data: str
    right_clock: Drawing | None


def pictures(connection: Connection, circuit_ids: Sequence[str]) -> dict[str, Picture]:
    """Pictures of the circuits in use among these, by id; from a run's own store or from one that was kept.

    Same store, same bytes. Ids in the markup belong to a circuit: it may stand once on a page.
    """
    ids = sorted(set(circuit_ids))
    return {
        year.head["circuit_id"]: _picture(year)
        for first in range(0, len(ids), BATCH)
        for year in years(connection, ids[first : first + BATCH])
    }


def _picture(year: CircuitYear) -> Picture:
    name = "y" + hashlib.sha256(year.head["circuit_id"].encode()).hexdigest()[:10]
    frame = Frame(year.head["first_date"], year.head["days"], top=40, height=380)
    told = told_of(year.pieces, year.totals)
    words, alternative = title(year), description(year, frame, told)
    return Picture(
        title=words,
        description=alternative,
        svg=_drawn(year, Canvas(name, frame, words, alternative), told),
        key=_key(name, frame, told),
        circuit_id=year.head["circuit_id"],
        data=coded(year, frame),
        right_clock=_right_clock(year, name),
    )


def _drawn(year: CircuitYear, canvas: Canvas, told: Sequence[Told]) -> str:
    canvas.textures(looks(year.pieces))
    plot = canvas.plot()
    canvas.light(plot, year.site)
    canvas.paint(plot, year.pieces)
    captions.axes(canvas)
    canvas.sunlines(plot)
    canvas.dashes(plot, year.site, _DASHED)
    captions.edge(canvas, year.site, _NAMED)
    captions.night(canvas, year.site)
    captions.clock_changes(canvas, year.changes)
    captions.painted(canvas, year.pieces, [line.paint for line in told], year.changes)
    canvas.hand()
    return canvas.markup()


def _right_clock(year: CircuitYear, main: str) -> Drawing | None:
    """The small picture. ``main``: the key of the picture that it stands below."""
    told = told_of(year.differences, year.totals)
    if not told:
        return None
    name = f"{main}r"
    frame = Frame(year.head["first_date"], year.head["days"], top=36, height=190)
    words, alternative = right_clock_title(year), right_clock_description(told)
    canvas = Canvas(name, frame, words, alternative, sun=main)
    canvas.textures(looks(year.differences))
    plot = canvas.plot()
    canvas.light(plot, year.site)
    canvas.paint(plot, year.differences)
    captions.axes(canvas)
    canvas.sunlines(plot)
    captions.edge(canvas, year.site, ("sunrise", "sunset"))
    captions.clock_changes(canvas, year.changes)
    captions.painted(canvas, year.differences, [line.paint for line in told], year.changes)
    canvas.hand()
    return Drawing(words, alternative, canvas.markup(), _key(name, frame, told))


def _key(name: str, frame: Frame, told: Sequence[Told]) -> tuple[KeyLine, ...]:
    return tuple(
        KeyLine(
            swatch(name, PAINTS[line.paint].look, frame), PAINTS[line.paint].words, hours_of(line.seconds)
        )
        for line in told
    )
