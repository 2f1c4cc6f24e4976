"""Text out of many short texts in one go: each is a row of a table of bytes, looked up by its number."""

from collections.abc import Sequence
from functools import cache

import numpy as np
import numpy.typing as npt

Table = npt.NDArray[np.uint64]  # a row is a text, eight bytes a column, filled up with zero bytes
_WORD = 8  # bytes


def table(texts: Sequence[str]) -> Table:
    """Texts by number."""
    coded = [text.encode() for text in texts]
    words = max(map(len, coded)) // _WORD + 1
    return np.array(coded, f"S{_WORD * words}").view(np.uint64).reshape(len(texts), words)


@cache
def numbers(before: str, most: int) -> Table:
    """Whole numbers from 0 to ``most`` and, at places counted from the end, from -``most`` to -1."""
    return table([f"{before}{number}" for number in (*range(most + 1), *range(-most, 0))])


def text_of(rows: Table) -> str:
    """The texts of a row one after the other, and row after row."""
    letters = rows.ravel().view(np.uint8)
    return bytes(letters[letters != 0]).decode()
