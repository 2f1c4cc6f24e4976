"""Where every row went: whose the rejected ones are, and the count of each source."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import polars as pl

from auditor.model import RawTable, Rejection

Rows = dict[str, set[int]]  # by source file


def owned(rejections: list[Rejection], raw: list[RawTable]) -> list[Rejection]:
    """The rejections with the site of their row, named by itself or by its controller: what is lost there
    must be said there."""
    lost = _rows(rejections)
    owners: dict[tuple[str, int], str] = {}
    for table in raw:
        for row, site in _sites(table, lost[table.source_file], _site_of(raw)) if lost else ():
            owners.setdefault((table.source_file, row), site)
    return [replace(row, site_id=owners.get((row.source_file, row.source_row))) for row in rejections]


def _rows(rejections: list[Rejection]) -> Rows:
    found: Rows = defaultdict(set)
    for row in rejections:
        found[row.source_file].add(row.source_row)
    return found


def _site_of(raw: list[RawTable]) -> pl.DataFrame:
    """The site that each controller names, by the first row that gives it."""
    named = [
        table.frame.select("controller_id", "site_id")
        for table in raw
        if table.name == "controllers" and {"controller_id", "site_id"} <= set(table.frame.columns)
    ]
    empty = pl.DataFrame(schema={"controller_id": pl.String, "site_id": pl.String})
    return pl.concat([empty, *named]).unique("controller_id", keep="first")


def _sites(table: RawTable, rows: set[int], site_of: pl.DataFrame) -> Iterator[tuple[int, str]]:
    frame = table.frame.filter(pl.col("source_row").cast(pl.Int64).is_in(list(rows)))
    if "site_id" not in frame.columns and "controller_id" in frame.columns:
        frame = frame.join(site_of, on="controller_id", how="left")
    if "site_id" not in frame.columns:
        return iter(())
    named = frame.filter(pl.col("site_id").is_not_null())
    return zip(named["source_row"], named["site_id"], strict=True)


def counts(raw: list[RawTable], rejections: list[Rejection]) -> list[dict[str, Any]]:
    """One row a source: rows = kept + rejected + skipped.

    A row is rejected where any part of it is left out, whatever else it gives; skipped where a rule of its
    map took it and no other table reads it; else kept.
    """
    lost = _rows(rejections)
    sources: dict[str, list[RawTable]] = {}
    for table in raw:
        sources.setdefault(table.source_file, []).append(table)
    return [_count(file, tables, lost[file]) for file, tables in sources.items()]


def _count(file: str, tables: list[RawTable], rejected: set[int]) -> dict[str, Any]:
    given = {row for table in tables for row in (*table.frame["source_row"], *table.silent)} | rejected
    rules = {row: rule for table in tables for row, rule in table.skipped.items() if row not in given}
    return {
        "table": ";".join(dict.fromkeys(table.name for table in tables)),
        "file": file,
        "sha256": tables[0].sha256,
        "rows": len(given) + len(rules),
        "kept": len(given - rejected),
        "rejected": len(rejected),
        "skipped": len(rules),
        "skipped_by": dict(sorted(Counter(rules.values()).items())),
    }
