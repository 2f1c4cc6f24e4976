"""The globe as a sphere: places as unit vectors, circles around them, and one projection.

Unit vectors know neither poles nor a date line, so that nothing here has a special case.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, atan2, cos, degrees, hypot, radians, sin, sqrt

EARTH_KM = 6371.0088  # mean radius: IUGG, Geodetic Reference System 1980
Vector = tuple[float, float, float]


def vector(latitude: float, longitude: float) -> Vector:
    """The unit vector of a place in degrees."""
    north, east = radians(latitude), radians(longitude)
    return cos(north) * cos(east), cos(north) * sin(east), sin(north)


def place(at: Vector) -> tuple[float, float]:
    """Latitude and longitude of a vector, in degrees."""
    x, y, z = at
    return degrees(atan2(z, hypot(x, y))), degrees(atan2(y, x))


def angle(one: Vector, other: Vector) -> float:
    """Radians between two unit vectors; by the chord, so that small ones stay exact."""
    return 2 * asin(min(1.0, sqrt(sum((a - b) ** 2 for a, b in zip(one, other, strict=True))) / 2))


@dataclass(frozen=True)
class Circle:
    """All that lies within ``radius`` radians of ``centre``."""

    centre: Vector
    radius: float


def mean(points: Sequence[Vector]) -> Vector:
    """The middle of the points; the first where they balance each other out."""
    return _unit(tuple(map(sum, zip(*points, strict=True)))) or points[0]


def circle_around(centre: Vector, points: Sequence[Vector], least: float = 0.0) -> Circle:
    """The circle around a centre that holds all the points, no smaller than ``least`` radians."""
    x, y, z = centre
    farthest = min(points, key=lambda point: x * point[0] + y * point[1] + z * point[2])
    return Circle(centre, max(least, angle(centre, farthest)))


def joined_radius(one: Circle, other: Circle) -> float:
    """Radius of the smallest circle that holds both."""
    return max(one.radius, other.radius, (one.radius + other.radius + angle(one.centre, other.centre)) / 2)


def joined_centre(one: Circle, other: Circle) -> Vector:
    """Centre of the smallest circle that holds both; it lies on the great circle through theirs."""
    big, small = sorted((one, other), key=lambda circle: circle.radius, reverse=True)
    radius, apart = joined_radius(big, small), angle(big.centre, small.centre)
    if radius == big.radius or not sin(apart):
        return big.centre
    share = (radius - big.radius) / apart
    weights = sin((1 - share) * apart) / sin(apart), sin(share * apart) / sin(apart)
    x, y, z = (a * weights[0] + b * weights[1] for a, b in zip(big.centre, small.centre, strict=True))
    return x, y, z


def _unit(total: tuple[float, ...]) -> Vector | None:
    """The direction of a sum of vectors; None where they cancel out."""
    length = hypot(*total)
    if length < 1e-9:
        return None
    x, y, z = (part / length for part in total)
    return x, y, z


@dataclass(frozen=True)
class Projection:
    """Lambert's azimuthal equal-area projection of the sphere: true to scale at its centre (degrees).

    J. P. Snyder, Map Projections: A Working Manual (1987), equations 24-2 to 24-4.
    """

    latitude: float
    longitude: float

    def __call__(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Kilometres east and north of the centre."""
        north, east, own = radians(latitude), radians(longitude - self.longitude), radians(self.latitude)
        up, across = sin(north), cos(north) * cos(east)
        ahead = 1 + sin(own) * up + cos(own) * across
        stretch = EARTH_KM * sqrt(2 / max(ahead, 1e-12))  # the point opposite the centre has no place
        return stretch * cos(north) * sin(east), stretch * (cos(own) * up - sin(own) * across)


def reach(distance_km: float) -> float:
    """Radians on the globe that the projection draws at so many kilometres from its centre."""
    return 2 * asin(min(1.0, distance_km / (2 * EARTH_KM)))
