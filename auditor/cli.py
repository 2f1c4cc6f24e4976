"""The commands: the only room that prints or exits."""

import signal
import sys
import traceback
from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import Any, NoReturn

import click

from auditor import __version__, audit
from auditor.actions import DISPOSITIONS, record
from auditor.commands import (
    Folder,
    check,
    codes,
    draft_map,
    evidence,
    export,
    of_machine,
    start_date,
    sun,
    template,
    visits,
)
from auditor.commands.saying import say, say_text
from auditor.day import SiteDay, tell, text
from auditor.errors import UserError
from auditor.explain import explained, rule_list, rule_table, shell_sql
from auditor.files import command as in_mind
from auditor.history import history, months_csv, months_text
from auditor.letters import json_text
from auditor.loading import contract_sources
from auditor.model import SEVERITIES
from auditor.normalise.values import time_of_day
from auditor.ownrules import SECONDS, own_rules, try_own_rules
from auditor.report import PAGES
from auditor.results import write_file
from auditor.rules import load_rules
from auditor.stopping import SAID, Stopped, asked
from auditor.store import Engine, out_of_memory
from auditor.summary import FORMS, summary_text
from auditor.wording import counted, drift_text, files_text, lost_rows, nearest, rows_text
from auditor.workplace import out_of_room, scratch

_FOLDER = Folder()
_LEFT = 141  # where nobody reads on what is printed: 128 and the number of SIGPIPE, as shells have it


class _Commands(click.Group):
    def main(self, *args: Any, **kwargs: Any) -> Any:
        """One sentence and exit status 2 for everything that a user can mend.

        A fault of the program itself gives its trace and 2 as well: 1 is left to what an audit found. A
        signal gives a sentence, too.
        """
        printed_to = sys.stdout
        try:
            sys.exit(super().main(*args, **{**kwargs, "standalone_mode": False}) or 0)
        except SystemExit as end:  # for a reader who left, click puts another stream there and exits with 1
            sys.exit(end.code if sys.stdout is printed_to else _LEFT)
        except (Stopped, click.Abort) as stop:
            _end(stop if isinstance(stop, Stopped) else Stopped(signal.SIGINT))
        except Exception as error:
            if asked():  # the engine makes a RuntimeError of a query that a signal interrupts
                _end(Stopped(asked()))
            say_text(
                _sentence(out_of_room(error) or out_of_memory(error) or error) or traceback.format_exc(),
                err=True,
            )
            sys.exit(2)


def _end(stop: Stopped) -> NoReturn:
    if sys.stderr.isatty():
        click.echo("\033[?25h", err=True)  # a progress bar hides the cursor, and leaves its line open
    say(SAID, err=True)
    sys.exit(stop.status)


def _sentence(error: Exception) -> str:
    if isinstance(error, UserError):
        return f"auditor: {error}"
    if isinstance(error, click.ClickException):
        message = error.format_message()
        return (
            f"auditor: {message}" if message.endswith("?") else f"auditor: {message.rstrip('.')}; see --help."
        )
    if isinstance(error, OSError) and error.filename:
        return f"auditor: {error.filename}: {error.strerror}; check the path and its permissions."
    return ""


@click.group(
    cls=_Commands, invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]}
)
@click.version_option(__version__, prog_name="auditor")
@click.pass_context
def main(context: click.Context) -> None:
    """Audits the lighting time-switch schedules of many sites and ranks what is wrong where."""
    if context.invoked_subcommand is None:
        say_text(context.get_help())
    else:
        context.with_resource(in_mind())
        context.with_resource(scratch())


for command in (visits, codes, evidence, export, draft_map, check, template, sun):
    main.add_command(command)

_own_rules = click.option(
    "--rules",
    "folder",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    help="Folder with rules of your own, each a file NAME.sql.",
)


@main.command()
@click.argument("portfolio", type=click.Path(path_type=Path), nargs=-1, required=True)
@click.option("--out", type=_FOLDER, required=True, help="Results folder.")
@click.option(
    "--start", callback=start_date, help="First audited date [default: 1st of the newest reading's month]."
)
@click.option("--days", type=click.IntRange(1, 3660), default=365, show_default=True, help="Audited dates.")
@click.option("--store", type=click.Path(path_type=Path, dir_okay=False), help="Keep the DuckDB store here.")
@click.option(
    "--fail-on", type=click.Choice(SEVERITIES), help="Exit 1 on an open finding this severe or worse."
)
@click.option("--summary", "form", type=click.Choice(FORMS), help="Say it in ten lines, fit for a mail.")
@_own_rules
@click.option(
    "--rule-seconds",
    type=click.IntRange(1, 3600),
    default=SECONDS,
    show_default=True,
    help="Time that each of your own rules may take.",
)
@click.option(
    "--pages",
    type=click.IntRange(min=10),
    default=PAGES,
    show_default=True,
    help="Sites with a page of their own, first by rank.",
)
@of_machine
def run(
    portfolio: tuple[Path, ...],
    out: Path,
    start: date | None,
    days: int,
    store: Path | None,
    fail_on: str | None,
    form: str | None,
    folder: Path | None,
    rule_seconds: int,
    pages: int,
    engine: Engine,
) -> None:
    """Audit PORTFOLIO: a folder of CSV or Parquet tables, one workbook, or maps of other exports."""
    outcome = _audit(form, portfolio, out, start, days, store, folder, rule_seconds, pages, engine)
    worst = SEVERITIES[: SEVERITIES.index(fail_on) + 1] if fail_on else ()
    sys.exit(1 if any(outcome.open_findings[severity] for severity in worst) else 0)


