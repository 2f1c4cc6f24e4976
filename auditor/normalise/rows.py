"""What must hold within one row, and between the rows of one table."""

import polars as pl

from auditor.model import Rejection
from auditor.normalise.specs import KEYS
from auditor.normalise.typed import OWN
from auditor.wording import clock_text

Check = tuple[str, pl.Expr, str]  # column to blame, true where the row is bad, reason


def _pair(one: str, other: str) -> Check:
    lonely = pl.col(one).is_null() != pl.col(other).is_null()
    return one, lonely, f"{one} and {other} belong together; give both or neither"


_STEP_OF_CIRCUIT = pl.col("action").is_in(["on", "off", "level"])
_BY_CLOCK = pl.col("anchor") == "clock"
_DATED_FROM = pl.col("season_from").str.len_chars() == 10
_DATED_UNTIL = pl.col("season_until").str.len_chars() == 10

ROW_CHECKS: dict[str, tuple[Check, ...]] = {
    "sites": (
        ("site_id", pl.col("site_id") == "*", "* means every site in closures; give the site another id"),
    ),
    "controllers": (_pair("latitude", "longitude"),),
    "events": (
        (
            "level",
            (pl.col("action") == "level") & pl.col("level").is_null(),
            "level is blank; say to which level",
        ),
        (
            "level",
            (pl.col("action") != "level") & pl.col("level").is_not_null(),
            "level goes with the action level only",
        ),
        (
            "time_s",
            _BY_CLOCK & pl.col("time_s").is_null(),
            "time is blank; a clock step needs its time of day",
        ),
        (
            "time_s",
            ~_BY_CLOCK & pl.col("time_s").is_not_null(),
            "time goes with the anchor clock only; use offset_minutes",
        ),
        (
            "offset_s",
            _BY_CLOCK & (pl.col("offset_s").fill_null(0) != 0),
            "offset_minutes goes with sun anchors only; put it into time",
        ),
        _pair("season_from", "season_until"),
        (
            "season_from",
            _DATED_FROM != _DATED_UNTIL,
            "from and until must both be MM-DD or both be dates",
        ),
        (
            "season_from",
            _DATED_FROM & _DATED_UNTIL & (pl.col("season_from") > pl.col("season_until")),
            "from lies after until; swap them",
        ),
    ),
}
_AS_IN_FILE = {"time_s": "time", "offset_s": "offset_minutes", "season_from": "from", "season_until": "until"}


def check_rows(table: str, frame: pl.DataFrame) -> tuple[pl.DataFrame, list[Rejection]]:
    """Rows that agree with themselves, each key once (the first stays), and why the others do not."""
    rejections: list[Rejection] = []
    for column, bad, reason in ROW_CHECKS.get(table, ()):
        rejections += reject(frame, column, bad.fill_null(False), reason)
        frame = frame.filter(~bad.fill_null(False))
    if table in KEYS:
        key = list(KEYS[table])
        again = pl.col("repeats") & (_said() == _said().first().over(key))
        second = (pl.int_range(pl.len()).over(key) > 0) & ~again
        reason = f"a row with this {' and '.join(KEYS[table])} stands above; only the first counts"
        rejections += reject(frame, KEYS[table][-1], second, reason)
        frame = frame.filter(~second)
    return frame, rejections


def _said() -> pl.Expr:
    """What a row says, wherever it stands: a digest that is equal for equal cells."""
    return pl.struct(pl.all().exclude(OWN)).hash()


def reject(frame: pl.DataFrame, column: str, bad: pl.Expr, reason: str) -> list[Rejection]:
    """A rejection a bad row, for one column and one reason."""
    shown = _AS_IN_FILE.get(column, column)
    rows = frame.filter(bad).select("source_file", "source_row", pl.col(column).alias("value"))
    return [
        Rejection(row["source_file"], row["source_row"], shown, _shown(row["value"], shown), reason)
        for row in rows.iter_rows(named=True)
    ]


def _shown(value: object, column: str) -> str:
    if value is None:
        return ""
    if column == "time" and isinstance(value, int):
        return clock_text(value)
    if column == "offset_minutes" and isinstance(value, int):
        return f"{value / 60:g}"
    return ";".join(map(str, value)) if isinstance(value, list) else str(value).removesuffix(".0")
