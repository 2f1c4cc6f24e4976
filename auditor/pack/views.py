"""Facts of a site as pages: what stands together, and what is said first. No figure is made here."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from auditor.pack.drawings import for_printer
from auditor.pack.fixed import FORM, LONG_ANSWERS, SIGNATURES
from auditor.pack.items import named_rows, rows_text
from auditor.report.assets import assets
from auditor.report.drawn import with_pictures
from auditor.report.figures import plain
from auditor.report.links import page_name
from auditor.report.page import templates
from auditor.report.rows import Row, by_key
from auditor.store import Connection
from auditor.wording import place_words, short

CONTRARY, INSUFFICIENT, CONSISTENT, NOT_APPLICABLE = (
    *("contrary", "insufficient data", "consistent", "not applicable"),
)
OUTCOMES = (CONTRARY, INSUFFICIENT, CONSISTENT, NOT_APPLICABLE)
CELLS = {CONTRARY: "contra.", INSUFFICIENT: "insuff.", CONSISTENT: "consist.", NOT_APPLICABLE: "n/a"}
_KINDS = {"controller": "device", "site": "site"}


@dataclass(frozen=True)
class Page:
    """A page for a browser, and the same for a printer that knows no style of the page inside drawings."""

    screen: str
    print: str


def site_page(connection: Connection, facts: Row) -> Page:
    """The document of one site."""
    view = _view(connection, facts)
    foot = f"{facts['site']['site_id']} · {edition_words(facts['edition'])}"
    return _page("evidence/page.html.j2", view, ["report.css", "picture.css", "evidence/evidence.css"], foot)


def matrix_page(sites: Sequence[Row]) -> Page:
    """Sites against items, each outcome in letters."""
    titles = [
        {"place": item["place"], "title": item["title"], "tally": dict(_tally(sites, item["place"]))}
        for item in sites[0]["items"]
    ]
    rows = [
        {
            "site": facts["site"],
            "label": short(facts["site"]["name"] or facts["site"]["site_id"]),
            "page": page_name(facts["site"]["site_id"]),
            "edition": edition_words(facts["edition"]),
            "cells": [item["outcome"] for item in facts["items"]],
        }
        for facts in sites
    ]
    view = {
        "shared": sites[0],
        "titles": titles,
        "sites": rows,
        "outcomes": OUTCOMES,
        "cells": CELLS,
        "pictures": [],
    }
    style = ["report.css", "evidence/evidence.css", "evidence/matrix.css"]
    return _page("evidence/matrix.html.j2", view, style, "Sites and items")


def edition_words(edition: Row | None) -> str:
    """The edition by its title; its id where it is not among the codes."""
    if edition is None:
        return "no code edition known"
    return str(edition["title"] or f"{edition['id']} (not among the codes)")


def label_of(row: Row, key: str) -> str:
    """A name with its id behind it, or the id alone."""
    return f"{short(row['name'])} ({row[key]})" if row["name"] else str(row[key])


def _page(template: str, view: Row, styles: list[str], foot: str) -> Page:
    parts = assets(
        styles, last=f"@media print {{ @page {{ @bottom-left {{ content: {css_text(foot)}; }} }} }}\n"
    )
    page = templates("").get_template(template)
    plain = view | {"pictures": [row | {"picture": for_printer(row["picture"])} for row in view["pictures"]]}
    return Page(page.render(view | parts), page.render(plain | parts))


def css_text(text: str) -> str:
    """A text as a string of a style sheet: nothing in it can end the string or the element."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text) + '"'


def _view(connection: Connection, facts: Row) -> Row:
    names = {row["circuit_id"]: row["name"] for row in facts["circuits"] if row["name"]}
    items = [
        item
        | {"groups": _groups(item["rows"], names), "form": _form(item)}
        | {"tested": _groups(_tested(item), names), "kept": _kept(item, facts), "absent": _absent(item)}
        for item in facts["items"]
    ]
    return facts | {
        "label": facts["site"]["name"] or facts["site"]["site_id"],
        "edition_words": edition_words(facts["edition"]),
        "items": items,
        "outcomes": OUTCOMES,
        "counts": _counts(items),
        "loud": [item for item in items if item["outcome"] in (CONTRARY, INSUFFICIENT)],
        "memory": [item for item in items if any(row["from_memory"] for row in item["rows"])],
        "load": [row | {"sum": _sum(row, facts["circuits"])} for row in facts["connected_load"]],
        "place_words": place_words(facts["site"]["latitude"], facts["site"]["longitude"]),
        "pictures": list(_pictures(connection, facts, items)),
        "weakening": [row for row in facts["findings"] if row["why"]],
        "other_findings": [row for row in facts["findings"] if not row["why"]],
        "form": FORM,
        "long_answers": LONG_ANSWERS,
        "signatures": SIGNATURES,
        "rows_text": rows_text,
        "named_rows": named_rows,
    }


