"""Hand-worked cases of the evaluation: firings, states and figures. The arithmetic stands beside each."""

from datetime import UTC, date, datetime
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from .cases import KATHMANDU, KIRITIMATI, LONGYEARBYEN, NEW_YORK, SINGAPORE, Row, circuit, save_case, steps
from .edges import fragile
from .evaluate import evaluate
from .random_portfolio import write
from .tables import read, rows

SENSOR: Row = {"sensor_id": "P", "kind": "photocontrol", "circuits": "C"}
PRESENCE: Row = {"sensor_id": "O", "kind": "occupancy", "circuits": "C"}


def load(**columns: object) -> list[Row]:
    """The circuit table of one circuit C with these columns."""
    return [{"circuit_id": "C", "area": "parking", "connected_watts": 1000, **columns}]


def instants(found: dict[str, Any]) -> list[tuple[str, float]]:
    """(UTC start, level) of each stretch."""
    return [
        (f"{datetime.fromtimestamp(s.start, UTC):%Y-%m-%d %H:%M:%S}", s.level) for s in found["stretches"]
    ]


def test_a_time_that_occurs_twice_fires_the_first_time(tmp_path: Path) -> None:
    # 1 November 2026 in New York: on at the first 01:30 (-04:00, 05:30 UTC), off at 02:30 (07:30 UTC).
    found = circuit(tmp_path, "2026-11-01", 1, NEW_YORK, steps("on 01:30", "off 02:30"))
    assert instants(found)[1:] == [("2026-11-01 05:30:00", 100.0), ("2026-11-01 07:30:00", 0.0)]
    assert found["on_minutes"] == 120
    # The period has 25 hours: from 04:00 UTC to 05:00 UTC.
    assert found["stretches"][-1].end - found["stretches"][0].start == 25 * 3600


def test_a_time_that_is_skipped_fires_at_the_jump(tmp_path: Path) -> None:
    # 14 March 2027: on at 01:30 EST (06:30 UTC), off at 02:30, which is skipped: the jump at 07:00 UTC.
    found = circuit(tmp_path, "2027-03-14", 1, NEW_YORK, steps("on 01:30", "off 02:30"))
    assert found["on_minutes"] == 30


@pytest.mark.parametrize(
    ("order", "minutes"), [(["on 20:00", "off 20:00"], 0), (["off 20:00", "on 20:00"], 1440)]
)
def test_of_two_steps_at_one_instant_the_later_in_the_program_wins(
    tmp_path: Path, order: list[str], minutes: int
) -> None:
    assert circuit(tmp_path, "2026-11-03", 1, SINGAPORE, steps(*order))["on_minutes"] == minutes


def test_before_the_first_firing_it_is_off(tmp_path: Path) -> None:
    # One firing in all, at 12:00 on 3 November: 12 hours on. One more than 366 days back does not count.
    once = {"from": "2026-11-03", "until": "2026-11-03"}
    assert circuit(tmp_path, "2026-11-03", 1, SINGAPORE, steps("on 12:00", **once))["on_minutes"] == 720
    past = {"from": "2025-11-01", "until": "2025-11-01"}
    assert circuit(tmp_path, "2026-11-03", 1, SINGAPORE, steps("on 12:00", **past))["on_minutes"] == 0


def test_levels_and_energy(tmp_path: Path) -> None:
    # 6 h at 100 % and 6 h at 40 % of 1000 W: 6 + 2.4 = 8.4 kWh; level 0 is off.
    events = steps("on 06:00", "level 12:00 40", "level 18:00 0")
    found = circuit(tmp_path, "2026-11-03", 1, SINGAPORE, events)
    assert (found["on_minutes"], found["kwh"]) == (720, pytest.approx(8.4))


def test_a_season_wraps_over_new_year(tmp_path: Path) -> None:
    # On for an hour a day from 12-30 to 01-02, both included: of 28 December to 6 January four days.
    season = {"from": "12-30", "until": "01-02"}
    events = steps("on 10:00", "off 11:00", **season)
    assert circuit(tmp_path, "2026-12-28", 10, SINGAPORE, events)["on_minutes"] == 240


