"""Files of a user's folders: plain ones, of a size that can be read, and within their folder."""

import stat
import tomllib
from pathlib import Path
from typing import Any

from auditor.errors import UserError

LARGEST = 512 * 1024 * 1024  # bytes of one file, or of all that an archive unpacks to


def read_file(path: Path, name: str) -> bytes:
    """The bytes of a plain file, called ``name`` where it is refused.

    Raises UserError for devices, pipes and sockets, for what is too large, and for what cannot be read.
    """
    try:
        check_plain(path, name)
        if path.stat().st_size > LARGEST:
            raise UserError(f"{name} is larger than {LARGEST // 2**20} MiB; give it in parts.")
        return path.read_bytes()
    except OSError as error:
        raise UserError(f"{name} cannot be read ({error.strerror}); check the file.") from error


def check_plain(path: Path, name: str) -> None:
    """Raises UserError for devices, pipes and sockets, whose reader may wait for ever, and for names that no
    result could tell.
    """
    if not _is_text(name):
        raise UserError(f"{name} has a name that is not UTF-8; rename the file.")
    kind = path.stat().st_mode
    if not (stat.S_ISREG(kind) or stat.S_ISDIR(kind)):
        raise UserError(f"{name} is no plain file; put a copy there.")


def _is_text(name: str) -> bool:
    try:
        return bool(name.encode())
    except UnicodeEncodeError:
        return False


def toml_of(content: bytes, name: str, advice: str) -> dict[str, Any]:
    """What a TOML file says. Raises UserError where it is none, with ``advice`` on what to do."""
    try:
        return tomllib.loads(content.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise UserError(f"{name} is not readable as TOML ({_trouble(error)}); {advice}.") from error


def _trouble(error: ValueError | RecursionError) -> str:
    if isinstance(error, RecursionError):
        return "brackets too deep within each other"
    plain = isinstance(error, tomllib.TOMLDecodeError | UnicodeDecodeError)
    return str(error) if plain else "a number of too many digits"


def check_within(path: Path, folder: Path, name: str) -> None:
    """Raises UserError where a link leads out of ``folder``."""
    if not path.resolve().is_relative_to(folder.resolve()):
        raise UserError(f"{name} is a link that leads out of {folder}; put the file itself there.")
