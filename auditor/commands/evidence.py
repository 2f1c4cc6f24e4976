"""auditor evidence: what the schedules of a site show of an energy code, for a reviewer."""

from pathlib import Path
from typing import cast

import click

from auditor.codes import load_codes
from auditor.commands.codes import own_codes
from auditor.commands.options import Folder
from auditor.commands.saying import say
from auditor.kept import FORMAT, kept_store
from auditor.pack import Asked, write_packs
from auditor.pack.paper import PAPERS, Paper


@click.command()
@click.option(
    "--store", type=click.Path(path_type=Path), required=True, help="What auditor run --store kept."
)
@click.option("--site", "sites", metavar="ID", multiple=True, help="A site; several, one after another.")
@click.option("--all-sites", is_flag=True, help="Every site of the store.")
@click.option("--code", "edition", metavar="EDITION", help="Code edition [default: each site's own].")
@own_codes
@click.option(
    "--out",
    type=Folder(),
    default=Path("evidence"),
    show_default=True,
    help="Folder for the pack.",
)
@click.option("--pdf", is_flag=True, help="Each page as PDF, too (needs the extra pdf).")
@click.option("--paper", type=click.Choice(PAPERS), default="a4", show_default=True, help="Of the PDF.")
def evidence(
    store: Path,
    sites: tuple[str, ...],
    all_sites: bool,
    edition: str | None,
    folder: Path | None,
    out: Path,
    pdf: bool,
    paper: str,
) -> None:
    """Prepare evidence for a code reviewer: a document a site, item by item, with its sources."""
    if sites and all_sites:
        raise click.UsageError("--site and --all-sites were both given; keep one of them")
    if not (sites or all_sites):
        raise click.UsageError("name sites with --site ID, or ask for all with --all-sites")
    codes = load_codes(folder)
    with kept_store(store, FORMAT) as connection:
        known = connection.execute("SELECT site_id FROM sites ORDER BY site_id").fetchall()
        chosen = [site for (site,) in known] if all_sites else list(dict.fromkeys(sites))
        asked = Asked(chosen, edition, codes, cast(Paper, paper) if pdf else None)
        made = write_packs(connection, asked, out)
    for facts in made:
        say(_line(facts["site"]["site_id"], [item["outcome"] for item in facts["items"]]))
    say(f"Pack: {out.resolve()}")


def _line(site_id: str, outcomes: list[str]) -> str:
    loud = ("contrary", "insufficient data", "consistent", "not applicable")
    return f"{site_id}: {', '.join(f'{outcomes.count(outcome)} {outcome}' for outcome in loud)}"
