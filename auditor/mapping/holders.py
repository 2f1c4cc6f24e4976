"""Archives and workbooks, which hold several tables: those that no map names are said."""

from collections.abc import Iterable
from dataclasses import dataclass

from auditor.letters import printable
from auditor.wording import counted, short

_SHOWN = 6  # names in a sentence
_WIDTH = 40  # letters of a name


@dataclass(frozen=True)
class Holder:
    """A file that holds others; ``kind``: what it holds, member or sheet."""

    kind: str
    name: str
    sha256: str
    held: tuple[str, ...]


Held = tuple[Holder, str]  # and which of its names is meant


def unnamed(read: Iterable[Held]) -> list[str]:
    """One sentence about what stands in these files beside what was read; none where nothing does."""
    holders: dict[tuple[str, str], Holder] = {}
    named: set[tuple[str, str, str]] = set()
    for holder, name in read:
        holders.setdefault((holder.kind, holder.sha256), holder)
        named.add((holder.kind, holder.sha256, name))
    left = [
        (holder, [name for name in holder.held if (kind, digest, name) not in named])
        for (kind, digest), holder in holders.items()
    ]
    left = [(holder, names) for holder, names in left if names]
    if not left:
        return []
    what = " and ".join(f"{counted(len(names), holder.kind)} of {holder.name}" for holder, names in left)
    every = [name for _, names in left for name in names]
    shown = ", ".join(short(printable(name), _WIDTH) for name in every[:_SHOWN])
    more = f" and {len(every) - _SHOWN} more" if len(every) > _SHOWN else ""
    verb = "is" if len(every) == 1 else "are"
    return [f"{what} {verb} named by no map: {shown}{more}; where they count, add them to inside or sheets."]
