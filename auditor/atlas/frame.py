"""A panel's frame: which part of the globe it shows, and where on paper a place lies."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import asin, ceil, cos, degrees, floor, hypot, radians, sin

from auditor.atlas.lines import Box, Point, lines_inside, path
from auditor.atlas.sphere import Projection, mean, place, reach, vector

_MARGIN = 32  # px on every side: no mark is cut, and the shape of the land around can be seen
_HORIZON = radians(89)  # from the centre; further out nothing is drawn but marks
_STEPS = (30, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1)  # degrees between lines of the grid
_KM_A_DEGREE = 111.2  # of latitude


@dataclass(frozen=True)
class Frame:
    """A rectangle of ``width`` by ``height`` px on the plane of a projection; its top left corner in km."""

    projection: Projection
    west_km: float
    north_km: float
    km_per_px: float
    width: int
    height: int

    def at(self, latitude: float, longitude: float) -> Point:
        """Where a place lies, in px from the top left corner."""
        x, y = self.projection(latitude, longitude)
        return (x - self.west_km) / self.km_per_px, (self.north_km - y) / self.km_per_px

    @property
    def box(self) -> Box:
        """The frame in px, and two px more, so that no edge that clipping makes can be seen."""
        return -2, -2, self.width + 2, self.height + 2

    @cached_property
    def windows(self) -> list[Box]:
        """West, south, east and north in degrees around all that can be seen; west may lie below -180.

        One window, or two where a pole lies inside: this side of the globe, and the half of the far side that
        adjoins that pole. The point opposite the centre, which no projection can draw, lies in neither.
        """
        latitude, longitude = self.projection.latitude, self.projection.longitude
        south, north = latitude - degrees(self._sight), latitude + degrees(self._sight)
        if south > -90 and north < 90:
            # The meridians that touch a circle around a place: sin(difference) = sin(radius) / cos(latitude).
            wide = degrees(asin(sin(self._sight) / cos(radians(latitude))))
            return [(longitude - wide, south, longitude + wide, north)]
        near = longitude - 90, max(south, -90), longitude + 90, min(north, 90)
        return [near, (longitude + 90, 0 if north >= 90 else -90, longitude + 270, 90 if north >= 90 else 0)]

    @property
    def _sight(self) -> float:
        """Radians from the centre to the farthest corner."""
        across = self.west_km, self.west_km + self.width * self.km_per_px
        down = self.north_km, self.north_km - self.height * self.km_per_px
        farthest = max(hypot(x, y) for x in across for y in down)
        return min(reach(farthest + 4 * self.km_per_px), _HORIZON)

    @property
    def scale_km(self) -> float:
        """Length of the scale bar: 1, 2 or 5 of a decimal unit, at most a third of the width."""
        most = self.width * self.km_per_px / 3
        return max(k * 10.0**power for k in (1, 2, 5) for power in range(-3, 5) if k * 10.0**power <= most)

    @property
    def grid(self) -> str:
        """Meridians and parallels as the data of a path."""
        return "".join(
            path(run, closed=False)
            for line in self._grid_lines()
            for run in lines_inside([self.at(north, east) for east, north in line], self.box)
        )

    def _grid_lines(self) -> Iterator[list[Point]]:
        up = _step(self.height * self.km_per_px / _KM_A_DEGREE / 2)
        along = _step(up / max(cos(radians(self.projection.latitude)), 0.01))
        for west, south, east, north in self.windows:
            for n in range(ceil(west / along), floor(east / along) + 1):
                yield [(n * along, south + (north - south) * k / 40) for k in range(41)]
            for n in range(ceil(south / up), floor(north / up) + 1):
                yield [(west + (east - west) * k / 60, n * up) for k in range(61)]


def _step(most: float) -> float:
    return next((step for step in _STEPS if step <= most), _STEPS[-1])


def framed(
    places: Sequence[tuple[float, float]], width: int, heights: tuple[int, int], least_km: float
) -> Frame:
    """The frame around places (latitude, longitude): as high as they ask for within ``heights`` px.

    Shows at least ``least_km`` from top to bottom.
    """
    projection = Projection(*place(mean([vector(*at) for at in places])))
    xs, ys = zip(*(projection(*at) for at in places), strict=True)
    across, down = max(xs) - min(xs), max(ys) - min(ys)
    inner = width - 2 * _MARGIN
    asked = 2 * _MARGIN + inner * down / across if across else heights[1]
    height = round(min(max(asked, heights[0]), heights[1]))
    scale = max(across / inner, down / (height - 2 * _MARGIN), least_km / height)
    west, north = (max(xs) + min(xs) - width * scale) / 2, (max(ys) + min(ys) + height * scale) / 2
    return Frame(projection, west, north, scale, width, height)
