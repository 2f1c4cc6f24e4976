"""The parts of a draft about places and dates: sites, opening hours, closures."""

from dataclasses import dataclass
from typing import NamedTuple

from auditor.mapping.drafts.formats import date_ways, early_ends, time_ways
from auditor.mapping.drafts.looking import Look
from auditor.mapping.drafts.profiles import Profile, list_mark
from auditor.mapping.drafts.recognising import Guess
from auditor.mapping.drafts.vocabulary import HEADERS
from auditor.mapping.drafts.ways import Keys, Ways
from auditor.mapping.drafts.weekdays import day_ways
from auditor.mapping.drafts.writing import Page, inline, quoted, samples
from auditor.mapping.words import bare


class Opening(NamedTuple):
    """What begins and ends: names for ``each``, how both are read, the columns that they stand in.

    ``items``: the key that parts several in one cell, blank where each has one.
    """

    names: list[str]
    begins: Keys
    ends: Keys
    columns: list[Profile]
    items: str = ""


@dataclass(frozen=True)
class Seen:
    """All that a section of a draft is written from."""

    look: Look
    guess: Guess

    @property
    def is_program(self) -> bool:
        """Whether circuits or devices are what this is about, so that times are those of switching."""
        return bool(self.guess.switched) or any(
            map(self.column, ("controller_id", "circuit_id", "connected_watts"))
        )

    def column(self, concept: str) -> Profile | None:
        """The column of a concept."""
        return self.guess.columns.get(concept)

    def ref(self, concept: str) -> str:
        """A reference to the column of a concept; blank where there is none."""
        found = self.column(concept)
        return f"{{{found.header}}}" if found else ""


def sites(page: Page, seen: Seen) -> None:
    """[[sites]], where coordinates stand in the file."""
    if not (seen.column("latitude") and seen.column("longitude")):
        return
    page.section("[[sites]]")
    _told_apart(page, seen)
    plain(
        page, seen, {"site_name": "name", "address": "address", "region": "region", "site_type": "site_type"}
    )
    plain(page, seen, {"latitude": "latitude", "longitude": "longitude", "timezone": "timezone"})


def hours(page: Page, seen: Seen) -> None:
    """[[hours]], from a column a weekday or from columns of opening and closing times."""
    weekly = None if seen.is_program else weekly_times(seen, "opens", "closes")
    opening = weekly or _plain_opening(seen)
    if opening is None:
        return
    page.section("[[hours]]")
    needed(page, seen, "site_id", "site_id", "Which column names the site?")
    if opening.names:
        each_weekday(page, opening)
        days_line(page, "{each}", opening.names)
    elif days := seen.column("days"):
        days_line(page, seen.ref("days"), days.distinct)
    else:
        page.ask("On which days do these hours hold?", 'days = "daily"', 'days = "MO,TU,WE,TH,FR"')
    ways = time_ways(opening.columns)
    early = "" if opening.names else early_ends(*opening.columns)
    asked = (
        f"Here something closes before it opens ({early}): overnight, or without AM and PM?" if early else ""
    )
    for key, cell in (("opens", opening.begins), ("closes", opening.ends)):
        page.put(" ".join(filter(None, (ways.question, asked))), lines(key, cell, ways))


def each_weekday(page: Page, weekly: Opening) -> None:
    """The keys that make a row of each weekday's column, and of each range in it."""
    page.say(f"each = [{', '.join(map(quoted, weekly.names))}]")
    if weekly.items:
        page.say(weekly.items)