def _counts(items: Iterable[Row]) -> list[tuple[str, int]]:
    outcomes = [item["outcome"] for item in items]
    return [(outcome, outcomes.count(outcome)) for outcome in OUTCOMES]


def _tally(sites: Sequence[Row], place: int) -> list[tuple[str, int]]:
    """How many sites have each outcome of an item."""
    return _counts(item for facts in sites for item in facts["items"] if item["place"] == place)


def _groups(rows: Sequence[Row], names: Mapping[str, str]) -> list[Row]:
    """Rows of an item of which the same is said, together."""
    same = by_key(rows, lambda row: (row["outcome"], row["said"]))
    return [
        {"outcome": outcome, "said": said, "from_memory": found[0]["from_memory"]}
        | {"subjects": _subjects(found, names), "sources": rows_text(_sources(found))}
        for (outcome, said), found in same.items()
    ]


def _subjects(rows: Sequence[Row], names: Mapping[str, str]) -> str:
    """Subjects in words: "circuits A-1 (Yard), A-2", "device A"."""
    keys = [key for row in rows for key in row["subject_ids"]]
    ids = [f"{key} ({short(names[key], 30)})" if key in names else key for key in keys]
    kind = _KINDS.get(rows[0]["subject_kind"], "circuit")
    return f"{kind}{'s' if len(ids) > 1 else ''} {', '.join(ids)}"


def _sources(rows: Sequence[Row]) -> list[Row]:
    """The rows behind a group; where no table is read about a subject, the row that it stands in."""
    found = [part for row in rows for part in row["input_rows"]]
    found += [{"file": row["source"]["file"], "rows": [row["source"]["row"]]} for row in rows]
    return found


def _form(item: Row) -> bool:
    """Whether there is something to test: nothing of what is not applicable, but a claim can be looked at."""
    claims = not item["of_code"] and any(row["subject_kind"] != "site" for row in item["rows"])
    return item["outcome"] != NOT_APPLICABLE or claims


def _absent(item: Row) -> bool:
    """Whether a form is about light of which the export knows nothing: there is no circuit to be named."""
    return (
        item["of_code"]
        and bool(item["areas"])
        and all(row["subject_kind"] == "site" for row in _tested(item))
    )


def _tested(item: Row) -> list[Row]:
    """The rows that a form is about: what is not applicable is not tested beside what is."""
    rows = [row for row in item["rows"] if row["outcome"] != NOT_APPLICABLE]
    return rows or list(item["rows"])


def _kept(item: Row, facts: Row) -> str:
    """The circuits that stay lit through an item's test: "L5 (egress), L6 (security)"."""
    told = [row for row in facts["must_stay_lit"] if row["circuit_id"] in item["stay_lit"]]
    return ", ".join(f"{row['circuit_id']} ({row['why']})" for row in told)


def _sum(load: Row, circuits: Sequence[Row]) -> str:
    """The sum of an area's connected load, to be checked by hand: "450 + 1 200 = 1 650 W"."""
    watts = [row["connected_watts"] for row in circuits if row["area"] == load["area"]]
    known = [plain(value) for value in watts if value is not None]
    if not known:
        return "not known"
    return f"{' + '.join(known)} = {plain(load['watts'])} W" if len(known) > 1 else f"{known[0]} W"


def _pictures(connection: Connection, facts: Row, items: Sequence[Row]) -> Iterable[Row]:
    """The year of circuits of which an item says what their program shows, those that look alike once."""
    judged = {
        key
        for item in items
        for row in item["rows"]
        if row["outcome"] != NOT_APPLICABLE and any(part["table"] == "events" for part in row["input_rows"])
        for key in row["subject_ids"]
    }
    circuits = {row["circuit_id"]: row for row in facts["circuits"]}
    chosen = [
        {"circuits": [circuits[key] for key in program["circuits"] if key in judged]}
        for program in facts["sequence"]
    ]
    programs = [program for program in chosen if program["circuits"]]
    (drawn,) = with_pictures(connection, [{"programs": programs, "open": True}])
    for program in drawn["programs"]:
        for look in program["looks"]:
            if look["picture"]:
                yield {
                    "picture": look["picture"],
                    "circuits": [label_of(row, "circuit_id") for row in look["circuits"]],
                }
