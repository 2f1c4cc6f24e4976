"""Zip archives, and workbooks, which are zip archives inside: refused where they unpack to too much."""

import io
import zipfile
from collections.abc import Iterator
from pathlib import PurePosixPath

from auditor.errors import UserError
from auditor.files import LARGEST

STEEPEST = 200  # times; tables as text shrink 5 to 30 times, sheets up to 100
_HARMLESS = 10 * 1024 * 1024  # bytes; below it the ratio says nothing
_FILES = 20_000


def members(name: str, content: bytes) -> Iterator[tuple[str, bytes]]:
    """The files of an archive by name, in the order of their names.

    Raises UserError where it is broken, encrypted or too large, or holds a name that leads out of it.
    """
    with _opened(name, content) as archive:
        for member in sorted(archive.infolist(), key=lambda member: member.filename):
            if not member.is_dir():
                yield _safe(name, member), _unpacked(name, archive, member)


def check_workbook(name: str, content: bytes) -> None:
    """Refuses a workbook whose parts unpack to too much; older kinds of workbook are no archives."""
    if content.startswith(b"PK"):
        _opened(name, content, "cannot be read as a workbook; save it again as .xlsx").close()


def _opened(
    name: str, content: bytes, broken: str = "is cut short or no archive; fetch it again"
) -> zipfile.ZipFile:
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as error:
        raise UserError(f"{name} {broken}.") from error
    size = sum(member.file_size for member in archive.infolist())
    if size > LARGEST or len(archive.infolist()) > _FILES:
        raise UserError(
            f"{name} unpacks to more than {LARGEST // 2**20} MiB or {_FILES} files; give it in parts."
        )
    if size > max(_HARMLESS, STEEPEST * len(content)):
        raise UserError(
            f"{name} unpacks to more than {STEEPEST} times its size, which no table does; unpack it and look."
        )
    names = archive.namelist()
    if len(set(names)) < len(names):
        raise UserError(f"{name} holds two files of one name; pack it anew.")
    return archive


def _safe(name: str, member: zipfile.ZipInfo) -> str:
    path = PurePosixPath(member.filename)
    odd = path.is_absolute() or ".." in path.parts or "\\" in member.filename or ":" in member.filename
    if odd or not member.filename.isprintable():
        raise UserError(f'{name} holds the name "{member.filename[:80]!a}", which leads out of it.')
    if (member.external_attr >> 16) & 0o170000 == 0o120000:
        raise UserError(f'{name} holds a link, "{member.filename}"; pack the file itself.')
    return str(path)


def _unpacked(name: str, archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> bytes:
    if member.flag_bits & 1:
        raise UserError(f"{name} is locked with a password; unpack it first.")
    try:
        with archive.open(member) as file:  # no more than the directory says, whatever the data says
            return file.read(member.file_size)
    except Exception as error:  # of zipfile, zlib, lzma and more: no common parent, one meaning
        raise UserError(f"{name}: {member.filename} cannot be unpacked; fetch the archive again.") from error
