"""The part of a draft about steps: what switches when."""

from collections.abc import Mapping

from auditor.mapping.drafts.devices import circuit_ref, device_ref, each_circuit, weekly_switching
from auditor.mapping.drafts.formats import date_ways, ends_early, time_ways
from auditor.mapping.drafts.profiles import Profile, ranges
from auditor.mapping.drafts.sections import Opening, Seen, days_line, each_weekday, lines, plain
from auditor.mapping.drafts.vocabulary import ACTIONS
from auditor.mapping.drafts.ways import Keys
from auditor.mapping.drafts.weekdays import is_daily
from auditor.mapping.drafts.writing import Page, inline, quoted, samples
from auditor.mapping.words import bare
from auditor.normalise.values import WEEKDAYS

_Stretch = tuple[str | None, str | None]


def events(page: Page, seen: Seen) -> None:
    """[[events]], by the shape of the steps: a row each, an on and an off in a row, or a column a circuit."""
    weekly, pair = weekly_switching(seen), _paired(seen)
    if not (weekly or pair or seen.guess.switched or (seen.column("action") and seen.column("time"))):
        return
    page.section("[[events]]")
    if weekly:
        page.note("A column a weekday: each of these gives steps of its own.")
        each_weekday(page, weekly)
    each_circuit(page, seen)
    if not (weekly or pair):
        plain(page, seen, {"event_id": "event_id"})
    page.say(f"controller_id = {quoted(device_ref(seen))}", f"targets = {quoted(circuit_ref(seen))}")
    _days(page, seen, weekly)
    _season(page, seen)
    _nights(page, seen, weekly, [column for _, column in pair.values()])
    if weekly:
        _both(page, seen, {"on": weekly.begins, "off": weekly.ends}, weekly.columns)
    elif pair:
        _both(page, seen, {key: cell for key, (cell, _) in pair.items()}, [one for _, one in pair.values()])
    else:
        _single(page, seen)


def _days(page: Page, seen: Seen, weekly: Opening | None) -> None:
    if weekly:
        days_line(page, "{each}", weekly.names)
    elif column := seen.column("days"):
        days_line(page, seen.ref("days"), column.distinct)
    elif seen.guess.flags:
        _flags(page, seen)
    else:
        page.ask("On which days do these steps run?", 'days = "daily"', 'days = "MO,TU,WE,TH,FR"')


def _nights(page: Page, seen: Seen, weekly: Opening | None, pair: list[Profile]) -> None:
    """The key past_midnight, where something ends at or before its beginning and does not so every day."""
    stretches = _of_week(weekly) if weekly else _of_rows(seen, *pair) if len(pair) == 2 else []
    if night := next((row for row in stretches if ends_early(*row)), None):
        asked = f"{night[0]} to {night[1]}: does the off belong to the day after, or to the same days?"
        page.ask(asked, 'past_midnight = "next day"', 'past_midnight = "same day"')


def _of_week(weekly: Opening) -> list[_Stretch]:
    """What begins and ends in the columns of weekdays, in ranges or in two columns each."""
    ranged: list[_Stretch] = list(ranges([cell for one in weekly.columns for cell in one.cells]))
    days = len(weekly.names)
    both = zip(weekly.columns[:days], weekly.columns[days:], strict=False)  # ranges have no second column
    return ranged + [row for on, off in both for row in zip(on.rows, off.rows, strict=True)]


def _of_rows(seen: Seen, on: Profile, off: Profile) -> list[_Stretch]:
    """The same of rows, but for those of every day: there both readings come to one."""
    days = seen.column("days")
    daily = [is_daily(cell) for cell in days.rows] if days else [False] * len(on.rows)
    return [row[:2] for row in zip(on.rows, off.rows, daily, strict=True) if not row[2]]


def _flags(page: Page, seen: Seen) -> None:
    """Seven columns with marks: the mark seen most often is taken for the one that counts."""
    columns = [one for one in seen.look.profiles if one.header in seen.guess.flags]
    marks = [cell for one in columns for cell in one.cells]
    distinct = sorted(set(marks), key=lambda mark: (-marks.count(mark), mark))
    flags = dict(zip(seen.guess.flags, WEEKDAYS, strict=True))
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


def _paired(seen: Seen) -> dict[str, tuple[Keys, Profile]]:
    """How the times of a row's steps are read, and their columns, where there is one for each action."""
    found = {key: seen.column(key) for key in ("on", "off")}
    return {key: ({"cell": seen.ref(key)}, column) for key, column in found.items() if column}


def _both(page: Page, seen: Seen, cells: Mapping[str, Keys], columns: list[Profile]) -> None:
    """One row or cell, two steps."""
    ways = time_ways(columns)
    for key, cell in cells.items():
        page.section("[[events.steps]]")
        if column := seen.column(key):
            page.note(f'{seen.guess.sure[key]}: "{column.header}", such as {samples(column.distinct)}')
        page.say(f'action = "{key}"')
        page.put(ways.question, lines("when", cell, ways))


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
