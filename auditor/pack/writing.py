"""A pack as files: pages, facts, a matrix of several sites, their sums; same store, same bytes."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from auditor import __version__
from auditor.codes import Codes
from auditor.evidence import evidence
from auditor.pack.facts import site_facts
from auditor.pack.paper import Paper, library, printed
from auditor.pack.views import Page, matrix_page, site_page
from auditor.report.links import PATTERN, page_name
from auditor.report.rows import Row
from auditor.resources import resource
from auditor.results import digests, replacing, replacing_in, write_text
from auditor.store import Connection
from auditor.zones import tzdb_version

SUMS = "SHA256SUMS"
SCHEMA = "evidence.schema.json"
MATRIX = "matrix.html"


@dataclass(frozen=True)
class Asked:
    """Which sites, by which edition (None: each site's own) of which codes; ``paper``: PDF, too."""

    sites: Sequence[str]
    edition: str | None
    codes: Codes
    paper: Paper | None = None


def write_packs(connection: Connection, asked: Asked, out: Path) -> list[Row]:
    """Writes a page and a JSON file a site, their schema, a matrix of several sites, and SHA256SUMS.

    Returns the facts of each site. The pack comes whole or not at all. Files of an earlier pack in ``out``
    whose sites are not asked for now are taken away. Raises UserError where a site or the edition is not
    known, PDF cannot be made, or ``out`` cannot be written.
    """
    if asked.paper:
        library()  # said before anything is written
    found = evidence(connection, asked.sites, asked.edition, asked.codes)
    versions = {"name": "auditor", "version": __version__, "tzdb": tzdb_version()}
    sites = list(site_facts(connection, found, asked.codes, asked.edition, versions))
    with replacing_in(out, SUMS, _earlier) as draft:
        _write(connection, sites, asked.paper, draft)
    return sites


def _write(connection: Connection, sites: Sequence[Row], paper: Paper | None, out: Path) -> None:
    for facts in sites:
        _write_site(connection, facts, paper, out)
    if len(sites) > 1:
        _write_page(out / MATRIX, matrix_page(sites), paper, turned=True)
    write_text(out / SCHEMA, (resource("reports") / "evidence/schema.json").read_text(encoding="utf-8"))
    _write_sums(out)


def _write_site(connection: Connection, facts: Row, paper: Paper | None, out: Path) -> None:
    page = out / page_name(facts["site"]["site_id"])
    _write_page(page, site_page(connection, facts), paper)
    write_text(page.with_suffix(".json"), facts_text(facts))


def _write_page(path: Path, page: Page, paper: Paper | None, turned: bool = False) -> None:
    write_text(path, page.screen)
    if paper:
        with replacing(path.with_suffix(".pdf")) as draft:
            draft.write_bytes(printed(page.print, paper, turned))


def facts_text(facts: Row) -> str:
    """The facts as JSON; instants in UTC end in Z, what a clock shows has no offset."""
    return json.dumps(_spelled(facts, ""), indent=1, ensure_ascii=False) + "\n"


def _spelled(value: object, name: str) -> object:
    if isinstance(value, dict):
        return {key: _spelled(part, key) for key, part in value.items()}
    if isinstance(value, list):
        return [_spelled(part, name) for part in value]
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%dT%H:%M:%S}" + ("Z" if name.endswith("_utc") else "")
    return value.isoformat() if isinstance(value, date) else value


def _earlier(out: Path) -> list[str]:
    """What an earlier pack left: about sites that are not in this one it would be believed."""
    ours = {MATRIX, str(Path(MATRIX).with_suffix(".pdf"))}
    return [path.name for path in out.iterdir() if path.name in ours or _is_page(path)]


def _is_page(path: Path) -> bool:
    return path.suffix in (".html", ".json", ".pdf") and bool(
        PATTERN.fullmatch(path.with_suffix(".html").name)
    )


def _write_sums(out: Path) -> None:
    """A line a file, as sha256sum writes and checks them."""
    write_text(out / SUMS, "".join(f"{digest}  {name}\n" for name, digest in digests(out).items()))
