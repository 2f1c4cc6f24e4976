"""Columns of whole numbers, in order: what pictures are worked out with, many rows in one go."""

import numpy as np
import numpy.typing as npt

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


def firsts(*columns: Ints | Floats) -> Ints:
    """The places of rows that differ from the one before in any of the columns; the first one does."""
    changed = np.zeros(len(columns[0]), np.bool_)
    changed[:1] = True
    for column in columns:
        changed[1:] |= column[1:] != column[:-1]
    return np.flatnonzero(changed)


def together(*columns: Ints) -> tuple[Ints, list[Ints]]:
    """The numbers of all columns in order, each once, from the first one of the first column on.

    And for each column the place of its last number up to each of these; -1 before its first.
    """
    joined = np.concatenate(columns)
    order = joined.argsort(kind="stable")  # which merges runs that are in order
    every = joined[order]
    last = np.append(every[1:] != every[:-1], True)
    kept = np.flatnonzero(last & (every >= columns[0][0]))
    column = np.repeat(np.arange(len(columns), dtype=np.uint8), [len(one) for one in columns])[order]
    return every[kept], [(column == place).cumsum()[kept] - 1 for place in range(len(columns))]
