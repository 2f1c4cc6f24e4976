"""Files of a user's folders: which may be read, and which may be written over."""

import os
import stat
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from auditor.errors import UserError

LARGEST = 512 * 1024 * 1024  # bytes of one file, or of all that an archive unpacks to
_READS, WRITES = "is read by this command", "is written by this command already"
_STREAM = "is where this command's own input or output goes"  # the standard ones, 0 to 2


class _State:
    used: dict[str, str] | None = None  # what the command at hand does with each file, by its real path


@contextmanager
def command() -> Iterator[None]:
    """Around a command: what it reads and writes is kept in mind, and none of it may be written over."""
    before, _State.used = _State.used, {}
    try:
        yield
    finally:
        _State.used = before


def use(path: Path, how: str = _READS) -> None:
    """Keeps in mind that the command at hand uses a file, which need not be there yet."""
    if _State.used is not None:
        _State.used.setdefault(os.path.realpath(path), how)


def check_targets(*paths: Path) -> None:
    """Raises UserError where one of the files to be written is a folder or no plain file, or one that the
    command reads or writes already, by whatever name or link. Each may still be missing.
    """
    used = _State.used or {}
    same = {_identity(_status(stream)): _STREAM for stream in range(3)}
    same |= {_identity(_status(file)): how for file, how in used.items()}
    for path in paths:
        status = _status(path)
        if status:
            _check_kind(path, status.st_mode)
        if how := used.get(os.path.realpath(path)) or (status and same.get(_identity(status))):
            raise UserError(f"{path} {how}, and would be written over; name another place for it.")


def _check_kind(path: Path, mode: int) -> None:
    if stat.S_ISDIR(mode):
        raise UserError(f"{path} is a folder, where a file of that name must go; move it away.")
    if not stat.S_ISREG(mode):
        raise UserError(f"{path} is no plain file but a device or a pipe; name a file.")


def _status(file: str | int | Path) -> os.stat_result | None:
    """None where there is no such file, or nobody can tell: then whoever writes there says so."""
    with suppress(OSError):
        return os.fstat(file) if isinstance(file, int) else Path(file).stat()
    return None


def _identity(status: os.stat_result | None) -> tuple[int, int] | None:
    """What tells a file from all others, however it is called."""
    return (status.st_dev, status.st_ino) if status else None


def read_file(path: Path, name: str) -> bytes:
    """The bytes of a plain file, called ``name`` where it is refused.

    Raises UserError for devices, pipes and sockets, for what is too large, and for what cannot be read.
    """
    try:
        check_plain(path, name)
        use(path)
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


def check_nameable(path: Path, what: str = "") -> None:
    """Raises UserError for a path that the engine cannot be told: it knows UTF-8 alone, and takes what
    follows a question mark for no part of the name.
    """
    full = str(path.absolute())
    trouble = "letters that are not UTF-8" if not _is_text(full) else "a question mark" if "?" in full else ""
    if trouble:
        raise UserError(f"{what or path} has {trouble} in its path; name another place.")


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
