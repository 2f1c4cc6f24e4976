"""The report as files: a front page, and a page for each of the first sites by rank."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from auditor.model import Rule, Settings
from auditor.report.assets import assets
from auditor.report.drawn import with_pictures
from auditor.report.front import front_view
from auditor.report.links import FOLDER, Places, page_name
from auditor.report.page import templates
from auditor.report.rows import Row, scope
from auditor.report.sites import site_views
from auditor.results import write_text
from auditor.store import Connection

PAGES = 500  # sites that have a page of their own, where nobody asks for another number


def write_report(
    connection: Connection,
    out: Path,
    rules: Sequence[Rule],
    settings: Settings,
    facts: Mapping[str, Any],
    pages: int = PAGES,
) -> None:
    """Writes report.html, rules.html, and in the folder sites a page for each of the first ``pages`` by rank.

    ``facts`` is the content of run.json. No time of day is in it: the same store gives the same bytes.
    """
    scope(connection, pages)
    known = {rule.name: rule for rule in rules}
    front = front_view(connection, known, settings, facts, Places(pages))
    sites = with_pictures(connection, site_views(connection, known, settings))
    _write_sites(out / FOLDER, sites, front)
    template = templates(settings.currency).get_template
    style = ["report.css", "front/front.css"]
    write_text(out / "rules.html", template("rules/page.html.j2").render(front | assets(style)))
    listing = front | assets([*style, "front/map.css"], ["front/list.js"])
    write_text(out / "report.html", template("front/page.html.j2").render(listing))


def _write_sites(folder: Path, sites: Iterable[Row], front: Row) -> None:
    folder.mkdir(exist_ok=True)
    page = templates(front["settings"].currency).get_template("site/page.html.j2")
    shared = front | assets(["report.css", "visits.css", "picture.css", "site/site.css"], ["picture.js"])
    for site in sites:
        write_text(folder / page_name(site["site_id"]), page.render(shared | {"site": site}))
