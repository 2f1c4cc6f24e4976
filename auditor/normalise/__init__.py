"""Raw rows to contract tables and rejected rows: the only room that judges input."""

from collections.abc import Collection

import polars as pl

from auditor.model import CODE_EDITIONS, TABLE_NAMES, Portfolio, RawTable, Rejection
from auditor.normalise.accounts import counts, owned
from auditor.normalise.ids import examples, odd_ids
from auditor.normalise.references import Tables, check_references
from auditor.normalise.rows import check_rows, reject
from auditor.normalise.specs import SPECS
from auditor.normalise.typed import typed, unknown_columns, without
from auditor.wording import nearest

__all__ = ["judge_cells", "normalise"]


def normalise(raw: list[RawTable], zone_names: Collection[str]) -> Portfolio:
    """Judges every row; what is left obeys the contract. ``zone_names`` are the time zones that exist.

    A table may come from several sources: their rows stand one source after the other, as ``raw`` gives them.
    """
    tables, found = _judged(raw, zone_names)
    tables["circuits"] = _with_their_steps(tables["circuits"], found.get("events", []))
    rejections = [fault for faults in found.values() for fault in faults]
    rejections += check_references(tables)
    notices = list(dict.fromkeys(sentence for table in raw for sentence in table.notices))
    notices += [sentence for sentence in map(unknown_columns, raw) if sentence]
    notices += [*_strange_editions(tables["sites"]), *odd_ids(raw), *examples(raw)]
    rejections = list(dict.fromkeys(rejections))  # the steps of one row would each say the same
    order = {table.source_file: place for place, table in enumerate(raw)}
    rejections.sort(key=lambda found: (order[found.source_file], found.source_row))
    return Portfolio(tables, owned(rejections, raw), notices, counts(raw, rejections))


def judge_cells(raw: list[RawTable], zone_names: Collection[str]) -> list[Rejection]:
    """What is wrong within the rows themselves, whatever they hang on."""
    _, found = _judged(raw, zone_names)
    return list(dict.fromkeys(fault for faults in found.values() for fault in faults))


def _judged(raw: list[RawTable], zone_names: Collection[str]) -> tuple[Tables, dict[str, list[Rejection]]]:
    """Each table's good rows, and its faults."""
    tables = {name: _empty(name) for name in TABLE_NAMES}
    found: dict[str, list[Rejection]] = {}
    for name in TABLE_NAMES:
        sources = [table for table in raw if table.name == name]
        if not sources:
            continue
        frame, found[name] = typed(sources)
        if name == "sites":
            frame, faults = _known_zones(frame, zone_names)
            found[name] += faults
        tables[name], faults = check_rows(name, frame)
        found[name] += faults
    return tables, found


def _empty(name: str) -> pl.DataFrame:
    schema = {
        "source_row": pl.Int64(),
        "source_file": pl.String(),
        "row_no": pl.Int64(),
        "repeats": pl.Boolean(),
        "program_sha256": pl.String(),
    }
    return pl.DataFrame(schema=schema | {column.out: column.dtype for column in SPECS[name]})


def _with_their_steps(circuits: pl.DataFrame, lost_steps: list[Rejection]) -> pl.DataFrame:
    """Without the circuits whose own row has steps that cannot be used: they would look never on.

    A circuit that another row gives just so stays.
    """
    mapped = pl.col("repeats")
    return pl.concat([circuits.filter(~mapped), without(circuits.filter(mapped), lost_steps)]).sort("row_no")


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
