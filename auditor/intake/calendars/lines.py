"""The text of a calendar as components with row numbers. What a line says is icalendar's business."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from icalendar.parser import Contentline, Parameters

from auditor.errors import UserError
from auditor.intake.program import UnfitError

_MOST_BYTES = 20_000_000  # of one file
_MOST_LINE, _MOST_COMPONENTS = 200_000, 20_000  # characters of one unfolded line; of one file
Line = tuple[int, str]  # row in the file, and the unfolded text that begins there


@dataclass
class Component:
    """``name`` such as VEVENT, the row of its BEGIN, its own lines and the components within."""

    name: str
    row: int
    lines: list[Line] = field(default_factory=list)
    within: list["Component"] = field(default_factory=list)

    @property
    def called(self) -> str:
        """Its SUMMARY, with escapes undone (RFC 5545, section 3.3.11); blank where it has none."""
        found = (text.partition(":")[2] for _, text in self.lines if text[:7].upper() == "SUMMARY")
        return re.sub(r"\\(.)", lambda escaped: " " if escaped[1] in "nN" else escaped[1], next(found, ""))

    def properties(self) -> dict[str, list["Property"]]:
        """Its properties by name, in order. Raises UnfitError where a line is none."""
        found: dict[str, list[Property]] = {}
        for _, text in self.lines:
            try:
                name, parameters, value = Contentline(text).parts()
            except ValueError as error:
                raise UnfitError(
                    "", text, "a line is not NAME;PARAMETER=VALUE:VALUE; export it again"
                ) from error
            found.setdefault(name.upper(), []).append(Property(name.upper(), parameters, value))
        return found


@dataclass(frozen=True)
class Property:
    """One content line (RFC 5545, section 3.1)."""

    name: str
    parameters: Parameters
    value: str

    def parameter(self, name: str) -> str:
        """One parameter's text; blank where it is not there."""
        return str(self.parameters.get(name, ""))

    def unfit(self, reason: str) -> UnfitError:
        """The fault of this property."""
        return UnfitError(self.name, self.value, reason)


def components(content: bytes, file: str) -> list[Component]:
    """What stands in the calendars of a file (a stream may hold several), in order.

    Raises UserError where the file as a whole is no calendar, is cut off, or is larger than is taken.
    """
    calendars = _tree(_unfolded(_text(content, file), file), file)
    for calendar in calendars:
        _check_calendar(calendar, file)
    return [one for calendar in calendars for one in calendar.within]


def _text(content: bytes, file: str) -> str:
    if len(content) > _MOST_BYTES:
        raise UserError(f"{file} is larger than {_MOST_BYTES // 1_000_000} MB; split it, a file a circuit.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content.count(b"\n", 0, error.start) + 1
        raise UserError(f"{file}, row {row}: not UTF-8 text; save the calendar as UTF-8.") from error
    if "\0" in text:
        row = text.count("\n", 0, text.index("\0")) + 1
        raise UserError(f"{file}, row {row}: holds a NUL character, as no text does; export it again.")
    return text


def _unfolded(text: str, file: str) -> Iterator[Line]:
    """Logical lines: one that begins with a space or tab goes on with the one before (section 3.1)."""
    row, parts, length = 0, [""], 0
    for number, line in enumerate(re.split(r"\r\n|\n|\r", text), 1):
        if line[:1] in (" ", "\t") and row:
            parts.append(line[1:])
            length += len(line)
        else:
            if "".join(parts).strip():
                yield row, "".join(parts)
            row, parts, length = number, [line], len(line)
        if length > _MOST_LINE:
            raise UserError(
                f"{file}, row {row}: a line of more than {_MOST_LINE} characters; export it again."
            )
    if "".join(parts).strip():
        yield row, "".join(parts)


def _tree(lines: Iterator[Line], file: str) -> list[Component]:
    """The calendars. Kept by hand and not by recursion: components may nest thousands deep."""
    calendars: list[Component] = []
    path: list[Component] = []
    begun = 0
    for row, text in lines:
        key, _, value = text.partition(":")
        key, value = key.strip().upper(), value.strip().upper()
        if key == "BEGIN":
            path.append(Component(value, row))
            if len(path) == 1:
                calendars.append(_calendar(path[0], file))
            elif len(path) <= 3:
                path[-2].within.append(path[-1])
                begun += 1
            if begun > _MOST_COMPONENTS:
                raise UserError(
                    f"{file} has more than {_MOST_COMPONENTS} components; split it, a file a circuit."
                )
        elif not path:
            raise UserError(f"{file}, row {row}: no BEGIN:VCALENDAR before it; this is no iCalendar file.")
        elif key == "END":
            if path.pop().name != value:
                raise UserError(
                    f"{file}, row {row}: ends nothing that was begun, or is cut off; export it again."
                )
        else:
            path[-1].lines.append((row, text))
    if path or not calendars:
        lacking = f"END:{path[-1].name}" if path else "BEGIN:VCALENDAR"
        raise UserError(
            f"{file}: {lacking[:60]} is missing, so it is cut off or no calendar; export it again."
        )
    return calendars


def _calendar(found: Component, file: str) -> Component:
    if found.name != "VCALENDAR":
        raise UserError(f"{file}, row {found.row}: no BEGIN:VCALENDAR before it; this is no iCalendar file.")
    return found


def _check_calendar(calendar: Component, file: str) -> None:
    scale = [
        text.partition(":")[2].strip() for _, text in calendar.lines if text.upper().startswith("CALSCALE")
    ]
    if any(name.upper() != "GREGORIAN" for name in scale):
        raise UserError(f"{file}, row {calendar.row}: CALSCALE is not GREGORIAN; export it in that calendar.")
