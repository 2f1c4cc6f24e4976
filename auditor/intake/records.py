"""Delimited text: bytes to characters, characters to numbered records."""

import codecs
import csv
import io
import re
from collections.abc import Iterator

import charset_normalizer

from auditor.errors import UserError

_LONGEST_CELL = 10_000_000  # characters; beyond it a quotation mark was surely left open
csv.field_size_limit(_LONGEST_CELL)
_MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF32_LE: "utf-32",  # begins as UTF-16 does: ask for it first
    codecs.BOM_UTF32_BE: "utf-32",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}
SEPARATORS = (",", ";", "\t", "|")
_SAMPLE = 200_000  # bytes that are looked at to tell an encoding
_LINES = 60  # records that are looked at to tell a separator
_PACKED = b"PK\x03\x04"  # how zip archives begin, workbooks among them
_CLOSE = 0.05  # of charset-normalizer's chaos, 0 to 1: what one odd letter of a short file makes
_HALVES = re.compile(rb"\xed[\xa0-\xbf][\x80-\xbf]")
_SURROGATE = re.compile("[\ud800-\udfff]")


def records(name: str, text: str, separator: str = ",") -> Iterator[tuple[int, list[str]]]:
    """Numbered records; wholly blank ones are counted, as a spreadsheet does, and passed over.

    Raises UserError where a quotation mark does not end.
    """
    number = 0
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for number, record in enumerate(reader, 1):
            if any(cell.strip() for cell in record):
                yield number, record
    except csv.Error as error:
        advice = "close the quotation mark, or double it inside a quoted cell"
        raise UserError(f"{name}, row {number + 1}: not readable as CSV ({error}); {advice}.") from error


def decoded(name: str, content: bytes, encoding: str | None) -> tuple[str, str]:
    """The text, and the encoding it was read in; what is no character of it becomes U+FFFD.

    Raises UserError where nothing was said and the encoding cannot be told.
    """
    encoding = encoding or _marked(content) or _told(name, content)
    text = content.decode(encoding, errors="replace")
    return _SURROGATE.sub("\ufffd", text), encoding


def _marked(content: bytes) -> str | None:
    return next((found for mark, found in _MARKS.items() if content.startswith(mark)), None)


def _told(name: str, content: bytes) -> str:
    if content.startswith(_PACKED):
        raise UserError(
            f"{name} is a zip archive or workbook by what it holds; unpack it, or mend its ending."
        )
    if content[:2000].count(0) > 20:
        raise UserError(f"{name} is no plain text, or UTF-16 without its mark; {_which_16(content)}.")
    if _is_utf8(content):
        return "utf-8"
    found = charset_normalizer.from_bytes(content[:_SAMPLE])
    best = found.best()
    if best is None:
        raise UserError(f"{name}: its encoding cannot be told; set encoding, or save it as UTF-8.")
    # Where several fit about as well, take the commonest one of western spreadsheets.
    close = best.chaos + _CLOSE
    equals = {name for match in found if match.chaos <= close for name in match.could_be_from_charset}
    return "cp1252" if "cp1252" in equals else best.encoding


def _which_16(content: bytes) -> str:
    """Advice by where the zeros stand: western letters have theirs in the first byte, or in the second."""
    even, odd = content[:2000:2].count(0), content[1:2000:2].count(0)
    return f'set encoding = "{"utf-16-be" if even > odd else "utf-16-le"}" in [source] if it is that'


def _is_utf8(content: bytes) -> bool:
    """UTF-8, a broken byte here and there allowed: one bad cell must not change how the others read.

    Halves of letters (lone surrogates), which some programs write like letters, count as such here.
    """
    text = _HALVES.sub("é".encode(), content).decode("utf-8", errors="replace")
    broken = text.count("\ufffd")
    return broken == 0 or broken <= sum(letter > "\x7f" for letter in text) - broken


def separator_of(text: str) -> str:
    """The separator that gives most records of one width; a comma where none does."""
    return max(SEPARATORS, key=lambda separator: _regular(text, separator))


def _regular(text: str, separator: str) -> int:
    """How many cells stand in the first records that have the commonest width above one."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    widths: list[int] = []
    try:
        for record in reader:
            widths += [len(record)] if len(record) > 1 else []
            if reader.line_num >= _LINES:
                break
    except csv.Error:
        return 0
    return max((widths.count(width) * width for width in set(widths)), default=0)
