"""What hangs on what: a row that points at nothing, or at a rejected row, is rejected too."""

import polars as pl

from auditor.model import Rejection
from auditor.normalise.rows import reject
from auditor.normalise.specs import KEYS

Tables = dict[str, pl.DataFrame]


def check_references(tables: Tables) -> list[Rejection]:
    """Takes the rows that hang on nothing out of ``tables``, top of the tree first, and lists them.

    sites > controllers > circuits > sensors > steps; hours, closures and waivers hang on sites. A sensor or a
    step goes as a whole when one of its circuits or targets is not there. A step's targets are its own
    controller's; a sensor may act on circuits of any controller of its site.
    """
    rejections: list[Rejection] = []
    rejections += _hang(tables, "controllers", "site_id", tables["sites"]["site_id"], "sites")
    rejections += _hang(
        tables, "circuits", "controller_id", tables["controllers"]["controller_id"], "controllers"
    )
    rejections += _hang(
        tables, "sensors", "controller_id", tables["controllers"]["controller_id"], "controllers"
    )
    site_of = tables["controllers"].select("controller_id", "site_id")
    circuits = tables["circuits"].join(site_of, on="controller_id").rename({"circuit_id": "circuits"})
    sensors = tables["sensors"].join(site_of, on="controller_id", maintain_order="left")
    rejections += _lists(tables, "sensors", sensors, "circuits", circuits, ("site", "circuit"))
    rejections += _hang(
        tables, "events", "controller_id", tables["controllers"]["controller_id"], "controllers"
    )
    rejections += _targets(tables)
    for table in ("hours", "waivers"):
        rejections += _hang(tables, table, "site_id", tables["sites"]["site_id"], "sites")
    everywhere = pl.concat([tables["sites"]["site_id"], pl.Series(["*"])])
    rejections += _hang(tables, "closures", "site_id", everywhere, "sites")
    for table, key in KEYS.items():  # only now: a row that says the same again must hang on the same
        tables[table] = tables[table].unique(key, keep="first", maintain_order=True)
    return rejections


def _hang(tables: Tables, table: str, column: str, known: pl.Series, parent: str) -> list[Rejection]:
    lost = ~pl.col(column).is_in(known.implode())
    return _remove(tables, table, column, lost, f"no accepted row of {parent} has this {column}")


def _remove(tables: Tables, table: str, column: str, bad: pl.Expr, reason: str) -> list[Rejection]:
    rejections = reject(tables[table], column, bad, reason)
    tables[table] = tables[table].filter(~bad)
    return rejections


def _targets(tables: Tables) -> list[Rejection]:
    rejections = []
    for actions, owned, key in (
        (["suspend", "resume"], tables["sensors"], "sensor_id"),
        (["on", "off", "level"], tables["circuits"], "circuit_id"),
    ):
        steps = tables["events"].filter(pl.col("action").is_in(actions))
        named = owned.rename({key: "targets"})
        noun = key.removesuffix("_id")
        rejections += _lists(tables, "events", steps, "targets", named, ("controller", noun))
    return rejections


def _lists(
    tables: Tables,
    table: str,
    rows: pl.DataFrame,
    column: str,
    owned: pl.DataFrame,
    nouns: tuple[str, str],
) -> list[Rejection]:
    """Rejects rows whose list names an id that their owner (``nouns``: owner, owned) does not have."""
    owner, noun = nouns
    known = owned.select(f"{owner}_id", column, known=pl.lit(True))
    lost = (
        rows.explode(column)
        .join(known, on=[f"{owner}_id", column], how="left", maintain_order="left")
        .filter(pl.col("known").is_null() & pl.col(column).is_not_null())
        .unique("row_no", keep="first", maintain_order=True)
    )
    reason = f"this {owner} has no accepted {noun} of this id"
    rejections = reject(lost, column, pl.lit(True), reason)
    tables[table] = tables[table].filter(~pl.col("row_no").is_in(lost["row_no"].implode()))
    return rejections
