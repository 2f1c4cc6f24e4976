"""auditor template: a workbook to type a portfolio into."""

from pathlib import Path

import click

from auditor.commands.saying import say, say_text
from auditor.template import tables_markdown, write_template


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.xlsx", required=False)
@click.option("--empty", is_flag=True, help="Without the rows of examples.")
@click.option(
    "--markdown", is_flag=True, help="Print the tables and their columns as a Markdown table instead."
)
def template(file: Path | None, empty: bool, markdown: bool) -> None:
    """Write FILE.xlsx, a workbook to type a portfolio into: tables, examples, drop-downs and a guide."""
    if markdown:
        say_text(tables_markdown())
        return
    if file is None:
        raise click.UsageError("name the workbook that is to be written, such as portfolio.xlsx")
    write_template(file, with_examples=not empty)
    say(f"Template: {file.resolve()}. Its sheet Guide says how to fill it in.")
