"""Minutes on the road between two places, from the great circle. A map knows better; this needs none."""

import math
from dataclasses import dataclass

Place = tuple[float, float]  # degrees north, degrees east
EARTH_KM = 6371.0088  # mean radius of the Earth (IUGG)


def great_circle_km(one: Place, other: Place) -> float:
    """The shortest way over the globe, by way of the chord, which holds for near places too."""
    return 2 * EARTH_KM * math.asin(min(1.0, math.dist(_vector(one), _vector(other)) / 2))


def _vector(place: Place) -> tuple[float, float, float]:
    north, east = map(math.radians, place)
    return math.cos(north) * math.cos(east), math.cos(north) * math.sin(east), math.sin(north)


@dataclass(frozen=True)
class Roads:
    """Roads are longer than the great circle by ``detour_factor``, and are driven at ``speed_kmh``."""

    detour_factor: float
    speed_kmh: float

    def minutes(self, one: Place, other: Place) -> int:
        """Whole minutes, rounded up; a millionth of a minute is no minute more."""
        hours = great_circle_km(one, other) * self.detour_factor / self.speed_kmh
        return math.ceil(60 * hours - 1e-6)
