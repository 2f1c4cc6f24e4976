"""Panels and their frames, and the outline in them: what is land in an atlas is land here."""

import csv
import re
from itertools import pairwise
from pathlib import Path

import pytest

from auditor.atlas.frame import Frame, framed
from auditor.atlas.outline import borders, land
from auditor.atlas.panels import MOST, parted
from auditor.atlas.sphere import angle, vector

from .map_case import all_over_the_globe

DEMO = Path(__file__).parent.parent / "fixtures/demo/sites.csv"
LONDON, PARIS, LAGOS, NEW_YORK = (51.5, -0.1), (48.9, 2.3), (6.5, 3.4), (40.7, -74.0)
SUVA, TAVEUNI, AUCKLAND = (-18.1, 178.4), (-16.9, -179.97), (-36.8, 174.8)
Place = tuple[float, float]


def panels(*places: Place) -> list[list[Place]]:
    return [[places[k] for k in part] for part in parted([vector(*at) for at in places])]


def test_one_site_has_one_panel_and_none_has_none() -> None:
    assert panels(LONDON) == [[LONDON]]
    assert panels() == []


def test_neighbours_share_a_panel_and_continents_do_not() -> None:
    assert panels(LONDON, NEW_YORK, PARIS, LAGOS) == [[LONDON, PARIS], [NEW_YORK], [LAGOS]]


def test_the_date_line_parts_nobody() -> None:
    assert panels(SUVA, TAVEUNI, AUCKLAND) == [[SUVA, TAVEUNI], [AUCKLAND]]


def test_a_few_towns_of_one_country_share_a_panel() -> None:
    towns = ((40.4, -3.7), (41.4, 2.2), (37.4, -6.0), (43.4, -8.4), (39.5, -0.4), (43.3, -3.0))  # Spain
    assert panels(*towns) == [list(towns)]


def test_the_demo_has_no_more_panels_than_a_page_holds_and_every_site_once() -> None:
    with DEMO.open(encoding="utf-8", newline="") as file:
        places = [(float(row["latitude"]), float(row["longitude"])) for row in csv.DictReader(file)]
    parts = parted([vector(*at) for at in places])
    assert 1 < len(parts) <= MOST
    assert sorted(k for part in parts for k in part) == list(range(len(places)))
    assert [len(part) for part in parts] == sorted((len(part) for part in parts), reverse=True)


def test_sites_all_over_the_globe_are_each_on_one_panel_and_none_reaches_behind_the_globe() -> None:
    points = [vector(site.latitude, site.longitude) for site in all_over_the_globe(2000)]
    parts = parted(points)
    assert sorted(k for part in parts for k in part) == list(range(2000))
    assert all(angle(points[a], points[b]) < 2.5 for part in parts for a, b in pairwise(part))  # π is behind


def test_a_site_alone_stands_in_the_middle_of_sixty_kilometres() -> None:
    frame = framed([LONDON], 760, (420, 560), 60)
    assert frame.at(*LONDON) == pytest.approx((380, 280))
    # 30 km north, 30 / 111.195 of a degree, is the upper edge.
    assert frame.at(LONDON[0] + 30 / 111.195, LONDON[1]) == pytest.approx((380, 0), abs=0.05)
    # 760 px are 81.4 km: of 10, 20 and 50 km the longest that takes no more than a third is 20.
    assert frame.scale_km == 20


@pytest.mark.parametrize(
    ("places", "height"),
    [([(0, 0), (0, 4)], 420), ([(0, 0), (4, 0)], 560), ([(-1, 0), (1, 3)], 528)],
)
def test_a_frame_is_as_high_as_its_sites_ask_for_within_limits(places: list[Place], height: int) -> None:
    # The third: 2 by 3 degrees at the equator; 2 × 32 px of margin and 2/3 of the other 696 px across.
    frame = framed(places, 760, (420, 560), 60)
    assert frame.height == pytest.approx(height, abs=1)
    assert all(31 < x < 729 and 31 < y < frame.height - 31 for x, y in (frame.at(*at) for at in places))


def test_sites_on_both_sides_of_the_date_line_lie_as_near_as_they_are() -> None:
    frame = framed([(-16.9, 179.9), (-16.9, -179.9)], 520, (440, 440), 60)
    (west, _), (east, _) = frame.at(-16.9, 179.9), frame.at(-16.9, -179.9)
    # 0.2 degrees of longitude × 111.195 km × cos 16.9° = 21.28 km; 440 px are 60 km.
    assert (east - west) * frame.km_per_px == pytest.approx(21.28, abs=0.01)


