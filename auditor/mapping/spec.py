"""A map: what one kind of export means, read from a TOML file and judged."""

from dataclasses import dataclass
from pathlib import Path

from auditor.files import read_file, toml_of
from auditor.mapping.blocks import Block, Named, blocks_of
from auditor.mapping.conditions import Condition, condition_of
from auditor.mapping.judging import Keys, Place
from auditor.mapping.layout import Source, source_of
from auditor.mapping.owners import program_block
from auditor.mapping.questions import unanswered
from auditor.model import TABLE_NAMES


@dataclass(frozen=True)
class Map:
    """One file: its source, the rules by which rows are left out, and the rows of tables that it gives."""

    path: Path
    source: Source
    skip: tuple[Condition, ...]
    blocks: tuple[Block, ...]

    @property
    def place(self) -> Place:
        """For sentences about it."""
        return Place(self.path.name)


def read_map(path: Path, folder: Path | None = None) -> Map:
    """The map in a TOML file; its exports lie in ``folder`` (None: where the map says, or beside it).

    Raises UserError with file, key and what to do.
    """
    content = read_file(path, path.name)
    found = toml_of(content, path.name, "mend that line")
    place = Place(path.name)
    if "questions" in found:
        raise place.wrong(unanswered(content.decode("utf-8-sig")))
    place.only(found, ("about", "source", "skip", "words", *TABLE_NAMES))
    place.text(found, "about")
    source = source_of(place.below("source"), place.table(found, "source"), path, folder)
    words = {name: place.below("words").words(found["words"], name) for name in place.table(found, "words")}
    skip = tuple(
        condition_of(place.below(f'skip."{rule}"'), keys, rule)
        for rule, keys in place.table(found, "skip").items()
    )
    blocks = _all_blocks(place, found, words, source)
    if not blocks:
        raise place.wrong("gives no table; add one, such as [[circuits]].")
    return Map(path, source, skip, blocks)


def _all_blocks(place: Place, found: Keys, words: Named, source: Source) -> tuple[Block, ...]:
    if source.is_programs:
        return (program_block(place, found, words, source),)
    return tuple(block for table in TABLE_NAMES for block in _blocks(place, found, table, words, source))


def _blocks(place: Place, found: Keys, table: str, words: Named, source: Source) -> list[Block]:
    given = found.get(table, [])
    if not isinstance(given, list) or not all(isinstance(keys, dict) for keys in given):
        raise place.wrong(f"{table} must stand in double brackets: [[{table}]].")
    numbers = (source.decimal, source.thousands)
    return [
        block
        for number, keys in enumerate(given, 1)
        for block in blocks_of(
            place.below(table if len(given) == 1 else f"{table} {number}"), table, keys, words, numbers
        )
    ]