def test_only_the_steps_of_its_calendar_act_on_a_closure(tmp_path: Path) -> None:
    # 4 November is listed: an hour instead of two. 5 November is listed under a calendar that the circuit
    # has no steps for: an ordinary day. 2 + 1 + 2 hours.
    events = [*steps("on 10:00", "off 12:00"), *steps("on 14:00", "off 15:00", calendar="fair")]
    closures: list[Row] = [
        {"date": "2026-11-04", "calendar": "fair"},
        {"date": "2026-11-05", "calendar": "other"},
    ]
    found = circuit(tmp_path, "2026-11-03", 3, SINGAPORE, events, closures=closures)
    assert found["on_minutes"] == 300


def test_a_sun_step_takes_the_local_date_of_the_transit(tmp_path: Path) -> None:
    # Kiritimati is at -157 degrees but +14:00: Monday's sunset, about 18:20 local, is 04:20 UTC on Monday.
    found = circuit(tmp_path, "2026-11-09", 1, KIRITIMATI, steps("off 00:00", "on sunset", days="MO"))
    assert instants(found)[1][0].startswith("2026-11-09 04:")


def test_a_residual_moves_clock_and_sun_steps(tmp_path: Path) -> None:
    # Ten minutes fast (15:10 at 15:00 UTC = 23:00 local, so 23:10 shown): all fires 600 s before.
    def turns(reading: str) -> list[int]:
        device: list[Row] = [{"read_at": "2026-11-10T15:00:00Z", "clock_reading": reading}]
        events = steps("on sunset", "off 23:00")
        found = circuit(tmp_path, "2026-11-10", 1, SINGAPORE, events, controllers=device)
        return [stretch.start for stretch in found["stretches"][1:]]

    assert [a - b for a, b in zip(turns(""), turns("2026-11-10T23:10:00"), strict=True)] == [600, 600]


def test_parallel_and_series(tmp_path: Path) -> None:
    # At the equator on 6 November the sun (16 degrees south) is above -50' for 12 h and 2 x 50' / (15' a
    # minute x cos 16 degrees) = 6.9 minutes: dark for 713.1 minutes.
    def on(combine: str, *events: str) -> float:
        table = load(combine=combine)
        found = circuit(
            tmp_path, "2026-11-06", 1, SINGAPORE, steps(*events), circuits=table, sensors=[SENSOR]
        )
        return float(found["on_minutes"])

    dark = pytest.approx(713.1, abs=0.5)
    assert on("any", "off 00:00") == dark
    assert on("any", "on 00:00") == 1440
    assert on("all", "on 00:00") == dark
    assert on("all", "off 00:00") == 0
    assert on("any") == on("all") == dark


def test_a_suspended_photocontrol(tmp_path: Path) -> None:
    # Suspended from 08:00 to 16:00, all in daylight. In series it no longer holds the circuit off: 480
    # minutes more. In parallel it was not calling anyway.
    sleep = steps("suspend 08:00", "resume 16:00", target="P")
    for combine, more in (("all", 480), ("any", 0)):
        case = {"circuits": load(combine=combine), "sensors": [SENSOR]}
        program = steps("on 00:00" if combine == "all" else "off 00:00")
        awake = circuit(tmp_path, "2026-11-06", 1, SINGAPORE, program, **case)["on_minutes"]
        found = circuit(tmp_path, "2026-11-06", 1, SINGAPORE, program + sleep, **case)["on_minutes"]
        assert found - awake == pytest.approx(more)


def test_presence_makes_it_conditional(tmp_path: Path) -> None:
    # On by program from 08:00 to 18:00, 600 minutes. In parallel the other 840 are conditional; in series
    # the 600 are, and nothing is on. A sensor that is not in use does not exist.
    def both(combine: str, **sensor: object) -> tuple[float, float]:
        case = {"circuits": load(combine=combine), "sensors": [PRESENCE | sensor]}
        found = circuit(tmp_path, "2026-11-06", 1, SINGAPORE, steps("on 08:00", "off 18:00"), **case)
        return found["on_minutes"], found["conditional_minutes"]

    assert both("any") == (600, 840)
    assert both("all") == (0, 600)
    assert both("all", in_use="no") == (600, 0)


