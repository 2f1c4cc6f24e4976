"""The XML parts of an .xlsx workbook, read with the expat parser of the standard library.

A document type, which no workbook has, is refused, and with it every trick that entities could play.
"""

import io
import zipfile
from collections.abc import Callable, Iterator
from posixpath import join, normpath
from xml.parsers import expat

from auditor.intake.books.formats import BUILT_IN, hides_year, look_of

_WORKBOOK = "xl/workbook.xml"
_TRUE = ("1", "true")
Attributes = dict[str, str]
Start = Callable[[str, Attributes], None]


class MarkupError(ValueError):
    """A part is missing or broken, or none that a workbook has."""


class Markup:
    """What the parts beside the sheets say. Raises ValueError (MarkupError is one) where they cannot be read.

    ``since_1904``: dates count from 1904. ``leaves_formulas``: whoever wrote it left formulas to the program
    that opens it. ``looks``: how each style shows a number; ``yearless``: whether it leaves out years.
    """

    def __init__(self, content: bytes) -> None:
        self._archive = zipfile.ZipFile(io.BytesIO(content))
        found = self._elements(_WORKBOOK, "workbookPr", "calcPr", "sheet")
        settings = dict(found)
        self.since_1904 = settings.get("workbookPr", {}).get("date1904") in _TRUE
        self.leaves_formulas = settings.get("calcPr", {}).get("fullCalcOnLoad") in _TRUE
        styles = self._elements("xl/styles.xml", "numFmt", "cellStyleXfs", "cellXfs", "xf")
        codes = list(_codes(styles))
        self.looks = [look_of(code) for code in codes]
        self.yearless = [hides_year(code) for code in codes]
        self._parts = dict(self._sheet_parts(attributes for tag, attributes in found if tag == "sheet"))

    @staticmethod
    def is_in(content: bytes) -> bool:
        """Whether this kind of workbook has such parts at all; older and other kinds do not."""
        if not content.startswith(b"PK"):
            return False
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            return _WORKBOOK in archive.namelist()

    def read_sheet(self, name: str, start: Start, text: Callable[[str], None]) -> None:
        """One sheet: ``start`` gets each element's name, as the file writes it, and its attributes; ``text``
        what stands between this element and the next."""
        if name not in self._parts:
            raise MarkupError(name)
        self._parse(self._parts[name], start, text)

    def _sheet_parts(self, sheets: Iterator[Attributes]) -> Iterator[tuple[str, str]]:
        """The part of each sheet, by the sheet's name."""
        related = self._elements("xl/_rels/workbook.xml.rels", "Relationship")
        targets = {link.get("Id"): link.get("Target", "") for _, link in related}
        for sheet in sheets:
            key = next((value for name, value in sheet.items() if name.endswith(":id")), None)
            yield sheet.get("name", ""), normpath(join("/xl", targets.get(key, ""))).lstrip("/")

    def _elements(self, part: str, *tags: str) -> list[tuple[str, Attributes]]:
        found: list[tuple[str, Attributes]] = []

        def start(name: str, attributes: Attributes) -> None:
            tag = name.rpartition(":")[2]
            if tag in tags:
                found.append((tag, attributes))

        if part in self._archive.namelist():
            self._parse(part, start, None)
        return found

    def _parse(self, part: str, start: Start, text: Callable[[str], None] | None) -> None:
        parser = expat.ParserCreate()
        parser.StartDoctypeDeclHandler = _refuse
        parser.StartElementHandler, parser.CharacterDataHandler = start, text
        try:
            with self._archive.open(part) as file:
                parser.ParseFile(file)
        except Exception as error:  # of zipfile, zlib, expat and more: no common parent, one meaning
            raise MarkupError(part) from error


def _refuse(*_: object) -> None:
    raise MarkupError("a document type")


def _codes(styles: list[tuple[str, Attributes]]) -> Iterator[str]:
    """The number format of each style of cells, in the order in which cells name them."""
    codes = dict(BUILT_IN)
    inside = ""
    for tag, attributes in styles:
        if tag == "numFmt":
            codes.setdefault(int(attributes.get("numFmtId", 0)), attributes.get("formatCode", ""))
        elif tag != "xf":
            inside = tag
        elif inside == "cellXfs":
            yield codes.get(int(attributes.get("numFmtId", 0)), "")
