"""All editions, the user's among them; an amendment takes the place of single items of another edition."""

from collections.abc import Sequence
from pathlib import Path

from auditor.codes.edition import CodeItem, Edition
from auditor.codes.reading import EditionFile, read_edition
from auditor.codes.vocabulary import ITEMS
from auditor.errors import UserError
from auditor.resources import resource
from auditor.wording import did_you_mean

Codes = dict[str, Edition]
_LISTED = "auditor codes lists those that there are"


def load_codes(folder: Path | None = None) -> Codes:
    """Every edition by its id; ``folder`` holds the user's own files ``*.toml``.

    Raises UserError where a file is not understood, an id stands twice, or an amended edition is missing.
    """
    built_in = [read_edition(path) for path in sorted(resource("codes/editions").glob("*.toml"))]
    own = [read_edition(path) for path in _own_files(folder)] if folder else []
    files: dict[str, EditionFile] = {}
    for file in built_in + own:
        if file.id in files:
            other = files[file.id].path.name
            raise UserError(f'{file.path.name}: id "{file.id}" is that of {other} too; choose another id.')
        files[file.id] = file
    mine = {file.id for file in own}
    return {name: _whole(files, name, (), name in mine) for name in files}


def _own_files(folder: Path) -> Sequence[Path]:
    found = sorted(folder.glob("*.toml"))
    if not folder.is_dir():
        raise UserError(f"{folder} is not there; name the folder with your editions, or leave out --codes.")
    if not found:
        raise UserError(f"{folder} holds no file *.toml; put your editions there, or leave out --codes.")
    return found


def _whole(files: dict[str, EditionFile], name: str, above: tuple[str, ...], own: bool) -> Edition:
    file = files[name]
    if name in above:
        circle = " amends ".join((*above, name))
        raise UserError(f"{file.path.name}: {circle}; take one of them out of the circle.")
    items: dict[str, CodeItem] = {}
    if file.amends:
        if file.amends not in files:
            near = did_you_mean(file.amends, list(files), _LISTED)
            raise UserError(f'{file.path.name}: amends "{file.amends}", which is not here; {near}')
        items = _whole(files, file.amends, (*above, name), own).items
    merged = items | file.items
    ordered = {key: merged[key] for key in ITEMS if key in merged}
    return Edition(file.id, file.title, file.amends, ordered, file.path, own, file.sha256)


def own_files(codes: Codes, name: str) -> list[Edition]:
    """The user's own files among that edition and those that it amends, one after another."""
    found = []
    while name in codes:
        found.append(codes[name])
        name = codes[name].amends
    return [edition for edition in found if edition.own]


def edition_of(codes: Codes, name: str) -> Edition:
    """The edition of that id. Raises UserError where there is none, with one that is near."""
    if name not in codes:
        raise UserError(f'there is no code edition "{name}"; {did_you_mean(name, list(codes), _LISTED)}')
    return codes[name]
