"""What hangs on what: a row that points at nothing, or at a rejected row, is rejected too."""

import polars as pl

from auditor.model import Rejection
from auditor.normalise.rows import reject

Tables = dict[str, pl.DataFrame]


def check_references(tables: Tables) -> list[Rejection]:
    """Takes the rows that hang on nothing out of ``tables``, top of the tree first, and lists them.

    sites > controllers > circuits > sensors > steps; hours, closures and waivers hang on sites. A sensor or a
    step goes as a whole when one of its circuits or targets is not there.
    """
    rejections: list[Rejection] = []
    rejections += _hang(tables, "controllers", "site_id", tables["sites"]["site_id"], "sites")
    rejections += _hang(tables, "circuits", "controller_id", tables["controllers"]["controller_id"], "controllers")
    rejections += _hang(tables, "sensors", "controller_id", tables["controllers"]["controller_id"], "controllers")
    rejections += _lists(tables, "sensors", "circuits", tables["circuits"], "circuit_id", "circuits")
    rejections += _hang(tables, "events", "controller_id", tables["controllers"]["controller_id"], "controllers")
    rejections += _targets(tables)
    for table in ("hours", "waivers"):
        rejections += _hang(tables, table, "site_id", tables["sites"]["site_id"], "sites")
    everywhere = pl.concat([tables["sites"]["site_id"], pl.Series(["*"])])
    return rejections + _hang(tables, "closures", "site_id", everywhere, "sites")


def _hang(tables: Tables, table: str, column: str, known: pl.Series, parent: str) -> list[Rejection]:
    lost = ~pl.col(column).is_in(known.implode())
    return _remove(tables, table, column, lost, f"no accepted row of {parent} has this {column}")


def _remove(tables: Tables, table: str, column: str, bad: pl.Expr, reason: str) -> list[Rejection]:
    rejections = reject(tables[table], column, bad, reason)
    tables[table] = tables[table].filter(~bad)
    return rejections


def _targets(tables: Tables) -> list[Rejection]:
    on_sensor = pl.col("action").is_in(["suspend", "resume"])
    sensors = _lists(tables, "events", "targets", tables["sensors"], "sensor_id", "sensors", on_sensor)
    circuits = _lists(tables, "events", "targets", tables["circuits"], "circuit_id", "circuits", ~on_sensor)
    return sensors + circuits


def _lists(
    tables: Tables,
    table: str,
    column: str,
    owned: pl.DataFrame,
    id_column: str,
    noun: str,
    scope: pl.Expr | None = None,
) -> list[Rejection]:
    """Rejects rows whose list names an id that the row's controller does not own, naming the first such id."""
    own = owned.select("controller_id", pl.col(id_column).alias(column), known=pl.lit(True))
    rows = tables[table].filter(pl.lit(True) if scope is None else scope).explode(column)
    lost = (
        rows.join(own, on=["controller_id", column], how="left", maintain_order="left")
        .filter(pl.col("known").is_null() & pl.col(column).is_not_null())
        .unique("source_row", keep="first", maintain_order=True)
    )
    reason = f"this controller has no accepted {noun[:-1]} of this id among its {noun}"
    rejections = reject(lost, column, pl.lit(True), reason)
    tables[table] = tables[table].filter(~pl.col("source_row").is_in(lost["source_row"].implode()))
    return rejections
