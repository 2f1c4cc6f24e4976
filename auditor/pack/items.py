"""The items of a site with what each asks, how firm that is, how it came out, and where that comes from."""

from collections.abc import Iterable, Mapping, Sequence

from auditor.codes import CodeItem, Codes
from auditor.codes.edition import Basis
from auditor.codes.telling import limit_words, rests_on_memory, window_text
from auditor.evidence import Evidence
from auditor.report.rows import Groups, Row, by

_COUNTS = ("contrary", "insufficient", "consistent", "not_applicable")


class Decided:
    """The outcomes of a pack, site by site."""

    def __init__(self, found: Evidence, codes: Codes) -> None:
        self._codes = codes
        self._outcomes = by(found.outcomes, "site_id")
        self._rows = by(found.rows, "site_id", "item")
        self._sources = by(found.sources, "site_id", "item", "subject_kind", "subject_id")

    def items(self, site_id: str) -> list[Row]:
        """Every item of a site, in the order of a report."""
        return [self._item(outcome) for outcome in self._outcomes.get(site_id, [])]

    def _item(self, outcome: Row) -> Row:
        site_id, key = outcome["site_id"], outcome["item"]
        edition = self._codes.get(outcome["edition"] or "")
        asks = edition.items.get(key) if edition else None
        rows = self._rows[site_id, key]
        return {
            "place": outcome["place"],
            "item": key,
            "title": outcome["title"],
            "of_code": outcome["of_code"],
            **asked_words(asks),
            "outcome": outcome["outcome"],
            "subjects": {name: outcome[name] for name in _COUNTS},
            "rows": [self._row(row) for row in rows],
            "test": rows[0]["test"],
        }

    def _row(self, row: Row) -> Row:
        found = self._sources.get((row["site_id"], row["item"], row["subject_kind"], row["subject_id"]), [])
        return {
            "subject_kind": row["subject_kind"],
            "subject_ids": row["subject_id"].split(";")
            if row["subject_kind"] == "group"
            else [row["subject_id"]],
            **{name: row[name] for name in ("outcome", "said", "first_date", "last_date", "example_local")},
            **{name: row[name] for name in ("minutes", "kwh", "clause", "from_memory")},
            "source": {"file": row["source_file"], "row": row["source_row"]},
            "input_rows": input_rows(found),
        }


def staying(rows: Iterable[Row], facts: Row) -> list[str]:
    """Circuits that must stay lit on the devices that a test of these rows may switch; of the whole site,
    where a row is about the site."""
    told = [row for row in rows if row["outcome"] != "not applicable"] or list(rows)
    ids = {key for row in told for key in row["subject_ids"]}
    devices = {row["controller_id"] for row in facts["circuits"] if row["circuit_id"] in ids} | ids
    whole = any(row["subject_kind"] == "site" for row in told)
    return [row["circuit_id"] for row in facts["must_stay_lit"] if whole or row["controller_id"] in devices]


def asked_words(asks: CodeItem | None) -> Row:
    """What an edition asks, in own words, with mark and source; blanks where there is nothing to be told."""
    return {
        "asked": bool(asks and asks.asked),
        "clause": asks.clause if asks else None,
        "requirement": asks.requirement if asks else None,
        "areas": list(asks.areas) if asks else [],
        "basis": basis(asks.basis) if asks else None,
        "rests_on_memory": rests_on_memory(asks) if asks else False,
        "limits": [{"words": limit_words(part), **basis(part.basis)} for part in asks.limits] if asks else [],
        "windows": [{"words": window_text(part), **basis(part.basis)} for part in asks.windows]
        if asks
        else [],
        "exceptions": [
            {"words": part.words, "tag": part.tag, "site_types": list(part.site_types), **basis(part.basis)}
            for part in (asks.exceptions if asks else ())
        ],
    }


def basis(found: Basis) -> Row:
    """How firm something is."""
    return {"mark": found.mark, "confidence": found.confidence, "source": found.source}


def input_rows(sources: Iterable[Row]) -> list[Row]:
    """The rows of input files behind a row of the evidence."""
    return [
        {"table": found["input"], "file": found["source_file"], "rows": found["source_rows"]}
        for found in sources
    ]


def rows_text(sources: Sequence[Mapping[str, object]]) -> str:
    """Files and rows in words: "circuits.csv 242; events.csv 12–15, 18"."""
    files: Groups = by((dict(found) for found in sources), "file")
    told = {file: sorted({row for part in parts for row in part["rows"]}) for file, parts in files.items()}
    return "; ".join(f"{file} {_ranges(rows)}" for file, rows in told.items())


def named_rows(rows: Sequence[Row]) -> str:
    """Rows with the id that each has: "step 1: events.csv row 2; sensor P: sensors.csv row 3"."""
    kinds = {"events": "step", "sensors": "sensor", "circuits": "circuit"}
    return "; ".join(f"{kinds[row['table']]} {row['id']}: {row['file']} row {row['row']}" for row in rows)


def _ranges(rows: Sequence[int]) -> str:
    """Numbers in order, neighbours joined: "12–15, 18"."""
    ranges: list[list[int]] = []
    for row in rows:
        if ranges and row == ranges[-1][1] + 1:
            ranges[-1][1] = row
        else:
            ranges.append([row, row])
    return ", ".join(str(first) if first == last else f"{first}–{last}" for first, last in ranges)
