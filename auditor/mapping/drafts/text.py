"""The text of a draft: head, source, sections, and what is left over."""

import os
import re
from collections.abc import Sequence
from glob import escape
from pathlib import Path, PurePosixPath

from auditor.mapping.drafts.devices import circuits, controllers
from auditor.mapping.drafts.formats import number_keys
from auditor.mapping.drafts.looking import Look, look
from auditor.mapping.drafts.profiles import Profile
from auditor.mapping.drafts.programs import program_sections, programs_of
from auditor.mapping.drafts.recognising import recognise
from auditor.mapping.drafts.sections import Seen, closures, hours, sites
from auditor.mapping.drafts.steps import events
from auditor.mapping.drafts.vocabulary import CLOSED
from auditor.mapping.drafts.writing import ANSWER, Page, name_pattern, quoted, samples
from auditor.mapping.words import bare
from auditor.model import NEEDED_TABLES

_HOW = (
    "Draft of a map. It proposes; you decide. Lines that begin with # are comments.",
    "Each QUESTION is followed by lines that begin with #: and answer it. Keep one: take its #: away, and",
    "put in what it leaves open. Where none fits, write your own. Delete the blocks that this export cannot",
    "give: another map or a table of the contract may. Then delete the line questions = … and look, with",
    "auditor check THIS_FILE",
)


def draft(files: Sequence[Path], out: Path | None = None, only: str = "*") -> str:
    """The text of a draft for files of one kind. Raises UserError where they hold no table."""
    page = Page()
    if programs := programs_of(files, only):
        _files(page, files, out, programs.kind)
        _names(page, [PurePosixPath(name).stem for name, _ in programs.contents])
        if programs.inside:
            page.say(f"inside = {_names_list(programs.inside)}  # or a pattern")
        program_sections(page, programs)
    else:
        _table_draft(page, files, out, only)
    head = [f"# {line}" for line in _HOW]
    if page.questions:
        head += ["", f"questions = {page.questions}"]
    return "\n".join([*head, *page.lines]) + "\n"


def _table_draft(page: Page, files: Sequence[Path], out: Path | None, only: str) -> None:
    found = look(files, only)
    seen = Seen(found, recognise(found.profiles))
    _source(page, seen, files, out)
    for section in (sites, controllers, circuits, events, hours, closures):
        section(page, seen)
    _rest(page, seen)
    _missing(page)


def _files(page: Page, files: Sequence[Path], out: Path | None, kind: str = "") -> None:
    page.section("[source]")
    if kind:
        page.say(f"kind = {quoted(kind)}")
    base = Path(os.path.relpath(files[0].parent, out.parent if out else Path()))
    page.say(f"folder = {quoted(base.as_posix())}  # seen from this file")
    names = [path.name for path in files]
    named = quoted(escape(names[0])) if len(names) == 1 else _names_list(names)
    page.say(f'files = {named}  # or a pattern, such as "*{files[0].suffix}"')


def _names(page: Page, stems: Sequence[str]) -> None:
    """What the files' names may be used for."""
    pattern, parts = name_pattern(stems)
    if parts:
        shown = ", ".join(f"{{file.part{place}}} {text}" for place, text in enumerate(parts, 1))
        page.say(f"name = '{pattern}'")
        page.note(f"Parts of the file's name, to be used below: {shown}, or all of it, {{file.stem}}.")


def _source(page: Page, seen: Seen, files: Sequence[Path], out: Path | None) -> None:
    found = seen.look
    _files(page, files, out)
    _inside(page, found)
    _names(page, found.stems)
    if found.header_rows != (1,):
        rows = list(found.header_rows)
        page.say(f"header_row = {rows[0] if len(rows) == 1 else rows}")
    _text(page, found)
    _numbers(page, seen)
    if blanks := _blanks(seen):
        page.say(f"blanks = {_list(blanks)}  # words that mean: nothing here")
    for column in found.gaps:
        question = f'"{column}" is blank in many rows: does the last one above hold there, too?'
        page.ask(question, f"fill_down = {_list([column])}")
    for name in found.others:
        page.note(f"Also there, of another shape: {name}. Draft a map of it with --only.")
    _skips(page, found)


