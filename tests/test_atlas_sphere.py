"""The globe of the map: places as vectors, circles, Lambert's projection against values computed by hand."""

from math import cos, pi, radians, sin, sqrt

import pytest

from auditor.atlas.sphere import (
    EARTH_KM,
    Circle,
    Projection,
    angle,
    circle_around,
    joined_centre,
    joined_radius,
    mean,
    place,
    reach,
    vector,
)

# Lambert's projection puts a place 2 R sin(c / 2) from the centre, c being the angle between the two.
BY_HAND = [
    # 60 degrees due north: 2 R sin 30° = R.
    ((0, 0), (60, 0), (0, 1)),
    # 90 degrees due east along the equator: 2 R sin 45° = R √2.
    ((0, 0), (0, 90), (sqrt(2), 0)),
    # From a pole, all around: 30 degrees away, 2 R sin 15° = 0.517638 R, here due east (down is longitude 0).
    ((90, 0), (60, 90), (0.517638, 0)),
    # Oblique: cos c = sin 40° sin -20° + cos 40° cos 20° cos 200° = -0.896281, k = √(2 / (1 + cos c)),
    # x = k cos 20° sin 200°, y = k (cos 40° sin -20° - sin 40° cos 20° cos 200°).
    ((40, -100), (-20, 100), (-1.411310, 1.341926)),
]


@pytest.mark.parametrize(("centre", "at", "expected"), BY_HAND)
def test_a_place_is_drawn_where_it_lies(
    centre: tuple[float, float], at: tuple[float, float], expected: tuple[float, float]
) -> None:
    x, y = Projection(*centre)(*at)
    assert (x / EARTH_KM, y / EARTH_KM) == pytest.approx(expected, abs=2e-6)


def test_the_projection_keeps_areas() -> None:
    # A field of 0.1 by 0.1 degrees 5 000 km from the centre. On the sphere: R² (sin 50.1° - sin 50°) × 0.1°.
    project = Projection(40.0, -100.0)
    corners = [project(50 + a / 10, -40 + b / 10) for a, b in ((0, 0), (0, 1), (1, 1), (1, 0))]
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    area = sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs) / 2
    assert area == pytest.approx(
        EARTH_KM**2 * (sin(radians(50.1)) - sin(radians(50))) * radians(0.1), rel=1e-5
    )


def test_a_degree_of_latitude_is_true_to_scale_at_the_centre() -> None:
    # 2 π × 6371.0088 km / 360 = 111.195 km
    assert Projection(53.3, -6.2)(54.3, -6.2) == pytest.approx((0, 111.195), abs=0.002)


def test_the_point_opposite_the_centre_does_no_harm() -> None:
    x, y = Projection(30.0, 10.0)(-30.0, -170.0)
    assert abs(x) + abs(y) < 1e12


def test_a_distance_on_paper_tells_the_angle() -> None:
    assert reach(EARTH_KM) == pytest.approx(radians(60))  # 2 R sin 30° = R, as above


@pytest.mark.parametrize("at", [(0.0, 0.0), (51.5, -0.1), (-16.8, 179.97), (-90.0, 0.0)])
def test_a_vector_tells_its_place(at: tuple[float, float]) -> None:
    assert place(vector(*at)) == pytest.approx(at)


def test_the_middle_of_two_places_beside_the_date_line_lies_between_them() -> None:
    latitude, longitude = place(mean([vector(0, 179), vector(0, -179)]))
    assert (latitude, abs(longitude)) == pytest.approx((0, 180))


def test_places_that_balance_each_other_have_a_middle_too() -> None:
    assert mean([vector(0, 0), vector(0, 180)]) == vector(0, 0)


def test_a_circle_holds_its_points_and_is_no_smaller_than_asked() -> None:
    points = [vector(0, 0), vector(0, 10)]
    assert circle_around(mean(points), points).radius == pytest.approx(radians(5))
    assert circle_around(mean(points), points, 0.5).radius == 0.5


def test_a_joined_circle_touches_both_from_within() -> None:
    # On the equator, 5 degrees around 0 and 10 around 40: from -5 to 50, so 27.5 around 22.5.
    one, other = Circle(vector(0, 0), radians(5)), Circle(vector(0, 40), radians(10))
    assert joined_radius(one, other) == pytest.approx(radians(27.5))
    assert place(joined_centre(one, other)) == pytest.approx((0, 22.5))


def test_a_circle_that_lies_in_another_changes_nothing() -> None:
    big, small = Circle(vector(50, 8), radians(20)), Circle(vector(52, 9), radians(3))
    assert joined_radius(small, big) == big.radius
    assert joined_centre(small, big) == big.centre


def test_small_angles_are_exact() -> None:
    # A metre along a meridian; an arc cosine would give 0 or 1.3 cm too much.
    metre = 0.001 / EARTH_KM
    assert angle(vector(51, 0), vector(51 + metre * 180 / pi, 0)) == pytest.approx(metre, rel=1e-6)
    assert cos(metre) == pytest.approx(1, abs=1e-12)
