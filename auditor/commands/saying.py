"""How commands print: what people wrote into tables, maps and rules is shown and never obeyed."""

import click

from auditor.letters import printable


def say(*lines: str, err: bool = False) -> None:
    """Prints each as one line, whatever stands in the names that it holds."""
    click.echo("\n".join(map(printable, lines)), err=err)


def say_text(text: str, err: bool = False) -> None:
    """Prints a text of several lines. Names in it must be ``printable`` already: else they may add a line."""
    say(*text.expandtabs(4).split("\n"), err=err)
