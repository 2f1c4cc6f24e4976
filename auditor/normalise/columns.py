"""What a column of an input table is: its names, how a cell is read, and what it means in words."""

from dataclasses import dataclass, field

import polars as pl

from auditor.normalise import values as v

_WRITTEN: dict[v.Parser, str] = {  # what a cell may hold, by how it is read
    v.text: "text",
    v.boolean: "true or false, yes or no, 1 or 0",
    v.instant: "a date and a time with its offset from UTC: 2026-11-03T14:05:00Z or …T09:05:00-05:00",
    v.local_datetime: "a date and a time without an offset: 2026-11-03T09:05:00",
    v.utc_offset: "+01:00, -05:00 and the like",
    v.iso_date: "a date: 2026-11-03",
    v.season_edge: "a day of every year, 11-03, or a date, 2026-11-03",
    v.time_of_day: "a time from 00:00 to 23:59:59",
    v.end_time: "a time from 00:00 to 24:00",
    v.days: "daily, or a list: MO,TU,WE,TH,FR,SA,SU",
    v.id_list: "one id, or several with ; between them",
    v.minutes_to_seconds: f"{v.MINUTES.low:.10g} to {v.MINUTES.high:.10g}",
}

_NO_LIMIT = 1e6  # only what was mistyped lies above


@dataclass(frozen=True)
class Column:
    """``name`` in the file becomes ``store_name`` in the store, read by ``parse``.

    ``about`` says what it means, ``unit`` in which unit a number is, ``when`` what makes a cell needed that
    else is not; ``suggested`` are words that are usual in it and not the only ones.
    """

    name: str
    about: str
    parse: v.Parser = v.text
    dtype: pl.DataType = field(default_factory=pl.String)
    needed: bool = False
    store_name: str = ""
    unit: str = ""
    when: str = ""
    suggested: tuple[str, ...] = ()

    @property
    def out(self) -> str:
        """Name in the store."""
        return self.store_name or self.name

    @property
    def words(self) -> tuple[str, ...]:
        """The words of a closed list; none where a cell may hold anything else."""
        if self.parse is v.boolean:
            return tuple(v.TRUTH)
        return self.parse.words if isinstance(self.parse, v.Choice) else ()

    @property
    def allowed(self) -> str:
        """What a cell may hold, in words."""
        if isinstance(self.parse, v.Choice):
            return ", ".join(self.parse.words)
        if isinstance(self.parse, v.Number):
            high = f"to {self.parse.high:.10g}" if self.parse.high < _NO_LIMIT else "or more"
            return f"{self.parse.low:.10g} {high}"
        return ", ".join((*self.suggested, "or another" if self.suggested else _WRITTEN[self.parse]))
