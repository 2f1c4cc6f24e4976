"""Places to work in, which a killed process leaves behind and the next one clears away."""

import errno
import os
import platform
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import IO

from auditor.errors import UserError

_NO_ROOM = "there is no room left"
_FULL = (  # in what the system says, and in what the engine says of pages that it would put on disk
    *map(os.strerror, (errno.ENOSPC, errno.EFBIG, errno.EDQUOT)),
    "max_temp_directory_size",
)
_HOLDER = "process"  # the file in such a place that is locked; it says who holds it
_ROOM = "room"  # what is worked on
_SCRATCH = ("auditor-", ".scratch")  # how names of scratch folders begin and end


@contextmanager
def alone(place: Path, what: Path) -> Iterator[Path]:
    """An empty folder inside ``place``, this process's alone; ``place`` goes at the end with all in it.

    The system takes the lock from a process that ends, however it ends: what such a one left is cleared away.
    Raises UserError where another process is at work on ``what``, and for whatever fails because somebody
    cleared the room away meanwhile.
    """
    holder = _hold(place, what)
    room = place / _ROOM
    try:
        shutil.rmtree(room, ignore_errors=True)
        room.mkdir()
        yield room
    except Exception as error:
        if room.is_dir():
            raise
        cleared = f"{what}: somebody cleared away what this command was working on there"
        raise UserError(f"{cleared}; run it again, and let it be meanwhile.") from error
    finally:
        shutil.rmtree(room, ignore_errors=True)
        with suppress(OSError):  # last of all and while it is still locked: what follows may be another's
            if not room.exists():  # else somebody writes there still: the next command clears it away
                (place / _HOLDER).unlink()
                place.rmdir()
        holder.close()


def _hold(place: Path, what: Path) -> IO[str]:
    """The locked file of the place. Another process may just have taken the place away: then once more."""
    if place.is_symlink():  # what stands elsewhere is nobody's draft
        raise UserError(f"{place} is a link, where this program makes a folder of its own; take it away.")
    if place.is_file():
        place.unlink()  # a draft of before drafts had folders
    while True:
        place.mkdir(parents=True, exist_ok=True)
        with suppress(FileNotFoundError):
            holder = _opened(place / _HOLDER)
            _lock(holder, what)
            if _is_at(place / _HOLDER, holder):
                _sign(holder)
                return holder
            holder.close()


def _opened(path: Path) -> IO[str]:
    """To be read and written to; never by way of a link."""
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
    return os.fdopen(os.open(path, flags, 0o666), "a+", encoding="utf-8")


def _lock(holder: IO[str], what: Path) -> None:
    try:
        import fcntl
    except ImportError:  # not on this system: two processes at one place are not told apart
        return
    try:
        fcntl.flock(holder, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as error:
        holder.seek(0)
        who = holder.read() or "another process"
        holder.close()
        raise UserError(f"{what} is being written by {who}; try again when that has ended.") from error
    except OSError:  # a file system without locks
        return


def _sign(holder: IO[str]) -> None:
    with suppress(OSError):  # on a full disk it stays blank
        holder.truncate(0)
        os.write(holder.fileno(), f"process {os.getpid()} on {platform.node()}".encode())


def _is_at(path: Path, file: IO[str]) -> bool:
    return os.path.samestat(path.stat(), os.fstat(file.fileno()))


def out_of_room(error: Exception) -> UserError | None:
    """What to do where a disk is full, whoever made what error of that; None where an error is another."""
    said = str(error)
    if isinstance(error, UserError) and said.startswith(_NO_ROOM):  # told already, nearer to the disk
        return error
    if not any(words in said for words in _FULL):
        return None
    reason = said.splitlines()[0][:300]
    where = "make room there, or name other places: scratch files go where TMPDIR says"
    return UserError(f"{_NO_ROOM} ({reason}); {where}.")


@contextmanager
def scratch() -> Iterator[None]:
    """Until the end all temporary files, of libraries too, are made in one folder, which then goes.

    Folders that killed processes left are cleared away first. Where none can be made, who needs one says so.
    """
    before = tempfile.tempdir
    with suppress(OSError):
        _sweep(Path(tempfile.gettempdir()))
    with ExitStack() as stack:
        with suppress(OSError):
            tempfile.tempdir = str(stack.enter_context(scratch_room()))
        try:
            yield
        finally:
            tempfile.tempdir = before


@contextmanager
def scratch_room() -> Iterator[Path]:
    """One such folder, for as long as it lasts; if this process is killed, a later command clears it away."""
    place = Path(tempfile.mkdtemp(prefix=_SCRATCH[0], suffix=_SCRATCH[1]))
    with alone(place, place) as room:
        yield room


def _sweep(folder: Path) -> None:
    """Only what says whose it was is looked at: any other may be in the making, or no place of ours."""
    for holder in folder.glob(f"{'*'.join(_SCRATCH)}/{_HOLDER}"):
        with suppress(UserError, OSError):
            if holder.stat().st_size:
                with alone(holder.parent, holder.parent):
                    pass
