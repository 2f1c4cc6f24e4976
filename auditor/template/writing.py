"""The template as an .xlsx file. Same version, same bytes."""

from pathlib import Path
from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from auditor.errors import UserError
from auditor.intake import read_portfolio
from auditor.model import GUIDE, RawTable
from auditor.normalise import values as v
from auditor.normalise.specs import SPECS, Column
from auditor.results import replacing
from auditor.template.guide import HEADINGS, STEPS, guide_rows, note
from auditor.workbook import new_book

_EXAMPLES = Path(__file__).parent / "examples"
_LAST_ROW = 1_048_575  # of a sheet, counted from 0
_TEXT = "@"  # as typed: no id loses its zeros, no 11-03 becomes a date, no -05:00 a time
_FORMATS: dict[v.Parser, str] = {  # what is typed becomes a real time or date, whatever the language
    v.time_of_day: "hh:mm",
    v.end_time: "[hh]:mm",
    v.iso_date: "yyyy-mm-dd",
    v.minutes_to_seconds: "General",
}
_ITALIC = {"italic": True, "font_color": "#555555", "bg_color": "#F2F2F2"}
_WIDEST = 44  # characters
_GUIDE_WIDTHS = (12, 20, 18, 60, 9, 48, 40)
_GUIDE_LINE = 150  # characters of a step that surely fit into one line across these


def write_template(path: Path, with_examples: bool = True) -> None:
    """Raises UserError where ``path`` is no new .xlsx file: what was typed into an old one would be lost."""
    if path.suffix.lower() != ".xlsx":
        raise UserError(f"{path} must end in .xlsx; name it so.")
    if path.exists():
        raise UserError(f"{path} is there already, perhaps with your rows in it; name a new file.")
    examples = read_portfolio(_EXAMPLES)
    with replacing(path) as draft, new_book(draft) as book:
        _write_guide(book, examples)
        for table in examples:
            _write_table(book, table, with_examples)


def _write_guide(book: Workbook, examples: list[RawTable]) -> None:
    sheet = book.add_worksheet(GUIDE)
    wrapped, bold = {"text_wrap": True, "valign": "top"}, {"bold": True}
    for place, width in enumerate(_GUIDE_WIDTHS):
        sheet.set_column(place, place, width)
    sheet.write_string(0, 0, "How to fill in this workbook", book.add_format({**bold, "font_size": 14}))
    look = book.add_format(wrapped)
    for row, step in enumerate(STEPS, 1):
        sheet.set_row(
            row, 15 * (1 + len(step) // _GUIDE_LINE)
        )  # points; merged cells do not grow by themselves
        sheet.merge_range(row, 0, row, len(HEADINGS) - 1, step, look)
    top = len(STEPS) + 2
    sheet.write_row(top, 0, HEADINGS, book.add_format({**bold, "bottom": 1}))
    heads = book.add_format({**wrapped, **bold, "top": 1})
    for row, cells in enumerate(guide_rows(examples), top + 1):
        for place, cell in enumerate(cells):
            sheet.write_string(row, place, cell, look if cells[1] else heads)
    sheet.autofilter(top, 0, row, len(HEADINGS) - 1)
    _for_a_printer(sheet, top)


def _write_table(book: Workbook, table: RawTable, with_examples: bool) -> None:
    sheet = book.add_worksheet(table.name)
    for place, column in enumerate(SPECS[table.name]):
        cells = table.frame[column.name].to_list()
        style = {"num_format": _format(column)}
        sheet.set_column(place, place, _width(column, cells), book.add_format(style))
        sheet.write_string(0, place, column.name, book.add_format({"bold": column.needed, "bottom": 1}))
        sheet.write_comment(0, place, note(column), {"x_scale": 2.5, "y_scale": 1.2})
        _check_typing(sheet, place, column)
        look = book.add_format(style | _ITALIC)
        for row, cell in enumerate(cells if with_examples else (), 1):
            _write_cell(sheet, row, place, column, cell, look)
    sheet.freeze_panes(1, 0)
    sheet.ignore_errors({"number_stored_as_text": "A1:XFD1048576"})  # ids such as 0010 are no mistakes
    _for_a_printer(sheet, 0)


def _format(column: Column) -> str:
    return "General" if isinstance(column.parse, v.Number) else _FORMATS.get(column.parse, _TEXT)


def _width(column: Column, cells: list[str | None]) -> int:
    longest = max(len(text) for text in (column.name, *column.words, *filter(None, cells)))
    return min(longest + 3, _WIDEST)


def _check_typing(sheet: Worksheet, place: int, column: Column) -> None:
    """A drop-down where the words are few, limits where there are some; usual words are offered alone."""
    words = column.words or column.suggested
    if words:
        rule: dict[str, Any] = {"validate": "list", "source": list(words), "show_error": bool(column.words)}
    elif isinstance(column.parse, v.Number):
        rule = {"validate": "decimal", "criteria": "between"}
        rule |= {"minimum": column.parse.low, "maximum": column.parse.high}
    else:
        return
    said = {"error_title": column.name, "error_message": f"May hold: {column.allowed}."[:255]}
    sheet.data_validation(1, place, _LAST_ROW, place, rule | said)


def _write_cell(
    sheet: Worksheet, row: int, place: int, column: Column, cell: str | None, look: Format
) -> None:
    """An example as a person would type it: what is a time, a date or a number is one."""
    if cell is None:
        sheet.write_blank(row, place, None, look)
    elif column.parse is v.iso_date:
        sheet.write_datetime(row, place, v.iso_date(cell), look)
    elif column.parse in (v.time_of_day, v.end_time):
        sheet.write_number(row, place, column.parse(cell) / 86400, look)
    elif _format(column) == "General":
        sheet.write_number(row, place, float(cell), look)
    else:
        sheet.write_string(row, place, cell, look)


def _for_a_printer(sheet: Worksheet, header: int) -> None:
    sheet.repeat_rows(header)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
