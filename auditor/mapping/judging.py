"""What a map may say: every key of its file is known, of the right kind, and complete."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from auditor.errors import UserError
from auditor.wording import nearest

Keys = Mapping[str, Any]


@dataclass(frozen=True)
class Place:
    """Where in a map file something stands, for the sentence about it."""

    file: str
    section: str = ""

    def below(self, name: str) -> "Place":
        """A section of this one."""
        return Place(self.file, f"{self.section}.{name}" if self.section else name)

    def wrong(self, sentence: str) -> UserError:
        """The error that says so."""
        return UserError(f"{self.file}: {f'[{self.section}] ' if self.section else ''}{sentence}")

    def only(self, found: Keys, known: Iterable[str]) -> None:
        """Refuses a key that is not known, with the nearest that is."""
        names = tuple(known)
        for key in found:
            if key not in names:
                raise self.wrong(f'"{key}" is not known; did you mean "{nearest(key, names)}"?')

    def table(self, found: Keys, key: str) -> dict[str, Any]:
        """A table of keys; empty where absent."""
        value = found.get(key, {})
        if not isinstance(value, dict):
            raise self.wrong(
                f"{key} must be a table; write [{self.below(key).section}] on a line of its own."
            )
        return value

    def text(self, found: Keys, key: str, default: str | None = None) -> str | None:
        """A text that is not blank."""
        value = found.get(key, default)
        if value is not None and (not isinstance(value, str) or not value):
            raise self.wrong(f'{key} must be a text in quotes, such as {key} = "…".')
        return value

    def template(self, found: Keys, key: str) -> str:
        """A text with headers in braces, each of which ends; blank where absent."""
        text = self.text(found, key) or ""
        if re.search("[{}]", re.sub(r"\{[^{}]+\}", "", text)):
            raise self.wrong(f"{key} = '{text}' has a brace without its other one; write \"{{Column}}\".")
        return text

    def texts(self, found: Keys, key: str) -> tuple[str, ...]:
        """One text or a list of them; empty where absent."""
        value = found.get(key, [])
        values = [value] if isinstance(value, str) else value
        if not isinstance(values, list) or not all(isinstance(one, str) and one for one in values):
            raise self.wrong(f'{key} must be a text in quotes or a list of them, such as {key} = ["…", "…"].')
        return tuple(values)

    def numbers(self, found: Keys, key: str, default: list[int]) -> tuple[int, ...]:
        """One row number or a list of them."""
        value = found.get(key, default)
        values = value if isinstance(value, list) else [value]
        if not all(
            isinstance(one, int) and not isinstance(one, bool) and 1 <= one <= 10_000_000 for one in values
        ):
            raise self.wrong(
                f"{key} must be a row number, or a list of them; a spreadsheet's first row is 1."
            )
        return tuple(values)

    def one_of(self, found: Keys, key: str, known: Iterable[str]) -> str | None:
        """A word out of a list."""
        value = self.text(found, key)
        names = tuple(known)
        if value is not None and value not in names:
            hint = f'did you mean "{nearest(value, names)}"?'
            raise self.wrong(f'{key} = "{value}" is not known; it is one of {", ".join(names)}; {hint}')
        return value

    def words(self, found: Keys, key: str) -> dict[str, str]:
        """Words and what they stand for."""
        value = self.table(found, key)
        for word, meaning in value.items():
            if not isinstance(meaning, str):
                raise self.wrong(f'{key}: what "{word}" stands for must be a text in quotes.')
        return value
