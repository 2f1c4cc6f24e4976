"""Pictures of a year against hand-worked times: changes of clocks, poles, hours."""

import json
import re
from pathlib import Path

import pytest

from auditor.picture import Picture, pictures
from auditor.report.page import templates
from auditor.resources import resource

from .conftest import Row
from .picture_case import NEW_YORK, drawn, kept, lines, minutes, one_site, paths, step, texts, told

EVENING = [step("on", "20:00"), step("off", "22:00")]
PHOENIX: Row = {"latitude": 33.4, "longitude": -112.1, "timezone": "America/Phoenix"}  # never changes
LORD_HOWE: Row = {"latitude": -31.5, "longitude": 159.1, "timezone": "Australia/Lord_Howe"}
LONGYEARBYEN: Row = {"latitude": 78.2, "longitude": 15.6, "timezone": "Arctic/Longyearbyen"}
SCRIPT = "</desc><script>alert(1)</script>"


def inside(place: Row, *steps: Row, **device: object) -> dict[str, list[Row]]:
    """A room with these steps, at a site whose hours are not known."""
    return one_site(place, "interior", **device) | {"events": list(steps)}


# Changes of clocks -----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def missed(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    """New York, where clocks go forward on 14 March 2027 (15 USC 260a), and a device that does not follow."""
    tables = inside(NEW_YORK, *EVENING, dst_rule="none")
    return drawn(tmp_path_factory.mktemp("missed"), tables, "2027-03-10", 8)


def test_a_missed_change_is_a_step(missed: Picture) -> None:
    # 20:00 to 22:00 = minutes 1200 to 1320; from 14 March, the fifth date, an hour later by the law
    assert paths(missed.svg) == {"lit": "M0 1200h4v60h4v120h-4v-60h-4z"}


def test_a_missed_change_is_said(missed: Picture) -> None:
    assert {"clocks go forward 14 March", "this device does not"} <= set(texts(missed.svg))
    assert missed.title == "Switches 1 h late, from 14 March to 17 March"
    assert "Clocks go forward 1 h on 14 March 2027, and this device does not follow." in missed.description


def test_a_right_clock_is_held_against_it_where_they_differ(missed: Picture) -> None:
    small = missed.right_clock
    assert small is not None
    assert paths(small.svg) == {"extra": "M4 1320h4v60h-4z", "missing": "M4 1200h4v60h-4z"}
    assert small.title == "Against a right clock: switches 1 h late, from 14 March to 17 March"
    assert [(line.words, line.length) for line in small.key] == [
        ("on, would be off with a right clock", "4 h"),
        ("off, would be on with a right clock", "4 h"),
    ]


def test_a_device_that_follows_has_no_step_and_nothing_beside_it(tmp_path: Path) -> None:
    picture = drawn(tmp_path, inside(NEW_YORK, *EVENING), "2027-03-10", 8)
    assert paths(picture.svg) == {"lit": "M0 1200h8v120h-8z"}
    assert picture.right_clock is None
    assert "this device does not" not in texts(picture.svg)


def test_a_doubled_hour_is_painted_twice_at_the_same_place(tmp_path: Path) -> None:
    # On 1 November 2026, after 01:59:59 comes 01:00: on from 00:30 to the end of the first of these hours,
    # and from 01:00 again to 03:00. To base 36: 30 = u, 60 = 1o, 120 = 3c, 180 = 50.
    picture = drawn(tmp_path, inside(NEW_YORK, step("on", "00:30"), step("off", "03:00")), "2026-10-31", 3)
    assert told(picture, "does") == ["Ku_50", "Ku_3cK1o_50", "Ku_50"]
    assert minutes(paths(picture.svg)["lit"]) == {day: set(range(30, 180)) for day in range(3)}


def test_a_skipped_hour_is_a_gap(tmp_path: Path) -> None:
    # On 14 March 2027, after 01:59:59 comes 03:00. To base 36: 60 = 1o, 120 = 3c, 180 = 50, 240 = 6o.
    picture = drawn(tmp_path, inside(NEW_YORK, step("on", "01:00"), step("off", "04:00")), "2027-03-13", 3)
    assert told(picture, "does") == ["K1o_6o", "K1o_3cK50_6o", "K1o_6o"]
    whole = set(range(60, 240))
    assert minutes(paths(picture.svg)["lit"]) == {0: whole, 1: whole - set(range(120, 180)), 2: whole}


def test_half_an_hour_on_lord_howe_is_a_step_of_half_an_hour(tmp_path: Path) -> None:
    # 11 h ahead of UTC until 4 April 2027 at 02:00, then 10 h 30 min, where the device is all the time
    tables = inside(
        LORD_HOWE, step("on", "22:00"), step("off", "23:00"), dst_rule="none", utc_offset="+10:30"
    )
    picture = drawn(tmp_path, tables, "2027-04-02", 4)
    assert paths(picture.svg) == {"lit": "M0 1350h2v-30h2v60h-2v30h-2z"}
    assert picture.title == "Switches 30 min late, from 2 April to 4 April"


