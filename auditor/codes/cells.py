"""Values of an edition's file, each read or refused with one sentence: file, place, what to do."""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from auditor.codes.edition import Basis
from auditor.codes.vocabulary import BASIS, CONFIDENCES, MARKS
from auditor.errors import UserError
from auditor.wording import did_you_mean

_LARGEST = 1e6  # of any number: beyond it something was mistyped


@dataclass(frozen=True)
class Section:
    """A table of the file and where it stands, such as ``[[item]] exterior-setback, limit cut_percent``."""

    file: str
    place: str
    facts: dict[str, Any]

    def refuse(self, words: str) -> UserError:
        """The sentence about this table."""
        end = "" if words.endswith(("?", ".")) else "."
        return UserError(f"{self.file}: {self.place + ': ' if self.place else ''}{words}{end}")

    def only(self, known: Collection[str]) -> None:
        """No key but these."""
        for key in self.facts:
            if key not in known:
                near = did_you_mean(key, list(known), "auditor codes --fields lists the fields")
                raise self.refuse(f'"{key}" is not known; {near}')

    def text(self, key: str, default: str | None = None) -> str:
        """A text; needed where there is no default."""
        value = self.facts.get(key, default)
        if value is None:
            raise self.refuse(f'"{key}" is missing; add a line {key} = "..."')
        if not isinstance(value, str) or not (value.strip() or value == default):
            raise self.refuse(f"{key} must be a text in quotes")
        return value.strip()

    def choice(self, key: str, allowed: Sequence[str], default: str | None = None) -> str:
        """One of a few texts."""
        value = self.text(key, default)
        if value not in allowed and value != default:
            near = did_you_mean(value, allowed, f"write {' or '.join(allowed)}")
            raise self.refuse(f'{key} "{value}" is not known; {near}')
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; empty where the key is absent."""
        value = self.facts.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, str) and one.strip() for one in value):
            raise self.refuse(f'{key} must be a list of texts, such as {key} = ["one", "other"]')
        return tuple(one.strip() for one in value)

    def number(self, key: str, needed: bool = True, most: float = _LARGEST) -> float | None:
        """A number from 0 to ``most``."""
        value = self.facts.get(key)
        if value is None and not needed:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= most:
            raise self.refuse(f"{key} must be a number from 0 to {most:.0f}")
        return float(value)

    def truth(self, key: str, default: bool) -> bool:
        """true or false."""
        value = self.facts.get(key, default)
        if not isinstance(value, bool):
            raise self.refuse(f"{key} must be true or false")
        return value

    def time(self, key: str) -> int | None:
        """A time of day in seconds after 00:00; None where the key is absent."""
        if key not in self.facts:
            return None
        value = self.facts[key]
        found = re.fullmatch(r"([01]\d|2[0-3]):([0-5]\d)", value) if isinstance(value, str) else None
        if not found:
            raise self.refuse(f'{key} must be a time of day in quotes; write {key} = "06:00"')
        return int(found[1]) * 3600 + int(found[2]) * 60

    def tables(self, key: str, named: str) -> list["Section"]:
        """The tables ``[[item.key]]`` in here, each known by its ``named``."""
        value = self.facts.get(key, [])
        if not isinstance(value, list) or not all(isinstance(one, dict) for one in value):
            raise self.refuse(f"{key} must be tables; write [[item.{key}]] on a line of its own")
        parts = [Section(self.file, self._place_of(key, one.get(named, "")), one) for one in value]
        names = [part.text(named) for part in parts]
        for name in names:
            if names.count(name) > 1:
                raise self.refuse(f'{key} "{name}" stands twice; take one away')
        return parts

    def _place_of(self, key: str, name: str) -> str:
        return f"{self.place}, {key} {name}".rstrip() if self.place else f"[[item]] {name}"

    def basis(self, default: Basis | None = None) -> Basis:
        """Mark, confidence and source, all three; those of the item where a part has none of its own."""
        given = [key for key in BASIS if key in self.facts]
        if default and not given:
            return default
        return Basis(self.choice("mark", MARKS), self.choice("confidence", CONFIDENCES), self.text("source"))
