"""Conditions on a row: which rows are left out on purpose, and which a table takes."""

from dataclasses import dataclass

import polars as pl

from auditor.mapping.judging import Place
from auditor.mapping.words import bare

_TESTS = ("is", "is_not", "starts", "contains", "blank")


@dataclass(frozen=True)
class Condition:
    """One test on one column; texts are compared without regard to capitals and spaces."""

    rule: str
    column: str
    test: str
    values: tuple[str, ...] = ()
    blank: bool = True

    def holds(self, frame: pl.DataFrame) -> pl.Series:
        """For each row, whether the test holds."""
        texts = [bare(cell or "") for cell in frame[self.column]]
        return pl.Series([self._true(text) for text in texts], dtype=pl.Boolean)

    def _true(self, text: str) -> bool:
        if self.test == "blank":
            return (not text) == self.blank
        if self.test == "starts":
            return text.startswith(self.values)
        if self.test == "contains":
            return any(value in text for value in self.values)
        return (text in self.values) == (self.test == "is")


def condition_of(place: Place, keys: object, rule: str = "") -> Condition:
    """A condition from its keys: a column and one test."""
    if not isinstance(keys, dict):
        raise place.wrong('must be a table, such as { column = "Circuit", starts = "Total" }.')
    place.only(keys, ("column", *_TESTS))
    column = place.text(keys, "column")
    tests = [test for test in _TESTS if test in keys]
    if column is None or len(tests) != 1:
        raise place.wrong(f"needs column and one of {', '.join(_TESTS)}.")
    if tests[0] != "blank":
        return Condition(rule, column, tests[0], tuple(map(bare, place.texts(keys, tests[0]))))
    if not isinstance(keys["blank"], bool):
        raise place.wrong("blank must be true or false.")
    return Condition(rule, column, "blank", blank=keys["blank"])