# Light and hours -------------------------------------------------------------------------------------------


def light(picture: Picture) -> str:
    (d,) = lines(picture.svg, "yp-still")
    return d


@pytest.mark.parametrize(
    ("first", "outline"), [("2026-12-20", ""), ("2027-06-20", "M0 0h3v1440h-3z")], ids=["night", "day"]
)
def test_the_polar_night_has_no_light_and_the_polar_day_no_darkness(
    tmp_path: Path, first: str, outline: str
) -> None:
    picture = drawn(tmp_path, inside(LONGYEARBYEN, *EVENING), first, 3)
    assert light(picture) == outline
    assert not {"sunrise", "sunset"} & set(texts(picture.svg))
    assert "The sun neither rises nor sets." in picture.description


def test_light_is_from_sunrise_to_sunset(tmp_path: Path) -> None:
    picture = drawn(tmp_path, inside(NEW_YORK, *EVENING), "2027-06-21", 1)
    # US Naval Observatory, New York, 21 June: sunrise 05:25, sunset 20:31 (daylight time)
    ((start, end),) = re.findall(r"^M0 (\d+)h1v(\d+)h-1z$", light(picture))
    assert abs(int(start) - 325) <= 1 and abs(int(start) + int(end) - 1231) <= 1
    assert {"sunrise", "sunset"} <= set(texts(picture.svg))


def test_a_closed_date_has_no_opening_and_no_closing(tmp_path: Path) -> None:
    tables = one_site(NEW_YORK, hours=[{"days": "daily", "opens": "09:00", "closes": "17:00"}])
    tables["closures"] = [{"site_id": "S", "date": "2026-11-04"}]
    picture = drawn(tmp_path, tables, "2026-11-02", 5)
    assert lines(picture.svg, "yp-hours") == ["M0 540h2M3 540h2", "M0 1020h2M3 1020h2"]
    assert {"opens 09:00", "closes 17:00", "night window"} <= set(texts(picture.svg))
    assert lines(picture.svg, "yp-night") == [
        "M1 0h4",
        "M0 360h5",
    ]  # of the first window the start is cut off


def test_a_site_that_never_closes_has_no_lines_for_it(tmp_path: Path) -> None:
    tables = one_site(PHOENIX, hours=[{"days": "daily", "opens": "00:00", "closes": "24:00"}])
    picture = drawn(tmp_path, tables, "2026-11-02", 5)
    assert lines(picture.svg, "yp-hours") == [] and lines(picture.svg, "yp-night") == []
    assert "Opening hours: every day round the clock." in picture.description


def test_closing_at_midnight_belongs_to_the_date_that_ends(tmp_path: Path) -> None:
    tables = one_site(PHOENIX, hours=[{"days": "MO", "opens": "18:00", "closes": "24:00"}])
    picture = drawn(tmp_path, tables, "2026-11-02", 3)  # a Monday
    assert lines(picture.svg, "yp-hours") == ["M0 1080h1", "M0 1440h1"]


def test_a_leap_year_has_366_dates(tmp_path: Path) -> None:
    picture = drawn(tmp_path, inside(PHOENIX, *EVENING, hold="on"), "2028-01-01", 366)
    whole: dict[int, set[int]] = {}
    for path in paths(picture.svg).values():
        for day, found in minutes(path).items():
            whole.setdefault(day, set()).update(found)
    assert whole == {day: set(range(1440)) for day in range(366)}
    assert json.loads(picture.data)["count"] == 366


def test_a_single_date_fills_the_plot_and_is_named(tmp_path: Path) -> None:
    picture = drawn(tmp_path, inside(PHOENIX, *EVENING), "2026-11-03", 1)
    assert paths(picture.svg) == {"lit": "M0 1200h1v120h-1z"}
    assert {"3 Nov", "2026"} <= set(texts(picture.svg))


# What is told apart ----------------------------------------------------------------------------------------


def test_levels_and_detectors_have_textures_of_their_own(tmp_path: Path) -> None:
    tables = inside(PHOENIX, step("on", "20:00"), step("level", "21:00", level=40), step("off", "22:00"))
    tables["sensors"] = [{"sensor_id": "O", "controller_id": "D", "kind": "occupancy", "circuits": "C"}]
    picture = drawn(tmp_path, tables, "2026-11-03", 1)
    assert minutes(paths(picture.svg)["lit"]) == {0: set(range(1200, 1260))}
    assert minutes(paths(picture.svg)["dim"]) == {0: set(range(1260, 1320))}
    assert minutes(paths(picture.svg)["maybe"]) == {0: {*range(1200), *range(1320, 1440)}}
    # 1200 = xc, 1260 = z0, 1320 = 10o, 1440 = 140
    assert told(picture, "does") == ["M0KxcDz0@40M10o_140"]
    assert [(line.words, line.length) for line in picture.key] == [
        ("on in darkness", "1 h"),
        ("dimmed in darkness", "1 h"),
        ("on only if somebody is there", "22 h"),
    ]