@main.command()
@click.option("--out", type=_FOLDER, default=Path("audit-demo"), show_default=True, help="Results folder.")
def demo(out: Path) -> None:
    """Audit the demo portfolio: an invented network of libraries, museums and depots."""
    _audit(None, (audit.demo_folder(),), out, None, 365, None)


def _audit(
    form: str | None,
    sources: tuple[Path, ...],
    out: Path,
    start: date | None,
    days: int,
    store: Path | None,
    *own: Any,
) -> audit.Outcome:
    if out.resolve() in [source.resolve() for source in contract_sources(sources)]:
        raise UserError(f"{out} holds the portfolio, whose tables the results would replace; name another.")
    outcome = audit.audit(sources, out, start, days, store, _progress, *own)
    _say(outcome, out, form)
    return outcome


@main.command("history")
@click.option("--store", type=click.Path(path_type=Path, dir_okay=False), required=True, help="A kept store.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="Write it as CSV, too.")
def months(store: Path, out: Path | None) -> None:
    """What the runs of a kept store come to, a line a month, and which clocks drift."""
    found, drifting = history(store)
    if out:
        write_file(out, months_csv(found))
    say_text(months_text(found))
    for clock in drifting:
        say(drift_text(clock))


@main.command()
@click.argument("finding")
@click.argument("disposition", type=click.Choice(DISPOSITIONS))
@click.option("--by", required=True, metavar="NAME", help="Who did, ordered or declined it.")
@click.option("--note", default="", metavar="TEXT", help="What was done, or why not.")
@click.option("--date", "when", callback=start_date, help="When [default: today].")
@click.option("--portfolio", type=_FOLDER, default=Path(), help="Folder of tables [default: this folder].")
def act(finding: str, disposition: str, by: str, note: str, when: date | None, portfolio: Path) -> None:
    """Record in actions.csv what was done about FINDING: ordered, done or declined."""
    today = date.today()
    if when and when > today:
        raise UserError(f"--date {when} is still to come; record it when it has been done.")
    path = record(portfolio, finding, disposition, when or today, by, note)
    say(f"Added to {path}; the next audit shows it beside the finding.")


@main.command()
@click.argument("site")
@click.argument("when", metavar="DATE", callback=start_date)
@click.option(
    "--portfolio",
    type=click.Path(path_type=Path),
    default=Path.cwd,
    help="Folder or workbook [default: this folder].",
)
@click.option("--at", metavar="HH:MM", help="Say of every circuit what it does at this local time, and why.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for scripts.")
def day(site: str, when: date, portfolio: Path, at: str | None, as_json: bool) -> None:
    """What every circuit of SITE does on DATE, and why, in true local time and on its device's clock."""
    told = tell(SiteDay(portfolio, site, when), None if at is None else _time(at))
    # The words were made printable before they were coloured.
    click.echo(json_text(asdict(told), indent=1) if as_json else text(told))


def _time(cell: str) -> int:
    try:
        return time_of_day(cell)
    except ValueError as error:
        raise UserError(f'--at "{cell}" {error}.') from error


@main.command()
@click.argument("name", required=False)
@click.option("--markdown", is_flag=True, help="The list as a Markdown table.")
@click.option("--sql", is_flag=True, help="The SQL of NAME alone, to pipe into a DuckDB shell.")
@_own_rules
def rules(name: str | None, markdown: bool, sql: bool, folder: Path | None) -> None:
    """List the rules, or explain the one called NAME."""
    built_in = load_rules()
    known = {rule.name: rule for rule in built_in + (own_rules(folder, built_in) if folder else [])}
    if name is not None and name not in known:
        raise UserError(f'there is no rule "{name}"; did you mean "{nearest(name, list(known))}"?')
    chosen = list(known.values()) if name is None else [known[name]]
    try_own_rules(rule for rule in chosen if rule.own)
    if name is not None:
        say_text(shell_sql(known[name]) if sql else explained(known[name]))
    elif sql:
        raise UserError("--sql is about one rule; name it, as in auditor rules NAME --sql.")
    else:
        say_text(rule_table(chosen) if markdown else rule_list(chosen))


def _progress(stage: str, length: int) -> Callable[[Any], None]:
    """A bar on standard error; nothing at all where that is not a terminal."""
    bar = click.progressbar(
        length=length, label=f"{stage:8}", file=sys.stderr, hidden=not sys.stderr.isatty()
    )
    bar.render_progress()

    def advance(step: Any) -> None:
        bar.update(step if isinstance(step, int) else 1)
        if bar.finished:
            bar.render_finish()

    return advance


def _say(outcome: audit.Outcome, out: Path, form: str | None) -> None:
    for notice in outcome.notices:
        say(f"note: {notice}", err=True)
    worked_out, taken = outcome.sites
    if taken:  # nothing that a result could say: its bytes are those of a run of everything
        say(
            f"Worked out {counted(worked_out, 'site')}; took {taken} unchanged from the run before.", err=True
        )
    if form:
        say_text(summary_text(outcome.summary, form, (out / "report.html").resolve()))
        return
    say(rows_text(outcome.facts["rows"]))
    mapped = bool(outcome.facts["maps"])  # then every source has its line, else those that lost a row
    for line in files_text(lost_rows(outcome.facts["inputs"], mapped)):
        say(line)
    found = ", ".join(f"{number} {severity}" for severity, number in outcome.open_findings.items())
    say(f"Open findings: {found}.")
    say(f"Report: {(out / 'report.html').resolve()}")
