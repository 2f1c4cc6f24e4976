"""The commands: the only room that prints or exits."""

import sys
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

from auditor import __version__, audit
from auditor.errors import UserError
from auditor.model import SEVERITIES
from auditor.rules import load_rules
from auditor.skylight import sun_table
from auditor.wording import nearest

_OUT = click.option("--out", type=click.Path(path_type=Path, file_okay=False), required=True, help="Results folder.")


class _Commands(click.Group):
    def main(self, *args: Any, **kwargs: Any) -> Any:
        """One sentence and exit status 2 for everything that a user can mend."""
        try:
            return super().main(*args, **kwargs)
        except UserError as error:
            click.echo(f"auditor: {error}", err=True)
            sys.exit(2)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="auditor")
def main() -> None:
    """Audits the lighting time-switch schedules of many sites and ranks what is wrong where."""


def _start(_: click.Context, __: click.Parameter, value: str | None) -> date | None:
    try:
        return date.fromisoformat(value) if value else None
    except ValueError:
        raise click.BadParameter("write a date like 2026-11-01") from None


_PERIOD = (
    click.option("--start", callback=_start, help="First audited date [default: first of the newest reading's month]."),
    click.option("--days", type=click.IntRange(1, 3660), default=365, show_default=True, help="Audited dates."),
)


@main.command()
@click.argument("portfolio", type=click.Path(path_type=Path, exists=True))
@_OUT
@_PERIOD[0]
@_PERIOD[1]
@click.option("--store", type=click.Path(path_type=Path, dir_okay=False), help="Keep the DuckDB store in this file.")
@click.option("--fail-on", type=click.Choice(SEVERITIES), help="Exit 1 where an open finding is at least this severe.")
def run(portfolio: Path, out: Path, start: date | None, days: int, store: Path | None, fail_on: str | None) -> None:
    """Audit PORTFOLIO, a folder of CSV or Parquet tables or one workbook."""
    outcome = audit.audit(portfolio, out, start, days, store, _progress)
    _say(outcome, out)
    worst = SEVERITIES[: SEVERITIES.index(fail_on) + 1] if fail_on else ()
    sys.exit(1 if any(outcome.open_findings[severity] for severity in worst) else 0)


@main.command()
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("audit-demo"), show_default=True)
def demo(out: Path) -> None:
    """Audit the demo portfolio: an invented network of libraries, museums and depots."""
    _say(audit.audit(audit.demo_folder(), out, None, 365, None, _progress), out)


@main.command(context_settings={"ignore_unknown_options": True})
@click.argument("latitude", type=click.FloatRange(-90, 90))
@click.argument("longitude", type=click.FloatRange(-180, 180))
@click.option("--zone", required=True, help="IANA time zone, such as Europe/Oslo.")
@click.option("--start", required=True, callback=_start, help="First date.")
@click.option("--days", type=click.IntRange(1, 36600), default=1, show_default=True)
def sun(latitude: float, longitude: float, zone: str, start: date, days: int) -> None:
    """Sun times at a place, as CSV: degrees north and east, negative ones as they are."""
    click.echo("date,sunrise_utc,sunset_utc,dawn_utc,dusk_utc")
    for day, *moments in sun_table(latitude, longitude, zone, start, days):
        click.echo(",".join([day.isoformat(), *map(_utc_text, moments)]))


def _utc_text(moment: datetime | None) -> str:
    return f"{moment:%Y-%m-%dT%H:%M:%SZ}" if moment else ""


@main.command()
@click.argument("name", required=False)
def rules(name: str | None) -> None:
    """List the rules, or explain the one called NAME."""
    known = {rule.name: rule for rule in load_rules()}
    if name is None:
        for rule in known.values():
            click.echo(f"{rule.name:24} {rule.severity:9} {rule.title}")
    elif name not in known:
        raise UserError(f'there is no rule "{name}"; did you mean "{nearest(name, list(known))}"?')
    else:
        rule = known[name]
        settings = "\n".join(f"  {key} = {rule.params[key]}   # {rule.units[key]}" for key in rule.params)
        click.echo(f"{rule.name}: {rule.title}\nseverity {rule.severity}, subject {rule.subject}\n\n{rule.prose}")
        click.echo(f"\nThresholds, under [rules.{rule.name}] in portfolio.toml:\n{settings}" if settings else "")


def _progress(stage: str, length: int) -> Callable[[Any], None]:
    """A bar on standard error; nothing at all where that is not a terminal."""
    bar = click.progressbar(length=length, label=f"{stage:8}", file=sys.stderr, hidden=not sys.stderr.isatty())
    bar.render_progress()

    def advance(step: Any) -> None:
        bar.update(step if isinstance(step, int) else 1)
        if bar.finished:
            bar.render_finish()

    return advance


def _say(outcome: audit.Outcome, out: Path) -> None:
    for notice in outcome.notices:
        click.echo(f"note: {notice}", err=True)
    rows = outcome.facts["rows"]
    click.echo(f"{rows['kept']} of {rows['rows']} rows audited; {rows['rejected']} rejected (see rejected.csv).")
    counted = ", ".join(f"{number} {severity}" for severity, number in outcome.open_findings.items())
    click.echo(f"Open findings: {counted}.")
    click.echo(f"Report: {(out / 'report.html').resolve()}")
