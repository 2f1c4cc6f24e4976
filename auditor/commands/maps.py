"""auditor map and auditor check: from an unfamiliar file to a map that runs."""

import sys
from datetime import date
from pathlib import Path

import click

from auditor.commands.options import start_date
from auditor.commands.saying import say, say_text
from auditor.mapping import draft, preview
from auditor.results import write_file

_FILES = click.Path(path_type=Path)


@click.command("map")
@click.argument("files", nargs=-1, required=True, type=_FILES, metavar="FILE...")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="Write the draft here instead.")
@click.option(
    "--only", default="*", metavar="NAME", help="The sheet, or the file in an archive, that is meant."
)
def draft_map(files: tuple[Path, ...], out: Path | None, only: str) -> None:
    """Draft a map of FILE, an export or several of one kind: what is recognised, and what is to be asked."""
    text = draft(files, out, only)
    if out is None:
        say_text(text.removesuffix("\n"))
        return
    write_file(out, text)
    say(f"Draft: {out}. Answer its questions, then see: auditor check {out}")


@click.command()
@click.argument("maps", nargs=-1, required=True, type=_FILES, metavar="MAP...")
@click.option(
    "--start",
    callback=start_date,
    help="Calendars: the first date of the year that is shown [default: by the readings that the maps give].",
)
def check(maps: tuple[Path, ...], start: date | None) -> None:
    """Show what MAP makes of its files: ten rows before and after, words without a translation, accounts.

    Exit status 0: all is translated; 1: something is not; 2: a map or a file cannot be read.
    """
    shown = preview(maps, first=start)
    say(*shown.lines)
    sys.exit(1 if shown.rejected else 0)
