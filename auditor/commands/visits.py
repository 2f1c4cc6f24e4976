"""auditor visits: who goes where."""

from datetime import date
from pathlib import Path

import click

from auditor.commands.options import Folder, start_date
from auditor.commands.saying import say, say_text
from auditor.visits import Crews, make_plan, read_work, told, work_store, write_plan

_Place = tuple[float, float]


def _places(_: click.Context, __: click.Parameter, values: tuple[str, ...]) -> tuple[_Place, ...]:
    return tuple(map(_place, values))


def _place(value: str) -> _Place:
    try:
        north, east = map(float, value.split(","))
    except ValueError:
        raise click.BadParameter(f'"{value}" is no place; write degrees like 52.45,-1.73') from None
    if not (abs(north) <= 90 and abs(east) <= 180):  # nor is what is not a number
        raise click.BadParameter(f'"{value}" is not on the globe; degrees north come first')
    return north, east


@click.command()
@click.option(
    "--store",
    type=click.Path(path_type=Path),
    required=True,
    help="What auditor run --store kept.",
)
@click.option("--days", type=click.IntRange(1, 20), required=True, help="Days to plan.")
@click.option("--crews", type=click.IntRange(1, 10), help="Crews that go out each day [default: one a base].")
@click.option(
    "--base",
    "bases",
    metavar="LAT,LON",
    multiple=True,
    callback=_places,
    help="Where crews start and end a day; several: given to the crews in turn.",
)
@click.option("--start", callback=start_date, help="Date of the first day; then on, Monday to Friday.")
@click.option(
    "--out",
    type=Folder(),
    default=Path("visits"),
    show_default=True,
    help="Folder for the plan.",
)
def visits(
    store: Path,
    days: int,
    crews: int | None,
    bases: tuple[_Place, ...],
    start: date | None,
    out: Path,
) -> None:
    """Plan who goes where: sites with work that no desk can do, critical ones first."""
    with work_store(store, out) as connection:
        plan = make_plan(read_work(connection), Crews(days, crews or max(1, len(bases)), bases, start))
        write_plan(connection, plan, out)
    say_text(told(plan))
    say(f"Cards: {(out / 'visits.html').resolve()}")
