"""What a reader of programs is told and gives back; and the reason for which it leaves an entry out."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from auditor.errors import UserError
from auditor.model import Period, RawTable, Rejection
from auditor.zones import zone_names

LOOKBACK = 365  # days; the contract counts what fires from 366 days before the period


class UnfitError(ValueError):
    """This entry has no equal in the contract; ``column`` is the property to blame."""

    def __init__(self, column: str, value: str, reason: str) -> None:
        super().__init__(reason)
        self.column, self.value, self.reason = column, value, reason

    def rejection(self, file: str, row: int) -> Rejection:
        """The same as a row of ``rejected.csv``."""
        return Rejection(file, row, self.column, shown(self.value), self.reason)


def shown(value: object) -> str:
    """A value as it may stand in a result file: 200 characters, all of them Unicode."""
    return str(value)[:200].encode("utf-8", "replace").decode()


class Work:
    """What the programs of one file may still cost, in steps of some constant time each."""

    def __init__(self, most: int) -> None:
        self._left = most

    def spend(self, number: int, column: str) -> None:
        """Raises UnfitError where nothing is left."""
        self._left -= number
        if self._left < 0:
            raise UnfitError(column, "", "up to here the file says more than is worked out; split it")


@dataclass(frozen=True)
class Owner:
    """Whose program a file is.

    ``targets`` are ids of circuits or of sensors of ``controller_id``; ``zone`` is the IANA zone of its site.
    ``actions`` are what happens where the program says on, and off: on and off for circuits, suspend and
    resume (or the reverse) for sensors. With ``level`` (0 to 100) on means that level.
    """

    controller_id: str
    targets: tuple[str, ...]
    zone: str
    actions: tuple[str, str] = ("on", "off")
    level: float = 100

    def __post_init__(self) -> None:
        if self.zone not in zone_names():
            raise UserError(
                f'zone "{self.zone}" is no IANA name of the tzdata package; give the site its zone.'
            )


@dataclass(frozen=True)
class Entry:
    """One entry of a file: where it stands, what it is, and what it is called."""

    row: int
    kind: str
    name: str


@dataclass(frozen=True)
class Read:
    """What became of one file: entries = kept + rejected + skipped, each entry by its ``source_row``.

    ``table`` holds rows of the contract as text. ``skipped`` are entries that say nothing here, each with the
    rule by which it was passed over.
    """

    listed: tuple[Entry, ...]
    table: RawTable
    skipped: tuple[Rejection, ...]

    @property
    def entries(self) -> int:
        """How many there are."""
        return len(self.listed)

    @property
    def rejections(self) -> tuple[Rejection, ...]:
        """Why entries are left out."""
        return self.table.rejections

    @property
    def kept(self) -> int:
        """Entries that became rows, or that change what became rows."""
        rejected = {found.source_row for found in self.rejections}
        return self.entries - len(rejected) - len(self.table.skipped)


def told(
    table: str,
    file: str,
    content: bytes,
    frame: pl.DataFrame,
    listed: Sequence[Entry],
    rejected: Iterable[Rejection],
    skipped: Iterable[Rejection],
) -> Read:
    """All of it put together, by rows; entries that only change what others give are among the silent."""
    faults = sorted(rejected, key=lambda one: one.source_row)
    over = sorted(skipped, key=lambda one: one.source_row)
    rules = {one.source_row: one.reason for one in over}
    silent = {entry.row for entry in listed} - {one.source_row for one in faults} - rules.keys()
    digest = hashlib.sha256(content).hexdigest()
    raw = RawTable(table, file, digest, frame, tuple(faults), rules, silent=frozenset(silent))
    return Read(tuple(listed), raw, tuple(over))


@dataclass(frozen=True)
class Horizon:
    """The dates on the device's clock for which a program must hold; ``audited`` is the first that counts."""

    first: date
    audited: date
    last: date

    @property
    def days(self) -> int:
        """Number of dates."""
        return (self.last - self.first).days + 1

    @classmethod
    def of(cls, period: Period) -> "Horizon":
        """A year before the period, for what fired last before it, to a week after: clocks may be wrong."""
        first = period.first - timedelta(days=LOOKBACK)
        return cls(first, period.first - timedelta(days=1), period.last + timedelta(days=7))
