"""What options of several commands mean."""

from datetime import date
from os import PathLike
from pathlib import Path
from typing import Any

import click

from auditor.errors import UserError

_YEARS = range(1970, 2200)  # of audited dates, as far as the input's instants may reach


class Folder(click.ParamType[Path]):
    """A path that is a folder, or that may become one."""

    name = "directory"

    def convert(self, value: str | PathLike[str], *_: Any) -> Path:
        """The path as it was typed."""
        if Path(value).is_file():
            raise UserError(f"{value} is a file and no folder; name another.")
        return Path(value)


def start_date(_: click.Context, __: click.Parameter, value: str | None) -> date | None:
    """A date as it was typed."""
    if value is None:
        return None
    try:
        day = date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter("write a date like 2026-11-01") from None
    if day.year not in _YEARS:
        raise click.BadParameter(f"give a year from {_YEARS[0]} to {_YEARS[-1]}")
    return day
