"""auditor codes: what the energy codes ask of a schedule, as this program has them."""

from pathlib import Path

import click

from auditor.codes import code_list, edition_of, load_codes, told_difference, told_edition

own_codes = click.option(
    "--codes",
    "folder",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    help="Folder with editions and amendments of your own, each a file *.toml.",
)


@click.command()
@click.argument("edition", required=False)
@click.argument("other", required=False)
@own_codes
def codes(edition: str | None, other: str | None, folder: Path | None) -> None:
    """List the code editions, tell EDITION item by item, or what differs between EDITION and OTHER."""
    known = load_codes(folder)
    if edition is None:
        click.echo(code_list(known))
    elif other is None:
        click.echo(told_edition(edition_of(known, edition)))
    else:
        click.echo(told_difference(edition_of(known, edition), edition_of(known, other)))