def test_a_room_lit_while_closed_is_told_from_one_lit_for_people(tmp_path: Path) -> None:
    hours = [
        {"days": "daily", "opens": "18:00", "closes": "20:00"}
    ]  # in darkness; widened by an hour at both ends
    tables = one_site(PHOENIX, "interior", hours) | {"events": [step("on", "18:00"), step("off", "23:00")]}
    picture = drawn(tmp_path, tables, "2026-11-03", 2)
    assert paths(picture.svg) == {"lit": "M0 1080h2v180h-2z", "glare": "M0 1260h2v120h-2z"}
    assert {"on in darkness", "on while closed"} <= {line.words for line in picture.key}


def test_dark_while_open_is_told_from_dark_where_nobody_walks(tmp_path: Path) -> None:
    # Where people walk, also in the half hour around opening and closing.
    for area, painted in (
        ("walkway", {"unlit": "M0 1170h2v180h-2z"}),
        ("facade", {"off": "M0 1200h2v120h-2z"}),
    ):
        tables = one_site(PHOENIX, area, [{"days": "daily", "opens": "20:00", "closes": "22:00"}])
        picture = drawn(tmp_path / area, tables, "2026-11-03", 2)
        assert paths(picture.svg) == painted


def test_a_duty_that_is_not_met_is_painted_whoever_may_come(tmp_path: Path) -> None:
    tables = one_site(PHOENIX, "canopy") | {"events": [step("on", "06:00"), step("off", "05:00")]}
    tables["circuits"][0]["must_be_lit"] = "always"
    picture = drawn(tmp_path, tables, "2026-11-03", 2)
    assert minutes(paths(picture.svg)["unlit"]) == {day: set(range(300, 360)) for day in range(2)}
    assert picture.title == "Not lit while a duty asks for light, up to 1 h, every day"


# On a page -------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    tables = inside(NEW_YORK, *EVENING, dst_rule="none")
    tables["sites"][0]["name"] = SCRIPT
    tables["circuits"][0]["name"] = SCRIPT
    return drawn(tmp_path_factory.mktemp("hostile"), tables, "2027-03-10", 8)


def test_names_are_text_and_nothing_else(hostile: Picture) -> None:
    assert SCRIPT in hostile.description
    assert "<script" not in hostile.svg and "&lt;script&gt;" in hostile.svg


def test_nothing_in_the_markup_needs_more_than_a_style_sheet(hostile: Picture) -> None:
    assert hostile.right_clock is not None
    for svg in (hostile.svg, hostile.right_clock.svg, *(line.swatch for line in hostile.key)):
        assert not re.search(r'\s(style|on\w+)=|<(script|style|image|a)\b|href="[^#]', svg)


def test_every_class_has_its_look_in_the_style_sheet(hostile: Picture) -> None:
    assert hostile.right_clock is not None
    css = resource("reports/picture.css").read_text(encoding="utf-8")
    used = re.findall(r'class="([^"]+)"', hostile.svg + hostile.right_clock.svg)
    assert {name for names in used for name in names.split()} <= set(re.findall(r"\.([\w-]+)", css))


def test_every_texture_has_its_colours_in_the_style_sheet() -> None:
    from auditor.picture.paints import LOOKS, PAINTS

    css = resource("reports/picture.css").read_text(encoding="utf-8")
    assert {paint.look for paint in PAINTS.values()} == set(LOOKS)
    for look, (_, marks) in LOOKS.items():
        assert re.search(rf"\.yp-{look}\b", css)
        assert not marks or f".yp-{look}-marks" in css
    assert len({paint.letter for paint in PAINTS.values()}) == len(PAINTS)


def test_the_template_places_a_picture_with_its_key_and_its_data(hostile: Picture) -> None:
    template = templates("").from_string('{% import "picture.html.j2" as p %}{{ p.figure(x) }}')
    page = template.render(x=hostile)
    assert page.count("<svg") == 2 + len(hostile.key) + len(
        hostile.right_clock.key if hostile.right_clock else ()
    )
    assert "<figcaption>Switches 1 h late" in page
    (data,) = re.findall(r'data-year="([^"]*)"', page)
    assert json.loads(data.replace("&#34;", '"').replace("&#39;", "'")) == json.loads(hostile.data)


def test_only_circuits_in_use_are_drawn(tmp_path: Path) -> None:
    tables = inside(PHOENIX, *EVENING)
    tables["circuits"].append({"circuit_id": "Z", "controller_id": "D", "area": "sign", "in_use": "no"})
    with kept(tmp_path, tables, "2026-11-03", 2) as connection:
        assert list(pictures(connection, ["Z", "C", "nobody's", "C"])) == ["C"]
        assert pictures(connection, []) == {}
