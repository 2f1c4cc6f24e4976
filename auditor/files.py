"""Files of a user's folders: plain ones, of a size that can be read, and within their folder."""

import stat
from pathlib import Path

from auditor.errors import UserError

LARGEST = 512 * 1024 * 1024  # bytes of one file, or of all that an archive unpacks to


def read_file(path: Path, name: str) -> bytes:
    """The bytes of a plain file, called ``name`` where it is refused.

    Raises UserError for devices, pipes and sockets, for what is too large, and for what cannot be read.
    """
    try:
        facts = path.stat()
        if not (stat.S_ISREG(facts.st_mode) or stat.S_ISDIR(facts.st_mode)):
            raise UserError(f"{name} is no plain file; put a copy there.")
        if facts.st_size > LARGEST:
            raise UserError(f"{name} is larger than {LARGEST // 2**20} MiB; give it in parts.")
        return path.read_bytes()
    except OSError as error:
        raise UserError(f"{name} cannot be read ({error.strerror}); check the file.") from error


def check_within(path: Path, folder: Path, name: str) -> None:
    """Raises UserError where a link leads out of ``folder``."""
    if not path.resolve().is_relative_to(folder.resolve()):
        raise UserError(f"{name} is a link that leads out of {folder}; put the file itself there.")
