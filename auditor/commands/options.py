"""What options of several commands mean."""

import re
from collections.abc import Callable
from datetime import date
from functools import wraps
from os import PathLike
from pathlib import Path
from typing import Any

import click

from auditor.errors import UserError
from auditor.store import Engine

_YEARS = range(1970, 2200)  # of audited dates, as far as the input's instants may reach


class Folder(click.ParamType[Path]):
    """A path that is a folder, or that may become one."""

    name = "directory"

    def convert(self, value: str | PathLike[str], *_: Any) -> Path:
        """The path as it was typed."""
        if Path(value).exists() and not Path(value).is_dir():
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


def _cluster(_: click.Context, __: click.Parameter, value: str) -> str:
    """How many processes, or an address, as it was typed."""
    if value and not re.fullmatch(r"[1-9]\d{0,2}|(tcp|tls)://\S+:\d+", value):
        raise click.BadParameter("write a number of processes from 1 to 999, or tls://HOST:PORT")
    return value


def of_machine(command: Callable[..., None]) -> Callable[..., None]:
    """Options of what a run may take, for a command that is given them as ``engine``."""

    @click.option(
        "--threads",
        type=click.IntRange(1, 256),
        default=Engine.threads,
        help="Batches of sites at a time [default: the number of cores].",
    )
    @click.option(
        "--memory",
        type=click.IntRange(200, 1_000_000),
        default=Engine.memory_mib,
        show_default=True,
        help="MiB for the engine, beyond which it writes to disk.",
    )
    @click.option(
        "--cluster",
        default="",
        metavar="WHERE",
        callback=_cluster,
        help="Who works out the year: the address of a Dask scheduler, or how many processes here.",
    )
    @wraps(command)
    def given(threads: int, memory: int, cluster: str, **more: Any) -> None:
        command(engine=Engine(threads, memory, cluster), **more)

    return given
