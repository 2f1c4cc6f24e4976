"""Which column of an unfamiliar table is what: by the words of its header, and by what stands in it."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field

from auditor.mapping.drafts import vocabulary
from auditor.mapping.drafts.profiles import Profile
from auditor.mapping.drafts.weekdays import is_day

_MORE_THAN_HALF = 0.6  # a header that names it, and a word here and there that nobody knows
_ID = ("site_id", "controller_id", "circuit_id", "event_id")


@dataclass
class Guess:
    """The table as it is understood: columns by concept with how sure, and the groups of columns."""

    columns: dict[str, Profile] = field(default_factory=dict)
    sure: dict[str, str] = field(default_factory=dict)
    weekdays: dict[str, list[str]] = field(
        default_factory=dict
    )  # pattern with *: the names that it stands for
    flags: list[str] = field(default_factory=list)  # columns of marks, Monday first
    switched: list[str] = field(default_factory=list)  # columns a circuit each, with on and off in them
    rivals: dict[str, list[Profile]] = field(default_factory=dict)  # other columns that may be a site's id
    spare: list[Profile] = field(default_factory=list)


def recognise(profiles: list[Profile]) -> Guess:
    """The best reading of a table's columns; each is taken for one thing at most."""
    guess = Guess()
    left = _take_flags(guess, _take_weekdays(guess, profiles))
    pairs = [
        (score, -place, concept, one)
        for place, one in enumerate(left)
        for concept, score in _scores(one).items()
    ]
    for _, _, concept, one in sorted(pairs, key=lambda pair: pair[:3], reverse=True):
        if concept not in guess.columns and one not in guess.columns.values():
            guess.columns[concept] = one
            guess.sure[concept] = (
                "by its name and what stands in it" if _telling(concept, one) else "by its name"
            )
    _take_opening(guess)
    guess.rivals = _rivals(guess, profiles)
    left = [one for one in left if one not in guess.columns.values()]
    if "on" not in guess.columns:
        switched = [one.header for one in left if one.cells and one.mostly("action")]
        guess.switched = switched if len(switched) > 1 else []
    guess.spare = [one for one in left if one.header not in guess.switched]
    return guess


def _take_opening(guess: Guess) -> None:
    """ "From" before "To" is no time of a step."""
    time = guess.columns.get("time")
    if time and "closes" in guess.columns and "opens" not in guess.columns and "opens" in _scores(time):
        guess.columns["opens"] = guess.columns.pop("time")
        guess.sure["opens"] = guess.sure.pop("time")


def _rivals(guess: Guess, profiles: list[Profile]) -> dict[str, list[Profile]]:
    """Where a row is a site: other columns that the words for its id fit, and that differ from row to row."""
    chosen = guess.columns.get("site_id")
    if chosen is None:
        return {}
    others = [one for one in profiles if one is not chosen and "site_id" in _scores(one)]
    taken = [column for key, column in guess.columns.items() if key != "site_name"]
    return {"site_id": [one for one in others if one not in taken and len(one.distinct) == len(one.rows)]}


def _take_weekdays(guess: Guess, profiles: list[Profile]) -> list[Profile]:
    """Columns whose header names a weekday: "Montag", or "Mon open"."""
    found: dict[str, list[tuple[str, Profile]]] = {}
    for one in profiles:
        for word in re.findall(r"[^\W\d_]{2,}", one.header):
            if is_day(word) and one.header.count(word) == 1:
                found.setdefault(one.header.replace(word, "*"), []).append((word, one))
    taken = {pattern: pairs for pattern, pairs in found.items() if len(pairs) >= 3}
    guess.weekdays = {pattern: [word for word, _ in pairs] for pattern, pairs in taken.items()}
    gone = [one for pairs in taken.values() for _, one in pairs]
    return [one for one in profiles if one not in gone]


def _take_flags(guess: Guess, profiles: list[Profile]) -> list[Profile]:
    """Seven columns in a row that are headed by the first letters of a week."""
    letters = "".join((re.sub(r"\s*\(\d\)$", "", one.header) or " ")[-1].upper() for one in profiles)
    for week in vocabulary.INITIALS:
        at = letters.find(week)
        if at >= 0 and all(len(one.distinct) <= 3 for one in profiles[at : at + 7]):
            guess.flags = [one.header for one in profiles[at : at + 7]]
            return profiles[:at] + profiles[at + 7 :]
    return profiles


def _scores(one: Profile) -> dict[str, float]:
    """For each concept that the header may mean and the cells do not speak against: how well it fits."""
    words = re.findall(r"[^\W_]+", one.header.casefold())
    found = {}
    for concept, phrases in vocabulary.HEADERS.items():
        named = max((_named(phrase.split(), words) for phrase in phrases.split("/")), default=0.0)
        if named and (not one.cells or _may_be(concept, one)):
            found[concept] = named + (0.5 if _telling(concept, one) else 0)
    return found


def _named(phrase: list[str], words: list[str]) -> float:
    """How much of a header a phrase of the vocabulary covers; 0 where it does not stand there."""
    return len(phrase) + len(phrase) / len(words) if set(phrase) <= set(words) else 0.0


def _within(low: float, high: float) -> Callable[[Profile], bool]:
    return lambda one: (
        len(one.numbers) == len(one.cells) and all(low <= number <= high for number in one.numbers)
    )


def _is_time(one: Profile) -> bool:
    return one.share("24h", "12h", "sun") >= _MORE_THAN_HALF or (
        one.mostly("number", "sun") and all(n >= 0 for n in one.numbers)
    )


# What must stand in a column for it to be this at all.
_MUST: dict[str, Callable[[Profile], bool]] = {
    "latitude": _within(-90, 90),
    "longitude": _within(-180, 180),
    "connected_watts": lambda one: one.mostly("number"),
    "read_at": lambda one: one.mostly("moment", "date"),
    "clock_reading": lambda one: one.mostly("moment"),
    "on": lambda one: _is_time(one),
    "off": lambda one: _is_time(one),
    "opens": lambda one: _is_time(one),
    "closes": lambda one: _is_time(one),
    "time": lambda one: _is_time(one),
    "days": lambda one: one.shares["days"] >= _MORE_THAN_HALF,
    "from": lambda one: one.mostly("date"),
    "until": lambda one: one.mostly("date"),
    "date": lambda one: one.mostly("date"),
    "timezone": lambda one: all("/" in cell for cell in one.cells),
}


def _may_be(concept: str, one: Profile) -> bool:
    if concept in _MUST:
        return _MUST[concept](one)
    plain = not one.mostly("moment", "date", "12h", "24h", "sun", "range")
    return plain and (concept in (*_ID, "site_name", "circuit_name", "address") or not one.mostly("number"))


def _telling(concept: str, one: Profile) -> bool:
    return concept in _MUST and bool(one.cells) and _MUST[concept](one)
