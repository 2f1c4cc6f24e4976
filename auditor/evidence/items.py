"""``queries/evidence/items/*.sql`` to items: a header behind ``--:``, prose behind ``--``, one SELECT."""

import tomllib
from dataclasses import dataclass
from pathlib import Path

from auditor.resources import resource

_HEADER = "--:"
COLUMNS = (
    *("site_id", "subject_kind", "subject_id", "outcome", "said", "first_date", "last_date", "example_utc"),
    *("minutes", "kwh", "limits", "circuits", "source_file", "source_row"),
)


@dataclass(frozen=True)
class Item:
    """One item of evidence.

    ``of_code``: only where the edition asks; ``rests_on``: program, device or nothing.
    ``test`` is what has to be tested on site. Where the export has no subject, ``nobody`` is said and the
    outcome is ``absent``. ``reads`` are the input tables whose rows decide.
    """

    name: str
    place: int
    title: str
    of_code: bool
    rests_on: str
    test: str
    nobody: str
    absent: str
    reads: list[str]
    sql: str


def load_items() -> list[Item]:
    """Every item, in the order of a report."""
    found = map(_item, resource("queries/evidence/items").glob("*.sql"))
    return sorted(found, key=lambda item: item.place)


def _item(path: Path) -> Item:
    lines = path.read_text(encoding="utf-8").splitlines()
    header = [line.removeprefix(_HEADER).strip() for line in lines if line.startswith(_HEADER)]
    query = [line for line in lines if not line.startswith(_HEADER)]
    return Item(**tomllib.loads("\n".join(header)), sql="\n".join(query))