def test_a_hold_overrides_all_and_the_circuits_own_goes_first(tmp_path: Path) -> None:
    device: list[Row] = [{"read_at": "2026-11-10T15:00:00Z", "hold": "off"}]
    case = {"controllers": device, "sensors": [SENSOR, PRESENCE]}
    found = circuit(tmp_path, "2026-11-06", 1, SINGAPORE, steps("on 00:00"), **case)
    assert (found["on_minutes"], found["conditional_minutes"]) == (0, 0)
    found = circuit(tmp_path, "2026-11-06", 1, SINGAPORE, [], circuits=load(hold="on"), **case)
    assert (found["on_minutes"], found["conditional_minutes"]) == (1440, 0)


def test_hours_past_midnight(tmp_path: Path) -> None:
    # Friday 6 and Saturday 7 November, on throughout; open Friday 18:00 to Saturday 02:00. Widened
    # 17:00-03:00: closed 2880 - 600. Night windows: Friday 00:00-06:00, Saturday 02:00-06:00: 360 + 240.
    hours: list[Row] = [{"days": "FR", "opens": "18:00", "closes": "02:00"}]
    case = {"circuits": load(hold="on"), "hours": hours}
    found = circuit(tmp_path, "2026-11-06", 2, KATHMANDU, [], **case)
    assert (found["closed_minutes"], found["curfew_minutes"]) == (2280, 600)
    # Closed on Friday's date: nothing opens, also not past midnight.
    found = circuit(tmp_path, "2026-11-06", 2, KATHMANDU, [], closures=[{"date": "2026-11-06"}], **case)
    assert (found["closed_minutes"], found["curfew_minutes"]) == (2880, 720)


def test_a_doubled_closing_time_takes_the_second(tmp_path: Path) -> None:
    # 1 November 2026 in New York has 1500 minutes. Open from Saturday 20:00 to the second 01:30, 150 minutes
    # into Sunday, widened 210: closed 1290. Night window from there to 06:00, 420 minutes in: 270.
    hours: list[Row] = [{"days": "SA", "opens": "20:00", "closes": "01:30"}]
    found = circuit(tmp_path, "2026-11-01", 1, NEW_YORK, [], circuits=load(hold="on"), hours=hours)
    assert (found["closed_minutes"], found["curfew_minutes"]) == (1290, 270)


def test_a_night_window_ends_at_an_early_opening(tmp_path: Path) -> None:
    # Open 04:30 to 03:00 the next day, daily: windows 03:00-04:30. Open all day: none.
    for opens, closes, minutes in (("04:30", "03:00", 90), ("00:00", "24:00", 0), ("07:00", "07:00", 0)):
        hours: list[Row] = [{"days": "daily", "opens": opens, "closes": closes}]
        found = circuit(tmp_path, "2026-11-03", 1, KATHMANDU, [], circuits=load(hold="on"), hours=hours)
        assert found["curfew_minutes"] == minutes


def test_dark_while_open(tmp_path: Path) -> None:
    # At the equator, 103.8 degrees east at +08:00 (15 degrees for an hour: true noon is 13:05 less 16 minutes
    # of the sun's own), half of 726.9 minutes of light after 12:48 is about 18:52. Open 12:00-23:30, on from
    # 20:30 to 22:30: dark and off for 98 + 60 minutes. Presence makes them conditional. Indoors: no figure.
    def dark(area: str, sensors: list[Row]) -> float | None:
        case = {"circuits": load(area=area), "sensors": sensors, "hours": hours}
        events = steps("on 20:30", "off 22:30")
        found: float | None = circuit(tmp_path, "2026-11-06", 1, SINGAPORE, events, **case)[
            "dark_open_minutes"
        ]
        return found

    hours: list[Row] = [{"days": "daily", "opens": "12:00", "closes": "23:30"}]
    assert dark("parking", []) == pytest.approx(158, abs=1)
    assert (dark("parking", [PRESENCE]), dark("interior", [])) == (0, None)


