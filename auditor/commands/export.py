"""auditor export: a kept store as a calendar."""

from pathlib import Path

import click

from auditor.agenda import Whose, write_agenda
from auditor.commands.saying import say
from auditor.errors import UserError
from auditor.wording import counted


@click.command()
@click.option(
    "--store", type=click.Path(path_type=Path), required=True, help="What auditor run --store kept."
)
@click.option("--controller", metavar="ID", help="Whose: a controller and what hangs on it.")
@click.option("--site", metavar="ID", help="Or a site.")
@click.option(
    "--ics", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The calendar file."
)
@click.option("--findings", is_flag=True, help="The dates of open findings, not when circuits are on.")
def export(store: Path, controller: str | None, site: str | None, ics: Path, findings: bool) -> None:
    """Write the audited year of a controller or a site as a calendar (iCalendar)."""
    if (controller is None) == (site is None):
        raise UserError("name either a --controller or a --site.")
    written, undated = write_agenda(store, Whose(controller, site), ics, findings)
    say(f"Calendar: {ics.resolve()} ({counted(written, 'event')}).")
    if undated:
        say(f"{counted(undated, 'finding has', 'findings have')} no date and stand in the report only.")
