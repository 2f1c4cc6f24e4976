"""The parts of a draft about devices and circuits."""

import re

from auditor.mapping.drafts.areas import area_key
from auditor.mapping.drafts.formats import date_ways, moment_ways, unit_ways, zone_ways
from auditor.mapping.drafts.sections import Opening, Seen, lines, needed, plain, weekly_times
from auditor.mapping.drafts.writing import Page, quoted, samples

_WATTS = {"kw": "kW", "w": "W", "watt": "W", "watts": "W", "mw": "MW"}
_SWITCHED = ("on", "off", "action", "circuit_id", "connected_watts")


def _is_program(seen: Seen) -> bool:
    """Whether anything is switched here."""
    return (
        bool(seen.guess.switched or set(_SWITCHED) & set(seen.guess.columns))
        or weekly_switching(seen) is not None
    )


def weekly_switching(seen: Seen) -> Opening | None:
    """The times of each weekday, where those of switching are meant."""
    return weekly_times(seen, "on", "off") if seen.is_program else None


def controllers(page: Page, seen: Seen) -> None:
    """[[controllers]], where devices or their readings stand in the file."""
    if not (_is_program(seen) or seen.column("controller_id") or seen.column("read_at")):
        return
    page.section("[[controllers]]")
    if _at_several_sites(seen):
        page.note("Devices of several sites have the same id: the site's goes before it.")
        page.say(f"controller_id = {quoted(device_ref(seen))}")
    elif seen.column("controller_id"):
        needed(page, seen, "controller_id", "controller_id", "")
    else:
        page.note("No column names a device: this takes one a site, or one a file.")
        page.say(f"controller_id = {quoted(device_ref(seen))}")
    needed(page, seen, "site_id", "site_id", "Which site does the device belong to?")
    _read_at(page, seen)
    if clock := seen.column("clock_reading"):
        ways = moment_ways(clock)
        page.put(ways.question, lines("clock_reading", {"cell": seen.ref("clock_reading")}, ways))


def _read_at(page: Page, seen: Seen) -> None:
    column = seen.column("read_at")
    if column is None:
        dated = [
            f"{{file.part{n}}}"
            for n, part in enumerate(seen.look.name_parts, 1)
            if re.fullmatch(r"\d{8}", part)
        ]
        named = (
            f'read_at = {{ cell = "{"".join(dated[:1])} 12:00", date = "%Y%m%d %H:%M", zone = "Area/City" }}'
        )
        answers = [named] if dated else []
        answers.append('read_at = "2026-11-03T12:00:00Z"  # put the instant here')
        page.ask("When was this export read from the devices?", *answers)
        return
    page.note(f'{seen.guess.sure["read_at"]}: "{column.header}", such as {samples(column.distinct)}')
    if column.mostly("moment"):
        ways, cell = moment_ways(column).times(zone_ways(column)), seen.ref("read_at")
    else:
        ways, cell = date_ways(column).times(zone_ways(column)), seen.ref("read_at") + " 12:00"
        page.note("It says no time of day; this takes noon.")
    page.put(ways.question, lines("read_at", {"cell": cell}, ways))


def device_ref(seen: Seen) -> str:
    """What tells devices apart: a column, the file's name without what looks like a date, the site."""
    if found := seen.ref("controller_id"):
        return f"{seen.ref('site_id')}-{found}" if _at_several_sites(seen) else found
    lasting = [
        f"{{file.part{n}}}" for n, part in enumerate(seen.look.name_parts, 1) if not re.match(r"\d{6}", part)
    ]
    if lasting:
        return "_".join(lasting)
    return "{file.stem}" if seen.look.many or not seen.column("site_id") else seen.ref("site_id")


def _at_several_sites(seen: Seen) -> bool:
    """Whether devices of different sites have the same id."""
    device, site = seen.column("controller_id"), seen.column("site_id")
    if device is None or site is None:
        return False
    pairs = {row for row in zip(device.rows, site.rows, strict=True) if None not in row}
    return len(pairs) > len({device for device, _ in pairs})


def circuit_ref(seen: Seen) -> str:
    """A circuit's id: its own column, with the device's before it where that alone does not tell."""
    if seen.guess.switched:
        return device_ref(seen) + "-{each}"
    return f"{device_ref(seen)}-{seen.ref('circuit_id')}" if seen.column("circuit_id") else device_ref(seen)


def circuits(page: Page, seen: Seen) -> None:
    """[[circuits]], where what is switched stands in the file."""
    if not _is_program(seen):
        return
    page.section("[[circuits]]")
    each_circuit(page, seen)
    page.say(f"circuit_id = {quoted(circuit_ref(seen))}", f"controller_id = {quoted(device_ref(seen))}")
    if seen.guess.switched:
        page.say('name = "{each}"')
        area_key(page, "{each}", seen.guess.switched)
    else:
        plain(page, seen, {"circuit_name": "name"})
        area = seen.column("area")
        area_key(page, seen.ref("area"), area.distinct if area else [])
    if watts := seen.column("connected_watts"):
        page.note(
            f'{seen.guess.sure["connected_watts"]}: "{watts.header}", such as {samples(watts.distinct)}'
        )
        ways = unit_ways(watts, _WATTS)
        page.put(ways.question, lines("connected_watts", {"cell": seen.ref("connected_watts")}, ways))


def each_circuit(page: Page, seen: Seen) -> None:
    if seen.guess.switched:
        page.note("A column a circuit: each of these gives a row of its own.")
        page.say(f"each = [{', '.join(map(quoted, seen.guess.switched))}]")
