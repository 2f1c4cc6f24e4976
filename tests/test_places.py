"""Time zones from coordinates, and doubts about coordinates."""

import polars as pl
import pytest

from auditor import places
from auditor.places import locate, same_time, zone_at
from auditor.zones import zone_names

# Degrees north and east of well-known towns, from memory; their zones as in zone.tab of the IANA database.
CITIES = [
    (40.7, -74.0, "America/New_York"),
    (33.4, -112.1, "America/Phoenix"),
    (21.3, -157.9, "Pacific/Honolulu"),
    (51.5, -0.1, "Europe/London"),
    (53.3, -6.3, "Europe/Dublin"),
    (60.2, 24.9, "Europe/Helsinki"),
    (27.7, 85.3, "Asia/Kathmandu"),
    (-33.9, 151.2, "Australia/Sydney"),
    (-31.55, 159.08, "Australia/Lord_Howe"),
    (-23.5, -46.6, "America/Sao_Paulo"),
    (78.2, 15.6, "Arctic/Longyearbyen"),
]


def site(latitude: float, longitude: float, timezone: str | None = None) -> pl.DataFrame:
    row = {"source_file": "sites.csv", "source_row": 2, "site_id": "01"}
    place = {"latitude": latitude, "longitude": longitude, "timezone": timezone}
    return pl.DataFrame([row | place], schema_overrides={"timezone": pl.String})


def doubt(latitude: float, longitude: float, timezone: str | None = None) -> str:
    (sentence,) = locate(site(latitude, longitude, timezone))[1]
    assert sentence.startswith("sites.csv, row 2: site 01 ")
    return sentence


@pytest.mark.parametrize(("latitude", "longitude", "zone"), CITIES)
def test_a_blank_zone_is_looked_up_and_marked(latitude: float, longitude: float, zone: str) -> None:
    sites, notices = locate(site(latitude, longitude))
    assert same_time(sites["timezone"][0], zone)
    assert sites["timezone"][0] in zone_names()
    assert (sites["timezone_looked_up"].to_list(), notices) == ([True], [])


@pytest.mark.parametrize(("latitude", "longitude", "zone"), CITIES)
def test_a_zone_that_fits_its_place_is_kept_without_a_word(
    latitude: float, longitude: float, zone: str
) -> None:
    sites, notices = locate(site(latitude, longitude, zone))
    assert (sites["timezone"].to_list(), sites["timezone_looked_up"].to_list()) == ([zone], [False])
    assert notices == []


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [(30, -40, "Etc/GMT+3"), (-3, 179.9, "Etc/GMT-12"), (-3, 0, "Etc/GMT"), (-45, -150.1, "Etc/GMT+10")],
)
def test_at_sea_a_blank_zone_goes_by_longitude_and_that_is_said(
    latitude: float, longitude: float, zone: str
) -> None:
    sites, (sentence,) = locate(site(latitude, longitude))
    assert same_time(sites["timezone"][0], zone)
    assert f"lies at sea, its time zone taken as {sites['timezone'][0]}" in sentence


def test_a_site_at_sea_is_doubted_even_where_its_zone_shows_the_same_time() -> None:
    # Brisbane without its minus sign: at sea, where the nautical zone has the same ten hours.
    sentence = doubt(27.5, 153.0, "Australia/Brisbane")
    assert "lies at sea (the sign of the latitude looks wrong); check its coordinates" in sentence


@pytest.mark.parametrize(("longitude", "zone"), [(-45.1, "Etc/GMT+3"), (180, "Etc/GMT-12"), (7.4, "Etc/GMT")])
@pytest.mark.parametrize("found", [None, "Sea/Of_Names"])
def test_a_place_that_the_map_cannot_name_gets_its_nautical_zone(
    monkeypatch: pytest.MonkeyPatch, longitude: float, zone: str, found: str | None
) -> None:
    class Map:
        def timezone_at(self, lat: float, lng: float) -> str | None:
            return found

    monkeypatch.setattr(places, "_finder", Map)
    assert zone_at(30, longitude) == zone


def test_poles_and_the_date_line_have_a_zone() -> None:
    for place in [(90, 0), (-90, 180), (0, 180), (0, -180), (90, -180)]:
        assert zone_at(*place) in zone_names()


def test_a_zone_that_does_not_fit_is_said_and_kept() -> None:
    sites, (sentence,) = locate(site(40.7, -74.0, "America/Chicago"))
    assert sites["timezone"].to_list() == ["America/Chicago"]
    assert (
        "has time zone America/Chicago, but its coordinates lie in America/New_York; check both" in sentence
    )


def test_another_name_for_the_same_time_is_no_disagreement() -> None:
    assert locate(site(40.7, -74.0, "America/Toronto"))[1] == []
    assert locate(site(60.2, 24.9, "Europe/Kyiv"))[1] == []


def test_a_place_that_never_changes_its_clocks_differs_from_one_that_does() -> None:
    assert "coordinates lie in America/Phoenix" in doubt(33.4, -112.1, "America/Denver")


def test_swapped_coordinates_are_suspected_where_the_swap_fits_the_zone() -> None:
    assert "(latitude and longitude look swapped)" in doubt(24.9, 60.2, "Europe/Helsinki")
    assert "(latitude and longitude look swapped)" in doubt(-74.0, 40.7, "America/New_York")


def test_a_wrong_sign_is_suspected_where_the_other_fits_the_zone() -> None:
    assert "(the sign of the longitude looks wrong)" in doubt(40.7, 74.0, "America/New_York")


def test_no_slip_is_suspected_where_none_would_explain_the_zone() -> None:
    assert "looks wrong" not in doubt(40.7, 74.0, "Asia/Tokyo")
    assert "look swapped" not in doubt(40.7, 74.0, "Asia/Tokyo")


def test_without_a_zone_a_slip_is_suspected_where_it_would_put_the_site_on_land() -> None:
    assert "(the sign of the longitude looks wrong)" in doubt(40.7, -30.0)  # else in Anatolia
    assert "(latitude and longitude look swapped)" in doubt(-46.6, -23.5)  # else in São Paulo
    assert doubt(-45.0, -150.1).endswith("taken as Etc/GMT+10; check its coordinates.")


def test_every_site_gets_its_own_judgement_in_order() -> None:
    sites = pl.concat(
        [site(40.7, -74.0), site(51.5, -0.1, "Asia/Tokyo"), site(60.2, 24.9, "Europe/Helsinki")]
    )
    found, notices = locate(sites)
    assert found["timezone"].to_list() == ["America/New_York", "Asia/Tokyo", "Europe/Helsinki"]
    assert found["timezone_looked_up"].to_list() == [True, False, False]
    assert len(notices) == 1


def test_no_sites_are_no_trouble() -> None:
    sites, notices = locate(site(0, 0).clear())
    assert (sites.height, notices) == (0, [])
