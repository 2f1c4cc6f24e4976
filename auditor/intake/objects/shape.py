"""JSON of objects: read without guessing, and held against the published shape, object by object."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError, best_match

from auditor.errors import UserError
from auditor.intake.program import UnfitError

_SCHEMA = Path(__file__).with_name("schedule.schema.json")
_MOST_BYTES = 5_000_000  # of one file; to hold it against the shape takes its time
_MOST_OBJECTS, _MOST_DIGITS = 5000, 100
Object = dict[str, Any]


def objects(content: bytes, file: str) -> list[Any]:
    """The entries of the list. Raises UserError where the file is none, or larger than is taken."""
    if len(content) > _MOST_BYTES:
        raise UserError(f"{file} is larger than {_MOST_BYTES // 1_000_000} MB; split it, a file a device.")
    try:
        text = content.decode("utf-8-sig")
        found = json.loads(text, object_pairs_hook=_once, parse_constant=_no_number, parse_int=_whole)
    except UnicodeDecodeError:
        raise UserError(f"{file} is not UTF-8 text; save it as UTF-8.") from None
    except RecursionError:
        raise UserError(f"{file} nests deeper than any object does; export it again.") from None
    except ValueError as error:
        raise UserError(f"{file} cannot be read as JSON ({str(error)[:200]}); export it again.") from None
    if not isinstance(found, list):
        raise UserError(
            f"{file} is no list of objects; put the Schedule and Calendar objects between [ and ]."
        )
    if len(found) > _MOST_OBJECTS:
        raise UserError(f"{file} has more than {_MOST_OBJECTS} objects; split it, a file a device.")
    return found


def _once(pairs: list[tuple[str, Any]]) -> Object:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        doubled = next(name for name in names if names.count(name) > 1)
        raise ValueError(f'"{ascii(doubled)[1:41]}" stands twice in one object')
    return found


def _no_number(name: str) -> float:
    raise ValueError(f"{name} is no number of JSON")


def _whole(digits: str) -> int:
    if len(digits) > _MOST_DIGITS:
        raise ValueError(f"a number has {len(digits)} digits")
    return int(digits)


def kind_of(entry: Any) -> str:
    """schedule, calendar, or blank: any other object. Raises UnfitError where it is no object."""
    if not isinstance(entry, dict) or not isinstance(entry.get("Object_Identifier"), str):
        raise UnfitError("Object_Identifier", "", "it is no object with an Object_Identifier like schedule,1")
    kind = entry["Object_Identifier"].partition(",")[0].strip().lower()
    return kind if kind in ("schedule", "calendar") else ""


def check(entry: Object, kind: str) -> None:
    """Raises UnfitError where an object is not of the published shape."""
    try:
        error = best_match(_validator(kind).iter_errors(entry))
        if error is not None:
            raise _told(error)
    except RecursionError:
        raise UnfitError("Object_Identifier", "", "it nests deeper than any object does") from None


def _told(error: ValidationError) -> UnfitError:
    path = [*error.absolute_path]
    column = str(path[0]) if path else _lacking(error.message)
    place = "".join(f"[{part}]" for part in path[1:])[:100]
    wanted = error.schema.get("description", "") if isinstance(error.schema, dict) else ""
    reason = f"{column}{place} is not as schedule.schema.json has it: {_short(error.message)}"
    return UnfitError(
        column, ascii(error.instance)[:200], f"{reason}; wanted: {wanted}" if wanted else reason
    )


def _lacking(message: str) -> str:
    return message.split("'")[1] if message.endswith("is a required property") else "Object_Identifier"


def _short(message: str) -> str:
    text = ascii(message)[1:-1]
    return text if len(text) <= 120 else f"…{text[-120:]}"


@cache
def _validator(kind: str) -> Draft202012Validator:
    whole = json.loads(_SCHEMA.read_text(encoding="utf-8"))
    return Draft202012Validator({"$defs": whole["$defs"], "$ref": f"#/$defs/{kind}"})
