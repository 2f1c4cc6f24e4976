"""From circuits to pictures of their year."""

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from auditor.picture import canvas, captions
from auditor.picture.coded import coded
from auditor.picture.frame import Frame
from auditor.picture.paints import PAINTS
from auditor.picture.reading import CircuitYear, years
from auditor.picture.sheet import Ground, Painting, grounds, paintings
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

BATCH = 2000  # circuits read at once: the large tables are gone through once for all of them
AT_ONCE = 40  # circuits drawn at once
_NAMED = ("opens", "closes", "sunrise", "sunset")
_SUN = ("sunrise", "sunset")


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
    return {picture.circuit_id: picture for picture in pictures_in_turn(connection, ids)}


def pictures_in_turn(connection: Connection, circuit_ids: Sequence[str]) -> Iterator[Picture]:
    """The same in this order, in which no circuit comes twice; they are drawn as they are asked for."""
    for first in range(0, len(circuit_ids), BATCH):
        found = years(connection, circuit_ids[first : first + BATCH])
        while some := list(islice(found, AT_ONCE)):
            yield from _pictures(some)


def _pictures(some: Sequence[CircuitYear]) -> Iterator[Picture]:
    days = some[0].head["days"]
    sites = list(dict.fromkeys(year.site for year in some))
    ground = dict(zip(sites, grounds(sites, days), strict=True))
    drawings = paintings([pieces for year in some for pieces in (year.pieces, year.differences)], days)
    for place, year in enumerate(some):
        yield _picture(year, ground[year.site], *drawings[2 * place : 2 * place + 2])


def _picture(year: CircuitYear, ground: Ground, painting: Painting, differs: Painting) -> Picture:
    name = "y" + hashlib.sha256(year.head["circuit_id"].encode()).hexdigest()[:10]
    frame = Frame(year.head["first_date"], year.head["days"], top=40, height=380)
    told = told_of(painting)
    words, alternative = title(year, told), description(year, frame, told)
    return Picture(
        title=words,
        description=alternative,
        svg=canvas.drawing(name, frame, words, alternative, _drawn(year, name, frame, ground, painting)),
        key=_key(name, frame, told),
        circuit_id=year.head["circuit_id"],
        data=coded(frame, painting, differs, ground, year.changes),
        right_clock=_right_clock(year, name, differs),
    )


def _drawn(year: CircuitYear, name: str, frame: Frame, ground: Ground, painting: Painting) -> Iterator[str]:
    yield canvas.textures(name, frame, painting.paths)
    yield canvas.plot(
        frame,
        canvas.light(name, ground),
        canvas.sun(name),
        canvas.paint(name, painting.paths),
        canvas.sunlines(name, frame, name),
        canvas.strokes(ground),
    )
    yield captions.axes(frame)
    yield captions.edge(frame, year.site, _NAMED)
    yield captions.night(frame, year.site)
    yield from captions.clock_changes(frame, year.changes)
    found = {fact["rule"] for fact in year.facts}
    yield from captions.painted(frame, painting, year.changes, found)
    yield canvas.hand(frame)


def _right_clock(year: CircuitYear, main: str, differs: Painting) -> Drawing | None:
    """The small picture. ``main``: the key of the picture that it stands below, whose light it borrows."""
    told = told_of(differs)
    if not told:
        return None
    name = f"{main}r"
    frame = Frame(year.head["first_date"], year.head["days"], top=36, height=190)
    words, alternative = right_clock_title(year), right_clock_description(told)
    svg = canvas.drawing(name, frame, words, alternative, _differing(year, name, main, frame, differs))
    return Drawing(words, alternative, svg, _key(name, frame, told))


def _differing(year: CircuitYear, name: str, main: str, frame: Frame, differs: Painting) -> Iterator[str]:
    yield canvas.textures(name, frame, differs.paths)
    ground, edge = canvas.sun(main), canvas.sunlines(name, frame, main)
    yield canvas.plot(frame, ground, canvas.paint(name, differs.paths), edge)
    yield captions.axes(frame)
    yield captions.edge(frame, year.site, _SUN)
    yield from captions.clock_changes(frame, year.changes)
    yield from captions.painted(frame, differs, year.changes, ())
    yield canvas.hand(frame)


def _key(name: str, frame: Frame, told: Sequence[Told]) -> tuple[KeyLine, ...]:
    return tuple(
        KeyLine(
            canvas.swatch(name, PAINTS[line.paint].look, frame),
            PAINTS[line.paint].words,
            hours_of(line.seconds),
        )
        for line in told
    )
