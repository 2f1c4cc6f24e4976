"""Templates and what they may use: the only import of jinja2."""

from functools import cache
from typing import Any

import jinja2
from jinja2.filters import do_urlencode

from auditor.letters import on_page
from auditor.report import figures
from auditor.resources import resource
from auditor.wording import counted, date_text, dates_text, excerpt, moment_text, short


@cache  # reading the templates takes longer than filling them in
def templates(currency: str) -> jinja2.Environment:
    """Every value is escaped, and none turns letters round: names come from other people's files."""
    templates = jinja2.Environment(
        loader=jinja2.FileSystemLoader(resource("reports"), encoding="utf-8"),
        autoescape=True,
        finalize=_shown,
        auto_reload=False,  # nor looking after the files again for each page
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    money = figures.Money(currency)
    templates.filters |= {
        "whole": figures.whole,
        "hours": figures.hours,
        "kwh": figures.kwh,
        "plain": figures.plain,
        "share": figures.share,
        "money": money,
        "rate": money.rate,
        "counted": counted,
        "short": short,
        "excerpt": excerpt,
        "lacking": figures.lacking,
        "sentence": figures.sentence,
        "day": date_text,
        "moment": moment_text,
        "urlencode": lambda words: do_urlencode(_shown(words)),  # what a script reads and shows
    }
    templates.globals |= {"money_column": money.column, "dates": dates_text}
    return templates


def _shown(value: Any) -> Any:
    """What is markup already was made of values that went through here."""
    return on_page(value) if type(value) is str else value