def test_polar_night_and_polar_day(tmp_path: Path) -> None:
    # Dark throughout in December: a photocontrol calls all the time, and a sunset step never fires there.
    found = circuit(tmp_path, "2026-12-10", 2, LONGYEARBYEN, [], sensors=[SENSOR])
    assert (found["on_minutes"], found["daylight_minutes"]) == (2880, 0)
    season = {"from": "12-01", "until": "01-31"}
    assert circuit(tmp_path, "2026-12-10", 2, LONGYEARBYEN, steps("on sunset", **season))["on_minutes"] == 0
    # Light throughout in June, with no sunset to keep 30 minutes from.
    found = circuit(tmp_path, "2027-06-10", 2, LONGYEARBYEN, [], circuits=load(hold="on"))
    assert found["daylight_minutes"] == 2880


def test_avoidable_energy(tmp_path: Path) -> None:
    # On throughout at 1 kW; light for 726.9 minutes (see above), daylight 60 fewer, 666.9; open 10:00-16:00,
    # widened 09:00-17:00: closed 960 minutes, and the 480 others are all daylight. So a sign: 1440 minutes =
    # 24 kWh, each second once; a parking area: 666.9 / 60; indoors: 16 kWh; egress: none.
    def wasted(area: str, hours: list[Row]) -> float | None:
        case = {"circuits": load(area=area, hold="on"), "hours": hours}
        found: float | None = circuit(tmp_path, "2026-11-06", 1, SINGAPORE, [], **case)["avoidable_kwh"]
        return found

    known: list[Row] = [{"days": "daily", "opens": "10:00", "closes": "16:00"}]
    elsewhere = [{**known[0], "site_id": "another"}]
    daylight = pytest.approx(666.9 / 60, abs=0.01)
    assert [wasted(area, known) for area in ("sign", "parking", "interior", "egress")] == [
        24,
        daylight,
        16,
        0,
    ]
    assert [wasted(area, elsewhere) for area in ("sign", "interior")] == [daylight, None]


def test_blanks_and_circuits_not_in_use(tmp_path: Path) -> None:
    unused: Row = {"circuit_id": "D", "area": "sign", "in_use": "No"}
    table = [*load(connected_watts=""), unused]
    save_case(tmp_path, SINGAPORE, [], circuits=table)
    found = evaluate(tmp_path, date(2026, 11, 3), 1)
    assert list(found) == ["C"]
    blank = {name for name, value in found["C"].items() if value is None}
    assert blank == {"closed_minutes", "curfew_minutes", "dark_open_minutes", "kwh", "avoidable_kwh"}


def test_cells_are_trimmed_and_freed_of_apostrophes(tmp_path: Path) -> None:
    text = "\ufeffname, site_id ,more\r\n '=1+1,' 007 ',x\r\n'quoted, 'a,x\r\n"
    (tmp_path / "sites.csv").write_bytes(text.encode())
    first, second = rows(tmp_path, "sites")
    assert (first["name"], first["site_id"]) == ("=1+1", "' 007 '")
    assert (second["name"], second["site_id"]) == ("'quoted", "'a")


def test_a_random_portfolio_is_the_same_again_and_whole(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    write(one, 7, controllers=2)
    write(other, 7, controllers=2)
    assert [p.read_bytes() for p in sorted(one.iterdir())] == [
        p.read_bytes() for p in sorted(other.iterdir())
    ]
    found = evaluate(one, days=30)
    assert set(found) == {circuit.circuit_id for circuit in read(one).circuits}
    for figures in found.values():
        stretches = figures["stretches"]
        assert all(a.end == b.start for a, b in pairwise(stretches))
        lit = sum(s.end - s.start for s in stretches if s.level > 0)
        assert figures["on_minutes"] == pytest.approx(lit / 60)


def test_a_sun_step_on_the_very_second_of_a_clock_step_is_fragile(tmp_path: Path) -> None:
    # Dusk on 6 November decides whether the lamp that the clock turns off at that second stays lit.
    quiet = steps("on dusk", "off 23:00")
    save_case(tmp_path, SINGAPORE, quiet)
    assert fragile(tmp_path, date(2026, 11, 6), 1) == set()
    dusk = circuit(tmp_path, "2026-11-06", 1, SINGAPORE, quiet)["stretches"][1].start
    clock = f"{datetime.fromtimestamp(dusk + 8 * 3600, UTC):%H:%M:%S}"
    save_case(tmp_path, SINGAPORE, steps("on dusk", f"off {clock}"))
    assert fragile(tmp_path, date(2026, 11, 6), 1) == {"C"}
