"""What one sheet of an .xlsx workbook says beside the values of its cells."""

from dataclasses import dataclass, field
from functools import cache

from auditor.intake.books.formats import Look
from auditor.intake.books.markup import Attributes, Markup, MarkupError
from auditor.model import ERROR, FORMULA

Place = tuple[int, int]  # row as the spreadsheet counts it, column from 0
_UNSURE = 1e15  # from here on a number of a spreadsheet has lost its last digits
_COLUMNS = 16_384  # of any sheet
_DIGITS = "0123456789"
_TRUE = ("1", "true")


@dataclass(frozen=True)
class Area:
    """Merged cells: first and last row, first and last column."""

    top: int
    bottom: int
    left: int
    right: int


@dataclass
class Marks:
    """``texts`` stand for cells that hold an error, or a formula without a result; ``looks`` are how numbers
    are shown where that matters. ``formulas``, those of them that are ``unworked``, ``yearless`` dates and
    ``long_numbers`` are places; ``bottom`` and ``right`` are the last row and column that hold something.
    """

    hidden_rows: set[int] = field(default_factory=set)
    hidden_columns: set[int] = field(default_factory=set)
    merged: list[Area] = field(default_factory=list)
    texts: dict[Place, str] = field(default_factory=dict)
    looks: dict[Place, Look] = field(default_factory=dict)
    formulas: list[Place] = field(default_factory=list)
    unworked: list[Place] = field(default_factory=list)
    yearless: list[Place] = field(default_factory=list)
    long_numbers: list[Place] = field(default_factory=list)
    bottom: int = 0
    right: int = 0

    @property
    def cells(self) -> int:
        """How many there are down to the last that holds something: their reader makes room for all."""
        return self.bottom * (self.right + 1)


def marks_of(markup: Markup, sheet: str) -> Marks:
    """The marks of one sheet. Raises MarkupError where it cannot be read."""
    reader = _Reader(markup)
    markup.read_sheet(sheet, reader.start, reader.text)
    reader.finish()
    return reader.marks


def letters(column: int) -> str:
    """What a spreadsheet calls a column, counted from 0: A, B, ... Z, AA."""
    rest, last = divmod(column, 26)
    return (letters(rest - 1) if rest else "") + chr(ord("A") + last)


@cache
def _column(name: str) -> int:
    if not (name.isascii() and name.isalpha()):  # a place without letters, or one of another row
        raise MarkupError(name)
    number = 0
    for letter in name.upper():
        number = number * 26 + ord(letter) - ord("A") + 1
    return number - 1


def _place(name: str) -> Place:
    column = name.rstrip(_DIGITS)
    return int(name[len(column) :]), _column(column)


class _Tags(dict[str, str]):
    """Names of elements without their prefix, each worked out once."""

    def __missing__(self, name: str) -> str:
        self[name] = name.rpartition(":")[2]
        return self[name]


class _Reader:
    """Follows the elements of a sheet; a cell is judged when the next element begins that is none of its own.

    Cells of shared text, nearly all that there are, cost two calls. A row or cell without a place is the
    next one.
    """

    def __init__(self, markup: Markup) -> None:
        self.marks = Marks()
        self._looks, self._yearless = markup.looks, markup.yearless
        self._tags = _Tags()
        self._row, self._suffix, self._column = 0, "", -1
        self._cell: Attributes | None = None
        self._said: dict[str, str] = {}  # of the cell: value ("v") and formula ("f")
        self._inside = ""

    def start(self, name: str, attributes: Attributes) -> None:
        tag = self._tags[name]
        if tag == "c":
            self.finish()
            self._start_cell(attributes)
        elif tag == "v" or tag == "f":
            if self._cell is not None:
                self._inside = tag
                self._said[tag] = ""
        else:
            self._start_other(tag, attributes)

    def text(self, text: str) -> None:
        if self._inside:
            self._said[self._inside] += text

    def _start_cell(self, attributes: Attributes) -> None:
        self._inside = ""
        named = attributes.get("r")
        self._column = self._column + 1 if named is None else _column(named.removesuffix(self._suffix))
        if attributes.get("t") == "s":
            self._reach()
        else:
            self._cell, self._said = attributes, {}

    def _reach(self) -> None:
        if self._column > self.marks.right:
            self.marks.right = self._column
        self.marks.bottom = max(self.marks.bottom, self._row)

    def _start_other(self, tag: str, attributes: Attributes) -> None:
        self._inside = ""
        if tag == "row":
            self.finish()
            self._row, self._column = int(attributes.get("r", self._row + 1)), -1
            self._suffix = str(self._row)
            if attributes.get("hidden") in _TRUE:
                self.marks.hidden_rows.add(self._row)
        elif tag == "col" and attributes.get("hidden") in _TRUE:
            last = min(int(attributes["max"]), _COLUMNS)
            self.marks.hidden_columns |= set(range(int(attributes["min"]) - 1, last))
        elif tag == "mergeCell":
            self._merge(attributes["ref"])

    def _merge(self, named: str) -> None:
        first, _, last = named.partition(":")
        (top, left), (bottom, right) = _place(first), _place(last or first)
        self.marks.merged.append(Area(top, bottom, left, right))

    def finish(self) -> None:
        """Judges the cell that is open, if one is."""
        if self._cell is None:
            return
        cell, self._cell = self._cell, None
        kind, value = cell.get("t", "n"), self._said.get("v")
        if self._said or kind == "inlineStr":
            self._reach()
        if "f" in self._said:
            self._formula(kind, value)
        if kind == "e":
            self.marks.texts[self._row, self._column] = ERROR + (value or "").strip().lstrip("#")
        elif kind == "n" and value and value.strip():
            self._number(cell, value)

    def _formula(self, kind: str, value: str | None) -> None:
        """An empty text is a result, too; so is none at all, where a text was said to come."""
        self.marks.formulas.append((self._row, self._column))
        if not (value or "").strip() and not (kind == "str" and value is not None):
            self.marks.unworked.append((self._row, self._column))
            self.marks.texts[self._row, self._column] = f"{FORMULA}{self._said['f'].strip()}"

    def _number(self, cell: Attributes, value: str) -> None:
        style = int(cell.get("s", 0))
        look = self._looks[style] if self._looks else None
        if look:
            self.marks.looks[self._row, self._column] = look
        elif self._yearless and self._yearless[style]:
            self.marks.yearless.append((self._row, self._column))
        if abs(float(value)) >= _UNSURE:
            self.marks.long_numbers.append((self._row, self._column))
