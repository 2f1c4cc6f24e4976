"""The parts of a draft about devices, circuits and their steps."""

import re

from auditor.mapping.drafts.formats import date_ways, moment_ways, time_ways, unit_ways, zone_ways
from auditor.mapping.drafts.profiles import Profile
from auditor.mapping.drafts.sections import Seen, days_line, lines, needed, plain
from auditor.mapping.drafts.vocabulary import ACTIONS, AREAS
from auditor.mapping.drafts.writing import Page, inline, quoted, samples
from auditor.mapping.words import bare

_WATTS = {"kw": "kW", "w": "W", "watt": "W", "watts": "W", "mw": "MW"}
_WEEK = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


def _is_program(seen: Seen) -> bool:
    """Whether anything is switched here."""
    guess = seen.guess
    return bool(
        guess.switched or {"on", "off", "action", "circuit_id", "connected_watts"} & set(guess.columns)
    )


def controllers(page: Page, seen: Seen) -> None:
    """[[controllers]], where devices or their readings stand in the file."""
    if not (_is_program(seen) or seen.column("controller_id") or seen.column("read_at")):
        return
    page.section("[[controllers]]")
    if seen.column("controller_id"):
        needed(page, seen, "controller_id", "controller_id", "")
    else:
        page.note("No column names a device: this takes one a site, or one a file.")
        page.say(f"controller_id = {quoted(_device(seen))}")
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


def _device(seen: Seen) -> str:
    """What tells devices apart: a column, the file's name without what looks like a date, the site."""
    if found := seen.ref("controller_id"):
        return found
    lasting = [
        f"{{file.part{n}}}" for n, part in enumerate(seen.look.name_parts, 1) if not re.match(r"\d{6}", part)
    ]
    if lasting:
        return "_".join(lasting)
    return "{file.stem}" if seen.look.many or not seen.column("site_id") else seen.ref("site_id")


def _circuit(seen: Seen) -> str:
    """A circuit's id: its own column, with the device's before it where that alone does not tell."""
    if seen.guess.switched:
        return _device(seen) + "-{each}"
    return f"{_device(seen)}-{seen.ref('circuit_id')}" if seen.column("circuit_id") else _device(seen)


def circuits(page: Page, seen: Seen) -> None:
    """[[circuits]], where what is switched stands in the file."""
    if not _is_program(seen):
        return
    page.section("[[circuits]]")
    _each(page, seen)
    page.say(f"circuit_id = {quoted(_circuit(seen))}", f"controller_id = {quoted(_device(seen))}")
    if seen.guess.switched:
        page.say('name = "{each}"')
        _area(page, "{each}", seen.guess.switched)
    else:
        plain(page, seen, {"circuit_name": "name"})
        area = seen.column("area")
        _area(page, seen.ref("area"), area.distinct if area else [])
    if watts := seen.column("connected_watts"):
        page.note(
            f'{seen.guess.sure["connected_watts"]}: "{watts.header}", such as {samples(watts.distinct)}'
        )
        ways = unit_ways(watts, _WATTS)
        page.put(ways.question, lines("connected_watts", {"cell": seen.ref("connected_watts")}, ways))


def _each(page: Page, seen: Seen) -> None:
    if seen.guess.switched:
        page.note("A column a circuit: each of these gives a row of its own.")
        page.say(f"each = [{', '.join(map(quoted, seen.guess.switched))}]")


def _area(page: Page, cell: str, words: list[str]) -> None:
    """The key area; a question where a word is not known, or no column says it."""
    if not cell:
        question = (
            f"What do these circuits light? No column says so; one of {', '.join(AREAS)}, other-exterior."
        )
        page.ask(question, 'area = "interior"', 'area = "parking"')
        return
    meanings = {word: _area_of(word) for word in words}
    page.note("What these words mean here is a proposal; look at each.")
    unknown = [word for word, meaning in meanings.items() if meaning == "…"]
    question = (
        f"What is {samples(unknown)}? Put one of {', '.join(AREAS)}, other-exterior." if unknown else ""
    )
    page.put(question, [f"area = {inline({'cell': cell, 'words': meanings})}"])


def _area_of(word: str) -> str:
    parts = set(bare(word).split())
    return next((area for area, known in AREAS.items() if parts & set(bare(known).split())), "…")


