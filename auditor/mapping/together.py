"""Maps together: tables first, then the programs, which must know the devices that those give."""

from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from auditor.mapping.applying import Applied, apply, with_event_ids
from auditor.mapping.holders import unnamed
from auditor.mapping.layout import Source
from auditor.mapping.programs import read_programs, setting_of
from auditor.mapping.sources import Sheet
from auditor.mapping.spec import Map, read_map
from auditor.model import RawTable

DAYS = 365  # of the audited period, where nobody says


def mapped_tables(
    paths: Iterable[Path],
    folder: Path | None = None,
    given: Sequence[RawTable] = (),
    first: date | None = None,
    days: int = DAYS,
) -> tuple[list[RawTable], list[str]]:
    """The tables that maps give, in the order of the maps and of their files, and what to note about them.

    Programs stand after all tables; ``given`` are those that come from elsewhere.
    """
    tables: list[RawTable] = []
    notices: list[str] = []
    done = applied_maps([read_map(path, folder) for path in paths], given, first, days)
    for found, applied in done:
        tables += [table for one in applied for table in one.tables]
        notices += _doubts(found.source, [one.sheet for one in applied])
    return with_event_ids(tables), notices + not_named(done)


def not_named(done: Iterable[tuple[Map, list[Applied]]]) -> list[str]:
    """What the archives and workbooks of maps hold beside what any of them names."""
    return unnamed(held for _, applied in done for one in applied for held in one.sheet.held)


def applied_maps(
    maps: Iterable[Map], given: Sequence[RawTable] = (), first: date | None = None, days: int = DAYS
) -> list[tuple[Map, list[Applied]]]:
    """What each map makes of its files, maps of programs last."""
    ordered = sorted(maps, key=lambda found: found.source.is_programs)
    done = [(found, list(apply(found))) for found in ordered if not found.source.is_programs]
    programs = [found for found in ordered if found.source.is_programs]
    if programs:
        known = [table for _, applied in done for one in applied for table in one.tables]
        setting = setting_of([*given, *known], first, days)
        done += [(found, list(read_programs(found, setting))) for found in programs]
    return done


def _doubts(source: Source, sheets: list[Sheet]) -> list[str]:
    """What had to be found out about files and may have been found out wrongly."""
    doubts = [said for sheet in sheets for said in sheet.notices]
    guessed: dict[str, list[str]] = {}
    for sheet in sheets:
        found = sheet.notes.get("encoding", "utf-8")
        if source.encoding is None and not found.startswith("utf"):
            guessed.setdefault(found, []).append(sheet.source_file)
    return doubts + [
        f"{files[0]}{f' and {len(files) - 1} more' if len(files) > 1 else ''}: not UTF-8, read as {found}; "
        f'settle it with encoding = "{found}" in [source], or with another one where letters look wrong.'
        for found, files in guessed.items()
    ]