def weekly_times(seen: Seen, begin: str, end: str) -> Opening | None:
    """What begins and ends on each weekday, where each has a column or two."""
    by_name = {one.header: one for one in seen.look.profiles}
    found = seen.guess.weekdays

    def profiles(pattern: str) -> list[Profile]:
        return [by_name[pattern.replace("*", name)] for name in found[pattern]]

    ranged = next((p for p in found if any(one.shares["range"] >= 0.5 for one in profiles(p))), None)
    if ranged is not None:
        columns = profiles(ranged)
        mark = list_mark([cell for one in columns for cell in one.cells])
        items = (
            f"items = {inline({'cell': f'{{{ranged}}}', 'split': mark})}  # several in one cell"
            if mark
            else ""
        )
        split: Keys = {"cell": "{item}" if mark else f"{{{ranged}}}", "split": "-"}
        return Opening(found[ranged], split | {"part": "1"}, split | {"part": "2"}, columns, items)
    opens, closes = (_pattern(found, key) for key in (begin, end))
    if opens is None or closes is None or found[opens] != found[closes]:
        return None
    both = profiles(opens) + profiles(closes)
    return Opening(found[opens], {"cell": f"{{{opens}}}"}, {"cell": f"{{{closes}}}"}, both)


def _pattern(found: dict[str, list[str]], concept: str) -> str | None:
    known = HEADERS[concept].split("/")
    return next((pattern for pattern in found if bare(pattern.replace("*", "")).strip(" .:-") in known), None)


def _plain_opening(seen: Seen) -> Opening | None:
    opens, closes = seen.column("opens"), seen.column("closes")
    if opens is None or closes is None:
        return None
    return Opening([], {"cell": seen.ref("opens")}, {"cell": seen.ref("closes")}, [opens, closes])


def closures(page: Page, seen: Seen) -> None:
    """[[closures]], where a file lists dates and nothing that is switched."""
    column = seen.column("date")
    if column is None or seen.column("on") or seen.column("time") or seen.column("latitude"):
        return
    page.section("[[closures]]")
    if site := seen.ref("site_id"):
        page.say(f"site_id = {quoted(site)}")
    else:
        page.say('site_id = "*"  # every site')
    ways = date_ways(column)
    page.put(ways.question, lines("date", {"cell": seen.ref("date")}, ways))


def needed(page: Page, seen: Seen, key: str, concept: str, question: str) -> None:
    """A key that must be there: from its column, or a question with the columns that it might be."""
    if column := seen.column(concept):
        page.note(f'{seen.guess.sure[concept]}: "{column.header}", such as {samples(column.distinct)}')
        page.say(f"{key} = {quoted(seen.ref(concept))}")
        return
    spare = [one for one in seen.guess.spare if one.cells and not one.mostly("moment", "date", "24h", "12h")]
    parts = [f"{{file.part{place + 1}}}" for place in range(len(seen.look.name_parts))]
    own = [*parts, "{file.stem}"] if seen.look.many or not spare else []
    answers = [*own, *(f"{{{one.header}}}" for one in spare[:4])]
    page.ask(question, *(f"{key} = {quoted(answer)}" for answer in answers))


def _told_apart(page: Page, seen: Seen) -> None:
    """The id of a site; a question where several columns may be it."""
    rivals = seen.guess.rivals.get("site_id", [])
    if not rivals:
        needed(page, seen, "site_id", "site_id", "Which column tells one site from another?")
        return
    found = [f"{{{one.header}}}" for one in (seen.guess.columns["site_id"], *rivals)]
    page.ask(
        "Which of these tells one site from another, and is the same in every export?",
        *(f"site_id = {quoted(answer)}" for answer in found),
    )


def plain(page: Page, seen: Seen, keys: dict[str, str]) -> None:
    """Keys that are taken as they stand, where there is a column for them."""
    for concept, key in keys.items():
        if column := seen.column(concept):
            page.note(f'{seen.guess.sure[concept]}: "{column.header}", such as {samples(column.distinct)}')
            page.say(f"{key} = {quoted(seen.ref(concept))}")


def days_line(page: Page, cell: str, cells: list[str]) -> None:
    """The key days, with each word that stands there; a question where languages or numbers leave it open."""
    ways = day_ways(cells)
    page.put(ways.question, lines("days", {"cell": cell}, ways))


def lines(key: str, cell: Keys, ways: Ways) -> list[str]:
    """A key with each of the ways that its cell may be read in."""
    return [f"{key} = {inline(cell | keys)}" for keys in ways.keys]
