"""Several things in one cell, each of which gives a row: "07:00-12:00; 14:00-22:00"."""

import re
from dataclasses import dataclass, replace

import polars as pl

from auditor.mapping.cells import ITEM, Row, filled, for_column, references_of
from auditor.mapping.judging import Keys, Place

NTH = "{nth}"  # which part of its cell a row is; no header has braces


@dataclass(frozen=True)
class Items:
    """The cell that is meant, and the texts between its parts."""

    template: str
    split: tuple[str, ...]

    @property
    def references(self) -> list[str]:
        """The columns that it reads."""
        return references_of(self.template)

    def for_column(self, word: str) -> "Items":
        """The same where ``each`` of its table stands for the column ``word``."""
        return replace(self, template=for_column(self.template, word))

    def exploded(self, frame: pl.DataFrame) -> pl.DataFrame:
        """A row for each part, in the column ``item`` and numbered from 0; none where all is blank."""
        rows = frame.select(self.references).iter_rows(named=True) if self.references else [{}] * frame.height
        parts = pl.Series(ITEM, [self._parts(row) for row in rows], pl.List(pl.String))
        numbers = pl.Series(NTH, [range(len(found)) for found in parts], pl.List(pl.Int64))
        return frame.with_columns(parts, numbers).filter(parts.list.len() > 0).explode(ITEM, NTH)

    def _parts(self, row: Row) -> list[str]:
        if any(row[name] is None for name in self.references):
            return []
        between = "|".join(map(re.escape, self.split))
        return [part.strip() for part in re.split(between, filled(self.template, row)) if part.strip()]


def items_of(place: Place, keys: Keys) -> Items | None:
    """The key ``items`` of a section; None where it has none."""
    if "items" not in keys:
        return None
    at, given = place.below("items"), keys["items"]
    if not isinstance(given, dict):
        raise place.wrong('items must be a table, such as items = { cell = "{Times}", split = ";" }.')
    at.only(given, ("cell", "split"))
    cell, split = at.template(given, "cell"), at.texts(given, "split")
    if not (cell and split):
        raise at.wrong('needs cell and split: the text between the parts, such as split = ";".')
    return Items(cell, split)
