"""Raw rows to contract tables and rejected rows: the only room that judges input."""

from collections.abc import Collection
from dataclasses import replace

import polars as pl

from auditor.model import CODE_EDITIONS, TABLE_NAMES, Portfolio, RawTable, Rejection
from auditor.normalise.references import check_references
from auditor.normalise.rows import check_rows, reject
from auditor.normalise.specs import SPECS
from auditor.normalise.typed import typed, unknown_columns
from auditor.wording import nearest

__all__ = ["normalise"]


def normalise(raw: list[RawTable], zone_names: Collection[str]) -> Portfolio:
    """Judges every row; what is left obeys the contract. ``zone_names`` are the time zones that exist."""
    tables = {name: _empty(name) for name in TABLE_NAMES}
    rejections: list[Rejection] = []
    for table in raw:
        frame, faults = typed(table)
        rejections += faults
        if table.name == "sites":
            frame, faults = _known_zones(frame, zone_names)
            rejections += faults
        tables[table.name], faults = check_rows(table.name, frame)
        rejections += faults
    rejections += check_references(tables)
    notices = [sentence for sentence in map(unknown_columns, raw) if sentence]
    notices += _strange_editions(tables["sites"])
    counts = [_count(table, tables[table.name].height) for table in raw]
    order = {table.source_file: place for place, table in enumerate(raw)}
    rejections.sort(key=lambda found: (order[found.source_file], found.source_row))
    return Portfolio(tables, _owned(rejections, raw), notices, counts)


def _owned(rejections: list[Rejection], raw: list[RawTable]) -> list[Rejection]:
    """The rejections with the site of their row, named by itself or by its controller: what is lost there
    must be said there."""
    lost = pl.DataFrame({"row": [row.source_row for row in rejections]}, schema={"row": pl.Int64})
    files = pl.Series("file", [row.source_file for row in rejections], pl.String)
    owners: dict[tuple[str, int], str | None] = {}
    devices = next((table.frame for table in raw if table.name == "controllers"), None)
    for table in raw:
        rows = lost.filter(files == table.source_file)["row"].implode()
        frame = table.frame.filter(pl.col("source_row").cast(pl.Int64).is_in(rows))
        if "site_id" not in frame.columns and devices is not None and "controller_id" in frame.columns:
            site_of = devices.select("controller_id", "site_id").unique("controller_id", keep="first")
            frame = frame.join(site_of, on="controller_id", how="left")
        if "site_id" in frame.columns:
            named = zip(frame["source_row"], frame["site_id"], strict=True)
            owners |= {(table.source_file, row): site for row, site in named}
    return [replace(row, site_id=owners.get((row.source_file, row.source_row))) for row in rejections]


def _empty(name: str) -> pl.DataFrame:
    schema = {"source_row": pl.Int64(), "source_file": pl.String()}
    return pl.DataFrame(schema=schema | {column.out: column.dtype for column in SPECS[name]})


def _count(table: RawTable, kept: int) -> dict[str, object]:
    unreadable = len({rejection.source_row for rejection in table.rejections})
    rows = table.frame.height + unreadable
    return {
        "table": table.name,
        "file": table.source_file,
        "sha256": table.sha256,
        "rows": rows,
        "kept": kept,
        "rejected": rows - kept,
    }


def _known_zones(sites: pl.DataFrame, zone_names: Collection[str]) -> tuple[pl.DataFrame, list[Rejection]]:
    strange = pl.col("timezone").is_not_null() & ~pl.col("timezone").is_in(list(zone_names))
    rejections: list[Rejection] = []
    for name in sites.filter(strange)["timezone"].unique(maintain_order=True):
        near = nearest(name, sorted(zone_names))
        reason = f'timezone is not an IANA name of the tzdata package; did you mean "{near}"?'
        rejections += reject(sites, "timezone", pl.col("timezone") == name, reason)
    return sites.filter(~strange), rejections


def _strange_editions(sites: pl.DataFrame) -> list[str]:
    """A sentence for each code edition that is not known here: a site is not lost for it."""
    counted = (
        sites.filter(~pl.col("energy_code").is_in(CODE_EDITIONS))
        .group_by("energy_code", maintain_order=True)
        .agg(pl.col("source_file").first(), pl.col("source_row").first(), pl.len())
    )
    return [
        f'{file}, row {row}: energy_code "{code}" is not known here ({count} in all); what depends on it is '
        f'not evaluated. Did you mean "{nearest(code, CODE_EDITIONS)}"?'
        for code, file, row, count in counted.iter_rows()
    ]
