"""A draft for calendars and schedule objects: all that a map must say of them is whose programs they are."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path, PurePosixPath

from auditor.files import read_file
from auditor.intake.archives import members
from auditor.intake.calendars.lines import Component, components
from auditor.intake.objects.shape import kind_of, objects
from auditor.intake.program import UnfitError
from auditor.mapping.drafts.writing import Page, name_pattern, quoted, samples
from auditor.mapping.owners import ICALENDAR, OBJECT, OBJECTS

_KINDS = {".ics": ICALENDAR, ".ical": ICALENDAR, ".json": OBJECTS}  # by the ending of a file's name
Content = tuple[str, bytes]


@dataclass(frozen=True)
class Programs:
    """Files of one standard; ``inside``: those of an archive."""

    kind: str
    contents: list[Content]
    inside: list[str]


def programs_of(files: Sequence[Path], only: str) -> Programs | None:
    """The files, where the first of them is a calendar or a list of objects; None where it is a table."""
    first = next(_contents(files[:1], only), None)
    kind = _kind(first[0]) if first else ""
    if not kind:
        return None
    found = [content for content in _contents(files, only) if _kind(content[0]) == kind]
    inside = [name.partition(".zip/")[2] for name, _ in found if ".zip/" in name]
    return Programs(kind, found, inside)


def _kind(name: str) -> str:
    return _KINDS.get(PurePosixPath(name).suffix.lower(), "")


def _contents(files: Sequence[Path], only: str) -> Iterator[Content]:
    for path in files:
        if path.suffix.lower() == ".zip":
            inner = members(path.name, read_file(path, path.name))
            yield from ((f"{path.name}/{name}", own) for name, own in inner if fnmatchcase(name, only))
        elif _kind(path.name):
            yield path.name, read_file(path, path.name)


def program_sections(page: Page, found: Programs) -> None:
    """The section that follows [source]. Raises UserError where a file cannot be read."""
    if found.kind == OBJECTS:
        _objects(page, found)
        return
    events = [part for name, content in found.contents for part in _events(name, content)]
    names = [part.called or "without a name" for part in events]
    page.note(f"{len(events)} events: {samples(list(dict.fromkeys(names)))}")
    if 2 * sum(map(_is_date, events)) > len(events):
        _closures(page)
    else:
        _calendars(page, found)
        page.note("Sites, devices and circuits come from elsewhere: lists with maps of their own, or tables.")


def _events(name: str, content: bytes) -> list[Component]:
    return [part for part in components(content, name) if part.name == "VEVENT"]


def _is_date(part: Component) -> bool:
    """Whether an event begins on a date, without a time of day."""
    starts = (text for _, text in part.lines if text[:7].upper() == "DTSTART")
    return len(next(starts, "").partition(":")[2].strip()) == len("20261225")


def _closures(page: Page) -> None:
    page.section("[[closures]]")
    page.note("Events are whole days, so these seem to be days on which sites are closed. If they switch")
    page.note("a circuit, write [[events]] with controller_id and targets instead.")
    page.ask("Which site is closed on these days?", 'site_id = "*"  # every site', 'site_id = "…"')
    page.ask("Do programs follow this calendar by a name?", 'calendar = "{file.stem}"', 'calendar = "…"')


def _calendars(page: Page, found: Programs) -> None:
    page.section("[[events]]")
    _owner(page, found)
    named = [f'targets = "{{{part}}}"' for part in _parts(found)]
    page.ask("Which circuits, or which sensor, does a calendar act on?", *reversed(named), 'targets = "…"')
    page.ask(
        "What happens while an event lasts?",
        'action = "on"  # the circuit is on; with level = { cell = "40", unit = "%" } at that level',
        'action = "suspend"  # the sensor is out of service',
        'action = "resume"  # the sensor is in service',
    )


def _owner(page: Page, found: Programs) -> None:
    named = [f'controller_id = "{{{part}}}"' for part in _parts(found)]
    page.ask("Which device runs a program?", *named, 'controller_id = "…"')


def _parts(found: Programs) -> list[str]:
    """What can be told from the names of the files."""
    _, parts = name_pattern([PurePosixPath(name).stem for name, _ in found.contents])
    return [*(f"file.part{place}" for place in range(1, len(parts) + 1)), "file.stem"]


def _objects(page: Page, found: Programs) -> None:
    entries = [entry for name, content in found.contents for entry in objects(content, name)]
    names = list(dict.fromkeys(entry["Object_Name"] for entry in entries if _is_schedule(entry)))
    page.section("[[events]]")
    _owner(page, found)
    listed = ", ".join(f"{quoted(name)} = {quoted('…')}" for name in names)
    page.ask(
        "Which circuits does each Schedule act on? Several are parted by ; and what is left out is rejected",
        f'targets = {{ cell = "{{{OBJECT}}}", words = {{ {listed} }} }}',
        f'targets = "{{{OBJECT}}}"',
    )


def _is_schedule(entry: object) -> bool:
    try:
        return kind_of(entry) == "schedule" and isinstance(entry, dict) and "Object_Name" in entry
    except UnfitError:
        return False