def events(page: Page, seen: Seen) -> None:
    """[[events]], by the shape of the steps: a row each, an on and an off in a row, or a column a circuit."""
    guess = seen.guess
    pair = [column for key in ("on", "off") if (column := guess.columns.get(key))]
    if not (pair or guess.switched or (seen.column("action") and seen.column("time"))):
        return
    page.section("[[events]]")
    _each(page, seen)
    if not pair:
        plain(page, seen, {"event_id": "event_id"})
    page.say(f"controller_id = {quoted(_device(seen))}", f"targets = {quoted(_circuit(seen))}")
    _days(page, seen)
    _season(page, seen)
    if pair:
        _pair(page, seen, pair)
    else:
        _single(page, seen)


def _days(page: Page, seen: Seen) -> None:
    if column := seen.column("days"):
        days_line(page, seen.ref("days"), column.distinct)
    elif seen.guess.flags:
        _flags(page, seen)
    else:
        page.ask("On which days do these steps run?", 'days = "daily"', 'days = "MO,TU,WE,TH,FR"')


def _flags(page: Page, seen: Seen) -> None:
    """Seven columns with marks: the mark seen most often is taken for the one that counts."""
    columns = [one for one in seen.look.profiles if one.header in seen.guess.flags]
    marks = [cell for one in columns for cell in one.cells]
    distinct = sorted(set(marks), key=lambda mark: (-marks.count(mark), mark))
    flags = dict(zip(seen.guess.flags, _WEEK, strict=True))
    counts, *others = distinct or ["x"]
    counts, *others = distinct or ["x"]
    rest = f", unset = [{', '.join(map(quoted, others))}]" if others else ""
    line = f"days = {inline({'flags': flags}).removesuffix(' }')}, set = {quoted(counts)}{rest} }}"
    page.put(f"Which of the marks {samples(distinct)} means that a day counts?" if rest else "", [line])


def _season(page: Page, seen: Seen) -> None:
    columns = [seen.column(key) for key in ("from", "until")]
    if None not in columns:
        for key, column in zip(("from", "until"), columns, strict=True):
            ways = date_ways(column)  # type: ignore[arg-type]
            page.put(ways.question, lines(key, {"cell": seen.ref(key)}, ways))


def _pair(page: Page, seen: Seen, pair: list[Profile]) -> None:
    """One row, two steps."""
    ways = time_ways(pair)
    for key in ("on", "off"):
        if column := seen.column(key):
            page.section("[[events.steps]]")
            page.note(f'{seen.guess.sure[key]}: "{column.header}", such as {samples(column.distinct)}')
            page.say(f'action = "{key}"')
            page.put(ways.question, lines("when", {"cell": seen.ref(key)}, ways))


def _single(page: Page, seen: Seen) -> None:
    """One row, one step."""
    if seen.guess.switched:
        cells = [
            cell for one in seen.look.profiles if one.header in seen.guess.switched for cell in one.distinct
        ]
        _action(page, "{*}", list(dict.fromkeys(cells)))
    elif column := seen.column("action"):
        _action(page, seen.ref("action"), column.distinct)
    if time := seen.column("time"):
        ways = time_ways([time])
        page.note(f'{seen.guess.sure["time"]}: "{time.header}", such as {samples(time.distinct)}')
        page.put(ways.question, lines("when", {"cell": seen.ref("time")}, ways))
    else:
        page.ask("At which time?", 'when = { cell = "{…}", time = "24h" }')


def _action_of(word: str) -> str:
    return ACTIONS.get(bare(word), "level" if any(letter.isdigit() for letter in word) else "…")


def _action(page: Page, cell: str, words: list[str]) -> None:
    meanings = {word: _action_of(word) for word in words}
    unknown = [word for word, meaning in meanings.items() if meaning == "…"]
    question = f"What does {samples(unknown)} do: on, off, level, suspend or resume?" if unknown else ""
    page.put(question, [f"action = {inline({'cell': cell, 'words': meanings})}"])
    if "level" in meanings.values():
        dimmed = [word for word, meaning in meanings.items() if meaning == "level"]
        page.ask(
            f"To which level does {samples(dimmed)} go?",
            f'level = {{ cell = {quoted(cell)}, split = " ", part = 2, unit = "%" }}  # the second word',
            f'level = {{ cell = {quoted(cell)}, unit = "%" }}',
        )