@pytest.mark.parametrize("latitude", range(-90, 91, 15))
@pytest.mark.parametrize("km", [60, 2000, 9000])
def test_windows_hold_all_that_is_seen_and_never_the_point_opposite(latitude: int, km: int) -> None:
    frame = framed([(latitude, 170.0)], 340, (255, 255), km)
    assert not any(inside(window, -latitude, -10.0) for window in frame.windows)
    seen = [(a, b) for a in range(-90, 91, 3) for b in range(-180, 180, 3) if angle_to(frame, a, b) < 1.5]
    seen = [at for at in seen if 0 <= frame.at(*at)[0] <= 340 and 0 <= frame.at(*at)[1] <= 255]
    assert all(any(inside(window, *at) for window in frame.windows) for at in seen)


def angle_to(frame: Frame, latitude: float, longitude: float) -> float:
    return angle(vector(frame.projection.latitude, frame.projection.longitude), vector(latitude, longitude))


def inside(window: tuple[float, float, float, float], latitude: float, longitude: float) -> bool:
    west, south, east, north = window
    turned = (longitude + turn for turn in (-360, 0, 360))
    return south <= latitude <= north and any(west <= east_of <= east for east_of in turned)


def on_land(frame: Frame, latitude: float, longitude: float) -> bool:
    """By the even-odd rule, as a browser fills the path; halves of a px."""
    x, y = (along * 2 for along in frame.at(latitude, longitude))
    assert 0 < x < 2 * frame.width and 0 < y < 2 * frame.height, "asked of a place outside the frame"
    crossed = 0
    for text in re.findall(r"M([^z]+)z", land(frame)):
        start, steps = text.split("l")
        numbers = [int(number) for number in re.findall(r"-?\d+", steps)]
        points = [tuple(map(int, start.split()))]
        for dx, dy in zip(numbers[::2], numbers[1::2], strict=True):
            points.append((points[-1][0] + dx, points[-1][1] + dy))
        for (ax, ay), (bx, by) in pairwise([*points, points[0]]):
            crossed += (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay)
    return crossed % 2 == 1


@pytest.mark.parametrize(
    ("what", "at", "km", "dry"),
    [
        ("Irish midlands", (53.4, -7.9), 300, True),
        ("Irish Sea", (53.7, -5.4), 300, False),
        ("Paris, no coast far and wide", (48.87, 2.33), 60, True),
        ("Lake Victoria", (-1.0, 33.0), 1500, False),
        ("Manitoulin Island in Lake Huron", (45.75, -82.3), 300, True),
        ("the South Pole", (-90.0, 0.0), 1500, True),
        ("the North Pole", (90.0, 0.0), 1500, False),
        ("Taveuni east of the 180th meridian", (-16.8, -179.97), 60, True),
        ("Bering Strait", (65.8, -168.7), 600, False),
        ("Chukotka east of the 180th meridian", (66.5, -177.0), 600, True),
        # Opposite lies Spain: a projection that turned Eurasia inside out would drown the panel in land.
        ("Tasman Sea", (-39.0, 166.0), 6000, False),
        ("North Island", (-38.8, 175.8), 6000, True),
    ],
)
def test_land_and_water_are_where_an_atlas_has_them(what: str, at: Place, km: int, dry: bool) -> None:
    assert on_land(framed([at], 340, (255, 255), km), *at) is dry, what


@pytest.mark.parametrize("centre", [179.97, -179.97])
@pytest.mark.parametrize("asked", [179.97, -179.97])
def test_taveuni_is_whole_from_either_side_of_the_180th_meridian(centre: float, asked: float) -> None:
    assert on_land(framed([(-16.9, centre)], 340, (255, 255), 60), -16.9, asked)


def test_land_beyond_the_pole_is_drawn() -> None:
    # From northern Greenland over the pole to Severnaya Zemlya, on the other side of the globe.
    assert on_land(framed([(83.0, -80.0)], 340, (255, 255), 5000), 79.5, 96.5)


def test_borders_of_states_and_rivers_are_drawn_where_they_do_not_crowd() -> None:
    # No other country is near Kansas; Paris lies on the Seine; in the middle of the Sahara there is nothing.
    assert borders(framed([(38.5, -98.5)], 340, (255, 255), 1200))
    assert borders(framed([PARIS], 340, (255, 255), 60))
    assert not borders(framed([(21.0, 10.0)], 340, (255, 255), 60))


def test_all_of_a_path_lies_within_the_frame_or_just_beyond() -> None:
    frame = framed([LONDON, PARIS], 520, (440, 440), 500)
    starts = re.findall(r"M(-?\d+) (-?\d+)", land(frame) + frame.grid)
    assert starts
    assert all(-300 <= int(x) <= 2 * 520 + 300 and -300 <= int(y) <= 2 * 440 + 300 for x, y in starts)
