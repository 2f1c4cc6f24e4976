"""auditor codes: what the energy codes ask of a schedule, as this program has them."""

from pathlib import Path

import click

from auditor.codes import code_list, edition_of, load_codes, told_difference, told_edition, told_fields
from auditor.commands.options import Folder
from auditor.commands.saying import say_text

own_codes = click.option(
    "--codes",
    "folder",
    type=Folder(),
    help="Folder with editions and amendments of your own, each a file *.toml.",
)


@click.command()
@click.argument("edition", required=False)
@click.argument("other", required=False)
@own_codes
@click.option("--fields", is_flag=True, help="What a file of your own may hold: fields, items, limits.")
def codes(edition: str | None, other: str | None, folder: Path | None, fields: bool) -> None:
    """List the code editions, tell EDITION item by item, or what differs between EDITION and OTHER."""
    if fields:
        if edition or folder:
            raise click.UsageError("--fields tells what any file may hold; ask for it alone")
        say_text(told_fields())
        return
    known = load_codes(folder)
    if edition is None:
        say_text(code_list(known))
    elif other is None:
        say_text(told_edition(edition_of(known, edition)))
    else:
        say_text(told_difference(edition_of(known, edition), edition_of(known, other)))