def _inside(page: Page, found: Look) -> None:
    """Members of an archive, sheets of a workbook."""
    names = [grid.source_file for grid in found.grids]
    inner = [name.partition(".zip/")[2].rpartition(":")[0] or name.partition(".zip/")[2] for name in names]
    if any(inner):
        page.say(f"inside = {_names_list(sorted(set(inner)))}  # or a pattern")
    sheets = list(dict.fromkeys(grid.sheet for grid in found.grids if grid.sheet))
    if sheets:
        page.say(f"sheets = {_names_list(sheets)}")


def _text(page: Page, found: Look) -> None:
    notes = found.grids[0].notes
    encoding = notes.get("encoding", "utf-8")
    if "separator" in notes:
        page.say(f"separator = {quoted(notes['separator'])}")
    if not encoding.startswith("utf"):
        cells = [cell for one in found.profiles for cell in (one.header, *one.distinct)]
        odd = [
            cell
            for cell in dict.fromkeys(cells)
            if any(letter.isalpha() for letter in cell if letter > "\x7f")
        ]
        odd = odd or [cell for cell in cells if not cell.isascii()]
        others = [name for name in ("cp1252", "cp1250", "mac_roman", "cp850") if name != encoding]
        question = f"The file is not UTF-8. Read as {encoding} it says {samples(odd)}: is that right?"
        page.ask(question, *(f"encoding = {quoted(name)}" for name in (encoding, *others)))


def _numbers(page: Page, seen: Seen) -> None:
    numeric = [one for one in seen.look.profiles if one.mostly("number")]
    sure, asked = number_keys(numeric)
    page.say(*(f"{key} = {quoted(str(value))}" for key, value in sure.items()))
    if asked:
        cells = [cell for one in numeric for cell in one.distinct if "," in cell]
        lines = [f"{key} = {quoted(str(value))}" for keys in asked for key, value in keys.items()]
        page.ask(f"What does the comma in {samples(cells)} part: thousands, or the decimals?", *lines)


def _blanks(seen: Seen) -> list[str]:
    """Words that say closed or nothing in columns that hold times."""
    names = {pattern.replace("*", word) for pattern, found in seen.guess.weekdays.items() for word in found}
    names |= {seen.guess.columns[key].header for key in ("opens", "closes") if key in seen.guess.columns}
    columns = [one for one in seen.look.profiles if one.header in names]
    return list(dict.fromkeys(cell for one in columns for cell in one.cells if bare(cell) in CLOSED))


def _skips(page: Page, found: Look) -> None:
    first = found.profiles[0].header
    if found.repeated:
        page.section('[skip."repeated header"]')
        page.say(f"column = {quoted(first)}", f"is = {quoted(first)}")
    if found.totals:
        page.section('[skip."totals"]')
        page.say(
            f"column = {quoted(first)}", f"starts = {_list([_first_word(text) for text in found.totals])}"
        )


def _first_word(text: str) -> str:
    match = re.match(r"[^\W\d_]+", text)
    return match[0] if match else text


def _rest(page: Page, seen: Seen) -> None:
    """Columns that nothing is made of; what is one of several answers is used only where it is chosen."""
    lines = [line for line in page.lines if not line.startswith("# ")]
    sure = "\n".join(line for line in lines if not line.startswith(ANSWER))
    rest = [one for one in seen.look.profiles if one.cells and not _is_used(one, seen, lines, sure)]
    if rest:
        page.say("")
        page.note("Not used; say so where one of these belongs to a key above:")
        for one in rest:
            page.note(f'  "{one.header}": {samples(one.distinct)}')


def _is_used(one: Profile, seen: Seen, lines: list[str], sure: str) -> bool:
    text = sure if one in seen.guess.spare else "\n".join(lines)
    patterns = [
        p for p, words in seen.guess.weekdays.items() for word in words if p.replace("*", word) == one.header
    ]
    return any(f"{{{name}}}" in text or quoted(name) in text for name in (one.header, *patterns))


def _missing(page: Page) -> None:
    """Tables that an audit needs and this export does not give."""
    missing = [table for table in NEEDED_TABLES if f"[[{table}]]" not in page.lines]
    if missing:
        page.say("")
        page.note(f"An audit also needs {', '.join(missing)}: from another map, or a table of the contract.")


def _names_list(names: Sequence[str]) -> str:
    """Names as patterns that fit these names alone."""
    return _list([escape(name) for name in names])


def _list(texts: Sequence[str]) -> str:
    return "[" + ", ".join(map(quoted, texts)) + "]"
