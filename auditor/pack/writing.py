"""A pack as files: pages, facts, a matrix of several sites, their sums; same store, same bytes."""

import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from auditor import __version__
from auditor.codes import Codes
from auditor.evidence import evidence
from auditor.pack.facts import site_facts
from auditor.pack.paper import Paper, library, printed
from auditor.pack.views import matrix_page, site_page
from auditor.report.links import PATTERN, page_name
from auditor.report.rows import Row
from auditor.resources import resource
from auditor.results import replacing, write_text
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

    Returns the facts of each site. Files of an earlier pack in ``out`` whose sites are not asked for now
    are taken away. Raises UserError where a site or the edition is not known, or PDF cannot be made.
    """
    if asked.paper:
        library()  # said before anything is written
    found = evidence(connection, asked.sites, asked.edition, asked.codes)
    versions = {"name": "auditor", "version": __version__, "tzdb": tzdb_version()}
    sites = list(site_facts(connection, found, asked.codes, asked.edition, versions))
    out.mkdir(parents=True, exist_ok=True)
    written = [path for facts in sites for path in _write_site(connection, facts, asked.paper, out)]
    if len(sites) > 1:
        written += _write_matrix(sites, asked.paper, out)
    write_text(out / SCHEMA, (resource("reports") / "evidence/schema.json").read_text(encoding="utf-8"))
    _clear(out, {path.name for path in written})
    _write_sums(out, [*written, out / SCHEMA])
    return sites


def _write_site(connection: Connection, facts: Row, paper: Paper | None, out: Path) -> Iterable[Path]:
    page = out / page_name(facts["site"]["site_id"])
    html = site_page(connection, facts)
    write_text(page, html.screen)
    write_text(page.with_suffix(".json"), facts_text(facts))
    yield from (page, page.with_suffix(".json"))
    if paper:
        yield _write_pdf(page.with_suffix(".pdf"), printed(html.print, paper))


def _write_matrix(sites: Sequence[Row], paper: Paper | None, out: Path) -> Iterable[Path]:
    html = matrix_page(sites)
    write_text(out / MATRIX, html.screen)
    yield out / MATRIX
    if paper:
        yield _write_pdf((out / MATRIX).with_suffix(".pdf"), printed(html.print, paper, turned=True))


def _write_pdf(path: Path, content: bytes) -> Path:
    with replacing(path) as draft:
        draft.write_bytes(content)
    return path


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


def _clear(out: Path, kept: set[str]) -> None:
    """Takes away what an earlier pack left about sites that are not in this one: it would be believed."""
    ours = {MATRIX, str(Path(MATRIX).with_suffix(".pdf"))}
    for path in out.iterdir():
        page = PATTERN.fullmatch(path.with_suffix(".html").name) and path.suffix in (".html", ".json", ".pdf")
        if path.name not in kept and (page or path.name in ours):
            path.unlink()


def _write_sums(out: Path, paths: Iterable[Path]) -> None:
    """A line a file, as sha256sum writes and checks them."""
    digests = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in paths}
    write_text(out / SUMS, "".join(f"{digests[name]}  {name}\n" for name in sorted(digests)))
